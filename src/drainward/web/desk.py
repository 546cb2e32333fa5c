"""Where floors are computed: worker threads behind a cache, so that no page waits for another's floor.

Compute, ComputeWater      what computes a draft and a water test: `drainward.floor.draft_stage` and
                           `drainward.floor.film.water_stage`, or stand-ins of the same form in tests
ComputeBefore, Before      what computes the stages before a unit is set, and their answers
ComputeWay, Way            what looks for the way in, and what it found on which plan
OvertakenError             the end of a support answer that newer taps made useless
Desk                       asks for all of them, tells what is known and how far the rest is
QUICK, FULL                posterior samples of a draft's first estimate and of its refined answer
WATER_QUICK, WATER_FULL    floors that water is poured on, for the same two
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from drainward.errors import StageError
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job.model import Job, Measure, Reading, Received, SettingEvent, WaterTest

if TYPE_CHECKING:
    from drainward.bed.result import BedPlan
    from drainward.hold.support import Supported
    from drainward.plan.dated import Dated
    from drainward.plan.needs import RoomNeeds
    from drainward.plan.takeoff import Takeoff
    from drainward.pocket.stage import DrySet, SetOut, Survey
    from drainward.wayin.plan import Plan
    from drainward.wayin.result import WayIn

__all__ = [
    "FULL",
    "QUICK",
    "WATER_FULL",
    "WATER_QUICK",
    "Before",
    "Compute",
    "ComputeBefore",
    "ComputeWater",
    "ComputeWay",
    "Desk",
    "Key",
    "OvertakenError",
    "Way",
    "before_engine",
    "engine",
    "water_engine",
    "way_engine",
]

QUICK, FULL = 100, 1000
WATER_QUICK, WATER_FULL = 24, 200

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, eq=False)
class Before:
    """The stages before a unit is set, from one survey."""

    survey: Survey
    dry_set: DrySet
    set_out: SetOut
    bed: BedPlan | None
    no_bed: str
    """Why there is no bed."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """The way in, and the plan of the storey as it was then."""

    plan: Plan
    answer: WayIn


KeptNeeds = dict[str, tuple[tuple[str, ...], "RoomNeeds"]]
"""What each room takes, and the ids of the entries that it was computed from."""
Answer = TypeVar("Answer", Draft, Water, Before, Way, "Supported", "Takeoff")


class OvertakenError(Exception):
    """Somebody tapped on, and asked anew: this answer would be about fewer taps."""


class Compute(Protocol):
    """The form of `drainward.floor.draft_stage`."""

    def __call__(
        self, job: Job, room: str, readings: tuple[Reading, ...], *, samples: int, progress: Progress | None
    ) -> Draft: ...


class ComputeWater(Protocol):
    """The form of `drainward.floor.film.water_stage`."""

    def __call__(
        self,
        job: Job,
        room: str,
        readings: tuple[Reading, ...],
        tests: tuple[WaterTest, ...],
        *,
        samples: int,
        progress: Progress | None,
    ) -> Water: ...


class ComputeBefore(Protocol):
    """A job that holds the room's measures and sizes received, to the stages before its unit is set."""

    def __call__(self, job: Job, room: str, *, progress: Progress | None) -> Before: ...


class ComputeWay(Protocol):
    """The form of `drainward.wayin.stage.way_in_stage`."""

    def __call__(self, job: Job, room: str, plan: Plan, *, progress: Progress | None) -> WayIn: ...


def engine(job: Job, room: str, readings: tuple[Reading, ...], *, samples: int, progress: Progress | None) -> Draft:
    """The floor engine, imported on first use: its compiled kernels cost more than the whole page."""
    from drainward.floor import draft_stage

    return draft_stage(job, room, readings, samples=samples, progress=progress)


