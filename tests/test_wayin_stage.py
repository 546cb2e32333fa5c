"""The stage way in: a small storey with one door, which is wide enough, or not, or has a leaf in the way."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shower_units import cone

from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.job.model import Crew, Job, Room
from drainward.quantity import INCH
from drainward.report.wayin_svg import wayin_svg
from drainward.wayin import Plan, barriers, way_in_stage
from drainward.wayin.clearance import clearance, sort_walls
from drainward.wayin.plan import Ceiling, Door, Place, Wall

UNIT = cone(44, 32, (20, 16), 0.02)
JOB = Job(
    name="j", units={UNIT.id: UNIT}, rooms=(Room(room="1", unit=UNIT.id),), crews=(Crew(id="a", name="a", people=4),)
)


def at(x: float, y: float) -> tuple[float, float]:
    return x * INCH, y * INCH


def storey(width: float, leaf: str = "") -> Plan:
    """A lobby, a wall across with a door in its middle, a room; inches."""
    corners = (at(0, 0), at(144, 0), at(144, 288), at(0, 288), at(0, 0))
    walls = (Wall("outside", corners), Wall("across", (at(0, 144), at(144, 144))))
    door = Door("d", at(72 - width / 2, 144), at(72 + width / 2, 144), leaf=leaf)
    start, goal = Place("street", (at(72, 60),)), Place("1", (at(46, 285), at(98, 285)))
    return Plan("1", walls, (door,), (), (start,), (goal,))


def test_a_wide_door_lets_it_through_upright_and_the_picture_is_drawn() -> None:
    answer = way_in_stage(JOB, "1", storey(42))
    upright = next(carry for carry in answer.carries if carry.how == "upright")
    assert upright.open is True
    assert upright.low <= 3 * INCH + 1e-9
    assert upright.high >= 0.0
    assert answer.changes == ()
    assert answer.findings[0].id == "way-in/clearance"
    assert json.loads(json.dumps(answer.as_json()))["carries"][0]["open"] is True
    assert wayin_svg(answer, storey(42)).count("<path") > 10


def test_a_narrow_door_is_widened_by_the_quarter_inch_that_opens_it() -> None:
    answer = way_in_stage(JOB, "1", storey(34))
    assert answer.verdict is Verdict.FAILS
    assert all(carry.open is False for carry in answer.carries)
    assert (answer.carries[0].how, answer.most) == ("upright", answer.carries[0].high)
    # flanges make the unit 36 in deep, and a door as wide as that is not open
    assert answer.changes[0].what == 'widen door d by 2-1/4"'
    assert 0 < answer.changes[0].clearance <= INCH / 8
    lacks = next(step.says for step in answer.steps if "lacks" in step.says)
    assert lacks.endswith(('lacks at least 1" at either side', 'lacks at least 15/16" at either side'))


@pytest.mark.parametrize("how", ["leaf", "trim"])
def test_nothing_is_cut_where_the_leaf_or_the_trim_comes_off(how: str) -> None:
    width = {"leaf": 36.5, "trim": 35.5}[how]
    plan = storey(width, "left" if how == "leaf" else "")
    plan = replace(plan, doors=(replace(plan.doors[0], trim=0.5 * INCH),))
    answer = way_in_stage(JOB, "1", plan)
    if how == "leaf" and answer.changes == ():
        assert answer.carries[0].open, "the leaf stands clear"
    else:
        assert answer.changes[0].what == f"take the {how} off door d"


def test_a_lying_carry_is_stood_up_and_goes_on_standing() -> None:
    answer = way_in_stage(JOB, "1", storey(42))
    for carry in answer.carries:
        if carry.how == "upright":
            assert (carry.tilt, len(carry.stood)) == (None, 0)
            continue
        assert carry.tilt is not None
        assert carry.poses[-1, :2] == pytest.approx(carry.tilt[:2])
        assert carry.stood[0, :2] == pytest.approx(carry.tilt[:2])
        plan = storey(42)
        for poses, sizes, height in (
            (carry.poses, (carry.length, carry.width), carry.height),
            (carry.stood, (UNIT.outside_width, UNIT.outside_depth), UNIT.outside_height),
        ):
            assert kept(plan, poses, sizes, height) >= carry.low - 1e-9


def test_the_straight_way_keeps_what_is_promised() -> None:
    answer = way_in_stage(JOB, "1", storey(36.5))
    for carry in answer.carries:
        if carry.how == "upright":
            assert len(carry.poses) < 60
            assert kept(storey(36.5), carry.poses, (carry.length, carry.width), carry.height) >= carry.low - 1e-9


def test_a_head_too_low_is_gone_under_lying_down() -> None:
    plan = storey(42)
    low = replace(plan, doors=(replace(plan.doors[0], head=UNIT.outside_height + 0.01),))
    answer = way_in_stage(JOB, "1", low)
    assert answer.carries[0].how != "upright"
    assert answer.carries[0].open
    assert answer.carries[0].overhead is not None
    assert answer.carries[0].overhead.what == "the head of door d"
    assert [f.id for f in answer.findings] == ["way-in/clearance", "way-in/overhead", "way-in/lift"]


def test_a_ceiling_too_low_for_the_tilt_up_rules_lying_out() -> None:
    whole = (at(0, 0), at(144, 0), at(144, 288), at(0, 288))
    under = replace(storey(42), ceilings=(Ceiling("all", whole, UNIT.outside_height + 0.06),))
    answer = way_in_stage(JOB, "1", under)
    assert [carry.how for carry in answer.carries] == ["upright"]
    assert [why.split(":")[0] for why in answer.ruled_out] == ["on its back", "on its side"]
    assert answer.carries[0].open is True
    flat = replace(under, ceilings=(replace(under.ceilings[0], height=UNIT.outside_height - 0.1),))
    answer = way_in_stage(JOB, "1", flat)
    assert (answer.verdict, answer.carries[0].open, answer.changes) == (Verdict.FAILS, False, ())
    assert "ceiling all" in answer.findings[1].advice


def test_a_corridor_too_narrow_is_named_where_no_door_helps() -> None:
    # a passage 30 in wide between the street and the door
    plan = storey(42)
    cheeks = tuple(Wall(f"cheek {side}", (at(x, 100), at(x, 141.75))) for side, x in (("west", 54.75), ("east", 89.25)))
    across = Wall("front", (at(0, 100), at(54.75, 100))), Wall("front east", (at(89.25, 100), at(144, 100)))
    answer = way_in_stage(JOB, "1", replace(plan, walls=(*plan.walls, *cheeks, *across)))
    assert answer.changes == ()
    advice = answer.findings[0].advice
    assert advice.startswith("No change of doors opens a way")
    assert "cheek" in advice
    assert 'lacks at least 5-15/16" of width' in advice, "six inches, less the sixteenth that the bound leaves"


def kept(plan: Plan, poses: np.ndarray, sizes: tuple[float, float], height: float) -> float:
    """The least clearance along a way, looked at every few millimetres."""
    walls = sort_walls(barriers(plan, height)[0], math.hypot(*sizes) / 2)
    half = sizes[0] / 2, sizes[1] / 2
    return min(
        clearance(walls, *half, *(float(v) for v in a + share * (b - a)))
        for a, b in pairwise(poses)
        for share in np.linspace(0, 1, 300)
    )


def test_a_room_without_a_goal_is_refused() -> None:
    with pytest.raises(StageError, match="no goal named"):
        way_in_stage(JOB, "1", replace(storey(42), goals=()))
