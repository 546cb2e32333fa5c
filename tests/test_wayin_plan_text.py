"""plan.csv written anew: a storey's rows, and everything else to the letter."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.quantity import INCH
from drainward.wayin.plan import read_plan
from drainward.wayin.plan_text import PlanRow, floors_of, plan_text, write_plan

TEXT = """floor,kind,name,x,y,mine,thickness,leaf,note
1,wall,"south, old",0,0,a,5 in,,"as built
in two lines"
2,wall,w,0,0,,,,
1,wall,"south, old",20 ft,0,b,,,

1,door,101,8 ft,0,,,left,
1,wal,typo,8 ft,0,,,,
1,door,101,11 ft,0,,,,
2,wall,w,3.5 m,0,,,,
"broken
"""


def put(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "plan.csv"
    path.write_bytes(text.encode())
    return path


def test_a_storey_is_told_from_the_others_with_its_points(tmp_path: Path) -> None:
    text = plan_text(put(tmp_path, TEXT))
    assert floors_of(text) == ("1", "2")
    rows = text.storey("1")
    assert [row.line for row in rows] == [2, 5, 7, 8, 9]
    assert [row.point for row in rows[:2]] == [(0.0, 0.0), (pytest.approx(240 * INCH), 0.0)]
    assert rows[3].point is None, "its kind is none"
    assert rows[0].cells == {
        "floor": "1", "kind": "wall", "name": "south, old", "x": "0", "y": "0", "mine": "a", "thickness": "5 in",
        "note": "as built\nin two lines",
    }  # fmt: skip


@pytest.mark.parametrize("change", [str, lambda text: text.replace("\n", "\r\n"), lambda text: "\ufeff" + text])
def test_what_nobody_touched_stays_to_the_letter(tmp_path: Path, change) -> None:  # type: ignore[no-untyped-def]
    raw = change(TEXT)
    text = plan_text(put(tmp_path, raw))
    assert write_plan(text, "1", text.storey("1")).text == raw
    kept = tuple(replace(row, cells=None) for row in text.storey("1"))
    assert write_plan(text, "1", kept).text == raw


def test_a_moved_point_a_new_corner_and_a_new_thing(tmp_path: Path) -> None:
    text = plan_text(put(tmp_path, TEXT))
    south, end, *others = text.storey("1")
    moved = replace(end, cells={**(end.cells or {}), "x": "21 ft", "note": 'a 2" gap'})
    things = (("wall", "South,  OLD", "30 ft", ""), ("start", "lift", "1 ft", "8 ft"))
    new = [
        PlanRow(None, {"floor": "1", "kind": kind, "name": name, "x": x, "y": "0", "height": height})
        for kind, name, x, height in things
    ]
    written = write_plan(text, "1", [south, moved, new[0], *others, new[1]])
    lines = written.text.split("\n")
    assert lines[0] == "floor,kind,name,x,y,mine,thickness,leaf,note,height"
    assert lines[4:6] == ['1,wall,"south, old",21 ft,0,b,,,"a 2"" gap",', '1,wall,"South,  OLD",30 ft,0,,,,,']
    assert lines[-2] == "1,start,lift,1 ft,0,,,,,8 ft"
    assert written.lines == (2, 5, 6, 8, 9, 10, 13)
    assert lines[10:12] == ["2,wall,w,3.5 m,0,,,,", '"broken']


def test_rows_that_are_not_given_are_gone_and_only_those(tmp_path: Path) -> None:
    text = plan_text(put(tmp_path, TEXT))
    left = write_plan(text, "1", ()).text
    assert left == 'floor,kind,name,x,y,mine,thickness,leaf,note\n2,wall,w,0,0,,,,\n\n2,wall,w,3.5 m,0,,,,\n"broken\n'


def test_a_plan_is_begun(tmp_path: Path) -> None:
    rows = [PlanRow(None, {"kind": "wall", "name": "1", "x": x, "y": "0"}) for x in ("0", "12'-6 3/8\"")]
    path = tmp_path / "plan.csv"
    path.write_text(write_plan(plan_text(path), "", rows).text)
    assert path.read_text().splitlines()[0] == "floor,kind,name,x,y,thickness,height,leaf,trim,note"
    plans, problems = read_plan(path)
    assert problems == ()
    assert plans[""].walls[0].points[1][0] == pytest.approx(150.375 * INCH)


def test_a_row_of_another_storey_is_not_taken(tmp_path: Path) -> None:
    text = plan_text(put(tmp_path, TEXT))
    with pytest.raises(ValueError, match='no row of floor "1"'):
        write_plan(text, "1", [PlanRow(4, {"kind": "wall"})])
    with pytest.raises(ValueError, match="twice"):
        write_plan(text, "1", [text.storey("1")[0]] * 2)


def test_a_file_without_its_columns_is_named(tmp_path: Path) -> None:
    text = plan_text(put(tmp_path, "floor,kind\n1,wall\n"))
    assert 'names no column "x", "y"' in text.problems[0].expected


CELL = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), max_size=8).map(str.strip)


@given(cells=st.lists(st.tuples(CELL, CELL), min_size=1, max_size=5))
def test_any_words_come_back(cells: list[tuple[str, str]], tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("plan") / "plan.csv"
    rows = [PlanRow(None, {"floor": "1", "kind": "wall", "name": name, "x": f"{n} ft", "y": "0", "note": note})
            for n, (name, note) in enumerate(cells)]  # fmt: skip
    path.write_bytes(write_plan(plan_text(path), "1", rows).text.encode())
    back = plan_text(path).storey("1")
    assert [{k: v for k, v in (row.cells or {}).items() if v} for row in rows] == [row.cells for row in back]
