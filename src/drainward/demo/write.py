"""The made-up job as a job folder: `write_demo`."""

from __future__ import annotations

from pathlib import Path

from drainward.demo.home import NAME, job
from drainward.demo.rooms import readings, water_tests
from drainward.demo.setting import setting
from drainward.demo.soundings import soundings
from drainward.demo.storey import plan_text
from drainward.demo.surveys import measures, received
from drainward.errors import InputError
from drainward.job import load, write_job

__all__ = ["write_demo"]

# Two rows that cannot be read, as they happen: a spreadsheet's date for 3/16, and a measure without its unit's mark.
_DAMAGED = (
    "204,2026-03-06 10:02,BT,W24,draft,wedge,6 in,6 in,30 in,6 in,16-Mar,,,,\n"
    "204,2026-03-06 10:03,BT,L9,draft,slope,6 in,six,15 in,6 in,3.1 %,,,,\n"
)


def write_demo(folder: Path, seed: int = 1) -> Path:
    """Write the job into `folder`, replacing the same made-up job where it stands there already; returns the folder.

    seed : of the crews' errors; the hidden floors have their own
    Raises InputError where the folder holds any other job, OSError where it cannot be written.
    """
    home = job()
    found = tuple(r for room in home.rooms for r in readings(room, home.units[room.unit], seed))
    found += tuple(r for room in home.rooms for r in soundings(room, home.units[room.unit], seed))
    wetted = tuple(test for room in home.rooms for test in water_tests(home, room, seed))
    surveyed = tuple(m for room in home.rooms for m in measures(room, home.units[room.unit], seed))
    arrived = tuple(size for room in home.rooms for size in received(room, home.units[room.unit], seed))
    done = tuple(event for room in home.rooms for event in setting(home, room, seed))
    if _stands_already(folder):
        (folder / "job.toml").unlink()
    seen = {"readings": found, "water_tests": wetted, "survey": surveyed, "received": arrived, "setting": done}
    write_job(folder, home.model_copy(update=seen))
    (folder / "plan.csv").write_text(plan_text(), encoding="utf-8", newline="\n")
    with (folder / "readings.csv").open("a", encoding="utf-8", newline="\n") as file:
        file.write(_DAMAGED)
    return folder


def _stands_already(folder: Path) -> bool:
    if not (folder / "job.toml").exists():
        return False
    try:
        return load(folder).job.name == NAME
    except InputError:
        return False
