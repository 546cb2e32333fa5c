"""One reading more in a file that a person may have written."""

from __future__ import annotations

import uuid
from pathlib import Path

import job_texts
import pytest

from drainward.errors import InputError
from drainward.job import Reading, ReadingKind, append_reading_csv, load

NEW = Reading(
    id=str(uuid.UUID(int=5)),
    room="North-11A",
    kind=ReadingKind.WEDGE,
    x=0.1524,
    y=0.1524,
    x2=0.762,
    y2=0.1524,
    value=0.0047625,
    u=0.0005,
    written="3/16 in",
    setup="by hand",
    note='he said "hm", twice',
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return job_texts.write(tmp_path)


def same(loaded: Reading) -> bool:
    return loaded.model_copy(update={"file": "", "line": None}) == NEW


def test_append(folder: Path) -> None:
    before = (folder / "readings.csv").read_bytes()
    line = append_reading_csv(folder, NEW)
    assert (folder / "readings.csv").read_bytes().startswith(before)
    loaded = load(folder)
    assert loaded.problems == ()
    assert same(loaded.job.readings[-1])
    assert loaded.job.readings[-1].line == line == 50


def test_a_missing_file_is_begun(folder: Path) -> None:
    (folder / "readings.csv").unlink()
    assert append_reading_csv(folder, NEW) == 2
    assert same(load(folder).job.readings[0])


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("last", [True, False])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_the_hand_of_the_file_is_kept(folder: Path, separator: str, end: str, last: bool, mark: str) -> None:
    header = "value,kind,room,y,x,u,note".replace(",", separator)
    row = separator.join(("0", "height", "North-11B", "6 in", "7 in", "1 mm", "café"))
    path = folder / "readings.csv"
    path.write_bytes((mark + end.join((header, row)) + end * last).encode())
    assert append_reading_csv(folder, NEW) == 3
    raw = path.read_bytes().decode()
    assert raw.count(end) == 3
    assert raw.startswith(mark + header + separator)
    assert row in raw
    loaded = load(folder)
    assert loaded.problems == ()
    assert [reading.room for reading in loaded.job.readings] == ["North-11B", "North-11A"]
    assert same(loaded.job.readings[1])
    assert append_reading_csv(folder, NEW.model_copy(update={"id": "other"})) == 4
    assert len(load(folder).job.readings) == 3
    assert not list(folder.glob(".readings*"))


def test_an_open_quotation_above_swallows_nothing(folder: Path) -> None:
    with (folder / "readings.csv").open("a") as file:
        file.write('North-11A,,,,,wedge,"3 in')
    append_reading_csv(folder, NEW)
    assert same(load(folder).job.readings[-1])


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "names no columns"),
        (b"\xff\xfea\0", "holds bytes that are no text"),
        (b"room,kind,x,y,value,u\nNorth-11A,height,0,0,0,1 mm,stray\n", "line 2: .*has more cells than columns"),
    ],
)
def test_what_cannot_be_added_to_is_left_alone(folder: Path, content: bytes, message: str) -> None:
    (folder / "readings.csv").write_bytes(content)
    with pytest.raises(InputError, match=message):
        append_reading_csv(folder, NEW)
    assert (folder / "readings.csv").read_bytes() == content
