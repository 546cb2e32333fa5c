"""Which readings tell of a room's floor at a stage: `at_stage`."""

from __future__ import annotations

from collections.abc import Iterable

from drainward.job.model import FLOOR_KINDS, Reading

__all__ = ["WATER", "at_stage"]

WATER = "water test"
"""The stage at which water is poured."""


def at_stage(readings: Iterable[Reading], room: str, stage: str) -> tuple[Reading, ...]:
    """What was read on one room's floor at a stage; a cured floor not read anew stands as it was read wet.

    A tap or a press tells nothing of how the floor lies: a floor that was only tapped was not read anew.
    The floor of a water test is the cured one, with what was read after a pour beside it.
    """
    mine = tuple(reading for reading in readings if reading.room == room)
    if stage == WATER:
        floor = {reading.id for reading in (*at_stage(mine, room, "cure"), *_of(mine, WATER))}
        return tuple(reading for reading in mine if reading.id in floor)
    here, wet = _of(mine, stage), _of(mine, "draft")
    if _lies(here):
        return here
    return (*wet, *(reading for reading in here if reading.stage != "draft")) if _lies(wet) else ()


def _lies(readings: Iterable[Reading]) -> bool:
    """Whether any of them tells how the floor lies."""
    return any(reading.kind in FLOOR_KINDS for reading in readings)


def _of(readings: Iterable[Reading], stage: str) -> tuple[Reading, ...]:
    return tuple(reading for reading in readings if reading.stage == stage)
