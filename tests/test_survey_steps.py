"""What to measure, one after the other: each has its place, its words and its picture; what is done is known."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.demo.units import bedded, own_base
from drainward.job.model import Measure, Received, Size, What
from drainward.job.survey_file import PLACES
from drainward.pocket.ask import Asked
from drainward.quantity import INCH
from drainward.report.ink import ASK
from drainward.report.survey_steps import Step, survey_steps
from drainward.report.tape_svg import tape_svg

UNITS = (bedded(), own_base())
SVG = "{http://www.w3.org/2000/svg}"


def measure(what: What, **places: object) -> Measure:
    return Measure(id="a", room="101", what=what, value=1.5, u=0.001, **places)  # type: ignore[arg-type]


def test_the_round_asks_for_everything_once() -> None:
    steps = survey_steps(UNITS[0], (), (), None)
    assert {step.what for step in steps} == {*What, *Size}
    assert len({(s.what, s.wall, s.x, s.y, s.z, s.number) for s in steps}) == len(steps)
    assert {step.done for step in steps} == {0}


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.id)
def test_every_step_of_the_pocket_says_the_columns_that_its_measure_needs(unit: object) -> None:
    for step in survey_steps(unit, (), (), None):  # type: ignore[arg-type]
        if isinstance(step.what, Size):
            assert step.of == "unit"
            continue
        places = PLACES[step.what]
        assert bool(step.wall) == bool(places.walls)
        along = "x" if step.wall == "back" else "y"
        needed = {name.replace("along 2", f"{along}2").replace("along", along) for name in places.needed}
        given_places = {name for name in ("x", "y", "z", "x2", "y2") if getattr(step, name) is not None}
        assert needed <= given_places <= needed | set(places.may), step


def test_what_was_measured_near_by_is_done_and_far_off_is_not() -> None:
    near = measure(What.WIDTH, y=3 * INCH, z=4 * INCH)
    steps = survey_steps(UNITS[0], (near, near), (), None)
    assert [step.done for step in steps if step.what is What.WIDTH] == [2, 0, 0, 0, 0, 0]
    other = measure(What.PLUMB, wall="right", y=2 * INCH, z=72 * INCH)
    plumb = [step for step in survey_steps(UNITS[0], (other,), (), None) if step.what is What.PLUMB]
    assert [(step.wall, step.done) for step in plumb if step.done] == [("right", 1)]


def test_studs_are_counted_along_their_wall() -> None:
    studs = [measure(What.STUD, wall="back"), measure(What.STUD, wall="back"), measure(What.STUD, wall="left")]
    steps = [step for step in survey_steps(UNITS[0], studs, (), None) if step.what is What.STUD]
    assert [step.done for step in steps if step.wall == "back"] == [1, 1, 0, 0, 0]
    assert [step.done for step in steps if step.wall == "left"][:2] == [1, 0]


def test_what_decides_comes_first_and_stands_for_the_same_place_of_the_round() -> None:
    plain = survey_steps(UNITS[0], (), (), None)
    asked = Asked(What.WIDTH, "", None, 2.5 * INCH, 3 * INCH, 0.5, 0.4, "it settles most.")
    steps = survey_steps(UNITS[0], (), (), asked)
    assert (steps[0].what, steps[0].y, steps[0].why) == (What.WIDTH, 2.5 * INCH, "it settles most.")
    assert len(steps) == len(plain)
    new = survey_steps(UNITS[0], (), (), Asked(What.WIDTH, "", None, 18 * INCH, 40 * INCH, 0.5, 0.4, "why."))
    assert len(new) == len(plain) + 1


def test_a_unit_is_asked_with_its_sheet_beside() -> None:
    sizes = [Received(id="a", room="101", what=Size.DAMAGE, value=0.0)]
    steps = {step.what: step for step in survey_steps(UNITS[0], (), sizes, None) if step.of == "unit"}
    assert (steps[Size.OUTSIDE_WIDTH].sheet, steps[Size.OUTSIDE_WIDTH].done) == ('62"', 0)
    assert (steps[Size.DAMAGE].sheet, steps[Size.DAMAGE].done) == ("", 1)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.id)
def test_every_picture_has_its_tape_within_its_edges(unit: object) -> None:
    for step in survey_steps(unit, (), (), None):  # type: ignore[arg-type]
        picture = ET.fromstring(tape_svg(step, unit))  # type: ignore[arg-type]
        assert (picture.get("aria-label") or "").startswith(step.title)
        assert any(ASK in (node.get("stroke"), node.get("fill")) for node in picture.iter()), step
        for node in picture.iter(f"{SVG}polygon"):
            x, y = zip(*(map(float, pair.split(",")) for pair in (node.get("points") or "").split()), strict=True)
            assert min(x) > 0 and max(x) < 120, step
            assert min(y) > 0 and max(y) < 62, step


def test_the_tape_of_a_diagonal_starts_in_its_own_corner() -> None:
    def ends(wall: str) -> tuple[float, float]:
        step = Step("pocket", What.DIAGONAL, wall, z=0.05)  # type: ignore[arg-type]
        (tape,) = re.findall(
            rf'd="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)" stroke="{ASK}" stroke-width="1.3"', tape_svg(step, UNITS[0])
        )
        x, y, x2, y2 = map(float, tape)
        assert y < y2
        return x, x2

    left, right = ends("left"), ends("right")
    assert left[0] < left[1]
    assert right[0] > right[1]


@given(z=st.floats(0, 2.4))
def test_the_height_of_a_tape_is_drawn_at_its_height(z: float) -> None:
    svg = tape_svg(Step("pocket", What.WIDTH, y=0.05, z=z), UNITS[0])
    (mark,) = re.findall(rf'd="M96.00 ([\d.]+)L106.00 [\d.]+" stroke="{ASK}"', svg)
    assert float(mark) == pytest.approx(50 - 42 * z / max(UNITS[0].outside_height, z), abs=0.01)
