"""From a job and its record to what is to be planned.

Case        the building, what is done, the slot of now, what was assumed
case_of     a job as its record stands at a time
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from drainward.errors import StageError
from drainward.hold.clock import LEAST, clock
from drainward.hold.cure import LAWS, History, when
from drainward.job.model import Crew as JobCrew
from drainward.job.model import Job, Room, UnitModel
from drainward.job.names import name_key
from drainward.job.planning import Calendar
from drainward.job.written import duration_text
from drainward.plan.clock import origin_of, shifts, slot_of, windows
from drainward.plan.model import SLOT, Building, Crew, Inspector, Kind, PlanRoom, Shift, Task, Work
from drainward.plan.progress import Standing, standings

__all__ = ["Case", "case_of"]

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MOST_ROOMS = 1000
"""Rooms up to which a plan is measured against its bound (`benchmarks/plan_gap.py`)."""
KITS_A_CREW = 6
"""Sets of braces for each crew where nobody says how many there are; common practice, no source."""
_DAY = 86400.0
_SLOT = SLOT.total_seconds()


@dataclass(frozen=True, slots=True)
class Case:
    """What is to be planned.

    done : steps that are done or under way, at the times of the record;  now : slot before which nothing else starts
    floors : names by the building's numbers;  notes : what was assumed, in sentences
    """

    building: Building
    done: tuple[Task, ...]
    now: int
    floors: Mapping[int, str]
    notes: tuple[str, ...]


def case_of(job: Job, now: datetime, wrong: Mapping[str, bool] | None = None, longer: float = 1.0) -> Case:
    """The job as its record stands at `now`, which is aware of its zone.

    wrong : rooms whose pocket was surveyed, and whether it needs a correction; a length in [corrections] goes before
    longer : factor on how far ahead the crews' days are laid out
    Raises StageError where nothing can be planned: no room, or a correction that nobody is trained for.
    """
    if not job.rooms:
        raise StageError("the job has no room to plan")
    zone = ZoneInfo(job.site.time_zone)
    told = standings(job, now)
    origin_day = _origin(job, told, now.astimezone(zone).date())
    origin = origin_of(origin_day, job.site.time_zone)
    at = math.ceil((now - origin) / SLOT)
    able = (job.calendar.correction_skill,) if job.calendar.correction_skill else ()
    crews = job.crews or (JobCrew(id="1", name="one crew", people=2, skills=able),)
    kits = job.kits.braces or KITS_A_CREW * len(crews)
    floors = _floors(job.rooms)
    rooms = tuple(_room(job, room, told[room.room], floors, origin, at, wrong or {}) for room in job.rooms)
    days = _horizon(job, rooms, len(crews), kits, at, longer)
    made = tuple(_crew(job, crew, origin_day, days, at) for crew in crews)
    for skill in {skill for room in rooms for skill in room.skills}:
        if all(skill not in crew.skills for crew in made):
            raise StageError(f'no crew has the skill "{skill}" that corrections ask for ([calendar] correction_skill)')
    building = Building(
        origin=origin,
        zone=job.site.time_zone,
        rooms=rooms,
        crews=made,
        kits=kits,
        inspectors=tuple(
            Inspector(
                one.name, windows(origin_day, job.site.time_zone, days, one.hours, _on(one.works), _off(job, None))
            )
            for one in job.inspectors
        ),
        first=_first(job, told),
        travel=_slots(job.calendar.floor_change),
        lunch=_slots(job.calendar.lunch),
        work=_work(job.calendar),
    )
    done = tuple(task for room in rooms for task in _done(building, room, told[room.id], at))
    names = {number: name for name, number in floors.items()}
    return Case(building, done, at, names, _notes(job, told, wrong or {}, kits))


def _origin(job: Job, told: Mapping[str, Standing], today: date) -> date:
    """Two days before the first thing that the record tells, so that every step of it has its place."""
    zone = ZoneInfo(job.site.time_zone)
    known = [
        time.astimezone(zone).date() - timedelta(days=2)
        for one in told.values()
        for time in (one.surveyed, one.bedded, one.set, one.tested, one.looked)
        if time is not None
    ]
    return min([today, *known])


def _floors(rooms: tuple[Room, ...]) -> dict[str, int]:
    names = list(dict.fromkeys(room.floor for room in rooms))
    if all(name.lstrip("-").isdigit() for name in names):
        return {name: int(name) for name in names}
    return {name: number for number, name in enumerate(names, 1)}


def _room(
    job: Job,
    room: Room,
    told: Standing,
    floors: Mapping[str, int],
    origin: datetime,
    now: int,
    wrong: Mapping[str, bool],
) -> PlanRoom:
    calendar, zone = job.calendar, job.site.time_zone
    begin, end = calendar.hours
    ready = now if room.ready is None else max(now, slot_of(origin, zone, room.ready, begin))
    own = {name_key(name): time for name, time in job.corrections.items()}
    needed = own.get(name_key(room.room), calendar.correction if wrong.get(room.room) else 0.0)
    correction = 0 if told.is_corrected else _slots(needed)
    skilled = bool(correction and calendar.correction_skill)
    return PlanRoom(
        id=room.room,
        floor=floors[room.floor],
        ready=ready,
        due=None if room.due is None else slot_of(origin, zone, room.due, end),
        correction=correction,
        skills=frozenset({calendar.correction_skill}) if skilled else frozenset(),
        cure=_cure(job, job.units[room.unit], told, now, origin),
        retest=now if told.stood else None,
        repair=_slots(calendar.repair) if told.stood else 0,
        repair_cure=math.ceil(calendar.repair_cure / _SLOT) if told.stood else 0,
    )


def _cure(job: Job, unit: UnitModel, told: Standing, now: int, origin: datetime) -> int:
    """Slots from the end of the block; by the bed's own clock where one runs."""
    if unit.style != "bedded":
        return math.ceil(unit.minimum_cure / _SLOT)
    if told.bedded is not None and not told.is_tested:
        may = clock(told.room, unit, job.setting, job.site, origin + now * SLOT, job.risk).may
        if may is not None:
            return max(1, _at(may, origin, now) - _set_end(told, origin, _slots(job.calendar.block), now))
    needed = max(LEAST, unit.minimum_cure)
    slab = History((0.0,), (job.site.temperature,))
    times = [when(law, slab, needed) for law in LAWS]
    return math.ceil(max([needed, *(t for t in times if t is not None)]) / _SLOT)


