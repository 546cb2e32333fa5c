"""The way in words: doors once and in order, turns as whoever carries sees them, wobbles left out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drainward.quantity import INCH
from drainward.wayin.plan import Door, Place, Plan, Wall
from drainward.wayin.result import Carry
from drainward.wayin.steps import at_least, steps_of

# a corridor along x, a door up into a room at x = 5
PLAN = Plan("1", (Wall("w", ((0.0, 1.0), (9.0, 1.0))),), (Door("101", (4.5, 1.0), (5.5, 1.0)),))
STREET = Place("street", ((0.0, 0.0),))
QUARTER = math.pi / 2


def carry(poses: list[tuple[float, float, float]], **other: object) -> Carry:
    plain: dict[str, object] = {
        "how": "upright", "length": 1.5, "width": 0.9, "height": 2.0, "low": 0.05, "high": 0.05, "u": 0.003,
        "poses": np.array(poses), "x": 5.0, "y": 1.0, "touches": ("door 101",), "tilt": None, "weights": (1.0,),
    }  # fmt: skip
    return Carry(**{**plain, **other})  # type: ignore[arg-type]


def said(way: Carry, stand: tuple[float, float, float] = (5.0, 3.0, 0.0)) -> list[str]:
    return [step.says for step in steps_of(way, PLAN, STREET, stand)]


def test_a_door_is_said_once_however_the_path_wobbles() -> None:
    wobbly = [
        (0, 0, 0),
        (3.4, 0, 0),
        (5, 0, QUARTER),
        (5, 1.1, QUARTER),
        (5, 0.9, QUARTER),
        (5, 1.2, QUARTER),
        (5, 3, QUARTER),
    ]
    words = said(carry(wobbly))  # type: ignore[arg-type]
    assert [w for w in words if "door 101" in w and "tightest" not in w] == ["left through door 101"]
    assert words[-1] == "it stands before its pocket, its back to it"
    assert words.index("turn it left by 90°") < words.index("left through door 101")


def test_a_door_that_it_comes_back_out_of_is_not_said() -> None:
    assert not [w for w in said(carry([(0, 0, 0), (5, 0, 0), (5, 1.5, 0), (5, 0, 0), (8, 0, 0)])) if "through" in w]


def test_turns_there_and_back_are_two_and_wobbles_none() -> None:
    path = [
        (0, 0, 0),
        (1, 0, 0.3),
        (2, 0, 0.1),
        (3, 0, 1.0),
        (4, 0, QUARTER),
        (5, 0, QUARTER - 0.2),
        (6, 0, QUARTER),
        (7, 0, 0),
    ]
    assert [w for w in said(carry(path)) if w.startswith("turn")] == ["turn it left by 90°", "turn it right by 90°"]


@pytest.mark.parametrize(
    ("first", "side"), [(0.0, "the right"), (QUARTER, "the front"), (math.pi, "the left"), (-QUARTER, "the rear")]
)
def test_it_is_taken_up_so_that_it_comes_to_its_pocket_the_right_way_round(first: float, side: str) -> None:
    # before its pocket the open side faces down the sheet; on the way along x it turns back by what it began with
    assert (
        said(carry([(0, 0, first), (3, 0, 0), (5, 0, 0), (5, 3, 0)]))[0]
        == f"from street, upright, its open side to {side}"
    )


def test_lying_it_is_set_down_and_stood_up_between_its_legs() -> None:
    stood = np.array([(4, 0, QUARTER), (5, 0, 0), (5, 3, 0)])
    lying = carry([(0, 0, 0), (4, 0, 0)], how="on its back", tilt=(4.0, 0.0, 0.0, 2.25, 1.5), stood=stood)
    words = said(lying)
    assert words[0] == "from street, on its back, foot end first"
    assert words[1].startswith("set it down and stand it up")
    assert words.index("left through door 101") > 1


def test_what_is_left_is_never_said_too_large() -> None:
    assert (at_least(0.999 * INCH / 4), at_least(INCH / 4), at_least(0.0)) == ('3/16"', '1/4"', '0"')