def water_engine(
    job: Job,
    room: str,
    readings: tuple[Reading, ...],
    tests: tuple[WaterTest, ...],
    *,
    samples: int,
    progress: Progress | None,
) -> Water:
    """The water engine, imported on first use like the floor's."""
    from drainward.floor.film import water_stage

    return water_stage(job, room, readings, tests, samples=samples, progress=progress)


def before_engine(job: Job, room: str, *, progress: Progress | None) -> Before:
    """The stages of `drainward.pocket.stage`, imported on first use like the floor's."""
    from drainward.bed.stage import bed_stage
    from drainward.pocket.stage import dry_set_stage, set_stage, survey_stage

    survey = survey_stage(job, room)
    if progress is not None:
        progress("survey", 0.6)
    dry_set = dry_set_stage(job, room)
    bed, no_bed = None, ""
    try:
        bed = bed_stage(job, room)
    except StageError as refusal:
        no_bed = str(refusal)
    return Before(survey, dry_set, set_stage(job, room), bed, no_bed)


def way_engine(job: Job, room: str, plan: Plan, *, progress: Progress | None) -> WayIn:
    """The way in of `drainward.wayin.stage`, imported on first use like the floor's."""
    from drainward.wayin.stage import way_in_stage

    return way_in_stage(job, room, plan, progress=progress)


def support_engine(job: Job, room: str, progress: Progress) -> Supported:
    """Whether the bed carries the floor, imported on first use like the floor's."""
    from drainward.hold.support import support_stage

    return support_stage(job, room, progress=progress)


def takeoff_engine(job: Job, dates: Dated | None, kept: KeptNeeds, progress: Progress) -> Takeoff:
    """What to buy and cut, imported on first use like the floor's.

    dates : by the plan
    kept : what each room takes; a room is computed anew only when something was measured or done there
    """
    from drainward.plan.needs import room_needs
    from drainward.plan.takeoff import takeoff

    told: dict[str, list[str]] = {room.room: [] for room in job.rooms}
    for entry in _entries(job):
        told.setdefault(entry.room, []).append(entry.id)
    needs = []
    for number, room in enumerate(job.rooms):
        progress(f"room {room.room}", 0.9 * number / len(job.rooms))
        ids = tuple(told[room.room])
        if room.room not in kept or kept[room.room][0] != ids:
            kept[room.room] = ids, room_needs(job, room)
        needs.append(kept[room.room][1])
    return takeoff(job, needs, dates=dates, progress=lambda what, share: progress(what, 0.9 + 0.1 * share))


@dataclass(frozen=True, slots=True)
class Key:
    """An answer is fully named by its room, the ids of its readings and tests, and the number of samples.

    tests : None for a draft, which no test changes. The stages before a unit is set have their measures and sizes
            received in place of both, and no samples; a way in has the digest of its plan; a support has its taps and
            presses, and the sizes received; a takeoff has no room.
            received in place of both, and no samples; a way in has the digest of its plan; a takeoff has no room, and
            the digest of what came and of the plan's dates.
    """

    room: str
    readings: tuple[str, ...]
    tests: tuple[str, ...] | None
    samples: int


DRAFT, BEFORE, WAY, SUPPORT, WATER, TAKEOFF, BOARD = range(7)
"""Who goes first: whoever waits for a draft, a survey, a way in, a support, water, a takeoff, then the job's page."""


@dataclass(slots=True, eq=False)
class _Task(Generic[Answer]):
    """An answer that was asked for.

    turn : of the most urgent who waits;  share : how much is done, None before it is begun;  says : what is worked on
    """

    turn: int
    future: Future[Answer] = field(default_factory=Future)
    share: float | None = None
    says: str = ""


class _Shelf(Generic[Answer]):
    """Answers of one kind: the last `kept`, and the tasks under way by key and thread."""

    def __init__(self, kept: int) -> None:
        self.kept = kept
        self.done: OrderedDict[Key, Answer] = OrderedDict()
        self.tasks: dict[tuple[Key, int], _Task[Answer]] = {}