def _set_end(told: Standing, origin: datetime, block: int, otherwise: int) -> int:
    """Slot at which the block ended, or will where the bed was placed and nothing fastened yet."""
    if told.set is not None and (told.bedded is None or told.set >= told.bedded):
        return _at(told.set, origin, otherwise)
    # the bed is placed about half way through the block
    return otherwise if told.bedded is None else _at(told.bedded, origin, otherwise) + block // 2


def _at(time: datetime | None, origin: datetime, otherwise: int) -> int:
    return otherwise if time is None else math.ceil((time - origin) / SLOT)


def _work(calendar: Calendar) -> Work:
    block = _slots(calendar.block)
    brace = max(0, block - _slots(calendar.brace))
    return Work(_slots(calendar.survey), block, brace, _slots(calendar.test), _slots(calendar.look))


def _slots(seconds: float) -> int:
    return math.ceil(seconds / _SLOT - 1e-9)


def _on(works: tuple[str, ...]) -> tuple[int, ...]:
    return tuple(DAYS.index(day) for day in works)


def _off(job: Job, crew: JobCrew | None) -> set[date]:
    return {*job.calendar.holidays, *(() if crew is None else crew.off)}


def _crew(job: Job, crew: JobCrew, origin: date, days: int, now: int) -> Crew:
    """The crew's shifts; the one under way begins now, and before the job's start there is none."""
    calendar = job.calendar
    hours = crew.hours or calendar.hours
    off = _off(job, crew)
    if calendar.start is not None:
        off |= {origin + timedelta(days=k) for k in range((calendar.start - origin).days)}
    found = shifts(origin, job.site.time_zone, days, hours, _lunch(calendar, hours), off, _on(calendar.works))
    lunch = _slots(calendar.lunch)
    return Crew(crew.id, crew.people, tuple(_rest(shift, now, lunch) for shift in found), frozenset(crew.skills))


def _lunch(calendar: Calendar, hours: tuple[time, time]) -> tuple[time, time]:
    """The hours of the break within these hours of work; all of them where they hardly meet."""
    low, high = max(calendar.lunch_between[0], hours[0]), min(calendar.lunch_between[1], hours[1])
    minutes = (high.hour - low.hour) * 60 + high.minute - low.minute
    return (low, high) if minutes * 60 >= calendar.lunch else hours


def _rest(shift: Shift, now: int, lunch: int) -> Shift:
    """What is left of a shift that is under way; of the break too."""
    if not shift.start < now < shift.end - lunch:
        return shift
    low = max(shift.lunch_from, now)
    if shift.lunch_to - low < lunch:
        return Shift(shift.day, now, shift.end, now, shift.end)
    return Shift(shift.day, now, shift.end, low, shift.lunch_to)


