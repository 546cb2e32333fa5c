"""Where a unit is stood up: in its own room or on the way to it, clear of walls, under a ceiling high enough."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shower_units import cone
from test_wayin_stage import storey

from drainward.quantity import INCH
from drainward.wayin.carry import stand_of
from drainward.wayin.clearance import clearance, sort_walls
from drainward.wayin.plan import Ceiling, Plan, Wall, barriers
from drainward.wayin.tilt import ON_ITS_BACK, ON_ITS_SIDE, TiltPlace, reach, tilt_places

UNIT = cone(44, 32, (20, 16), 0.02)


def places(plan: Plan, how: str = ON_ITS_BACK) -> tuple[TiltPlace, ...]:
    goal = plan.goals[0]
    return tilt_places(plan, UNIT, how, plan.starts[0], goal, stand_of(goal, UNIT.outside_depth))


@pytest.mark.parametrize("how", [ON_ITS_BACK, ON_ITS_SIDE])
def test_the_room_comes_before_the_lobby_and_the_floor_is_clear(how: str) -> None:
    plan = storey(42)
    found = places(plan, how)
    assert [(place.doors, place.y > 144 * INCH) for place in found] == [(0, True), (1, False)]
    assert (found[0].narrowest, found[1].narrowest) == (pytest.approx(42 * INCH), math.inf)
    for place in found:
        faces, _ = barriers(plan, place.length)
        walls = sort_walls(faces, math.hypot(place.length, place.width) / 2)
        assert (
            0 < place.free <= clearance(walls, place.length / 2, place.width / 2, place.x, place.y, place.turn) + 1e-9
        )
        assert (
            place.length
            == reach(UNIT, how)
            == pytest.approx(
                math.hypot(UNIT.outside_height, (UNIT.outside_depth, UNIT.outside_width)[how == ON_ITS_SIDE])
            )
        )


def test_it_stays_out_of_the_pocket_and_of_what_lies_behind() -> None:
    plan = storey(42)
    # the far wall stands much farther off, so that the floor behind the pocket's opening is the widest of all
    far = tuple((x, y * 2 if y > 200 * INCH else y) for x, y in plan.walls[0].points)
    deep = replace(
        plan,
        walls=(
            replace(plan.walls[0], points=far),
            Wall("cheeks", ((0.0, 285 * INCH), (46 * INCH, 285 * INCH))),
            Wall("other", ((98 * INCH, 285 * INCH), (144 * INCH, 285 * INCH))),
            *plan.walls[1:],
        ),
    )
    assert all(place.y < 285 * INCH for place in places(deep))


def test_a_low_ceiling_leaves_the_rest_or_nothing() -> None:
    plan = storey(42)
    low = reach(UNIT, ON_ITS_BACK) - 0.01
    whole = ((0.0, 0.0), (144 * INCH, 0.0), (144 * INCH, 288 * INCH), (0.0, 288 * INCH))
    lobby = (*whole[:2], (144 * INCH, 144 * INCH), (0.0, 144 * INCH))
    assert places(replace(plan, ceilings=(Ceiling("all", whole, low),))) == ()
    assert [place.doors for place in places(replace(plan, ceilings=(Ceiling("lobby", lobby, low),)))] == [0]


def test_a_door_too_low_to_go_through_standing_keeps_it_in_the_room() -> None:
    plan = storey(42)
    doors = (replace(plan.doors[0], head=UNIT.outside_height - 0.01),)
    assert [place.doors for place in places(replace(plan, doors=doors))] == [0]