class Desk:
    """Computes each answer once and keeps the last ones.

    Seven threads: one for the person who waits for a draft at a room's page, one for the person who surveys its pocket,
    one for the person who looks for its way in, one for the person who taps its floor, one for the person who waits for
    its water, one for the person who buys and cuts, one that fills the job's page. Each stands still while one before
    it works. Methods may be called from any thread.
    kept, kept_water : how many drafts (and surveys, and ways) and waters are kept; a water holds megabytes of frames.
    """

    def __init__(
        self,
        job: Job,
        compute: Compute = engine,
        compute_water: ComputeWater = water_engine,
        kept: int = 96,
        kept_water: int = 24,
        compute_before: ComputeBefore = before_engine,
        compute_way: ComputeWay = way_engine,
    ) -> None:
        self._job, self._compute, self._compute_water = job, compute, compute_water
        self._compute_before, self._compute_way = compute_before, compute_way
        self._drafts: _Shelf[Draft] = _Shelf(kept)
        self._waters: _Shelf[Water] = _Shelf(kept_water)
        self._befores: _Shelf[Before] = _Shelf(kept)
        self._ways: _Shelf[Way] = _Shelf(kept)
        self._supports: _Shelf[Supported] = _Shelf(kept)
        self._tapped: dict[str, Key] = {}
        self._takeoffs: _Shelf[Takeoff] = _Shelf(2)
        self._needs: KeptNeeds = {}
        names = ("draft", "survey", "way", "support", "water", "takeoff", "board")
        self._threads = tuple(ThreadPoolExecutor(1, f"drainward-{name}") for name in names)
        self._turns: list[
            _Task[Draft] | _Task[Water] | _Task[Before] | _Task[Way] | _Task[Supported] | _Task[Takeoff]
        ] = []
        self._changed = threading.Condition()
        self._closed = False

    def known(self, room: str, readings: tuple[Reading, ...], samples: int = FULL) -> Draft | None:
        """The draft, when it was computed already."""
        return self._known(self._drafts, _key(room, readings, None, samples))

    def known_water(
        self, room: str, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...], samples: int = WATER_FULL
    ) -> Water | None:
        """The water, when it was computed already."""
        return self._known(self._waters, _key(room, readings, tests, samples))

    def share(self, room: str, readings: tuple[Reading, ...], samples: int = FULL) -> float | None:
        """How much of the draft is done, 0 to 1, while it is being computed; None when it is not."""
        return self._share(self._drafts, _key(room, readings, None, samples))

    def share_water(
        self, room: str, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...], samples: int = WATER_FULL
    ) -> float | None:
        """How much of the water is done, 0 to 1, while it is being computed; None when it is not."""
        return self._share(self._waters, _key(room, readings, tests, samples))

    def ask(
        self, room: str, readings: tuple[Reading, ...], samples: int = FULL, *, waiting: bool = True
    ) -> Future[Draft]:
        """The draft, soon. `waiting`: a person waits for it; else it is computed when nobody does.

        The future raises what the engine raised.
        """

        def compute(progress: Progress) -> Draft:
            return self._compute(self._job, room, readings, samples=samples, progress=progress)

        return self._ask(self._drafts, _key(room, readings, None, samples), DRAFT if waiting else BOARD, compute)

    def ask_water(
        self, room: str, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...], samples: int = WATER_FULL
    ) -> Future[Water]:
        """The water for a person who waits for it, after all drafts that somebody waits for.

        The future raises what the engine raised.
        """

        def compute(progress: Progress) -> Water:
            return self._compute_water(self._job, room, readings, tests, samples=samples, progress=progress)

        return self._ask(self._waters, _key(room, readings, tests, samples), WATER, compute)

    def known_before(
        self,
        room: str,
        measures: tuple[Measure, ...],
        received: tuple[Received, ...],
        setting: tuple[SettingEvent, ...] = (),
    ) -> Before | None:
        """The stages before the unit is set, when they were computed already."""
        return self._known(self._befores, _before_key(room, measures, received, setting))

    def ask_before(
        self,
        room: str,
        measures: tuple[Measure, ...],
        received: tuple[Received, ...],
        setting: tuple[SettingEvent, ...] = (),
    ) -> Future[Before]:
        """The stages before the unit is set, for a person who waits, after all drafts that somebody waits for.

        setting : what was done in the room that the bed hangs on
        The future raises what the engine raised.
        """
        job = self._job.model_copy(update={"survey": measures, "received": received, "setting": setting})

        def compute(progress: Progress) -> Before:
            return self._compute_before(job, room, progress=progress)

        return self._ask(self._befores, _before_key(room, measures, received, setting), BEFORE, compute)

    def known_way(self, room: str, plan: Plan) -> Way | None:
        """The way in by this plan, when it was found already."""
        return self._known(self._ways, _way_key(room, plan))

    def last_way(self, room: str) -> Way | None:
        """The way in that was found last, by whatever plan."""
        with self._changed:
            return next((way for key, way in reversed(self._ways.done.items()) if key.room == room), None)

    def way_at(self, room: str, plan: Plan) -> tuple[float, str] | None:
        """How much of the search is done, 0 to 1, and what it looks at; None while it is not under way."""
        with self._changed:
            task = self._ways.tasks.get((_way_key(room, plan), WAY))
            return None if task is None or task.share is None else (task.share, task.says)

    def ask_way(self, room: str, plan: Plan) -> Future[Way]:
        """The way in by the plan of the room's storey, for a person who waits, before all waters.

        The future raises what the engine raised.
        """

        def compute(progress: Progress) -> Way:
            return Way(plan, self._compute_way(self._job, room, plan, progress=progress))

        return self._ask(self._ways, _way_key(room, plan), WAY, compute)

    def support_at(
        self, room: str, taps: tuple[Reading, ...], received: tuple[Received, ...]
    ) -> tuple[float, str] | None:
        """How much of it is done, 0 to 1, and at what it is; None while it is not under way."""
        with self._changed:
            task = self._supports.tasks.get((_support_key(room, taps, received), SUPPORT))
            return None if task is None or task.share is None else (task.share, task.says)

    def ask_support(self, room: str, taps: tuple[Reading, ...], received: tuple[Received, ...]) -> Future[Supported]:
        """Whether the bed carries the floor, by its taps and presses, for a person who waits.

        What was asked before of the room by other taps is given up. The future raises what the engine raised, or
        OvertakenError.
        """
        job = self._job.model_copy(update={"readings": taps, "received": received})
        key = _support_key(room, taps, received)
        with self._changed:
            self._tapped[room] = key

        def compute(progress: Progress) -> Supported:
            def unless_overtaken(what: str, share: float) -> None:
                if self._tapped.get(room) != key:
                    raise OvertakenError
                progress(what, share)

            unless_overtaken("", 0.0)
            return support_engine(job, room, unless_overtaken)

        return self._ask(self._supports, key, SUPPORT, compute)

    def known_takeoff(self, job: Job, dates: Dated | None) -> Takeoff | None:
        """What to buy and cut by what `job` holds and the plan's dates, when it was added up already."""
        return self._known(self._takeoffs, _takeoff_key(job, dates))

    def takeoff_at(self, job: Job, dates: Dated | None) -> tuple[float, str] | None:
        """How much of it is done, 0 to 1, and at what it is; None while it is not under way."""
        with self._changed:
            task = self._takeoffs.tasks.get((_takeoff_key(job, dates), TAKEOFF))
            return None if task is None or task.share is None else (task.share, task.says)

    def ask_takeoff(self, job: Job, dates: Dated | None) -> Future[Takeoff]:
        """What to buy and cut, for a person who waits, after all who wait for a room.

        The future raises what the engine raised.
        """

        def compute(progress: Progress) -> Takeoff:
            return takeoff_engine(job, dates, self._needs, progress)

        return self._ask(self._takeoffs, _takeoff_key(job, dates), TAKEOFF, compute)

    def close(self) -> None:
        """Drop what nobody has begun, break off what is under way, and let the threads end."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        for thread in self._threads:
            thread.shutdown(wait=False, cancel_futures=True)

    def _known(self, shelf: _Shelf[Answer], key: Key) -> Answer | None:
        with self._changed:
            if key in shelf.done:
                shelf.done.move_to_end(key)
            return shelf.done.get(key)

    def _share(self, shelf: _Shelf[Answer], key: Key) -> float | None:
        with self._changed:
            tasks = (shelf.tasks.get((key, turn)) for turn in range(len(self._threads)))
            return next((task.share for task in tasks if task is not None and task.share is not None), None)

    def _ask(self, shelf: _Shelf[Answer], key: Key, turn: int, compute: Callable[[Progress], Answer]) -> Future[Answer]:
        with self._changed:
            if key in shelf.done:
                done: Future[Answer] = Future()
                done.set_result(shelf.done[key])
                return done
            for thread in range(len(self._threads)):
                task = shelf.tasks.get((key, thread))
                if task is not None and (thread == turn or task.share is not None):
                    # Whoever joins what is under way makes it as urgent as they are.
                    task.turn = min(task.turn, turn)
                    self._changed.notify_all()
                    return task.future
            task = _Task[Answer](turn)
            shelf.tasks[key, turn] = task
            self._turns.append(task)
            task.future = self._threads[turn].submit(self._work, shelf, key, task, compute)
        task.future.add_done_callback(lambda _: self._settle(shelf, key, turn, task))
        return task.future

    def _work(
        self, shelf: _Shelf[Answer], key: Key, task: _Task[Answer], compute: Callable[[Progress], Answer]
    ) -> Answer:
        def stand_still() -> None:
            self._changed.wait_for(lambda: self._closed or all(other.turn >= task.turn for other in self._turns))
            if self._closed:
                raise CancelledError

        def progress(stage: str, share: float) -> None:
            with self._changed:
                stand_still()
                task.share, task.says = share, stage

        with self._changed:
            stand_still()
            if key in shelf.done:
                return shelf.done[key]
            task.share = 0.0
        answer = compute(progress)
        with self._changed:
            shelf.done[key] = answer
            while len(shelf.done) > shelf.kept:
                shelf.done.popitem(last=False)
        return answer

    def _settle(self, shelf: _Shelf[Answer], key: Key, thread: int, task: _Task[Answer]) -> None:
        with self._changed:
            shelf.tasks.pop((key, thread), None)
            self._turns.remove(task)
            self._changed.notify_all()


def _key(room: str, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...] | None, samples: int) -> Key:
    return Key(
        room,
        tuple(reading.id for reading in readings),
        None if tests is None else tuple(test.id for test in tests),
        samples,
    )


def _before_key(
    room: str, measures: tuple[Measure, ...], received: tuple[Received, ...], setting: tuple[SettingEvent, ...]
) -> Key:
    told = (*(size.id for size in received), *(event.id for event in setting))
    return Key(room, tuple(measure.id for measure in measures), told, 0)


def _way_key(room: str, plan: Plan) -> Key:
    return Key(room, (hashlib.sha256(repr(plan).encode()).hexdigest(),), None, 0)


def _support_key(room: str, taps: tuple[Reading, ...], received: tuple[Received, ...]) -> Key:
    return Key(room, tuple(tap.id for tap in taps), tuple(size.id for size in received), 0)


def _takeoff_key(job: Job, dates: Dated | None) -> Key:
    files = hashlib.sha256(repr((job.delivered, dates)).encode()).hexdigest()
    return Key("", (*(entry.id for entry in _entries(job)), files), None, 0)


def _entries(job: Job) -> tuple[Measure | Received | SettingEvent, ...]:
    return (*job.survey, *job.received, *job.setting)
