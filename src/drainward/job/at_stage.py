"""Which readings tell of a room's floor at a stage: `at_stage`."""

from __future__ import annotations

from collections.abc import Iterable

from drainward.job.model import Reading, ReadingKind

__all__ = ["WATER", "at_stage"]

WATER = "water test"
"""The stage at which water is poured."""
_OF_THE_BED = (ReadingKind.TAP, ReadingKind.PRESS)
"""They tell how a floor is carried, not where it lies."""


def at_stage(readings: Iterable[Reading], room: str, stage: str) -> tuple[Reading, ...]:
    """What was read on one room's floor at a stage; a cured floor not read anew stands as it was read wet.

    The floor of a water test is the cured one, with what was read after a pour beside it. Taps and presses of the stage
    stand beside the floor, read anew or not.
    """
    mine = tuple(reading for reading in readings if reading.room == room)
    if stage == WATER:
        return _together(mine, at_stage(mine, room, "cure"), _of(mine, WATER))
    own = _of(mine, stage)
    if any(reading.kind not in _OF_THE_BED for reading in own):
        return own
    return _together(mine, _of(mine, "draft"), own)


def _together(mine: tuple[Reading, ...], *parts: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """All parts in the order in which they were written."""
    wanted = {reading.id for part in parts for reading in part}
    return tuple(reading for reading in mine if reading.id in wanted)


def _of(readings: Iterable[Reading], stage: str) -> tuple[Reading, ...]:
    return tuple(reading for reading in readings if reading.stage == stage)
