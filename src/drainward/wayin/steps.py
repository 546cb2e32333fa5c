"""The way in words, as whoever carries the unit meets them.

steps_of     door by door, turn by turn
at_least     what is left, in words that stay true
held_at      the walls that hold the unit at its tightest place
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drainward.quantity import INCH, format_length
from drainward.wayin.lines import parted
from drainward.wayin.plan import Place, Plan
from drainward.wayin.result import Carry, Step
from drainward.wayin.tilt import ON_ITS_BACK

__all__ = ["at_least", "held_at", "steps_of"]

Array = NDArray[np.float64]
Pose = tuple[float, float, float]

_WOBBLE = math.radians(20)
_TURN = math.radians(30)
_ASIDE = math.radians(40)
_LOOK = 1.5  # before a door the way is looked at over so much of it, m


def steps_of(carry: Carry, plan: Plan, begin: Place, stand: Pose) -> tuple[Step, ...]:
    """From `begin` to where the unit stands before its pocket. stand : x, y, turn there, its back to the pocket."""
    legs = [leg for leg in (carry.poses, carry.stood) if len(leg)]
    gaps = [np.hypot(leg[:, 0] - carry.x, leg[:, 1] - carry.y).min() for leg in legs]
    steps = [_first(carry, begin, stand)]
    for number, leg in enumerate(legs):
        if number == 1 and carry.tilt is not None:
            x, y, _, length, width = carry.tilt
            floor = f"{format_length(length, 'ft-in')} by {format_length(width, 'ft-in')}"
            steps.append(
                Step(x, y, f"set it down and stand it up, its lower edge sliding back: it takes {floor} of floor")
            )
        found = [*_doors(leg, plan), *_turns(leg)]
        if number == int(np.argmin(gaps)):
            at = int(np.argmin(np.hypot(leg[:, 0] - carry.x, leg[:, 1] - carry.y)))
            found.append((at, f"tightest place, at {held_at(carry)}: {_left(carry)}"))
        steps += [Step(float(leg[k, 0]), float(leg[k, 1]), says) for k, says in sorted(found)]
    if carry.open is not False:
        steps.append(Step(stand[0], stand[1], "it stands before its pocket, its back to it"))
    return tuple(steps)


def at_least(metres: float) -> str:
    """A length of zero or more, rounded down to 1/16 in, so that what is said of it is true."""
    return format_length(math.floor(metres / INCH * 16 + 1e-6) / 16 * INCH)


def held_at(carry: Carry) -> str:
    """What holds it at its tightest place, the most first."""
    share = 0.0
    named: list[str] = []
    for name, weight in zip(carry.touches, carry.weights or [0.5] * len(carry.touches), strict=True):
        if share < 0.9 and len(named) < 3:
            named.append(name)
            share += weight
    return " and ".join(named) or "the walls"


def _left(carry: Carry) -> str:
    if carry.low > 0:
        return f"{at_least(carry.low)} left" if carry.low >= INCH / 16 else 'under 1/16" left'
    return f"lacks at least {at_least(-carry.high)} at either side" if carry.high < 0 else "not proved to go"


def _first(carry: Carry, begin: Place, stand: Pose) -> Step:
    """Which way round it is taken up, so that it comes to its pocket the right way."""
    x, y = (float(v) for v in carry.poses[0, :2])
    at = f"from {begin.name}" if begin.name else "from the start"
    last = carry.poses if carry.tilt is None else carry.stood
    ahead = _heading(carry.poses, 0, _LOOK)
    if len(last) == 0 or ahead is None or carry.open is False:
        return Step(x, y, f"{at}, {carry.how}")
    # boxes turn by half a turn unseen; the opening faces away from the pocket in the end
    opening = stand[2] - math.pi / 2 + last[0, 2] - last[-1, 2]
    if carry.tilt is None:
        return Step(x, y, f"{at}, upright, its open side to {_side(opening - ahead)}")
    facing = opening + carry.poses[0, 2] - carry.poses[-1, 2]
    if carry.how == ON_ITS_BACK:
        end = "foot" if math.cos(facing - ahead) > 0 else "head"
        return Step(x, y, f"{at}, on its back, {end} end first")
    return Step(x, y, f"{at}, on its side, its open side to {_side(facing - ahead)}")


def _side(angle: float) -> str:
    return ("the front", "the left", "the rear", "the right")[round(angle / (math.pi / 2)) % 4]


def _heading(leg: Array, start: int, away: float) -> float | None:
    """The direction from a pose to the first one `away` (m) along the leg, backward where that is negative; rad.

    To the farthest where none is so far; None where it hardly moves.
    """
    order = leg[start:, :2] if away > 0 else leg[start::-1, :2]
    gone = np.hypot(*(order - order[0]).T)
    far = int(np.argmax(np.minimum(gone, abs(away))))
    if gone[far] < abs(away) / 3:
        return None
    dx, dy = (order[far] - order[0]) * math.copysign(1, away)
    return math.atan2(dy, dx)


def _doors(leg: Array, plan: Plan) -> Iterator[tuple[int, str]]:
    """Each door that the way goes through in the end, once, where it does so for good."""
    if not plan.doors:
        return
    lines = np.array([[*door.first, *door.second] for door in plan.doors])
    through = parted(lines, leg[:-1, :2], leg[1:, :2])
    for door, passed in zip(plan.doors, through.T, strict=True):
        at = np.nonzero(passed)[0]
        if len(at) % 2 == 0:
            continue
        k = int(at[-1])
        dx, dy = leg[k + 1, :2] - leg[k, :2]
        across = math.atan2(door.second[0] - door.first[0], -(door.second[1] - door.first[1]))
        if math.cos(across) * dx + math.sin(across) * dy < 0:
            across += math.pi
        before = _heading(leg[: k + 1], k, -_LOOK)
        turn = 0.0 if before is None else math.remainder(across - before, 2 * math.pi)
        way = "" if abs(turn) < _ASIDE else "left " if turn > 0 else "right "
        yield k, f"{way}through {door.label}"


def _turns(leg: Array) -> Iterator[tuple[int, str]]:
    """Each turn of the unit as a whole, wobbles left out, said in its middle."""
    turns = leg[:, 2]
    ends, extreme = [0], 0
    for k in range(1, len(turns)):
        # the last end moves on while the turn goes on, and stays once it has gone back by more than a wobble
        way = turns[extreme] - turns[ends[-1]]
        if (turns[k] - turns[extreme]) * way > 0 or (way == 0 and turns[k] != turns[extreme]):
            extreme = k
        elif abs(turns[k] - turns[extreme]) > _WOBBLE:
            ends.append(extreme)
            extreme = k
    for a, b in zip(ends, [*ends[1:], extreme], strict=True):
        by = float(turns[b] - turns[a])
        if abs(by) >= _TURN:
            middle = a + int(np.argmin(np.abs(turns[a : b + 1] - (turns[a] + by / 2))))
            yield middle, f"turn it {'left' if by > 0 else 'right'} by {5 * round(abs(math.degrees(by)) / 5)}°"
