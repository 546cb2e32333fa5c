"""The ground floor of the made-up home as it is framed, for the way in: four rooms on either side of a corridor.

FLOOR       the storey that is drawn
door_of     clear width of a room's door, m
plan_text   the storey as the text of a plan.csv
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping

from drainward.demo.units import bedded
from drainward.pocket.limits import outline
from drainward.quantity import INCH, format_length
from drainward.wayin.plan import OPTIONAL, REQUIRED

__all__ = ["FLOOR", "door_of", "plan_text"]

FLOOR = "1"
_FOOT = 12 * INCH
_DOOR = 42 * INCH
_NARROW: Mapping[str, float] = {"104": 37.5 * INCH}
_WIDE, _DEEP, _CORRIDOR = 13 * _FOOT, 12 * _FOOT, 8 * _FOOT
"""Of a room along and across the corridor, and of the corridor, between the walls' middles."""
_SIDE = 4
_DOOR_AT = 4 * _FOOT
_BACK = 4 * _FOOT
"""From a room's far wall to the opening of its pocket."""


def door_of(room: str) -> float:
    """As framed: beds go through, but for one door."""
    return _NARROW.get(room, _DOOR)


def plan_text() -> str:
    """plan.csv: walls, doors with the stops that can come away, the street door, and the pockets' openings."""
    text = io.StringIO()
    columns = ("floor", *REQUIRED, *(name for name in OPTIONAL if name != "floor"))
    writer = csv.DictWriter(text, columns, restval="", lineterminator="\n")
    writer.writeheader()
    for row in _rows():
        writer.writerow({"floor": FLOOR, **row})
    return text.getvalue()


def _rows() -> Iterator[dict[str, str]]:
    long = _SIDE * _WIDE
    low, high = -_DEEP, _CORRIDOR + _DEEP
    yield from _thing("wall", "outside", ((0, low), (long, low), (long, high), (0, high), (0, low)), thickness="8 in")
    for name, y in (("corridor, street side", 0.0), ("corridor, yard side", _CORRIDOR)):
        yield from _thing("wall", name, ((0, y), (long, y)))
    for k in range(1, _SIDE):
        for side, near, far in (("street", 0.0, low), ("yard", _CORRIDOR, high)):
            yield from _thing("wall", f"between rooms, {side} side {k}", ((k * _WIDE, near), (k * _WIDE, far)))
    shape = outline(bedded())
    half = (shape.right - shape.left) / 2
    for number in range(2 * _SIDE):
        room = f"{FLOOR}{number + 1:02}"
        yard = number < _SIDE
        x = number % _SIDE * _WIDE
        wall, pocket = (_CORRIDOR, high - _BACK) if yard else (0.0, low + _BACK)
        first, second = x + _DOOR_AT, x + _DOOR_AT + door_of(room)
        yield from _thing("door", room, ((first, wall), (second, wall)), height="84 in", trim="3/4 in")
        middle = x + _WIDE / 2
        ends = (middle - half, middle + half) if yard else (middle + half, middle - half)
        yield from _thing("goal", room, tuple((end, pocket) for end in ends))
    yield from _thing("start", "street door", ((4 * _FOOT, _CORRIDOR / 2),))
    corners = ((0, low), (long, low), (long, high), (0, high))
    yield from _thing("ceiling", "all rooms", corners, height="96 in")


def _thing(kind: str, name: str, points: tuple[tuple[float, float], ...], **first: str) -> Iterator[dict[str, str]]:
    for number, (x, y) in enumerate(points):
        told = first if number == 0 else {}
        yield {"kind": kind, "name": name, "x": format_length(x), "y": format_length(y), **told}
