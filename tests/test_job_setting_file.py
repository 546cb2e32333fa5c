"""What was done when units were set: every cell with its unit, and every refusal with what was expected."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import job_texts
import pytest

from drainward.errors import QuantityError
from drainward.job import Instrument, Job, Room, SettingEvent, Work, append_setting_csv, load
from drainward.job.setting_file import OPTIONAL, REQUIRED, VALUED, parse_powder, read_setting_file
from drainward.job.setting_out import SETTING_COLUMNS, setting_cells

INCH, POUND = 0.0254, 0.45359237
BAG = 50 * POUND
HEADER = "room,when,what,value,u,who,instrument,note,id"
JOB = Job(
    name="job",
    units=job_texts.unit_models(),
    rooms=(Room(room="101", unit="alcove"),),
    instruments={"tape": Instrument(id="tape", name="Tape", u=INCH / 32)},
)


def read(tmp_path: Path, *rows: str, header: str = HEADER) -> tuple[list[SettingEvent], list[str]]:
    path = tmp_path / "setting.csv"
    path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    events, problems = read_setting_file(path, JOB, frozenset({"shut"}))
    return list(events), [str(problem) for problem in problems]


def test_columns_of_reader_and_writer_are_the_same() -> None:
    assert set(REQUIRED + OPTIONAL) == set(SETTING_COLUMNS)


def test_a_day_of_work(tmp_path: Path) -> None:
    events, problems = read(
        tmp_path,
        "101,2026-03-14 08:00,slab temperature,50 °F,2 °F,MB,,,",
        "101,2026-03-14 08:05,air temperature,12 °C,,MB,,,",
        "101,2026-03-14 08:30,mortar used,2-1/2 bags,,MB,,,",
        "101,2026-03-14 08:45,Bed Placed,,,MB,,drain first,bed-1",
        "101,2026-03-14 09:00+01:00,fastened,,,MB,,,",
        "101,2026-03-14 09:05,head over drain,96-1/4 in,,MB,Tape,,",
    )
    assert problems == []
    assert [event.what for event in events] == [
        Work.SLAB_TEMPERATURE, Work.AIR_TEMPERATURE, Work.MORTAR_USED, Work.BED_PLACED, Work.FASTENED,
        Work.HEAD_OVER_DRAIN,
    ]  # fmt: skip
    slab, air, used, bed, fastened, head = events
    assert (slab.value, slab.u) == (pytest.approx(10.0), pytest.approx(10 / 9))
    assert (air.value, air.u) == (12.0, 3.0)
    assert (used.value, used.u) == (pytest.approx(2.5 * BAG), pytest.approx(0.05 * BAG))
    assert (bed.value, bed.u, bed.id, bed.note) == (None, None, "bed-1", "drain first")
    assert bed.when == datetime.combine(date(2026, 3, 14), time(8, 45))
    assert fastened.when.utcoffset() == timedelta(hours=1)
    assert (head.value, head.u, head.instrument) == (pytest.approx(96.25 * INCH), INCH / 32, "tape")


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("102,2026-03-14 08:00,fastened,,,,,,", 'line 2, column "room": "102" is no room of this job'),
        (
            "101,,fastened,,,,,,",
            'column "when": "" is missing; expected date and time of day, such as 2026-03-14',
        ),
        ("101,2026-03-14,fastened,,,,,,", '"2026-03-14" has no time of day, and the cure counts hours'),
        ("101,2026-03-14 08:00,,,,,,,", 'column "what": "" is missing; expected mortar used, gap under threshold, bed'),
        ("101,2026-03-14 08:00,bed plased,,,,,,", 'is nothing that is done to a bed (did you mean "bed placed"?)'),
        ("101,2026-03-14 08:00,fastened,3 in,,,,,", '"3 in" says nothing of fastened; leave it blank'),
        ("101,2026-03-14 08:00,slab temperature,,,,,,", '"" is missing; slab temperature is written such as 62 °F'),
        (
            "101,2026-03-14 08:00,slab temperature,62,,,,,",
            'column "value": "62" has no unit; write which one',
        ),
        ("101,2026-03-14 08:00,slab temperature,62 °C,,,,,", '"62 °C" is 62 °C; expected -30 to 60 °C; check the unit'),
        ("101,2026-03-14 08:00,slab temperature,62 °F,0,,,,", '"0" is no uncertainty; every measure has some'),
        (
            "101,2026-03-14 08:00,mortar used,2,,,,,",
            "it is: lb, oz, kg, g; or in bags, such as 2-1/2 bags",
        ),
        ("101,2026-03-14 08:00,mortar used,0 lb,,,,,", '"0 lb" is nothing; expected more than 0'),
        ("101,2026-03-14 08:00,head over drain,9 in,,,,,", '"9 in" is 0.2286 m; expected 0.5 to 6 m'),
    ],
)
def test_refusals(tmp_path: Path, row: str, message: str) -> None:
    events, problems = read(tmp_path, row)
    assert events == []
    assert len(problems) == 1
    assert message in problems[0]


@pytest.mark.parametrize(("text", "bags"), [("2 bags", 2), ("1/2 bag", 0.5), ("2-1/2 Bags", 2.5), ("1.25 bags", 1.25)])
def test_bags(text: str, bags: float) -> None:
    assert parse_powder(text, BAG).value == pytest.approx(bags * BAG)
    assert parse_powder("100 lb", BAG).value == pytest.approx(100 * POUND)


@pytest.mark.parametrize("text", ["bags", "two bags", "-1 bags", "1/3 bags", "1 2 bags"])
def test_bags_that_are_none(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_powder(text, BAG)


@pytest.mark.parametrize("what", Work)
def test_rows_come_back(tmp_path: Path, what: Work) -> None:
    asked = VALUED.get(what)
    value, u = (None, None) if asked is None else (asked.low + 0.3 * (asked.high - asked.low), 0.37 * asked.most_u)
    when = datetime(2026, 3, 14, 8, 30, tzinfo=UTC)
    event = SettingEvent(id="e", room="101", what=what, value=value, u=u, when=when, who="MB", note="n")
    cells = setting_cells(event, JOB.instruments, BAG)
    events, problems = read(tmp_path, ",".join(f'"{cells[column]}"' for column in HEADER.split(",")))
    assert problems == []
    assert events[0].model_copy(update={"written": "", "file": "", "line": None}) == event


def test_a_row_is_added_to_the_folder(tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    room = load(folder).job.rooms[0].room
    when = datetime(2026, 3, 14, 8, 30, tzinfo=UTC)
    used = SettingEvent(id="e", room=room, what=Work.MORTAR_USED, value=BAG, u=0.02 * BAG, when=when, written="1 bag")
    append_setting_csv(folder, used, BAG)
    bed = SettingEvent(id="f", room=room, what=Work.BED_PLACED, when=when)
    assert append_setting_csv(folder, bed, BAG) == 3
    loaded = load(folder)
    assert loaded.problems == ()
    assert [(event.what, event.written) for event in loaded.job.setting] == [
        (Work.MORTAR_USED, "1 bag"), (Work.BED_PLACED, ""),
    ]  # fmt: skip
