"""What surveys say to a plan: which pockets need a correction, how many bags each bed takes.

Surveyed     both, by room
surveyed     of a job as its record stands
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from drainward.bed.stage import bed_stage
from drainward.errors import InputError, StageError
from drainward.finding import Verdict
from drainward.job.model import Job, Work
from drainward.plan.progress import standings
from drainward.pocket.stage import survey_stage

__all__ = ["Surveyed", "surveyed"]

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Surveyed:
    """wrong : rooms that were surveyed, and whether the pocket has to be corrected first
    bags : of mortar, as used where that was written down, else as the bed was computed; rooms not known are not there
    """

    wrong: Mapping[str, bool] = field(default_factory=dict)
    bags: Mapping[str, float] = field(default_factory=dict)


def surveyed(job: Job, now: datetime, progress: Progress | None = None) -> Surveyed:
    """Of every room that is surveyed and not set yet; of those that are set, the bags that were written down."""
    told = standings(job, now)
    bag = job.materials.mortar.bag_mass
    bags: dict[str, float] = {}
    for event in job.setting:
        if event.what is Work.MORTAR_USED and event.value is not None:
            bags[event.room] = bags.get(event.room, 0.0) + event.value / bag
    measured = {measure.room for measure in job.survey}
    ahead = [room for room in job.rooms if room.room in measured and not told[room.room].is_set]
    wrong: dict[str, bool] = {}
    for number, room in enumerate(ahead):
        if progress is not None:
            progress(f"survey of {room.room}", number / len(ahead))
        try:
            wrong[room.room] = survey_stage(job, room.room).verdict is Verdict.FAILS
            if job.units[room.unit].style == "bedded":
                mix = bed_stage(job, room.room).mix
                if mix is not None:
                    bags.setdefault(room.room, mix.bags)
        except (StageError, InputError):
            continue
    return Surveyed(wrong, bags)
