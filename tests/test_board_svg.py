"""The board: every room and step of the plan is drawn once, apart by shape, on pages that hold them."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from drainward.plan.checker import measure
from drainward.plan.from_job import Case
from drainward.plan.invented import CASES, invented
from drainward.plan.lists import dispatch
from drainward.plan.make import Made
from drainward.plan.model import Kind
from drainward.plan.told import kits_by_day
from drainward.report.board_svg import board_svg, floors_svg, legend_svg, pages_of, strips_svg, wide_enough

SVG = "{http://www.w3.org/2000/svg}"


def made(rooms: int) -> Made:
    building = invented(rooms, *CASES[rooms], seed=1)
    plan = dispatch(building)
    floors = {room.floor: str(room.floor) for room in building.rooms}
    return Made(Case(building, (), 0, floors, ()), plan, measure(building, plan), 0, "by hand")


def words(svg: str) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("rooms", [12, 300])
def test_every_room_stands_once_and_under_its_floor(rooms: int) -> None:
    plan = made(rooms)
    pages = pages_of(plan, 170.0)
    told = [words(board_svg(plan, page)) for page in pages]
    assert sorted(room.id for room in plan.case.building.rooms) == sorted(room.id for page in pages for room in page)
    for page, text in zip(pages, told, strict=True):
        assert {room.id for room in page} <= set(text)
        assert {f"Floor {room.floor}" for room in page} <= set(text)
        svg = board_svg(plan, page)
        assert float(re.search(r'height="([\d.]+)mm"', svg)[1]) <= 170.0  # type: ignore[index]


def test_each_step_has_a_shape_of_its_own() -> None:
    plan = made(12)
    svg = ElementTree.fromstring(board_svg(plan, plan.case.building.rooms))
    kinds = [task.kind for task in plan.plan.tasks]
    circles = [c for c in svg.iter(f"{SVG}circle") if c.get("r") == "1.15"]
    diamonds = [p for p in svg.iter(f"{SVG}path") if (p.get("d") or "").endswith("z")]
    hatched = [r for r in svg.iter(f"{SVG}rect") if r.get("fill") == "url(#fix)"]
    assert len(circles) == kinds.count(Kind.TEST)
    assert len(diamonds) == kinds.count(Kind.LOOK)
    assert len(hatched) == kinds.count(Kind.CORRECTION)


def test_what_is_done_is_grey() -> None:
    plan = made(12)
    done = tuple(task for task in plan.plan.tasks if task.kind is Kind.SURVEY)
    case = Case(plan.case.building, done, plan.case.now, plan.case.floors, ())
    grey = board_svg(Made(case, plan.plan, plan.measures, 0, ""), plan.case.building.rooms)
    assert grey.count("#8a8a8a") == len(done) and "#8a8a8a" not in board_svg(plan, plan.case.building.rooms)


def test_floors_count_the_units_that_are_set() -> None:
    plan = made(300)
    svg = ElementTree.fromstring(floors_svg(plan, wide_enough(plan)))
    counts = [int(t.text or "") for t in svg.iter(f"{SVG}text") if t.get("text-anchor") == "middle"]
    assert sum(counts) == 300
    assert sum(1 for t in svg.iter(f"{SVG}text") if (t.text or "").endswith("(24)")) == 12


def test_the_strips_tell_braces_mortar_and_rooms() -> None:
    plan = made(12)
    first = plan.case.building.rooms[0].id
    text = words(strips_svg(plan, {first: 3.5}))
    assert {"Braces", "10 sets at hand", "Mortar", "3.5", "Done, due", "of 12 rooms"} <= set(text)
    assert str(max(kits_by_day(plan).values())) in text
    assert any(word.startswith("+") and word.endswith("?") for word in text), "beds that are not known are told"


def test_the_legend_names_every_step() -> None:
    text = " ".join(words(legend_svg()))
    for word in ("survey", "correction", "cure", "water test again", "second look", "due", "no work"):
        assert word in text
