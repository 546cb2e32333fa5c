"""Which readings tell of a room's floor at a stage: `at_stage`."""

from __future__ import annotations

from collections.abc import Iterable

from drainward.job.model import Reading, ReadingKind

__all__ = ["WATER", "at_stage"]

WATER = "water test"
"""The stage at which water is poured."""
_SOUNDED = (ReadingKind.TAP, ReadingKind.PRESS)


def at_stage(readings: Iterable[Reading], room: str, stage: str) -> tuple[Reading, ...]:
    """What was read on one room's floor at a stage; a cured floor not read anew stands as it was read wet.

    A tap or a press tells nothing of how the floor lies: a floor that was only tapped was not read anew.
    The floor of a water test is the cured one, with what was read after a pour beside it.
    """
    mine = tuple(reading for reading in readings if reading.room == room)
    if stage == WATER:
        floor = {reading.id for reading in (*at_stage(mine, room, "cure"), *_of(mine, WATER))}
        return tuple(reading for reading in mine if reading.id in floor)
    here = _of(mine, stage)
    return here if any(reading.kind not in _SOUNDED for reading in here) else (*_of(mine, "draft"), *here)


def _of(readings: Iterable[Reading], stage: str) -> tuple[Reading, ...]:
    return tuple(reading for reading in readings if reading.stage == stage)
