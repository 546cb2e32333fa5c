"""Which readings tell of a room's floor at a stage: `at_stage`."""

from __future__ import annotations

from collections.abc import Iterable

from drainward.job.model import FLOOR_KINDS, Reading

__all__ = ["WATER", "at_stage"]

WATER = "water test"
"""The stage at which water is poured."""


def at_stage(readings: Iterable[Reading], room: str, stage: str) -> tuple[Reading, ...]:
    """What was read on one room's floor at a stage; a cured floor not read anew stands as it was read wet.

    The floor of a water test is the cured one, with what was read after a pour beside it. Taps and presses tell of the
    bed and are left out.
    """
    mine = tuple(reading for reading in readings if reading.room == room and reading.kind in FLOOR_KINDS)
    if stage == WATER:
        floor = {reading.id for reading in (*at_stage(mine, room, "cure"), *_of(mine, WATER))}
        return tuple(reading for reading in mine if reading.id in floor)
    return _of(mine, stage) or _of(mine, "draft")


def _of(readings: Iterable[Reading], stage: str) -> tuple[Reading, ...]:
    return tuple(reading for reading in readings if reading.stage == stage)
