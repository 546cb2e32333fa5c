"""Water tests: every cell with its unit, and every refusal with file, line, column and what was expected."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

import job_texts
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import lengths

from drainward.errors import QuantityError
from drainward.job import Job, Pattern, Puddle, Room, Water, WaterTest, load
from drainward.job.photos import MOST
from drainward.job.puddles import parse_puddles, puddles_text
from drainward.job.water_file import OPTIONAL, REQUIRED, read_water_file
from drainward.job.water_out import WATER_COLUMNS, water_cells

INCH, GALLON = 0.0254, 3.785411784e-3
HEADER = "room,when,who,poured,over,how,x,y,drained,puddles,soap,hottest,flow,photo,note"
JOB = Job(
    name="job",
    units=job_texts.unit_models(),
    rooms=(Room(room="101", unit="open"), Room(room="B 2", unit="alcove")),
    water=Water(over=45.0),
)


def read(tmp_path: Path, *rows: str, header: str = HEADER) -> tuple[list[WaterTest], list[str]]:
    path = tmp_path / "water.csv"
    path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    tests, problems = read_water_file(path, JOB, frozenset({"shut"}))
    return list(tests), [str(problem) for problem in problems]


def one(tmp_path: Path, row: str) -> WaterTest:
    tests, problems = read(tmp_path, row)
    assert problems == []
    return tests[0]


def test_columns_of_reader_and_writer_are_the_same() -> None:
    assert set(REQUIRED + OPTIONAL) == set(WATER_COLUMNS)


def test_a_whole_row(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos/Wet.JPG").write_bytes(job_texts.JPEG)
    test = one(
        tmp_path,
        "101.0,2026-03-16 08:10,MB,2 gal,10 s,At a point,6 in,30 in,1:50,"
        '"12 in / 30 in, 3 in across, 1/8 in deep; 40in/6½ in",yes,118 °F,2.4 gpm,wet.jpg,dry corner',
    )
    assert (test.room, test.who, test.note) == ("101", "MB", "dry corner")
    assert test.when == datetime.combine(date(2026, 3, 16), time(8, 10))
    assert (test.poured, test.over, test.how) == (pytest.approx(2 * GALLON), 10.0, Pattern.AT_A_POINT)
    assert (test.x, test.y, test.drained) == (pytest.approx(6 * INCH), pytest.approx(30 * INCH), 110.0)
    assert test.puddles == (
        Puddle(x=0.3048, y=0.762, across=0.0762, depth=0.003175),
        Puddle(x=1.016, y=0.1651),
    )
    assert (test.soap, test.hottest, test.flow) == (
        True,
        pytest.approx((118 - 32) / 1.8),
        pytest.approx(2.4 * GALLON / 60),
    )
    assert (test.photo, test.file, test.line) == ("Wet.JPG", "water.csv", 2)
    assert test.written == "2 gal | 1:50 | 12 in / 30 in, 3 in across, 1/8 in deep; 40in/6½ in"


def test_blanks(tmp_path: Path) -> None:
    tests, problems = read(tmp_path, "b 2,1 gal", header="room,poured")
    assert problems == []
    test = tests[0]
    assert (test.room, test.over, test.how) == ("B 2", 45.0, Pattern.OVER_THE_FLOOR)
    assert (test.x, test.y, test.drained, test.hottest, test.flow) == (None,) * 5
    assert (test.soap, test.photo, test.written) == (False, "", "1 gal |  | ")
    assert test.puddles is None, "nobody looked"


def test_none_seen_is_not_nobody_looked(tmp_path: Path) -> None:
    assert [one(tmp_path, f"101,,,1 gal,,,,,,{cell},,,,,").puddles for cell in ("none", " NONE ", "")] == [(), (), None]


ROW = {**dict.fromkeys(HEADER.split(","), ""), "room": "101", "poured": "1 gal", "drained": "90 s"}
EXPECTED_PLACE = "is no place from the left / from the back; expected such as 12 in / 40 in, 3 in across, 1/8 in deep"


@pytest.mark.parametrize(
    ("column", "cell", "message"),
    [
        ("room", "", 'column "room": "" is missing; expected a room of rooms.csv'),
        ("room", "110", 'column "room": "110" is no room of this job (did you mean "101"?)'),
        ("room", "Shut", 'column "room": "Shut" is a room whose own row was refused'),
        ("poured", "", 'column "poured": "" is missing; expected how much was poured, such as 1 gal'),
        ("poured", "1", 'column "poured": "1" has no unit; write which one it is: gal (US), qt'),
        ("poured", "1 m3", 'column "poured": "1 m3" is 1 m3; expected 0 to 0.2 m3; check the unit'),
        ("poured", "0 gal", 'column "poured": "0 gal" is nothing; expected more than 0'),
        ("over", "60", 'column "over": "60" has no unit; write which one it is: s, min, h, d'),
        ("over", "2 h", 'column "over": "2 h" is 7200 s; expected 0 to 3600 s'),
        (
            "over",
            "2 min",
            'column "drained": "90 s" is less than the 2 min of pouring; it counts from the first water on',
        ),
        (
            "how",
            "shwoer",
            'column "how": "shwoer" is no way to pour (did you mean "shower"?); expected over the floor, at',
        ),
        ("x", "6 in", 'column "x": "6 in" is a place, and over the floor has none; write how: at a point or shower'),
        ("drained", "30 s", 'column "drained": "30 s" is less than the 45 s of pouring'),
        ("drained", "25 h", 'column "drained": "25 h" is 90000 s; expected 0 to 86400 s'),
        (
            "drained",
            "1:50:00",
            'column "drained": "1:50:00" may be hours, minutes or seconds; write such as 1 min 50 s',
        ),
        ("drained", "0 s", 'column "drained": "0 s" is nothing; expected more than 0'),
        ("puddles", "yes", f'column "puddles": "yes" {EXPECTED_PLACE}'),
        ("puddles", "12 in / 40", 'column "puddles": "40" has no unit'),
        ("puddles", "12/40 in", f'column "puddles": "12/40 in" {EXPECTED_PLACE}'),
        ("puddles", "1 in / 2 in / 3 in", f'column "puddles": "1 in / 2 in / 3 in" {EXPECTED_PLACE}'),
        ("puddles", ";", 'column "puddles": ";" holds no puddle; expected none, or such as'),
        ("puddles", "5 ft / 6 in", 'column "puddles": "5 ft" is 1.524 m from the left wall; expected -0.05 to 1.269 m'),
        ("puddles", "6 in / 1 m", 'column "puddles": "1 m" is 1 m from the back wall; expected -0.05 to 0.9644 m'),
        (
            "puddles",
            '"6 in / 6 in; 6 in / 7 in, 3 across"',
            'column "puddles": "3" has no unit; write which one it is: in, ft, mm, cm, m (puddle 2 of 2)',
        ),
        ("puddles", '"6 in / 6 in, 3 in wide"', 'column "puddles": "3 in wide" is neither across nor deep'),
        ("puddles", '"6 in / 6 in, 3 in"', 'column "puddles": "3 in" is neither across nor deep'),
        (
            "puddles",
            '"6 in/6 in, 0 in deep"',
            'column "puddles": "0 in deep" is no size; leave it out where it was not',
        ),
        ("puddles", '"6 in/6 in, 5 in deep"', 'column "puddles": "5 in" is 0.127 m deep; expected 0 to 0.1 m; check'),
        (
            "puddles",
            '"6 in/6 in, 1 in deep, 2 in deep"',
            'column "puddles": "2 in deep" says a second time how deep the puddle is; expected one',
        ),
        ("soap", "some", 'column "soap": "some" is not understood; expected yes or no'),
        ("hottest", "118", 'column "hottest": "118" has no unit; write which one it is: °F, °C'),
        ("hottest", "118 °C", 'column "hottest": "118 °C" is 118 °C; expected 0 to 100 °C'),
        ("flow", "2.5", 'column "flow": "2.5" has no unit; write which one it is: gpm (US), L/min'),
        ("flow", "2.5 m3/h", ""),
        ("flow", "25 L/s", 'column "flow": "25 L/s" is 0.025 m3/s; expected 0 to 0.01 m3/s'),
        ("when", "3/4/2026", 'column "when": "3/4/2026" reads as day/month and as month/day'),
    ],
)
def test_refusal(tmp_path: Path, column: str, cell: str, message: str) -> None:
    bad = ",".join({**ROW, column: cell}.values())
    tests, problems = read(tmp_path, bad, ",".join(ROW.values()))
    if not message:
        assert (len(tests), problems) == (2, [])
        return
    assert [test.line for test in tests] == [3]
    assert len(problems) == 1
    assert problems[0].startswith(f"water.csv, line 2, {message}")


@pytest.mark.parametrize(
    ("x", "y", "message"),
    [
        ("6 in", "", 'column "y": "" is missing; a place needs x and y'),
        ("", "6 in", 'column "x": "" is missing; a place needs x and y'),
        ("2 m", "6 in", 'column "x": "2 m" is 2 m; expected -0.05 to 1.269 m; check the unit'),
        ("6 in", "-3 in", 'column "y": "-3 in" is -0.0762 m; expected -0.05 to 0.9644 m'),
    ],
)
def test_where_the_bucket_was(tmp_path: Path, x: str, y: str, message: str) -> None:
    tests, problems = read(tmp_path, ",".join({**ROW, "how": "shower", "x": x, "y": y}.values()))
    assert (tests, len(problems)) == ([], 1)
    assert problems[0].startswith(f"water.csv, line 2, {message}")


def test_every_problem_of_a_row_is_told_at_once(tmp_path: Path) -> None:
    _, problems = read(tmp_path, "101,x,,1,1,y,,,z,w,maybe,118,5,no.jpg,")
    assert len(problems) == 9, "the photograph of a row that is not used is not asked for"


@pytest.mark.parametrize(
    ("cell", "content", "message"),
    [
        ("wte.jpg", job_texts.JPEG, '"wte.jpg" is no file in photos/ (did you mean "wet.jpg"?); the row is kept'),
        ("../wet.jpg", job_texts.JPEG, '"../wet.jpg" is no file in photos/'),
        ("wet.jpg", b"GIF89a", '"wet.jpg" is no JPEG or PNG picture by its first bytes; the row is kept without it'),
        ("wet.jpg", b"", '"wet.jpg" is no JPEG or PNG picture'),
        ("wet.jpg", job_texts.JPEG + bytes(MOST), '"wet.jpg" is 8.0 MB large; expected at most 8 MB; the row is kept'),
    ],
)
def test_a_photograph_that_cannot_be_used_costs_only_itself(
    tmp_path: Path, cell: str, content: bytes, message: str
) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos/wet.jpg").write_bytes(content)
    tests, problems = read(tmp_path, f"101,,,1 gal,,,,,,none,,,,{cell},")
    assert [(test.puddles, test.photo) for test in tests] == [((), "")]
    assert len(problems) == 1
    assert problems[0].startswith(f'water.csv, line 2, column "photo": {message}')


def test_no_folder_of_photographs(tmp_path: Path) -> None:
    tests, problems = read(tmp_path, "101,,,1 gal,,,,,,,,,,a.jpg,", "101,,,1 gal,,,,,,,,,,,")
    assert (len(tests), len(problems)) == (2, 1)


@pytest.mark.parametrize("cell", ["wet.png", "WET.PNG", "photos/wet.png"])
def test_a_photograph_is_found_whatever_the_capitals(tmp_path: Path, cell: str) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos/wet.png").write_bytes(job_texts.PNG)
    assert one(tmp_path, f"101,,,1 gal,,,,,,,,,,{cell},").photo == "wet.png"


def test_ids_and_copies(tmp_path: Path) -> None:
    row = "101,2026-03-16 08:10,,1 gal,,,,,,,,,,,"
    tests, problems = read(tmp_path, row, row, row.replace("08:10", "08:30"), "", "B 2,,,1 gal,,,,,,,,,,,")
    assert len({test.id for test in tests}) == len(tests) == 3
    assert "line 3" in problems[0] and "a water test counts once" in problems[0]
    below, _ = read(tmp_path, "B 2,,,1 gal,,,,,,,,,,,", row)
    assert below[1].id == tests[0].id
    _, problems = read(tmp_path, f"{row},a", f"{row},a", header=f"{HEADER},id")
    assert problems == ['water.csv, line 3, column "id": "a" stands already in line 2; expected one of its own']


def test_rows_that_wait_are_told_once(tmp_path: Path) -> None:
    _, problems = read(tmp_path, *["shut,,,1 gal,,,,,,,,,,,"] * 3)
    assert problems == [
        'water.csv, line 2, column "room": "shut" is a room whose own row was refused; 3 rows name it (lines 2-4)'
    ]


def test_no_water_yet(tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    (folder / "water.csv").unlink()
    loaded = load(folder)
    assert (loaded.job.water_tests, loaded.problems) == ((), ())


@given(
    st.lists(
        st.builds(
            Puddle,
            x=lengths(-0.05, 1.2),
            y=lengths(-0.05, 0.9),
            across=st.none() | lengths(0.001, 1),
            depth=st.none() | lengths(0.0005, 0.1),
        ),
        max_size=4,
    ).map(tuple)
)
def test_puddles_round_trip(puddles: tuple[Puddle, ...]) -> None:
    assert parse_puddles(puddles_text(puddles), 1.2, 0.9) == puddles


@given(st.text("0123456789 /.,;-½\"'inmacrosdept") | st.text())
def test_any_text_is_puddles_on_the_floor_or_refused(text: str) -> None:
    try:
        puddles = parse_puddles(text, 1.2, 0.9)
    except QuantityError:
        return
    assert all(-0.05 <= p.x <= 1.25 and -0.05 <= p.y <= 0.95 and p.across != 0 and p.depth != 0 for p in puddles)


@pytest.mark.parametrize(
    "text",
    [
        "12in/40in,3in across,1/8in deep",
        '12" / 40", 1/8" DEEP, 3" Across,',
        " 1' / 3'-4\" , 3 in  across , 1/8  deep ; ; ",
        "304.8 mm/1.016 m, 76.2 mm across, 3.175 mm deep",
    ],
)
def test_one_puddle_in_many_hands(text: str) -> None:
    (puddle,) = parse_puddles(text, 1.5, 1.5)
    found = (puddle.x, puddle.y, puddle.across, puddle.depth)
    assert found == pytest.approx((12 * INCH, 40 * INCH, 3 * INCH, INCH / 8))


def test_what_was_written_is_written_again_only_while_it_says_the_same() -> None:
    test = WaterTest(id="a", room="1", poured=GALLON, over=60, drained=110.0, written="1. gal | 1:50 | none")
    kept = test.model_copy(update={"written": "4 qt | 1:50 | NONE", "puddles": ()})
    assert [water_cells(kept)[key] for key in ("poured", "drained", "puddles")] == ["4 qt", "1:50", "NONE"]
    assert [water_cells(test)[key] for key in ("poured", "drained", "puddles")] == ["1 gal", "1:50", ""]
    other = kept.model_copy(update={"poured": 2 * GALLON, "drained": None, "puddles": (Puddle(x=0.3048, y=0),)})
    assert [water_cells(other)[key] for key in ("poured", "drained", "puddles")] == ["2 gal", "", '12" / 0"']
