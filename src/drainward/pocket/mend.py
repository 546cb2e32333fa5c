"""What lets a unit in that does not go in, in the words that every face shows.

change_words   one change, to the next 1/16 in up
mend_words     the one change that lets it in, else all that stands in its way, wall by wall
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from drainward.pocket.place import Change, Placement, at_words
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH, format_length

__all__ = ["change_words", "mend_words"]

_SIXTEENTH = INCH / 16
_A_WALL = 3
"""From so many studs on, a wall is moved rather than planed stud by stud (common practice, no source)."""


def change_words(pocket: Pocket, change: Change) -> str:
    """The change as a foreman reads it."""
    much = _up(change.most)
    if change.what == "core":
        return f"widen the core by {much} all round, or move it by as much"
    if change.what == "line":
        return f"let the threshold lie {much} further off its line"
    wall = Wall(change.wall).name.lower()
    if change.what == "wall":
        return f"move the {wall} wall's studs back by up to {much}"
    return f"plane or move {at_words(pocket, max(change.faces, key=lambda face: face[1])[0])} by {much}"


def mend_words(pocket: Pocket, placed: Placement) -> str:
    """What to do, with no stop at its end; "" where the unit goes in as the pocket is believed."""
    if placed.goes_in:
        return ""
    if placed.change is not None:
        return change_words(pocket, placed.change)
    return "; and ".join(_ways(pocket, placed))


def _ways(pocket: Pocket, placed: Placement) -> Iterator[str]:
    """All that stands in the way, the worst first: a wall with many studs in the way as a whole."""
    said: set[int] = set()
    told: set[tuple[int, int]] = set()
    for change in sorted(placed.planing, key=lambda one: -one.most):
        if change.what in ("core", "line"):
            yield change_words(pocket, change)
        elif change.wall not in said and (change.wall, change.stud) not in told:
            studs = {one.stud for one in placed.planing if one.wall == change.wall}
            if len(studs) >= _A_WALL:
                said.add(change.wall)
                yield f"move the {Wall(change.wall).name.lower()} wall's studs back by up to {_up(change.most)}"
            else:
                told.add((change.wall, change.stud))
                yield change_words(pocket, change)


def _up(metres: float) -> str:
    return format_length(np.ceil(metres / _SIXTEENTH - 1e-6) * _SIXTEENTH)
