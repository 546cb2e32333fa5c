"""Events: what happened, once, never changed.

Event                             one thing that happened in a room or to the whole job
reading_event, reading_of         a reading as an event, and back
water_test_event, water_test_of   a water test, and back
reading_uuid, water_test_uuid     the uuids of those events
withdrawal_event, withdrawn       a reading or a water test taken back: a new event that names the old one
taken_in_event                    a table of the job folder was taken into this record
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, Literal

from drainward.errors import InputError, Problem
from drainward.job.model import Reading, WaterTest

__all__ = [
    "Event",
    "EventKind",
    "reading_event",
    "reading_of",
    "reading_uuid",
    "taken_in_event",
    "water_test_event",
    "water_test_of",
    "water_test_uuid",
    "withdrawal_event",
    "withdrawn",
]

_READINGS = uuid.UUID("5d0f6f5e-0c0b-5b0e-9a53-0b8a4c1e7a11")
_WATER_TESTS = uuid.UUID("e2a0c3a4-5a0b-5f5c-8d3e-6b1f0f6f2c57")
"""Namespaces under which the own id of a reading or a water test becomes a UUID, when it is none itself."""


class EventKind(StrEnum):
    """The kinds this version writes; an unknown kind written by a later version is kept and passed over."""

    JOB = "job"
    READING = "reading"
    WATER_TEST = "water test"
    WITHDRAWAL = "withdrawal"


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


def _entry_event(kind: EventKind, entry: Reading | WaterTest, at: datetime) -> Event:
    body = entry.model_dump(mode="json", exclude_none=True)
    return Event(uuid=_entry_uuid(entry), kind=kind, room=entry.room, at=at, who=entry.who, body=body)


def _entry_uuid(entry: Reading | WaterTest) -> str:
    return (reading_uuid if isinstance(entry, Reading) else water_test_uuid)(entry.room, entry.id)


def reading_of(event: Event) -> Reading:
    """The reading that an event of kind `reading` carries. Raises InputError when the body is none."""
    try:
        return Reading.model_validate(event.body)
    except ValueError as error:
        raise _refused(event.uuid, "body", event.kind, f"holds no reading: {error}") from None


def water_test_of(event: Event) -> WaterTest:
    """The water test that an event of kind `water test` carries. Raises InputError when the body is none."""
    try:
        return WaterTest.model_validate(event.body)
    except ValueError as error:
        raise _refused(event.uuid, "body", event.kind, f"holds no water test: {error}") from None


def withdrawal_event(entry: Reading | WaterTest, why: str, who: str, at: datetime) -> Event:
    """The reading or water test is taken back from now on; it stays in the record. One entry, one withdrawal."""
    taken_back = _entry_uuid(entry)
    kind = EventKind.READING if isinstance(entry, Reading) else EventKind.WATER_TEST
    return Event(
        uuid=str(uuid.uuid5(_READINGS, f"withdrawn\n{taken_back}")),
        kind=EventKind.WITHDRAWAL,
        room=entry.room,
        at=at,
        who=who,
        body={str(kind): taken_back, "why": why},
    )


def withdrawn(event: Event, kind: EventKind) -> str | None:
    """The uuid of the event of this kind that a withdrawal takes back; None where it takes back none of the kind."""
    return event.body.get(str(kind)) if event.kind == EventKind.WITHDRAWAL else None


def taken_in_event(name: str, what: Literal["readings", "water tests"], count: int, digest: str, at: datetime) -> Event:
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
