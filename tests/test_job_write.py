"""The job folder out and in again: the very same job, and texts that a tradesman would write."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

import job_texts
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import jobs, lengths, slopes

from drainward.errors import InputError
from drainward.job import Job, Reading, ReadingKind, load, write_job
from drainward.job.write import reading_cells
from drainward.job.written import (
    area_text,
    duration_text,
    flow_text,
    length_text,
    mass_text,
    slope_text,
    temperature_text,
    volume_text,
)
from drainward.quantity import (
    Quantity,
    parse_area,
    parse_duration,
    parse_flow,
    parse_length,
    parse_mass,
    parse_slope,
    parse_temperature,
    parse_volume,
)

TEXTS = [
    (mass_text, parse_mass),
    (duration_text, parse_duration),
    (area_text, parse_area),
    (volume_text, parse_volume),
    (flow_text, parse_flow),
    (temperature_text, parse_temperature),
]


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(jobs())
def test_round_trip(job: Job) -> None:
    with tempfile.TemporaryDirectory() as name:
        write_job(Path(name), job)
        (Path(name) / "photos").mkdir()
        (Path(name) / "photos/wet.jpg").write_bytes(job_texts.PNG)
        loaded = load(Path(name))
    assert loaded.problems == ()
    assert job == loaded.job


def test_the_good_folder_comes_back(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    job = load(job_texts.write(tmp_path / "a")).job
    write_job(tmp_path / "b", job)
    shutil.copytree(tmp_path / "a/photos", tmp_path / "b/photos")
    again = load(tmp_path / "b")
    assert (again.problems, again.job) == ((), job)


def test_the_writing_of_a_unit_is_plain(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    write_job(tmp_path / "b", load(job_texts.write(tmp_path / "a")).job)
    text = (tmp_path / "b/units/alcove.toml").read_text()
    for line in ('outside_width = "61-1/2\\""', '{at = "back left", height = "5/8\\""}', 'minimum_cure = "24 h"'):
        assert line in text
    assert 'fall = "1:60"' in (tmp_path / "b/units/open.toml").read_text()


def test_a_job_is_never_written_over(tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    with pytest.raises(InputError, match="stands already"):
        write_job(folder, Job(name="other"))
    assert load(folder).job.name == "Maple Court"


def test_units_whose_names_no_file_can_bear_keep_them(tmp_path: Path) -> None:
    unit = job_texts.unit_models()["open"]
    ids = ("a/b", "A B", "a-b", "../x", "é")
    write_job(tmp_path, Job(name="job", units={id: unit.model_copy(update={"id": id}) for id in ids}))
    assert {path.name for path in (tmp_path / "units").iterdir()} == {
        "a-b.toml",
        "a-b-2.toml",
        "a-b-3.toml",
        "x.toml",
        "unit.toml",
    }
    assert set(load(tmp_path).job.units) == set(ids)


@pytest.mark.parametrize("text", ['36-1/2"', '1/2"', "19 mm", '0"', '-1/16"', "123.4567 mm"])
def test_length_text(text: str) -> None:
    assert length_text(parse_length(text).value) == text


@pytest.mark.parametrize(("ratio", "text"), [(1 / 48, "1/4 in/ft"), (0.02, "2 %"), (1 / 60, "1:60"), (0.0, "0 in/ft")])
def test_slope_text(ratio: float, text: str) -> None:
    assert slope_text(ratio) == text


@given(lengths(-3, 3))
def test_length_text_is_exact(metres: float) -> None:
    assert parse_length(length_text(metres)).value == metres


@given(slopes(-0.3, 0.3))
def test_slope_text_is_exact(ratio: float) -> None:
    assert parse_slope(slope_text(ratio)).value == ratio


@given(st.floats(1e-6, 1e4))
def test_every_text_is_exact(value: float) -> None:
    for text, parse in TEXTS:
        assert parse(text(value)).value == value


@pytest.mark.parametrize(
    ("text", "parse", "plain"),
    [
        (area_text, parse_area, "4.2 sq in"),
        (area_text, parse_area, "27 cm2"),
        (volume_text, parse_volume, "1 gal"),
        (volume_text, parse_volume, "3.8 L"),
        (flow_text, parse_flow, "2.5 gpm"),
        (flow_text, parse_flow, "9.5 L/min"),
        (duration_text, parse_duration, "90 min"),
        (duration_text, parse_duration, "1 min 50 s"),
        (temperature_text, parse_temperature, "20 °C"),
        (temperature_text, parse_temperature, "118 °F"),
        (temperature_text, parse_temperature, "118.5 °F"),
    ],
)
def test_what_the_trade_writes_comes_back(
    text: Callable[[float], str], parse: Callable[[str], Quantity], plain: str
) -> None:
    assert text(parse(plain).value) == plain


def test_a_written_value_that_says_something_else_is_written_anew() -> None:
    reading = Reading(
        id="a", room="1", kind=ReadingKind.WEDGE, x=0, y=0, x2=1, y2=0, value=0.0127, u=0.001, written='3/4"'
    )
    assert reading_cells(reading, {})["value"] == '1/2"'
    kept = reading.model_copy(update={"written": ".5 in"})
    assert reading_cells(kept, {})["value"] == ".5 in"
