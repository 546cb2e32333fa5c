"""The store: append-only events in one SQLite file, safe after a kill, idempotent on the event's uuid.

Store.open           a file, or an address such as sqlite:///job.sqlite; made when missing
Store.append         events in, in one transaction; what is there already is passed over
Store.events         events out, in order of arrival
Store.readings       the readings of a room that nobody took back
Store.load_job       a job folder, its readings taken in once and from then on read from here
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Engine, Row, select
from sqlalchemy.dialects.sqlite import insert
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from drainward.errors import InputError, Problem
from drainward.job import load
from drainward.job.model import Job, Reading
from drainward.record.event import (
    Event,
    EventKind,
    job_event,
    reading_event,
    reading_of,
)
from drainward.record.schema import EVENT, connect, prepare

__all__ = ["RecordedJob", "Store"]


@dataclass(frozen=True, slots=True)
class RecordedJob:
    """A job whose readings come from the record.

    problems  : what could not be read in the folder, and where folder and record have parted
    taken_in  : how many of the folder's readings this call took into the record
    """

    job: Job
    problems: tuple[Problem, ...]
    taken_in: int


class Store:
    """The record of one job. Methods may be called from any thread; each is one transaction."""

    def __init__(self, engine: Engine, name: str) -> None:
        self._engine = engine
        self._write = engine.execution_options(immediate=True)
        self.name = name

    @classmethod
    def open(cls, path_or_url: Path | str) -> Store:
        """Open the record, or make it. Raises InputError when the place or the file cannot be used."""
        url, name = _address(path_or_url)
        engine = connect(url)
        try:
            prepare(engine, name)
        except DBAPIError as error:
            engine.dispose()
            raise _problem(name, "", name, f"cannot be used as a record: {error.orig}") from None
        except InputError:
            engine.dispose()
            raise
        return cls(engine, name)

    def close(self) -> None:
        """Give the file back."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.close()

    def append(self, events: Iterable[Event]) -> tuple[str, ...]:
        """Store all of the events, or none; gives the uuids of those that were new.

        When this returns, the events are on the disk (one sync for all of them). An event that is there already
        is passed over. Raises InputError when one with the same uuid but another content is there.
        """
        with self._write.begin() as connection:
            return tuple(event.uuid for event in events if self._append(connection, event))

    def _append(self, connection: Connection, event: Event) -> bool:
        row = {
            "uuid": event.uuid,
            "kind": str(event.kind),
            "room": event.room,
            "at": event.at.isoformat(timespec="microseconds"),
            "who": event.who,
            "body": event.body_text(),
        }
        if connection.execute(insert(EVENT).values(row).on_conflict_do_nothing()).rowcount == 1:
            return True
        there = _event(connection.execute(select(EVENT).where(EVENT.c.uuid == event.uuid)).one())
        if not there.same_content(event):
            raise _problem(
                self.name,
                "uuid",
                event.uuid,
                f"stands already with another content (recorded {there.at:%Y-%m-%d %H:%M} UTC)",
            )
        return False

    def events(self, *, room: str | None = None, kind: str | None = None) -> tuple[Event, ...]:
        """All events, or those of one room, of one kind, in order of arrival."""
        query = select(EVENT).order_by(EVENT.c.seq)
        if room is not None:
            query = query.where(EVENT.c.room == room)
        if kind is not None:
            query = query.where(EVENT.c.kind == str(kind))
        with self._engine.connect() as connection:
            return tuple(_event(row) for row in connection.execute(query))

    def readings(self, room: str | None = None) -> tuple[Reading, ...]:
        """The readings of a room (None: of all rooms) that were not withdrawn, in order of arrival."""
        events = self.events(room=room)
        withdrawn = {event.body.get("reading") for event in events if event.kind == EventKind.WITHDRAWAL}
        kept = (event for event in events if event.kind == EventKind.READING and event.uuid not in withdrawn)
        return tuple(reading_of(event) for event in kept)

    def load_job(self, folder: Path) -> RecordedJob:
        """The job of a folder with the readings of this record.

        The first time, the folder's readings are taken in, in one transaction. After that the record alone says what
        was read: where readings.csv has changed since, a problem says so, and the record stays as it is (an edited row
        would else come in beside the one it replaces and count twice).
        Raises InputError when the folder cannot be read or the record belongs to another job.
        """
        loaded = load(folder)
        job, problems = loaded.job, loaded.problems
        digest = _digest(job.readings)
        now = datetime.now(UTC)
        seed = job_event(job.name, len(job.readings), digest, now)
        taken_in = 0
        with self._write.begin() as connection:
            first = connection.execute(select(EVENT).where(EVENT.c.uuid == seed.uuid)).one_or_none()
            if first is None:
                self._append(connection, seed)
                taken_in = sum(self._append(connection, reading_event(reading, now)) for reading in job.readings)
            else:
                problems += self._parted(_event(first), job.name, digest)
        return RecordedJob(job.model_copy(update={"readings": self.readings()}), problems, taken_in)

    def _parted(self, seed: Event, name: str, digest: str) -> tuple[Problem, ...]:
        if seed.body["name"] != name:
            raise _problem(
                "job.toml",
                "name",
                name,
                f'is not the job of {self.name}; expected "{seed.body["name"]}"',
            )
        if seed.body["digest"] == digest:
            return ()
        says = f"has changed since it was taken into the record on {seed.at:%Y-%m-%d %H:%M} UTC; the record was kept"
        return (Problem("readings.csv", None, "", "readings.csv", says),)


def _address(path_or_url: Path | str) -> tuple[URL, str]:
    """The database's address and the name by which messages call it."""
    text = str(path_or_url)
    if isinstance(path_or_url, Path) or "://" not in text:
        if not text or Path(text).is_dir():
            raise _problem(
                "record",
                "",
                text,
                "is not a file; expected a file name such as record.sqlite",
            )
        return URL.create("sqlite", database=text), Path(text).name
    try:
        url = make_url(text)
    except ArgumentError:
        raise _problem("record", "", text, "is not an address; expected sqlite:///FILE") from None
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:":
        raise _problem(
            "record",
            "",
            url.render_as_string(),
            "is not a SQLite file; expected sqlite:///FILE",
        )
    return url.set(drivername="sqlite"), Path(url.database).name


def _digest(readings: tuple[Reading, ...]) -> str:
    """SHA-256 over the readings, whatever line they stand in."""
    rows = [reading.model_dump(mode="json", exclude_none=True, exclude={"file", "line"}) for reading in readings]
    return hashlib.sha256(json.dumps(rows, sort_keys=True).encode()).hexdigest()


def _event(row: Row[Any]) -> Event:
    return Event(
        row.uuid,
        row.kind,
        row.room,
        datetime.fromisoformat(row.at),
        row.who,
        json.loads(row.body),
    )


def _problem(file: str, field: str, got: str, expected: str) -> InputError:
    return InputError((Problem(file, None, field, got, expected),))
