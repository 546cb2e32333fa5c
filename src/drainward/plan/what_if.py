"""Finish and cost side by side: `otherwise` changes a job's means, `compare` plans each of several ways.

A cost counts crews' days from now to the finish and sets of braces by the week. What nobody wrote into job.toml is
taken as `PERSON_DAY`, which compares ways to work and is no price.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drainward.job.model import Crew, Job
from drainward.plan.clock import local
from drainward.plan.from_job import KITS_A_CREW, case_of
from drainward.plan.make import Made, Progress, make
from drainward.plan.model import SLOT
from drainward.plan.told import finish_of, kits_ahead

__all__ = ["PERSON_DAY", "Way", "compare", "otherwise", "way_of"]

PERSON_DAY = 400.0
"""Of one person for a day where [crews] says nothing; ours, no source."""
_KITS = re.compile(r"kits=(\d{1,4})")
_WEEK = 604_800.0


@dataclass(frozen=True, slots=True)
class Way:
    """One way to work the building: finish, rooms late, sets in use at most, cost in the job's own money."""

    name: str
    finish: datetime
    late_rooms: int
    kits: int
    cost: float

    def as_json(self) -> dict[str, Any]:
        """The finish as ISO 8601."""
        return {
            "name": self.name,
            "finish": self.finish.isoformat(),
            "late_rooms": self.late_rooms,
            "kits": self.kits,
            "cost": self.cost,
        }


def otherwise(job: Job, asked: str) -> tuple[str, Job]:
    """The job with other means, and how people say it.

    asked : `crew` (one more like the first), `kits=10` (so many sets more) or `saturday` (everybody works then too)
    Raises ValueError for anything else.
    """
    word = asked.strip().lower()
    if word == "crew":
        first = job.crews[0] if job.crews else Crew(id="1", name="one crew", people=2)
        names = {crew.id for crew in job.crews} | {first.id}
        own = next(name for name in (f"{first.id}+{k}" for k in range(1, len(names) + 2)) if name not in names)
        more = first.model_copy(update={"id": own, "name": f"{first.name}, one more"})
        return "one crew more", job.model_copy(update={"crews": (*(job.crews or (first,)), more)})
    if word == "saturday":
        works = tuple(dict.fromkeys((*job.calendar.works, "sat")))
        return "Saturdays too", job.model_copy(update={"calendar": job.calendar.model_copy(update={"works": works})})
    found = _KITS.fullmatch(word)
    if found is None or int(found[1]) == 0:
        raise ValueError(f'"{asked}" is no other way to work; expected crew, kits=10 or saturday')
    now = job.kits.braces or KITS_A_CREW * max(1, len(job.crews))
    kits = job.kits.model_copy(update={"braces": now + int(found[1])})
    return f"{found[1]} sets of braces more", job.model_copy(update={"kits": kits})


def compare(
    job: Job,
    now: datetime,
    wrong: dict[str, bool],
    others: Sequence[str],
    seconds: float,
    progress: Progress | None = None,
) -> tuple[Way, ...]:
    """Each other way, planned for `seconds`, beside none: `way_of` tells of the plan as it is."""
    found = []
    for number, asked in enumerate(others):
        if progress is not None:
            progress(asked, number / len(others))
        name, other = otherwise(job, asked)
        found.append(way_of(name, other, make(case_of(other, now, wrong), seconds)))
    return tuple(found)


def way_of(name: str, job: Job, made: Made) -> Way:
    """What a plan of the job comes to from now on."""
    building, now, finish = made.case.building, made.case.now, made.measures.finish
    day = {crew.id: crew.people * PERSON_DAY if crew.day is None else crew.day for crew in job.crews}
    cost = 0.0
    for crew in building.crews:
        for shift in crew.shifts:
            if now <= shift.start < finish:
                saturday = local(building, shift.start).weekday() == 5 and "sat" in job.calendar.works
                cost += day.get(crew.id, crew.people * PERSON_DAY) * (job.calendar.saturday if saturday else 1.0)
    weeks = max(0, finish - now) * SLOT.total_seconds() / _WEEK
    cost += job.kits.week * building.kits * weeks
    return Way(name, finish_of(made), made.measures.late_rooms, kits_ahead(made), round(cost, 2))
