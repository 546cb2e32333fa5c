"""Readings: every kind with its sign and units, and every refusal with file, line, column and what was expected."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

import job_texts
import pytest

from drainward.job import Instrument, Job, Loaded, Reading, ReadingKind, Room, load
from drainward.job.readings_file import STAGES, read_readings_file

INCH = 0.0254
HEADER = "room,when,who,instrument,stage,kind,x,y,x2,y2,value,u,note"
JOB = Job(
    name="job",
    units=job_texts.unit_models(),
    rooms=(Room(room="101", unit="open"), Room(room="B 2", unit="alcove")),
    instruments={
        "L24": Instrument(id="L24", name="level", length=24 * INCH, u=0.0004, u_slope=0.0005),
        "Laser": Instrument(id="Laser", name="laser", u=0.0008),
    },
)


def read(tmp_path: Path, *rows: str, header: str = HEADER) -> tuple[list[Reading], list[str]]:
    path = tmp_path / "readings.csv"
    path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    readings, problems = read_readings_file(path, JOB, frozenset({"shut"}))
    return list(readings), [str(problem) for problem in problems]


def one(tmp_path: Path, row: str) -> Reading:
    readings, problems = read(tmp_path, row)
    assert problems == []
    return readings[0]


def test_wedge(tmp_path: Path) -> None:
    reading = one(tmp_path, '101,2026-03-14 09:30,MB,L24,draft,wedge,6 in,6 in,30 in,6 in,3/16",,wet bed')
    assert (reading.kind, reading.value, reading.u) == (ReadingKind.WEDGE, pytest.approx(3 / 16 * INCH), 0.0004)
    assert (reading.x, reading.y, reading.x2, reading.y2) == pytest.approx((6 * INCH, 6 * INCH, 30 * INCH, 6 * INCH))
    assert (reading.written, reading.note, reading.who, reading.stage) == ('3/16"', "wet bed", "MB", "draft")
    assert (reading.file, reading.line, reading.setup) == ("readings.csv", 2, "L24 | MB | 2026-03-14")
    assert reading.when == datetime.combine(date(2026, 3, 14), time(9, 30))


@pytest.mark.parametrize(("text", "ratio"), [("-1/4 in/ft", -1 / 48), ("1:48", 1 / 48), ("2 %", 0.02), ("0", 0.0)])
def test_slope(tmp_path: Path, text: str, ratio: float) -> None:
    reading = one(tmp_path, f"101,,,L24,,slope,6 in,6 in,30 in,6 in,{text},,")
    assert (reading.value, reading.u, reading.setup) == (pytest.approx(ratio), 0.0005, "L24 |  | undated")


def test_slope_takes_its_own_uncertainty(tmp_path: Path) -> None:
    assert one(tmp_path, "101,,,L24,,slope,6 in,6 in,30 in,6 in,1:60,0.2 %,").u == pytest.approx(0.002)


def test_height_below_its_datum_outside_the_opening(tmp_path: Path) -> None:
    reading = one(tmp_path, "101.0,,,laser,,height,24 in,39 in,,,-1 1/16 in,,")
    assert (reading.value, reading.y, reading.instrument) == (
        pytest.approx(-17 / 16 * INCH),
        pytest.approx(39 * INCH),
        "Laser",
    )


def test_chord_tap_and_press(tmp_path: Path) -> None:
    readings, problems = read(
        tmp_path,
        "b  2,,,L24,,chord,6 in,6 in,30 in,6 in,-1/32 in,,",
        "B 2,,,,,tap,6 in,6 in,,,Sound,,",
        "B 2,,,,,TAP,6 in,6 in,,,hollow,,",
        "B 2,,,Laser,cure,press,6 in,6 in,,,0.4 mm,0.1 mm,80 kg person",
    )
    assert problems == []
    assert [reading.value for reading in readings] == pytest.approx([-INCH / 32, 1.0, 0.0, 0.0004])
    assert {reading.room for reading in readings} == {"B 2"}
    assert readings[3].stage == "cure"
    assert [reading.weight for reading in readings] == [None] * 4


def test_what_pressed(tmp_path: Path) -> None:
    header = HEADER + ",weight"
    press = "B 2,,,Laser,cure,press,6 in,6 in,,,0.4 mm,0.1 mm,on one foot"
    (reading,), problems = read(tmp_path, f"{press},180 lb", header=header)
    assert (problems, reading.weight) == ([], pytest.approx(180 * 0.45359237))
    readings, problems = read(tmp_path, f"{press},0 lb", "B 2,,,,,tap,6 in,6 in,,,hollow,,,80 kg", header=header)
    assert readings == []
    assert 'column "weight": "0 lb" presses nothing; expected such as 80 kg' in problems[0]
    assert 'column "weight": "80 kg" stands beside a tap; only a press is made with a weight' in problems[1]


@pytest.mark.parametrize("stage", [*STAGES, "", "Draft check", "WATER TEST"])
def test_stage(tmp_path: Path, stage: str) -> None:
    expected = stage.lower().removesuffix(" check") or "draft"
    assert one(tmp_path, f"101,,,Laser,{stage},height,6 in,6 in,,,0,,").stage == expected


ROW = {
    **dict.fromkeys(HEADER.split(","), ""),
    **dict(zip(("room", "instrument", "kind"), ("101", "L24", "wedge"), strict=True)),
    **dict(zip(("x", "y", "x2", "y2", "value"), ("6 in", "6 in", "30 in", "6 in", "3/16 in"), strict=True)),
}


@pytest.mark.parametrize(
    ("column", "cell", "message"),
    [
        ("room", "", 'column "room": "" is missing; expected a room of rooms.csv'),
        ("room", "110", 'column "room": "110" is no room of this job (did you mean "101"?)'),
        ("room", "Shut", 'column "room": "Shut" is a room whose own row was refused'),
        (
            "kind",
            "wegde",
            'column "kind": "wegde" is no kind of reading (did you mean "wedge"?); expected height, wedge',
        ),
        ("kind", "", 'column "kind": "" is missing; expected height, wedge, slope, chord, tap, press'),
        ("kind", "height", 'column "x2": "30 in" is one point too many; a height is read at x, y alone'),
        ("kind", "slope", 'column "value": "3/16 in" '),
        ("stage", "drafts", 'column "stage": "drafts" is no stage (did you mean "draft"?)'),
        ("when", "3/4/2026", 'column "when": "3/4/2026" reads as day/month and as month/day'),
        ("x", "", 'column "x": "" is missing; a wedge needs x, y, x2, y2'),
        ("y2", "", 'column "y2": "" is missing; a wedge needs x, y, x2, y2'),
        ("x", "6", 'column "x": "6" has no unit'),
        ("x", "6 m", 'column "x": "6 m" is 6 m; expected -1 to 2.219 m; check the unit'),
        ("y", "-1.1 m", 'column "y": "-1.1 m" is -1.1 m; expected -1 to '),
        ("x2", "6 in", 'column "x2": "6 in" is the same place as x, y'),
        ("value", "", 'column "value": "" is missing; a wedge is written such as 3/16 in'),
        ("value", "16-Mar", 'column "value": "16-Mar" looks like a date'),
        ("value", "19 m", 'column "value": "19 m" is 19 m; expected -0.3 to 0.3 m; check the unit'),
        ("value", "1/4 in/ft", 'column "value": "1/4 in/ft" '),
        ("u", "0 in", 'column "u": "0 in" is no uncertainty'),
        ("u", "1 %", 'column "u": "1 %" '),
        (
            "instrument",
            "L25",
            'column "instrument": "L25" is no instrument of job.toml (did you mean "L24"?), and u is',
        ),
        ("instrument", "", 'column "u": "" is blank, and no instrument is named that would give it'),
    ],
)
def test_refusal(tmp_path: Path, column: str, cell: str, message: str) -> None:
    bad = ",".join({**ROW, column: cell}.values())
    readings, problems = read(tmp_path, bad, ",".join(ROW.values()))
    assert [reading.line for reading in readings] == [3]
    assert len(problems) == 1
    assert problems[0].startswith(f"readings.csv, line 2, {message}")


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("101,,,Laser,,slope,6 in,6 in,30 in,6 in,1:48,,", "instrument Laser has no u_slope in job.toml"),
        ("101,,,L24,,tap,6 in,6 in,,,dull,,", "is not what a tap tells; expected sound or hollow"),
        ("101,,,L24,,tap,6 in,6 in,,,sound,1 mm,", "stands beside a tap"),
        ("101,,,L24,,press,6 in,6 in,,,-1 mm,,", "expected 0 to 0.05 m"),
        ("101,,,L24,,wedge,6 in,6 in,30 in,6 in,1/4 in,,a,b", "has 14 cells under 13 columns"),
    ],
)
def test_refusal_of_a_kind(tmp_path: Path, row: str, message: str) -> None:
    readings, problems = read(tmp_path, row)
    assert readings == []
    assert message in problems[0]


def test_a_reading_may_bring_its_own_uncertainty_and_an_unlisted_instrument(tmp_path: Path) -> None:
    reading = one(tmp_path, "101,,,borrowed,,wedge,6 in,6 in,30 in,6 in,1/4 in,1/32 in,")
    assert (reading.u, reading.instrument) == (pytest.approx(INCH / 32), "borrowed")


def test_columns_in_any_order_and_only_the_needed_ones(tmp_path: Path) -> None:
    header = "VALUE, kind ,Room,Y,X,u,"
    readings, problems = read(tmp_path, "0,height,101,6 in,7 in,1 mm", header=header)
    assert problems == []
    assert readings[0].x == pytest.approx(7 * INCH)


@pytest.mark.parametrize(
    ("header", "message"),
    [
        ("room,kind,x,value", 'names no column "y"; the first line names the columns: room, kind, x, y, value'),
        ("101,,,L24,,wedge,6 in,6 in,30 in,6 in,1/4 in,,", 'names no column "room", "kind", "x", "y", "value"'),
        (
            HEADER.replace("note", "nose"),
            'column "nose": "nose" is no column here and is passed over (did you mean "note"?)',
        ),
        (HEADER.replace("note", "stage"), 'column "stage": "stage" names 2 columns; expected one'),
    ],
)
def test_header(tmp_path: Path, header: str, message: str) -> None:
    _, problems = read(tmp_path, header=header)
    assert len(problems) == 1
    assert message in problems[0]


def test_doubled_column_is_used_where_both_cells_agree(tmp_path: Path) -> None:
    header = "room,kind,x,y,value,u,u"
    readings, problems = read(
        tmp_path, *(f"101,height,1 in,1 in,0,{u}" for u in ("1 mm,", ",2 mm", "1 mm,1 mm", "1 mm,2 mm")), header=header
    )
    assert [round(reading.u, 6) for reading in readings] == [0.001, 0.002, 0.001]
    assert problems[1:] == [
        'readings.csv, line 5, column "u": "1 mm | 2 mm" stands in two columns of one name; expected one'
    ]


def test_set_ups(tmp_path: Path) -> None:
    header = HEADER + ",setup"
    rows = [
        "101,2026-03-14 09:30,MB,Laser,,height,1 in,1 in,,,0,,,",
        "101,2026-03-14 15:00,MB,laser,,height,2 in,1 in,,,0,,,",
        "101,2026-03-15 09:30,MB,Laser,,height,3 in,1 in,,,0,,,",
        "101,2026-03-14 09:30,JK,Laser,,height,4 in,1 in,,,0,,,",
        "101,2026-03-14 09:30,MB,Laser,,height,5 in,1 in,,,0,,, tripod  2 ",
    ]
    readings, _ = read(tmp_path, *rows, header=header)
    keys = [reading.setup for reading in readings]
    assert keys[0] == keys[1]
    assert len(set(keys)) == 4
    assert keys[4] == "tripod 2"


def test_an_id_stays_when_rows_above_come_and_go(tmp_path: Path) -> None:
    row = "101,,,L24,,wedge,6 in,6 in,30 in,6 in,1/4 in,,"
    twice, _ = read(tmp_path, row, row)
    below, _ = read(tmp_path, "101,,,L24,,wedge,6 in,7 in,30 in,6 in,1/4 in,,", "", row, row)
    assert len({reading.id for reading in twice}) == 2, "a reading taken again is another reading"
    assert [reading.id for reading in twice] == [reading.id for reading in below[1:]]
    changed, _ = read(tmp_path, row.replace("1/4", "3/16"))
    assert changed[0].id not in {reading.id for reading in twice}


def test_a_copied_row_counts_once(tmp_path: Path) -> None:
    row = "101,2026-03-14 09:30,,L24,,wedge,6 in,6 in,30 in,6 in,1/4 in,,"
    readings, problems = read(tmp_path, row, row)
    assert len(readings) == 1
    assert "a reading counts once" in problems[0]
    header = HEADER + ",id"
    readings, problems = read(tmp_path, row + ",a", row + ",a", row + ",b", header=header)
    assert [reading.id for reading in readings] == ["a", "b"]
    assert problems == ['readings.csv, line 3, column "id": "a" stands already in line 2; expected one of its own']


def test_rows_that_wait_are_told_once(tmp_path: Path) -> None:
    rows = [f"{room},,,L24,,wedge,6 in,6 in,30 in,6 in,1/4 in,," for room in ("shut", "shut", "101", "shut", "7")]
    readings, problems = read(tmp_path, *rows)
    assert len(readings) == 1
    assert [problem.removeprefix("readings.csv, ") for problem in problems] == [
        'line 2, column "room": "shut" is a room whose own row was refused; 3 rows name it (lines 2-3, 5)',
        'line 6, column "room": "7" is no room of this job',
    ]


def test_every_problem_of_a_row_is_told_at_once(tmp_path: Path) -> None:
    _, problems = read(tmp_path, "101,x,,L24,y,wedge,6,6 in,30 in,,z,,")
    assert len(problems) == 5


def test_a_repeated_header_is_passed_over(tmp_path: Path) -> None:
    row = "101,,,L24,,wedge,6 in,6 in,30 in,6 in,1/4 in,,"
    assert len(read(tmp_path, row, HEADER.title(), row)[0]) == 2


def test_no_readings_yet(tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    (folder / "readings.csv").unlink()
    loaded = load(folder)
    assert isinstance(loaded, Loaded)
    assert (loaded.job.readings, loaded.problems) == ((), ())
    (folder / "readings.csv").write_text("")
    assert load(folder).problems == ()
