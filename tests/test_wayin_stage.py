"""The stage way in: a small storey with one door, which is wide enough, or not, or has a leaf in the way."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from shower_units import cone

from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.job.model import Crew, Job, Room
from drainward.quantity import INCH
from drainward.report.wayin_svg import wayin_svg
from drainward.wayin import Plan, way_in_stage
from drainward.wayin.plan import Door, Place, Wall

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


def test_a_narrow_door_is_widened_until_it_goes() -> None:
    answer = way_in_stage(JOB, "1", storey(30))
    assert answer.verdict is Verdict.FAILS
    assert all(carry.high < 0 for carry in answer.carries)
    assert answer.changes
    assert answer.changes[0].clearance > 0
    assert answer.changes[0].what.startswith("widen door d by")


def test_a_room_without_a_goal_is_refused() -> None:
    with pytest.raises(StageError, match="no goal named"):
        way_in_stage(JOB, "1", replace(storey(42), goals=()))
