"""Events: what happened, once, never changed.

Event                             one thing that happened in a room or to the whole job
reading_event, reading_of         a reading as an event, and back
water_test_event, water_test_of   a water test, and back
measure_event, measure_of         a measure of a pocket, and back
received_event, received_of       a size or the damage of a unit as it arrived, and back
setting_event, setting_of         what was done when a unit was set, and back
reading_uuid, water_test_uuid,
measure_uuid, received_uuid,
setting_uuid                      the uuids of those events
withdrawal_event, withdrawn       one of them taken back: a new event that names the old one
taken_in_event                    a table of the job folder was taken into this record
plan_event                        the plan of a storey was drawn, and plan.csv written
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, Literal, TypeVar

from drainward.errors import InputError, Problem
from drainward.job.model import Measure, Reading, Received, SettingEvent, WaterTest

__all__ = [
    "Entry",
    "Event",
    "EventKind",
    "measure_event",
    "measure_of",
    "measure_uuid",
    "plan_event",
    "reading_event",
    "reading_of",
    "reading_uuid",
    "received_event",
    "received_of",
    "received_uuid",
    "setting_event",
    "setting_of",
    "setting_uuid",
    "taken_in_event",
    "water_test_event",
    "water_test_of",
    "water_test_uuid",
    "withdrawal_event",
    "withdrawn",
]

_READINGS = uuid.UUID("5d0f6f5e-0c0b-5b0e-9a53-0b8a4c1e7a11")
_WATER_TESTS = uuid.UUID("e2a0c3a4-5a0b-5f5c-8d3e-6b1f0f6f2c57")
_MEASURES = uuid.UUID("0b7d6a52-6b43-5f0e-8f0a-3b9d5a1c7e44")
_RECEIVED = uuid.UUID("9f3c1e08-2d7a-5c61-b1f4-7a60d2c95e13")
_SETTING = uuid.UUID("3a6de0c5-91f4-5e2b-8c37-d4b1f02a7e69")
"""Namespaces under which the own id of an entry becomes a UUID, when it is none itself."""

Entry = Reading | WaterTest | Measure | Received | SettingEvent
_Any = TypeVar("_Any", Reading, WaterTest, Measure, Received, SettingEvent)


class EventKind(StrEnum):
    """The kinds this version writes; an unknown kind written by a later version is kept and passed over."""

    JOB = "job"
    READING = "reading"
    WATER_TEST = "water test"
    MEASURE = "measure"
    RECEIVED = "received"
    SETTING = "setting"
    WITHDRAWAL = "withdrawal"
    PLAN = "plan"


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened.

    uuid : made where the event was made, so that sending it twice stores it once
    kind : an `EventKind`, or a kind of a later version
    room : "" for the whole job
    at   : when it was recorded, aware of its time zone; kept in UTC to the microsecond
    body : JSON object, numbers finite
    Raises InputError when the uuid is none, the kind is empty, the time is naive or the body is not JSON.
    """

    uuid: str
    kind: str
    room: str
    at: datetime
    who: str = ""
    body: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        try:
            object.__setattr__(self, "uuid", str(uuid.UUID(self.uuid)))
        except ValueError:
            raise _refused(self.uuid, "uuid", self.uuid, "is not a UUID") from None
        if not self.kind:
            raise _refused(
                self.uuid,
                "kind",
                self.kind,
                "is empty; expected what happened, in a word",
            )
        if self.at.tzinfo is None:
            raise _refused(
                self.uuid,
                "at",
                str(self.at),
                "has no time zone; expected a time in UTC",
            )
        object.__setattr__(self, "at", self.at.astimezone(UTC))
        try:
            self.body_text()
        except (TypeError, ValueError) as error:
            raise _refused(
                self.uuid,
                "body",
                type(self.body).__name__,
                f"is not a JSON object: {error}",
            ) from None

    def body_text(self) -> str:
        """The body as canonical JSON: keys sorted, no blanks, so that equal bodies are equal texts."""
        return json.dumps(
            self.body,
            allow_nan=False,
            ensure_ascii=False,
            separators=(",", ":"),
            sort_keys=True,
        )

    def same_content(self, other: Event) -> bool:
        """Whether both say the same; when it was recorded and by whom may differ between two sendings."""
        return (self.kind, self.room, self.body_text()) == (
            other.kind,
            other.room,
            other.body_text(),
        )


def _refused(event: str, name: str, got: str, expected: str) -> InputError:
    return InputError((Problem(f"event {event}", None, name, got, expected),))


def reading_uuid(room: str, reading_id: str) -> str:
    """The event's uuid for a reading: its own id where that is a UUID, else one derived from room and id."""
    return _uuid(_READINGS, room, reading_id)


def water_test_uuid(room: str, test_id: str) -> str:
    """The event's uuid for a water test, found as for a reading."""
    return _uuid(_WATER_TESTS, room, test_id)


def measure_uuid(room: str, measure_id: str) -> str:
    """The event's uuid for a measure, found as for a reading."""
    return _uuid(_MEASURES, room, measure_id)


def received_uuid(room: str, received_id: str) -> str:
    """The event's uuid for a size or the damage of a unit, found as for a reading."""
    return _uuid(_RECEIVED, room, received_id)


