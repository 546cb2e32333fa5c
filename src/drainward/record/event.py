"""Events: what happened, once, never changed.

Event                       one thing that happened in a room or to the whole job
reading_event, reading_of   a reading as an event, and back
withdrawal_event            a reading taken back: a new event that names the old one
job_event                   the job folder was taken into this record
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from drainward.errors import InputError, Problem
from drainward.job.model import Reading

__all__ = [
    "Event",
    "EventKind",
    "job_event",
    "reading_event",
    "reading_of",
    "reading_uuid",
    "withdrawal_event",
]

_READINGS = uuid.UUID("5d0f6f5e-0c0b-5b0e-9a53-0b8a4c1e7a11")
"""Namespace under which a reading's own id becomes a UUID, when it is none itself."""


class EventKind(StrEnum):
    """The kinds this version writes; an unknown kind written by a later version is kept and passed over."""

    JOB = "job"
    READING = "reading"
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
    try:
        return str(uuid.UUID(reading_id))
    except ValueError:
        return str(uuid.uuid5(_READINGS, f"{room}\n{reading_id}"))


def reading_event(reading: Reading, at: datetime) -> Event:
    """The reading as an event recorded at `at`; the whole reading stands in the body, SI, written form beside it."""
    return Event(
        uuid=reading_uuid(reading.room, reading.id),
        kind=EventKind.READING,
        room=reading.room,
        at=at,
        who=reading.who,
        body=reading.model_dump(mode="json", exclude_none=True),
    )


def reading_of(event: Event) -> Reading:
    """The reading that an event of kind `reading` carries. Raises InputError when the body is none."""
    try:
        return Reading.model_validate(event.body)
    except ValueError as error:
        raise _refused(event.uuid, "body", event.kind, f"holds no reading: {error}") from None


def withdrawal_event(reading: Reading, why: str, who: str, at: datetime) -> Event:
    """The reading is taken back from now on; it stays in the record. One reading, one withdrawal."""
    return Event(
        uuid=str(uuid.uuid5(_READINGS, f"withdrawn\n{reading_uuid(reading.room, reading.id)}")),
        kind=EventKind.WITHDRAWAL,
        room=reading.room,
        at=at,
        who=who,
        body={"reading": reading_uuid(reading.room, reading.id), "why": why},
    )


def job_event(name: str, readings: int, digest: str, at: datetime) -> Event:
    """The job folder was taken in: its name, how many readings it held, and the SHA-256 of its readings."""
    return Event(
        uuid=str(uuid.uuid5(_READINGS, "job")),
        kind=EventKind.JOB,
        room="",
        at=at,
        body={"name": name, "readings": readings, "digest": digest},
    )
