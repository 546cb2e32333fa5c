"""One job as the page sees it: `Site`, and `Answer`, what a room's page shows of one draft."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drainward.errors import DrainwardError, InputError, Problem
from drainward.finding import Verdict
from drainward.floor.result import Draft
from drainward.job import load
from drainward.job.model import Job, Reading, ReadingKind, Room, UnitModel
from drainward.record.event import EventKind, reading_event, reading_of, reading_uuid, withdrawal_event
from drainward.report.picture import floor_picture
from drainward.report.picture_svg import picture_svg
from drainward.web.answer import answer, card
from drainward.web.board import Board
from drainward.web.desk import FULL, Compute, Desk, engine
from drainward.web.entry import KINDS, fits

if TYPE_CHECKING:
    from drainward.record.store import Store
    from drainward.rules.window import JobOutlook

__all__ = ["Answer", "Site"]


@dataclass(frozen=True, slots=True)
class Answer:
    """One draft for the page: what the templates show, and what the canvas draws."""

    draft: Draft
    shows: dict[str, Any]
    picture: dict[str, Any]

    @property
    def refined(self) -> bool:
        return self.draft.samples >= FULL


class Site:
    """A job folder, read once when the page is started, with its record. Without a record the page only shows.

    Raises InputError when the folder cannot be used.
    """

    def __init__(self, folder: Path, store: Store | None, compute: Compute = engine) -> None:
        self.store = store
        if store is None:
            loaded = load(folder)
            self.job, self.problems = loaded.job, loaded.problems
        else:
            recorded = store.load_job(folder)
            self.job, self.problems = recorded.job, recorded.problems
        self.rooms: dict[str, Room] = {room.room: room for room in self.job.rooms}
        self.outlook = _outlook(self.job)
        findings = () if isinstance(self.outlook, str) else self.outlook.findings
        self.warnings = tuple(card(finding) for finding in findings if finding.verdict is not Verdict.MEETS)
        self.desk = Desk(self.job, compute)
        self.board = Board(self.job, self.desk, self.readings)

    def unit(self, room: Room) -> UnitModel:
        """The unit model that the room takes."""
        return self.job.units[room.unit]

    def readings(self, room: str | None = None) -> tuple[Reading, ...]:
        """The readings of the draft check that hold, of a room or of all."""
        found = self.job.readings if self.store is None else self.store.readings(room)
        return tuple(reading for reading in found if reading.stage == "draft" and room in (None, reading.room))

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
        again = [
            e
            for e in store.events(room=reading.room, kind=EventKind.READING)
            if e.uuid == reading_uuid(reading.room, reading.id)
        ]
        if again:
            # A phone that got no answer sends the same reading later: the first time of writing stands.
            first = reading_of(again[0])
            reading = reading.model_copy(update={"when": first.when})
        store.append([reading_event(reading, now)])

    def withdraw(self, room: Room, reading_id: str, why: str, who: str, now: datetime) -> None:
        """Take a reading back. Raises InputError when the room has no such reading or no reason is given."""
        store = self._writable()
        reading = next((r for r in store.readings(room.room) if r.id == reading_id), None)
        if reading is None:
            raise _refused("reading", reading_id, "is no reading that stands in this room")
        if not why:
            raise _refused("why", why, "is not filled in; say why the reading is taken back")
        store.append([withdrawal_event(reading, why, who, now)])

    def _writable(self) -> Store:
        if self.store is None:
            raise _refused("record", "", "is missing: this page was started without one and only shows")
        return self.store


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
