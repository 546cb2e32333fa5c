"""One reading or one water test more in a file that a person may have written."""

from __future__ import annotations

import uuid
from pathlib import Path

import job_texts
import pytest

from drainward.errors import InputError
from drainward.job import Pattern, Puddle, Reading, ReadingKind, WaterTest, append_reading_csv, append_water_csv, load

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


POURED = WaterTest(
    id=str(uuid.UUID(int=6)),
    room="North-11A",
    poured=0.0038,
    over=10.0,
    how=Pattern.AT_A_POINT,
    x=0.1524,
    y=0.3048,
    drained=110.0,
    puddles=(Puddle(x=0.3048, y=0.6096, depth=0.003175),),
    soap=True,
    photo="wet.jpg",
    written='3.8 L | 1:50 | 12" / 2 ft, 1/8 deep',
    note='he said "dry", twice',
)


def test_append_a_water_test(folder: Path) -> None:
    before = (folder / "water.csv").read_bytes()
    line = append_water_csv(folder, POURED)
    assert (folder / "water.csv").read_bytes().startswith(before)
    loaded = load(folder)
    assert loaded.problems == ()
    assert loaded.job.water_tests[-1] == POURED.model_copy(update={"file": "water.csv", "line": line})


def test_a_water_test_widens_the_hand_of_the_file(folder: Path) -> None:
    (folder / "water.csv").write_text("poured;room\r\n1 gal;North-11B\r\n", newline="")
    assert append_water_csv(folder, POURED) == 3
    loaded = load(folder)
    assert loaded.problems == ()
    assert [test.room for test in loaded.job.water_tests] == ["North-11B", "North-11A"]
    assert loaded.job.water_tests[1].puddles == POURED.puddles