def _horizon(job: Job, rooms: tuple[PlanRoom, ...], crews: int, kits: int, now: int, longer: float) -> int:
    """Calendar days in which all can surely be worked, from the origin."""
    week = 7 / len(job.calendar.works)
    work = _work(job.calendar)
    each = work.survey + work.block + work.test + work.look + 4
    load = sum(each + room.correction for room in rooms) / (24 * crews) * week
    cure = max((room.cure for room in rooms), default=0) * _SLOT / _DAY
    braced = len(rooms) / kits * (cure + 3)
    ready = max((room.ready for room in rooms), default=now) * _SLOT / _DAY
    return math.ceil(longer * (ready + 45 + 2 * cure + 1.5 * (load + braced)))


def _first(job: Job, told: Mapping[str, Standing]) -> str | None:
    """Room of the first unit until it is signed off; none where more than one was set already."""
    set_already = [room.room for room in job.rooms if told[room.room].is_set]
    if len(set_already) > 1 or any(one.is_looked for one in told.values()):
        return None
    if set_already:
        return set_already[0]
    named = [room.room for room in job.rooms if name_key(room.room) == name_key(job.calendar.first)]
    if named:
        return named[0]
    far = date.max
    return min(job.rooms, key=lambda room: (room.ready or far, room.due or far)).room


def _done(building: Building, room: PlanRoom, told: Standing, now: int) -> list[Task]:
    """Steps of one room that are done, each where the record has it, else right before the next."""
    crew = (building.crews[room.floor % len(building.crews)].id,)
    origin, work, found = building.origin, building.work, list[Task]()
    end = _at(_latest(told), origin, now)
    steps = (
        (told.is_looked, Kind.LOOK, _at(told.looked, origin, end), work.look),
        (
            told.stood and told.is_repaired and room.repair > 0,
            Kind.REPAIR,
            _at(told.repaired, origin, end),
            room.repair,
        ),
        (told.is_tested, Kind.TEST, _at(told.tested, origin, end), work.test),
        (told.is_set, Kind.BLOCK, _set_end(told, origin, work.block, end), work.block),
        (told.is_surveyed, Kind.SURVEY, _at(told.surveyed, origin, end), work.survey),
    )
    for done, kind, at, length in steps:
        if done:
            until = min(at, end) if found else at
            end = until - length
            found.append(Task(room.id, kind, crew, end, until))
    return found[::-1]


def _latest(told: Standing) -> datetime | None:
    times = (told.surveyed, told.corrected, told.bedded, told.set, told.tested, told.repaired, told.looked)
    return max((time for time in times if time is not None), default=None)


def _notes(job: Job, told: Mapping[str, Standing], wrong: Mapping[str, bool], kits: int) -> tuple[str, ...]:
    """What nobody wrote down and was assumed, and what the record made of the plan."""
    notes = []
    if not job.crews:
        notes.append("No [crews]: one crew of two people is assumed.")
    if job.calendar == Calendar():
        notes.append("No [calendar]: Monday to Friday 7:00-15:30 with half an hour of lunch is assumed, no holidays.")
    if job.kits.braces is None:
        notes.append(f"No [kits] braces: {kits} sets are assumed, {KITS_A_CREW} a crew.")
    if not job.inspectors:
        notes.append("No [inspectors]: second looks may be at any hour of work.")
    if len(job.rooms) > MOST_ROOMS:
        notes.append(
            f"{len(job.rooms):,} rooms: up to {MOST_ROOMS:,} were measured. Split the building by groups of floors, a "
            "job folder each with its own crews, sets of braces and inspectors' hours."
        )
    undated = [room.room for room in job.rooms if room.ready is None and not told[room.room].is_surveyed]
    if undated:
        notes.append(f"{_rooms(undated)} without a ready date: taken as ready now.")
    own = {name_key(name) for name in job.corrections}
    unseen = [
        room.room
        for room in job.rooms
        if room.room not in wrong and name_key(room.room) not in own and not told[room.room].is_corrected
    ]
    if unseen:
        notes.append(f"{_rooms(unseen)} not surveyed: no correction is planned there until a survey asks for one.")
    failed = [name for name, one in told.items() if one.stood]
    if failed:
        work, cure = (duration_text(time) for time in (job.calendar.repair, job.calendar.repair_cure))
        notes.append(
            f"Water stood in the last test of {_rooms(failed)}: {work} of repair and {cure} of cure are taken before "
            "it is tested again; a bed placed anew begins its own cure."
        )
    if any(job.units[room.unit].style != "bedded" and not told[room.room].is_tested for room in job.rooms):
        notes.append("Units on their own base are counted with a set of braces too, to be on the safe side.")
    return tuple(notes)


def _rooms(names: list[str]) -> str:
    shown = ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")
    return f"{'Room' if len(names) == 1 else 'Rooms'} {shown}"
