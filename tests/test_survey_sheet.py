"""The sheet to survey a pocket by hand: one page with every measure of the round."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
import surveys
from pypdf import PdfReader
from shower_units import level

from drainward.cli import main
from drainward.job import write_job
from drainward.job.model import UnitModel, What
from drainward.quantity import format_length
from drainward.report.survey_sheet import survey_sheet_pdf
from drainward.report.survey_steps import survey_steps


def sheet(unit: UnitModel) -> bytes:
    job = surveys.job(())
    return survey_sheet_pdf(job, job.rooms[0].model_copy(update={"room": "#x *1*"}), unit)


def text_of(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


@pytest.mark.parametrize("size", [(30, 30), (36, 36), (60, 36), (72, 48), (96, 60)])
def test_it_is_one_page_for_units_of_any_usual_size(size: tuple[int, int]) -> None:
    unit = level(*size, (size[0] / 2, size[1] / 2), 0.5)
    assert len(PdfReader(io.BytesIO(sheet(unit))).pages) == 1


def test_every_measure_of_the_round_has_its_field() -> None:
    told = text_of(sheet(surveys.UNIT))
    for step in survey_steps(surveys.UNIT, (), (), None):
        if step.of != "pocket" or step.what is What.BLOCKING:
            continue
        if step.what is What.STUD:
            assert f" {step.wall} {step.number} " in told
            continue
        ways = ((step.x, "from left"), (step.y, "from back"), (step.z, "up"))
        where = ", ".join(f"{format_length(at, denominator=4)} {way}" for at, way in ways if at is not None)
        assert where in told
        assert not step.wall or step.wall in told
    for words in ("Core hole", "its middle from the back", "Recess", "how deep", "Ceiling", "Door, clear width"):
        assert words in told


def test_signs_are_told_and_no_place_is_left_out_of_a_sentence() -> None:
    told = text_of(sheet(surveys.UNIT))
    for words in ("In is +, away is -.", "Open is +, closed is -.", "back corner at that wall", "along that wall"):
        assert words in told
    assert "WALL" not in told and "the :" not in told


def test_typed_words_print_as_they_stand_and_bytes_repeat() -> None:
    assert "Survey, room #x *1*" in text_of(sheet(surveys.UNIT))
    assert sheet(surveys.UNIT) == sheet(surveys.UNIT)


def test_the_command_writes_it_and_judges_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    write_job(tmp_path / "job", surveys.job(()))
    assert main(["handover", "job", "--room", "1", "--blank-survey"]) == 0
    assert capsys.readouterr().out == "survey-1.pdf\n"
    assert main(["handover", "job", "--room", "1", "--blank-survey", "-o", "s.pdf", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["verdict"], told["stage"], told["sheet"]["file"]) == (None, "survey", "s.pdf")
    assert Path("s.pdf").read_bytes() == Path("survey-1.pdf").read_bytes()
    assert main(["handover", "job", "--room", "9", "--blank-survey"]) == 64
