"""How far each room is by its record: `Standing`, `standings`.

A step counts as done when the record says so, or when a later step of the room is done.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from drainward.job.model import Job, WaterTest, Work

__all__ = ["Standing", "standings"]


@dataclass(frozen=True, slots=True)
class Standing:
    """When each step was done, UTC; None where it was not, or nobody wrote down when.

    bedded : when the bed was placed;  set : when the unit was fastened or braced, else last read
    tested : the last water test, and whether water stood after it
    is_* : whether the step is done, however little is known of its time
    """

    room: str
    surveyed: datetime | None = None
    corrected: datetime | None = None
    bedded: datetime | None = None
    set: datetime | None = None
    tested: datetime | None = None
    looked: datetime | None = None
    is_surveyed: bool = False
    is_corrected: bool = False
    is_set: bool = False
    is_tested: bool = False
    is_looked: bool = False
    stood: bool = False


def standings(job: Job, now: datetime) -> dict[str, Standing]:
    """Every room of the job by its record up to `now`, which is aware of its zone."""
    now = job.site.utc(now)
    surveyed, read = (defaultdict[str, list[datetime | None]](list) for _ in range(2))
    for measure in job.survey:
        surveyed[measure.room].append(_utc(job, measure.when))
    for reading in job.readings:
        read[reading.room].append(_utc(job, reading.when))
    works: dict[tuple[str, Work], list[datetime | None]] = defaultdict(list)
    for event in job.setting:
        works[event.room, event.what].append(job.site.utc(event.when))
    tests: dict[str, list[WaterTest]] = defaultdict(list)
    for test in job.water_tests:
        tests[test.room].append(test)
    return {
        room.room: _standing(
            job,
            room.room,
            now,
            _until(surveyed[room.room], now),
            _until(read[room.room], now),
            {work: _until(works[room.room, work], now) for work in Work},
            [t for t in tests[room.room] if t.when is None or job.site.utc(t.when) <= now],
        )
        for room in job.rooms
    }


def _standing(
    job: Job,
    room: str,
    now: datetime,
    surveyed: list[datetime | None],
    read: list[datetime | None],
    works: dict[Work, list[datetime | None]],
    tests: list[WaterTest],
) -> Standing:
    fastened = works[Work.FASTENED] + works[Work.BRACES_ON]
    looked, corrected, bedded = works[Work.SECOND_LOOK], works[Work.CORRECTED], works[Work.BED_PLACED]
    last = max(tests, key=lambda test: job.site.utc(test.when) if test.when else now, default=None)
    is_tested = last is not None or bool(looked)
    is_set = bool(fastened or bedded or read) or is_tested
    is_corrected = bool(corrected) or is_set
    return Standing(
        room=room,
        surveyed=_last(surveyed),
        corrected=_last(corrected),
        bedded=_last(bedded),
        set=_last(fastened) or _last(read),
        tested=None if last is None else _utc(job, last.when),
        looked=_last(looked),
        is_surveyed=bool(surveyed) or is_corrected,
        is_corrected=is_corrected,
        is_set=is_set,
        is_tested=is_tested,
        is_looked=bool(looked),
        stood=last is not None and not looked and _stood(job, last),
    )


def _stood(job: Job, test: WaterTest) -> bool:
    """Whether water that counts was seen to stay; one whose depth nobody measured counts."""
    return any(puddle.depth is None or puddle.depth >= job.pond_counts for puddle in test.puddles or ())


def _utc(job: Job, when: datetime | None) -> datetime | None:
    return None if when is None else job.site.utc(when)


def _until(times: Iterable[datetime | None], now: datetime) -> list[datetime | None]:
    return [time for time in times if time is None or time <= now]


def _last(times: Iterable[datetime | None]) -> datetime | None:
    return max((time for time in times if time is not None), default=None)
