"""The made-up job after its units are set: what was done and sounded reads back and comes from hidden truths."""

from __future__ import annotations

from pathlib import Path

import pytest

from drainward.demo import write_demo
from drainward.demo.home import job as bare
from drainward.demo.rooms import readings
from drainward.demo.setting import SET, setting
from drainward.demo.soundings import VOIDS, hidden_voids, soundings
from drainward.job import Job, load
from drainward.job.at_stage import at_stage
from drainward.job.model import FLOOR_KINDS, ReadingKind, Work


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return load(write_demo(tmp_path_factory.mktemp("set") / "job", 1)).job


def test_what_was_done_and_sounded_reads_back(made_up: Job) -> None:
    done = [event for room in bare().rooms for event in setting(made_up, room, 1)]
    assert [event.model_copy(update={"file": "", "line": None}) for event in made_up.setting] == done
    heard = [r for room in bare().rooms for r in soundings(room, made_up.units[room.unit], 1)]
    kinds = (ReadingKind.TAP, ReadingKind.PRESS)
    back = [r.model_copy(update={"file": "", "line": None}) for r in made_up.readings if r.kind in kinds]
    assert back == heard


def test_only_bedded_units_that_are_set_are_sounded(made_up: Job) -> None:
    styles = {room.room: made_up.units[room.unit].style for room in made_up.rooms}
    assert {styles[room] for room in SET} == {"bedded"} and set(VOIDS) <= set(SET)
    assert {event.room for event in made_up.setting} == set(SET)
    assert {event.what for event in made_up.setting} == set(Work) - {
        Work.AIR_TEMPERATURE,
        Work.CORRECTED,
        Work.SECOND_LOOK,
    }


def test_taps_leave_every_floor_as_it_was_read_wet(made_up: Job) -> None:
    for room in made_up.rooms:
        if room.room in VOIDS:
            wet = {r.id for r in readings(room, made_up.units[room.unit], 1)}
            assert {r.id for r in at_stage(made_up.readings, room.room, "cure") if r.kind in FLOOR_KINDS} == wet


def test_taps_hear_hidden_voids_nine_times_of_ten_and_beds_one_of_fifty(made_up: Job) -> None:
    over: list[bool] = []
    beside: list[bool] = []
    for seed in range(60):
        for room in made_up.rooms:
            unit = made_up.units[room.unit]
            voids = hidden_voids(room.room, unit)
            for r in soundings(room, unit, seed):
                if r.kind is ReadingKind.TAP:
                    (over if any(void.under(r.x, r.y) for void in voids) else beside).append(r.value == 0)
    assert sum(over) / len(over) == pytest.approx(0.9, abs=0.06)
    assert sum(beside) / len(beside) == pytest.approx(0.02, abs=0.006)


def test_same_seed_same_soundings(tmp_path: Path) -> None:
    one, two = (write_demo(tmp_path / name, 3) for name in ("one", "two"))
    for name in ("readings.csv", "setting.csv"):
        assert (one / name).read_bytes() == (two / name).read_bytes()
