"""The folder as a whole: what is broken costs only itself."""

from __future__ import annotations

from pathlib import Path

import job_texts
import pytest

from drainward.errors import InputError
from drainward.job import load


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return job_texts.write(tmp_path)


def test_good_folder(folder: Path) -> None:
    loaded = load(folder)
    assert loaded.problems == ()
    assert (set(loaded.job.units), len(loaded.job.rooms)) == ({"alcove", "open"}, 8)
    assert (len(loaded.job.readings), len(loaded.job.water_tests)) == (48, 8)


def test_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is no folder; expected one with a job"):
        load(tmp_path / "no")


def test_a_broken_unit_file_costs_its_rooms_and_is_told_thrice_not_thirty_times(folder: Path) -> None:
    (folder / "units/alcove.toml").write_text("name = ")
    loaded = load(folder)
    assert {room.unit for room in loaded.job.rooms} == {"open"}
    assert (len(loaded.job.rooms), len(loaded.job.readings), len(loaded.job.water_tests)) == (4, 24, 4)
    told = ["units/alcove.toml", "rooms.csv", *["readings.csv"] * 4, *["water.csv"] * 4]
    assert [problem.file for problem in loaded.problems] == told


def test_no_units(folder: Path) -> None:
    for path in (folder / "units").iterdir():
        path.unlink()
    assert str(load(folder).problems[0]) == 'units: "" holds no unit model; expected a file NAME.toml'
    (folder / "units").rmdir()
    assert "while opening the folder" in str(load(folder).problems[0])


def test_two_files_for_one_unit(folder: Path) -> None:
    (folder / "units/zwei.toml").write_text('id = "Open"\n' + job_texts.OWN_BASE)
    loaded = load(folder)
    assert set(loaded.job.units) == {"alcove", "open"}
    assert [str(problem) for problem in loaded.problems] == [
        'units/zwei.toml, field "id": "Open" is the id of another unit model; this file was not used'
    ]


def test_no_rooms(folder: Path) -> None:
    (folder / "rooms.csv").unlink()
    loaded = load(folder)
    assert (loaded.job.readings, loaded.job.water_tests) == ((), ())
    assert [problem.file for problem in loaded.problems] == ["rooms.csv", *["readings.csv"] * 8, *["water.csv"] * 8]


def test_both_room_lists(folder: Path) -> None:
    (folder / "rooms.xlsx").write_bytes(b"x")
    loaded = load(folder)
    assert len(loaded.job.rooms) == 8
    assert [str(problem) for problem in loaded.problems] == [
        'rooms.xlsx: "" stands beside rooms.csv and was not read; expected one of the two'
    ]


def test_a_folder_in_the_place_of_a_file(folder: Path) -> None:
    (folder / "readings.csv").unlink()
    (folder / "readings.csv").mkdir()
    assert "while opening the file" in str(load(folder).problems[0])
