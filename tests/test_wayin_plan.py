"""plan.csv: what it means, and what is refused with file, line and column."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drainward.quantity import INCH
from drainward.wayin.plan import KINDS, OPTIONAL, REQUIRED, Door, Place, Plan, Wall, barriers, plan_of, read_plan

DOCS = (Path(__file__).parents[1] / "docs/job-folder.md").read_text(encoding="utf-8")
HEADER = "floor,kind,name,x,y,thickness,height,leaf,trim"
GOOD = [
    "1,wall,south,0,0,5 in,,,",
    "1,wall,south,20 ft,0,,,,",
    "1,door,101,8 ft,0,,80 in,left,1/2 in",
    "1,door,101,11 ft,0,,,,",
    "1,start,lift,10 ft,-5 ft,,,,",
    "1,goal,101,9 ft,6 ft,,,,",
    "1,goal,101,14 ft,6 ft,,,,",
]


def write(tmp_path: Path, rows: list[str]) -> Path:
    path = tmp_path / "plan.csv"
    path.write_text("\n".join([HEADER, *rows]))
    return path


def test_a_storey_is_read(tmp_path: Path) -> None:
    plans, problems = read_plan(write(tmp_path, GOOD))
    assert problems == ()
    plan = plans["1"]
    assert plan.walls[0].thickness == pytest.approx(5 * INCH)
    door = plan.doors[0]
    assert (door.width, door.head, door.leaf) == (pytest.approx(36 * INCH), pytest.approx(80 * INCH), "left")
    assert plan.goal("101") is not None


@pytest.mark.parametrize(
    ("row", "line", "column", "expected"),
    [
        ("1,wal,x,0,0,,,,", 9, "kind", 'did you mean "wall"'),
        ("1,wall,x,5,0,,,,", 9, "x", "no unit"),
        ("1,wall,x,,0,,,,", 9, "x", "is missing"),
        ("1,wall,x,1 ft,0,,,,", 9, "kind", "has 1 points"),
        ("1,start,x,1 ft,0,5 in,,,", 9, "thickness", "belongs to a wall"),
        ("1,door,x,1 ft,9 ft,,,up,", 9, "leaf", "expected left, right or none"),
    ],
)
def test_a_bad_row_is_named_and_the_rest_kept(tmp_path: Path, row: str, line: int, column: str, expected: str) -> None:
    plans, problems = read_plan(write(tmp_path, [*GOOD, row]))
    assert [(p.file, p.line, p.field) for p in problems] == [("plan.csv", line, column)]
    assert expected in problems[0].expected
    assert len(plans["1"].walls) == 1


def test_a_door_on_no_wall_is_named(tmp_path: Path) -> None:
    _, problems = read_plan(write(tmp_path, [*GOOD, "1,door,x,1 ft,9 ft,,,,", "1,door,x,4 ft,9 ft,,,,"]))
    assert [(p.line, "on no wall" in p.expected) for p in problems] == [(9, True)]


def test_a_low_head_shuts_its_door_and_a_leaf_stands_in_the_way() -> None:
    door = Door("d", (1.0, 0.0), (2.0, 0.0), head=2.0, leaf="left")
    plan = Plan("1", (Wall("w", ((0.0, 0.0), (4.0, 0.0)), 0.1),), (door,))
    low, high = barriers(plan, 1.9), barriers(plan, 2.1)
    assert "head of door d" not in low[1]
    assert "head of door d" in high[1]
    assert tuple(low[0][low[1].index("leaf of door d")]) == (1.0, 0.0, 1.0, 1.0)


def test_the_documented_plan_is_read_and_every_column_and_kind_is_named(tmp_path: Path) -> None:
    section = DOCS.split("\n## plan.csv\n")[1].split("\n## ")[0]
    path = tmp_path / "plan.csv"
    path.write_text(section.split("```csv plan.csv\n")[1].split("```")[0])
    plans, problems = read_plan(path)
    assert problems == ()
    assert (len(plans["1"].walls), len(plans["1"].doors), len(plans["1"].goals)) == (2, 1, 1)
    assert {*REQUIRED, *OPTIONAL, *KINDS} <= set(re.findall(r"`([^`\n]+)`", section))


def test_a_room_takes_the_plan_of_its_storey_else_the_one_that_leads_to_it() -> None:
    first, second = (Plan(floor, (), goals=(Place(room, ()),)) for floor, room in (("1", "101"), ("2", "201")))
    plans = {"1": first, "2": second}
    assert plan_of(plans, "101", "1") is first
    assert plan_of(plans, "201", "") is second
    assert plan_of(plans, "201", "1") is first, "a storey's own plan stands, though no goal of it is the room"
    assert plan_of(plans, "301", "3") is None