def setting_uuid(room: str, event_id: str) -> str:
    """The event's uuid for what was done when a unit was set, found as for a reading."""
    return _uuid(_SETTING, room, event_id)


def _uuid(space: uuid.UUID, room: str, own_id: str) -> str:
    try:
        return str(uuid.UUID(own_id))
    except ValueError:
        return str(uuid.uuid5(space, f"{room}\n{own_id}"))


def reading_event(reading: Reading, at: datetime) -> Event:
    """The reading as an event recorded at `at`; the whole reading stands in the body, SI, written form beside it."""
    return _entry_event(EventKind.READING, reading, at)


def water_test_event(test: WaterTest, at: datetime) -> Event:
    """The water test as an event recorded at `at`; the whole test stands in the body, its photograph by name."""
    return _entry_event(EventKind.WATER_TEST, test, at)


def measure_event(measure: Measure, at: datetime) -> Event:
    """The measure as an event recorded at `at`; the whole measure stands in the body."""
    return _entry_event(EventKind.MEASURE, measure, at)


def received_event(size: Received, at: datetime) -> Event:
    """A size or the damage of a unit as an event recorded at `at`; its photograph by name."""
    return _entry_event(EventKind.RECEIVED, size, at)


def setting_event(done: SettingEvent, at: datetime) -> Event:
    """What was done when a unit was set as an event recorded at `at`."""
    return _entry_event(EventKind.SETTING, done, at)


def _entry_event(kind: EventKind, entry: Entry, at: datetime) -> Event:
    body = entry.model_dump(mode="json", exclude_none=True)
    return Event(uuid=_entry_uuid(entry), kind=kind, room=entry.room, at=at, who=entry.who, body=body)


_KINDS: dict[type[Entry], tuple[EventKind, uuid.UUID]] = {
    Reading: (EventKind.READING, _READINGS),
    WaterTest: (EventKind.WATER_TEST, _WATER_TESTS),
    Measure: (EventKind.MEASURE, _MEASURES),
    Received: (EventKind.RECEIVED, _RECEIVED),
    SettingEvent: (EventKind.SETTING, _SETTING),
}


def _kind_of(entry: Entry) -> EventKind:
    return _KINDS[type(entry)][0]


def _entry_uuid(entry: Entry) -> str:
    return _uuid(_KINDS[type(entry)][1], entry.room, entry.id)


def reading_of(event: Event) -> Reading:
    """The reading that an event of kind `reading` carries. Raises InputError when the body is none."""
    return _entry_of(event, Reading, "reading")


def water_test_of(event: Event) -> WaterTest:
    """The water test that an event of kind `water test` carries. Raises InputError when the body is none."""
    return _entry_of(event, WaterTest, "water test")


def measure_of(event: Event) -> Measure:
    """The measure that an event of kind `measure` carries. Raises InputError when the body is none."""
    return _entry_of(event, Measure, "measure")


def received_of(event: Event) -> Received:
    """What an event of kind `received` carries. Raises InputError when the body is none."""
    return _entry_of(event, Received, "size of a unit")


def setting_of(event: Event) -> SettingEvent:
    """What an event of kind `setting` carries. Raises InputError when the body is none."""
    return _entry_of(event, SettingEvent, "work of setting a unit")


def _entry_of(event: Event, model: type[_Any], name: str) -> _Any:
    try:
        return model.model_validate(event.body)
    except ValueError as error:
        raise _refused(event.uuid, "body", event.kind, f"holds no {name}: {error}") from None


def withdrawal_event(entry: Entry, why: str, who: str, at: datetime) -> Event:
    """The entry is taken back from now on; it stays in the record. One entry, one withdrawal."""
    taken_back = _entry_uuid(entry)
    return Event(
        uuid=str(uuid.uuid5(_READINGS, f"withdrawn\n{taken_back}")),
        kind=EventKind.WITHDRAWAL,
        room=entry.room,
        at=at,
        who=who,
        body={str(_kind_of(entry)): taken_back, "why": why},
    )


def withdrawn(event: Event, kind: EventKind) -> str | None:
    """The uuid of the event of this kind that a withdrawal takes back; None where it takes back none of the kind."""
    return event.body.get(str(kind)) if event.kind == EventKind.WITHDRAWAL else None


def taken_in_event(
    name: str,
    what: Literal["readings", "water tests", "measures", "received", "setting"],
    count: int,
    digest: str,
    at: datetime,
) -> Event:
    """A table of the job folder was taken in: the job's name, how many it held, and the SHA-256 of them."""
    # The event of the readings came first, and records hold it under the plain name.
    own = "job" if what == "readings" else f"job\n{what}"
    return Event(
        uuid=str(uuid.uuid5(_READINGS, own)),
        kind=EventKind.JOB,
        room="",
        at=at,
        body={"name": name, what: count, "digest": digest},
    )


def plan_event(own_id: str, floor: str, text: str, who: str, at: datetime) -> Event:
    """The plan of a storey was drawn: the whole of plan.csv as it was written then. own_id : a UUID."""
    return Event(uuid=own_id, kind=EventKind.PLAN, room="", at=at, who=who, body={"floor": floor, "text": text})
