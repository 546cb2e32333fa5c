"""Which readings tell of a floor at a stage."""

from __future__ import annotations

import hand_made

from drainward.job.at_stage import at_stage
from drainward.job.model import Reading, ReadingKind


def _read(id: str, stage: str, room: str = "101") -> Reading:
    return hand_made.readings()[0].model_copy(update={"id": id, "stage": stage, "room": room})


WET = (_read("a", "draft"), _read("b", "water test"), _read("x", "draft", "102"))


def _ids(readings: tuple[Reading, ...], stage: str) -> list[str]:
    return [reading.id for reading in at_stage(readings, "101", stage)]


def test_a_floor_is_what_was_read_at_its_stage_in_its_room() -> None:
    assert _ids(WET, "draft") == ["a"]
    assert _ids((*WET, _read("c", "cure")), "cure") == ["c"]


def test_a_cured_floor_not_read_anew_stands_as_it_was_read_wet() -> None:
    assert _ids(WET, "cure") == ["a"]


def test_taps_and_presses_do_not_read_a_cured_floor_anew() -> None:
    bed = tuple(
        _read(str(kind), "cure").model_copy(update={"kind": kind}) for kind in (ReadingKind.TAP, ReadingKind.PRESS)
    )
    assert _ids((*WET, *bed), "cure") == ["a", "tap", "press"]
    assert _ids((*WET, _read("c", "cure"), *bed), "cure") == ["c", "tap", "press"]
    assert _ids(bed, "cure") == []


def test_the_floor_of_a_water_test_is_the_cured_one_with_what_was_read_after_the_pour() -> None:
    assert _ids((*WET, _read("c", "cure"), _read("d", "bed")), "water test") == ["b", "c"]
    assert _ids(WET, "water test") == ["a", "b"]
