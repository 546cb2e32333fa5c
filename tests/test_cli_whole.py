"""The command line over the real engine: one room, from its folder to its verdicts and its PDF."""

from __future__ import annotations

import json
import math
from functools import partial
from pathlib import Path

import hand_made
import pytest
from pypdf import PdfReader

from drainward.cli import main
from drainward.floor.film import water_stage
from drainward.job import Floor, Instrument, Job, Reading, ReadingKind, Room, write_job

SPAN = 9 * 0.0254
CODES = {"meets": 0, "fails": 1, "not proven": 2}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A floor that runs the wrong way on one side, read with a 9 in level end to end on eight lines."""
    unit = hand_made.unit().model_copy(update={"floor": Floor(form="cone", thickness=0.005, fall=0.03)})
    drain = unit.drain
    readings = []
    for line in range(8):
        way = 2 * math.pi * line / 8
        for k in range(2):
            start, end = (0.06 + SPAN * (k + share) for share in (0, 1))
            x, x2 = (drain.x + r * math.cos(way) for r in (start, end))
            y, y2 = (drain.y + r * math.sin(way) for r in (start, end))
            if not (0 < x2 < unit.inside_width and 0 < y2 < unit.inside_depth):
                continue
            fall = -0.01 if x2 > drain.x + 0.3 else 0.03
            readings.append(
                Reading(id=f"{line}-{k}", room="1", kind=ReadingKind.SLOPE, x=x, y=y, x2=x2, y2=y2, value=fall,
                        u=0.0009, instrument="level")
            )  # fmt: skip
    job = Job(
        name="One room",
        units={"U60": unit},
        rooms=(Room(room="1", unit="U60"),),
        instruments={"level": Instrument(id="level", name="9 in level", length=SPAN, u_slope=0.0009)},
        readings=tuple(readings),
        water_tests=(hand_made.water_test(room="1", puddles=(), written=""),),
    )
    place = tmp_path_factory.mktemp("whole") / "job"
    write_job(place, job)
    return place


def test_a_back_fall_is_found_told_poured_on_and_printed(
    folder: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drainward.floor.film.water_stage", partial(water_stage, samples=16))
    assert main(["check", str(folder), "--room", "1", "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["verdict"] == "fails"
    assert answer["fall"]["min"]["interval"][1] < 0.0209
    assert answer["problems"] == []
    assert main(["check", str(folder), "--room", "1", "--stage", "water test", "--json"]) == CODES["fails"]
    water = json.loads(capsys.readouterr().out)
    (test,) = water["tests"]
    assert test["test"]["drained"] == 135.0
    assert isinstance(test["agrees"], bool)
    assert main(["handover", str(folder), "--room", "1", "-o", str(tmp_path / "1.pdf"), "--json"]) == 1
    again = json.loads(capsys.readouterr().out)
    assert {key: again[key] for key in answer} == answer, "the same readings, the same answer"
    assert again["water"] == {key: value for key, value in water.items() if key != "problems"}
    pages = [page.extract_text() for page in PdfReader(tmp_path / "1.pdf").pages]
    assert any("Recorded test 1" in page for page in pages)
