"""One job as the page sees it: `Site`, and what a room's page shows of a draft and of its water.

Site            a job folder with its record and the desk that computes
Answer          one draft made ready;  WaterAnswer : one water test made ready
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drainward.errors import DrainwardError, InputError, Problem, QuantityError
from drainward.finding import Verdict
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job import load
from drainward.job.at_stage import at_stage
from drainward.job.model import (
    Job,
    Measure,
    Reading,
    ReadingKind,
    Received,
    Room,
    SettingEvent,
    UnitModel,
    WaterTest,
    Work,
)
from drainward.job.photos import read_photo
from drainward.record.event import (
    Entry,
    Event,
    EventKind,
    measure_event,
    measure_of,
    measure_uuid,
    plan_event,
    reading_event,
    reading_of,
    reading_uuid,
    received_event,
    received_of,
    received_uuid,
    setting_event,
    setting_of,
    setting_uuid,
    water_test_event,
    water_test_of,
    water_test_uuid,
    withdrawal_event,
)
from drainward.report.picture import floor_picture
from drainward.report.picture_svg import picture_svg
from drainward.report.water_still import water_still
from drainward.report.water_still_svg import still_svg
from drainward.web.answer import answer, card
from drainward.web.board import Board
from drainward.web.clocks import Clocks
from drainward.web.desk import (
    FULL,
    WATER_FULL,
    Compute,
    ComputeBefore,
    ComputeWater,
    ComputeWay,
    Desk,
    before_engine,
    engine,
    water_engine,
    way_engine,
)
from drainward.web.entry import KINDS, fits
from drainward.web.form import Photo
from drainward.web.storeys import Drawing, Storeys
from drainward.web.water_answer import water_answer

if TYPE_CHECKING:
    from drainward.record.store import Store
    from drainward.report.handover_before import Before
    from drainward.report.handover_hold import Hold
    from drainward.rules.window import JobOutlook
    from drainward.wayin.plan import Plan

__all__ = ["Answer", "Site", "WaterAnswer"]


@dataclass(frozen=True, slots=True)
class Answer:
    """One draft for the page: what the templates show, and what the canvas draws."""

    draft: Draft
    shows: dict[str, Any]
    picture: dict[str, Any]

    @property
    def refined(self) -> bool:
        return self.draft.samples >= FULL


@dataclass(frozen=True, slots=True)
class WaterAnswer:
    """The water of one floor for the page; `picture` is None where the floor under it is not computed yet."""

    water: Water
    shows: dict[str, Any]
    picture: dict[str, Any] | None

    @property
    def refined(self) -> bool:
        return self.water.samples >= WATER_FULL


class Site:
    """A job folder, read once when the page is started, with its record. Without a record the page only shows.

    Raises InputError when the folder cannot be used.
    """

    def __init__(
        self,
        folder: Path,
        store: Store | None,
        compute: Compute = engine,
        compute_water: ComputeWater = water_engine,
        compute_before: ComputeBefore = before_engine,
        compute_way: ComputeWay = way_engine,
    ) -> None:
        self.folder, self.store = folder, store
        if store is None:
            loaded = load(folder)
            self.job, self.problems = loaded.job, loaded.problems
        else:
            recorded = store.load_job(folder)
            self.job, self.problems = recorded.job, recorded.problems
        self.storeys = Storeys(folder, self.job)
        self.rooms: dict[str, Room] = {room.room: room for room in self.job.rooms}
        self.outlook = _outlook(self.job)
        findings = () if isinstance(self.outlook, str) else self.outlook.findings
        self.warnings = tuple(card(finding) for finding in findings if finding.verdict is not Verdict.MEETS)
        self.desk = Desk(self.job, compute, compute_water, compute_before=compute_before, compute_way=compute_way)
        self.board = Board(self.job, self.desk, self.readings)
        self._clocks = Clocks(self.job)

    def now(self) -> Job:
        """The job with the measures, the sizes received and the work that hold now, of all rooms."""
        if self.store is None:
            return self.job
        found = {"survey": self.store.measures(), "received": self.store.received(), "setting": self.store.setting()}
        return self.job.model_copy(update=found)

    def unit(self, room: Room) -> UnitModel:
        """The unit model that the room takes."""
        return self.job.units[room.unit]

    def readings(self, room: str | None = None, stage: str = "draft") -> tuple[Reading, ...]:
        """The readings that hold and tell of a room's floor at a stage; without a room, those of all draft checks."""
        found = self.job.readings if self.store is None else self.store.readings(room)
        if room is None:
            return tuple(reading for reading in found if reading.stage == stage)
        return at_stage(found, room, stage)

    def tests(self, room: str | None = None) -> tuple[WaterTest, ...]:
        """The water tests that hold, of a room or of all."""
        found = self.job.water_tests if self.store is None else self.store.water_tests(room)
        return tuple(test for test in found if room in (None, test.room))

    def measures(self, room: str) -> tuple[Measure, ...]:
        """The measures of a room's pocket that hold."""
        found = self.job.survey if self.store is None else self.store.measures(room)
        return tuple(measure for measure in found if measure.room == room)

    def received(self, room: str) -> tuple[Received, ...]:
        """Sizes and damage of a room's unit as it arrived, those that hold."""
        found = self.job.received if self.store is None else self.store.received(room)
        return tuple(size for size in found if size.room == room)

    def sounded(self, room: str) -> tuple[Reading, ...]:
        """The taps and presses of a room that hold."""
        found = self.job.readings if self.store is None else self.store.readings(room)
        kinds = (ReadingKind.TAP, ReadingKind.PRESS)
        return tuple(reading for reading in found if reading.room == room and reading.kind in kinds)

    def setting(self, room: str | None = None) -> tuple[SettingEvent, ...]:
        """What was done when units were set, as it holds, of a room or of all."""
        found = self.job.setting if self.store is None else self.store.setting(room)
        return tuple(event for event in found if room in (None, event.room))

    def bed_told(self, room: str) -> tuple[SettingEvent, ...]:
        """What was done in a room that the mixing of its bed hangs on: when it was placed, how warm the slab was."""
        told = (Work.BED_PLACED, Work.SLAB_TEMPERATURE)
        return tuple(event for event in self.setting(room) if event.what in told)

    def clock_lines(self, now: datetime) -> dict[str, str]:
        """A line for each room whose bed cures, by room."""
        return self._clocks.lines(self.setting(), now)

    def before(self, room: Room) -> Before | None:
        """The room before its unit was set, for paper; None where nothing was measured and no plan leads to it."""
        from drainward.report.handover_before import before_stages

        name = room.room
        measured = {"survey": self.measures(name), "received": self.received(name), "setting": self.setting(name)}
        return before_stages(self.job.model_copy(update=measured), room.room, self.plan(room))

    def hold(self, room: Room, draft: Draft | None, before: Before | None, now: datetime) -> Hold | None:
        """What holds the room's unit at `now`, for paper; None where nothing was done there yet."""
        from drainward.report.handover_hold import hold_of

        bed, walls = (None, None) if before is None else (before.bed, before.set_out)
        return hold_of(self.now(), room.room, draft, bed, now, walls)

    def plan(self, room: Room) -> Plan | None:
        """The plan of the room's storey as it stands now; None where none leads to its pocket."""
        return self.storeys.plan(room)

    def save_plan(self, drawing: Drawing, now: datetime) -> None:
        """Put a storey as it was drawn into plan.csv, and the drawing into the record; sent twice, it is drawn once.

        Raises InputError where something of it is not understood, or the file was changed meanwhile.
        """
        store = self._writable()
        if any(event.uuid == drawing.id for event in store.events(kind=EventKind.PLAN)):
            return
        text = self.storeys.write(drawing)
        store.append([plan_event(drawing.id, drawing.floor, text, drawing.who, now)])

    def photo(self, name: str) -> tuple[bytes, str]:
        """The photograph of a water test or of a unit as it arrived, and its media type.

        Raises InputError when none is kept under the name.
        """
        if self.store is not None:
            return self.store.photo(name)
        shown = {test.photo for test in self.tests()} | {size.photo for size in self.job.received}
        if name not in shown - {""}:
            raise _refused("photo", name, "is no photograph of this job")
        try:
            return read_photo(self.folder, name)
        except (OSError, QuantityError) as error:
            raise _refused("photo", name, f"cannot be shown: {error}") from None

    def still(self, room: Room, water: Water) -> str:
        """The still of the water as paper shows it, SVG."""
        return still_svg(water_still(water, self.unit(room)), 160)

    def water(self, water: Water, draft: Draft | None) -> WaterAnswer:
        """What the room's page shows of its water, over the floor of a draft."""
        picture = None if draft is None else floor_picture(draft, self.unit(self.rooms[draft.room]), ()).as_json()
        return WaterAnswer(water, water_answer(water), picture)

    def answer(self, room: Room, draft: Draft, readings: tuple[Reading, ...]) -> Answer:
        """What the room's page shows of a draft of these readings."""
        unit = self.unit(room)
        picture = floor_picture(draft, unit, readings).as_json()
        # The label of the paper says what; on a phone the ends must be known too, to fill in the form.
        picture["ask"] = None if draft.next_reading is None else {"instrument": draft.next_reading.instrument}
        return Answer(draft, answer(draft, readings, self.job.instruments), picture)

    def svg(self, room: Room, draft: Draft, readings: tuple[Reading, ...]) -> str:
        """The plan as paper shows it."""
        return picture_svg(floor_picture(draft, self.unit(room), readings), 160)

    def form(self, room: Room, readings: tuple[Reading, ...]) -> dict[str, Any]:
        """What the entry form offers: instruments by kind, set-ups of heights, the inside of the unit, m."""
        unit = self.unit(room)
        setups = dict.fromkeys(r.setup for r in readings if r.kind is ReadingKind.HEIGHT and r.setup)
        return {
            "width": unit.inside_width,
            "depth": unit.inside_depth,
            "instruments": [
                {
                    "id": instrument.id,
                    "name": instrument.name,
                    "length": instrument.length,
                    "kinds": [str(kind) for kind in KINDS if fits(instrument, kind)],
                }
                for instrument in self.job.instruments.values()
            ],
            "setups": list(setups),
        }

    def save(self, reading: Reading, now: datetime) -> None:
        """Put a reading into the record; saying it twice stores it once. Raises InputError when it cannot be stored."""
        store = self._writable()
        for event in store.events(room=reading.room, kind=EventKind.READING):
            if event.uuid == reading_uuid(reading.room, reading.id):
                # A phone that got no answer sends the same reading later: the first time of writing stands.
                reading = reading.model_copy(update={"when": reading_of(event).when})
        store.append([reading_event(reading, now)])

    def save_test(self, test: WaterTest, photo: Photo | None, now: datetime) -> None:
        """Put a water test and its photograph into the record, as `save` does a reading."""
        store = self._writable()
        if photo is not None:
            test = test.model_copy(update={"photo": self._kept(store, photo)})
        for event in store.events(room=test.room, kind=EventKind.WATER_TEST):
            if event.uuid == water_test_uuid(test.room, test.id):
                test = test.model_copy(update={"when": water_test_of(event).when})
        store.append([water_test_event(test, now)])

    def written_first(self, room: Room, entry_id: str) -> datetime | None:
        """When an entry with this id was taken, where a phone that got no answer sends it again.

        Of measures, sizes received and what was done when the unit was set.
        """
        for event in self._writable().events(room=room.room):
            kind = _FIRST.get(event.kind)
            if kind is not None and event.uuid == kind[0](room.room, entry_id):
                return kind[1](event).when
        return None

    def save_setting(self, done: SettingEvent, now: datetime) -> None:
        """Put what was done when a unit was set into the record, once."""
        self._writable().append([setting_event(done, now)])

    def save_measured(self, entry: Measure | Received, photo: Photo | None, now: datetime) -> None:
        """Put a measure of the pocket, or a size or damage of the unit with its photograph, into the record, once."""
        store = self._writable()
        if isinstance(entry, Measure):
            store.append([measure_event(entry, now)])
            return
        if photo is not None:
            entry = entry.model_copy(update={"photo": self._kept(store, photo)})
        store.append([received_event(entry, now)])

    def withdraw(self, room: Room, field: str, entry_id: str, why: str, who: str, now: datetime) -> None:
        """Take a reading, a test, a measure, a size or what was done at the setting back; `field` says which.

        Raises InputError when the room has none of this id that stands, or no reason is given.
        """
        store = self._writable()
        standing: tuple[Entry, ...]
        match field:
            case "test":
                standing = store.water_tests(room.room)
            case "measure":
                standing = store.measures(room.room)
            case "received":
                standing = store.received(room.room)
            case "setting":
                standing = store.setting(room.room)
            case _:
                standing = store.readings(room.room)
        entry = next((entry for entry in standing if entry.id == entry_id), None)
        if entry is None:
            raise _refused(field, entry_id, f"is no {field} that stands in this room")
        if not why:
            raise _refused("why", why, f"is not filled in; say why the {field} is taken back")
        store.append([withdrawal_event(entry, why, who, now)])

    def _kept(self, store: Store, photo: Photo) -> str:
        try:
            return store.keep_photo(photo.data, photo.media_type)
        except InputError as error:
            raise InputError(tuple(replace(p, field="photo", got="the picture") for p in error.problems)) from None

    def _writable(self) -> Store:
        if self.store is None:
            raise _refused("record", "", "is missing: this page was started without one and only shows")
        return self.store


_FIRST: dict[str, tuple[Callable[[str, str], str], Callable[[Event], Measure | Received | SettingEvent]]] = {
    EventKind.MEASURE: (measure_uuid, measure_of),
    EventKind.RECEIVED: (received_uuid, received_of),
    EventKind.SETTING: (setting_uuid, setting_of),
}
"""How an entry of a kind is found again, and read."""


def _outlook(job: Job) -> JobOutlook | str:
    """Questions and warnings before anything is set; a sentence where the rules themselves cannot be read."""
    from drainward.rules import load_rules
    from drainward.rules.window import job_warnings

    try:
        return job_warnings(job, load_rules(job.rules))
    except DrainwardError as error:
        return str(error)


def _refused(field: str, got: str, expected: str) -> InputError:
    return InputError((Problem("page", None, field, got, expected),))
