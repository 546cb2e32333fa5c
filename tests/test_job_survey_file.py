"""Surveys and units as they arrived: every cell with its unit, and every refusal with file, line, column and why."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import job_texts
import pytest

from drainward.job import (
    Instrument,
    Job,
    Measure,
    Received,
    Room,
    Size,
    What,
    append_measure_csv,
    append_received_csv,
    load,
)
from drainward.job.received_file import read_received_file, sheet_size
from drainward.job.survey_file import OPTIONAL, PLACES, REQUIRED, read_survey_file
from drainward.job.survey_out import MEASURE_COLUMNS, RECEIVED_COLUMNS, measure_cells, received_cells
from drainward.job.written import length_text

INCH = 0.0254
HEADER = "room,when,who,instrument,what,wall,x,y,z,x2,y2,value,u,note"
SIZES = "room,when,who,instrument,what,value,u,photo,note"
JOB = Job(
    name="job",
    units=job_texts.unit_models(),
    rooms=(Room(room="101", unit="alcove"), Room(room="B 2", unit="open")),
    instruments={
        "tape": Instrument(id="tape", name="Tape", u=INCH / 32),
        "level": Instrument(id="level", name="Level", u_slope=0.001),
    },
)


def survey(tmp_path: Path, *rows: str, header: str = HEADER) -> tuple[list[Measure], list[str]]:
    path = tmp_path / "survey.csv"
    path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    measures, problems = read_survey_file(path, JOB, frozenset({"shut"}))
    return list(measures), [str(problem) for problem in problems]


def received(tmp_path: Path, *rows: str) -> tuple[list[Received], list[str]]:
    path = tmp_path / "received.csv"
    path.write_text("\n".join([SIZES, *rows, ""]), encoding="utf-8")
    sizes, problems = read_received_file(path, JOB, frozenset({"shut"}))
    return list(sizes), [str(problem) for problem in problems]


def test_columns_of_reader_and_writer_are_the_same() -> None:
    assert set(REQUIRED + OPTIONAL) == set(MEASURE_COLUMNS)
    assert {*SIZES.split(","), "id"} == set(RECEIVED_COLUMNS)


def test_every_measure_is_read(tmp_path: Path) -> None:
    assert set(PLACES) == set(What)
    for size in Size:
        if size is not Size.DAMAGE:
            written = length_text(sheet_size(JOB.units["alcove"], size))
            (read,), problems = received(tmp_path, f"101,,,tape,{size},{written},,,")
            assert (read.what, problems) == (size, [])
    with pytest.raises(ValueError, match="no cut sheet gives damage"):
        sheet_size(JOB.units["alcove"], Size.DAMAGE)


def test_a_whole_row(tmp_path: Path) -> None:
    measures, problems = survey(tmp_path, '101,2026-02-20 07:34,MB,Tape,Plumb,BACK,12 in,,72",,,-3/16 in,1 mm,leans')
    assert problems == []
    (measure,) = measures
    assert (measure.what, measure.wall, measure.y, measure.x2) == (What.PLUMB, "back", None, None)
    assert (measure.x, measure.z) == pytest.approx((12 * INCH, 72 * INCH))
    assert (measure.value, measure.u) == pytest.approx((-3 / 16 * INCH, 0.001))
    assert (measure.instrument, measure.who, measure.note) == ("tape", "MB", "leans")
    assert measure.when == datetime(2026, 2, 20, 7, 34)  # noqa: DTZ001
    assert (measure.written, measure.setup, measure.file, measure.line) == ("-3/16 in", "", "survey.csv", 2)


def test_what_the_instrument_gives(tmp_path: Path) -> None:
    measures, problems = survey(tmp_path, "b 2,2026-02-20,MB,tape,slab,,-2 in,44 in,,,,-41 in,,")
    assert problems == []
    assert (measures[0].u, measures[0].setup) == (INCH / 32, "tape | MB | 2026-02-20")


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("101,,,tape,,,,,,,,1 in,,", 'column "what": "" is missing; expected width, depth, diagonal'),
        (
            "101,,,tape,widht,,,2 in,2 in,,,60 in,,",
            'column "what": "widht" is nothing that a survey measures (did you mean "width"?); expected width, ',
        ),
        ("101,,,tape,width,,,,2 in,,,60 in,,", 'column "y": "" is missing; width needs y, z'),
        ("101,,,tape,width,,1 in,2 in,2 in,,,60 in,,", 'column "x": "1 in" says nothing of width; expected y, z'),
        ("101,,,tape,width,left,,2 in,2 in,,,60 in,,", 'column "wall": "left" says nothing of width; leave it blank'),
        ("101,,,tape,width,,,2 in,2 in,,,,,", 'column "value": "" is missing; width is written such as 61-3/4 in'),
        ("101,,,tape,width,,,2 in,2 in,,,60,,", 'column "value": "60" has no unit'),
        ("101,,,tape,width,,,2 in,2 in,,,6 in,,", 'column "value": "6 in" is 0.1524 m; expected 0.3 to 5 m; check'),
        ("101,,,tape,width,,,2 in,30 ft,,,60 in,,", 'column "z": "30 ft" is 9.144 m; expected 0 to 6 m'),
        ("101,,,tape,width,,,90 in,2 in,,,60 in,,", 'column "y": "90 in" is 2.286 m; expected 0 to 1.95'),
        ("101,,,tape,diagonal,,,,2 in,,,72 in,,", 'column "wall": "" is missing; expected left or right'),
        (
            "101,,,tape,diagonal,back,,,2 in,,,72 in,,",
            'column "wall": "back" is no wall of diagonal; expected left or right',
        ),
        ("101,,,tape,plumb,back,9 in,2 in,72 in,,,1/8 in,,", 'column "y": "2 in" says nothing of plumb; expected x, z'),
        ("101,,,tape,plumb,left,,2 in,1 in,,,1/8 in,,", 'column "z": "1 in" is too low; expected the height over'),
        ("101,,,tape,square,left,,2 in,,,,1/8 in,,", 'column "y": "2 in" is too short a base; expected how far'),
        (
            "101,,,tape,blocking,left,,9 in,33 in,,8 in,9 in,,",
            'column "y2": "8 in" is not beyond y; blocking runs from y to y2',
        ),
        ("101,,,,width,,,2 in,2 in,,,60 in,,", 'column "u": "" is blank, and no instrument is named that would give'),
        ("101,,,level,width,,,2 in,2 in,,,60 in,,", 'column "u": "" is blank, and instrument level has no u in job'),
        (
            "101,,,tap,width,,,2 in,2 in,,,60 in,,",
            'column "instrument": "tap" is no instrument of job.toml (did you mean "tape"?), and u is blank',
        ),
        ("101,,,tape,width,,,2 in,2 in,,,60 in,0 in,", 'column "u": "0 in" is no uncertainty; every measure has some'),
        ("110,,,tape,width,,,2 in,2 in,,,60 in,,", 'column "room": "110" is no room of this job'),
    ],
)
def test_a_bad_cell_is_told_and_its_neighbours_kept(tmp_path: Path, row: str, message: str) -> None:
    good = "101,,,tape,core,,,,,,,6 in,,"
    measures, problems = survey(tmp_path, good, row, good)
    assert [measure.what for measure in measures] == [What.CORE, What.CORE]
    assert len(problems) == 1
    assert problems[0].startswith(f"survey.csv, line 3, {message}")


def test_a_size_and_damage(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos/wet.jpg").write_bytes(job_texts.JPEG)
    sizes, problems = received(
        tmp_path,
        "101,,JK,tape,Outside width,61-7/16 in,,,",
        '101,,JK,,damage,"crack, left flange",,wet.jpg,',
        "B 2,,JK,,damage,None,,,",
    )
    assert problems == []
    assert [(size.what, size.u, size.photo) for size in sizes] == [
        (Size.OUTSIDE_WIDTH, INCH / 32, ""),
        (Size.DAMAGE, None, "wet.jpg"),
        (Size.DAMAGE, None, ""),
    ]
    assert [size.value for size in sizes] == pytest.approx([(61 + 7 / 16) * INCH, 1.0, 0.0])
    assert sizes[1].written == "crack, left flange"


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("101,,,tape,,1 in,,,", 'column "what": "" is missing; expected outside width'),
        ("101,,,tape,outside wide,1 in,,,", 'column "what": "outside wide" is nothing asked of a unit (did you mean'),
        ("101,,,tape,drain x,,,,", 'column "value": "" is missing; the cut sheet says 30"'),
        (
            "101,,,tape,drain x,40 in,,,",
            'column "value": "40 in" is more than 3" off the cut sheet of alcove, 30"; check the tape, and whether',
        ),
        ("101,,,,drain x,30 in,,,", 'column "u": "" is blank, and no instrument'),
        ("101,,,,damage,,,,", 'column "value": "" is missing; expected none, or the damage in words'),
        ("101,,,,damage,none,1 mm,,", 'column "u": "1 mm" stands beside damage, which is seen and not measured'),
    ],
)
def test_a_bad_size_is_told(tmp_path: Path, row: str, message: str) -> None:
    sizes, problems = received(tmp_path, row)
    assert (sizes, len(problems)) == ([], 1)
    assert problems[0].startswith(f"received.csv, line 2, {message}")


def test_a_photograph_that_cannot_be_used_costs_only_itself(tmp_path: Path) -> None:
    sizes, problems = received(tmp_path, "101,,,,damage,crack,,none.jpg,")
    assert ([size.photo for size in sizes], len(problems)) == ([""], 1)


def test_no_survey_yet(tmp_path: Path) -> None:
    job = load(job_texts.write(tmp_path)).job
    assert (job.survey, job.received) == ((), ())


def test_what_was_written_is_written_again_only_while_it_says_the_same(tmp_path: Path) -> None:
    (measure,), _ = survey(tmp_path, "101,,,tape,core,,,,,,,6.0 in,,")
    assert [measure_cells(measure, JOB.instruments)[key] for key in ("value", "u")] == ["6.0 in", ""]
    other = measure.model_copy(update={"value": 0.127, "u": 0.001})
    assert [measure_cells(other, JOB.instruments)[key] for key in ("value", "u")] == ['5"', "1 mm"]
    damage = Received(id="a", room="101", what=Size.DAMAGE, value=1.0)
    assert received_cells(damage, {})["value"] == "seen, not described"
    assert received_cells(damage.model_copy(update={"written": "crack", "value": 0.0}), {})["value"] == "none"


def test_one_row_more(tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    (folder / "survey.csv").write_text("value;what;room;u\r\n6 in;core;North-11A;1 mm\r\n", newline="")
    lean = Measure(id="m", room="North-11A", what=What.PLUMB, wall="left", y=0.5, z=1.8, value=0.003, u=0.001)
    assert append_measure_csv(folder, lean) == 3
    crack = Received(id="r", room="North-11A", what=Size.DAMAGE, value=1.0, written="crack; left flange")
    assert append_received_csv(folder, crack) == 2
    loaded = load(folder)
    assert loaded.problems == ()
    assert loaded.job.survey[0].what is What.CORE
    assert loaded.job.survey[1] == lean.model_copy(update={"written": "3 mm", "file": "survey.csv", "line": 3})
    assert loaded.job.received == (crack.model_copy(update={"file": "received.csv", "line": 2}),)
