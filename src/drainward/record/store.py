"""The store: append-only events in one SQLite file, safe after a kill, idempotent on the event's uuid.

Store.open           a file, or an address such as sqlite:///job.sqlite; made when missing
Store.append         events in, in one transaction; what is there already is passed over
Store.events         events out, in order of arrival
Store.readings       the readings of a room that nobody took back; Store.water_tests: its water tests;
                     Store.measures: those of its pocket; Store.received: of its unit as it arrived;
                     Store.setting: what was done when it was set
Store.keep_photo     a photograph in, under a name made of what it holds; Store.photo: and out
Store.load_job       a job folder, its tables taken in once and from then on read from here
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from sqlalchemy import Connection, Engine, Row, select
from sqlalchemy.dialects.sqlite import insert
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from drainward.errors import InputError, Problem
from drainward.job import load
from drainward.job.model import Job, Measure, Reading, Received, SettingEvent, WaterTest
from drainward.job.photos import MEDIA_TYPES, PHOTOS
from drainward.record import photos
from drainward.record.event import (
    Entry,
    Event,
    EventKind,
    measure_event,
    measure_of,
    reading_event,
    reading_of,
    received_event,
    received_of,
    setting_event,
    setting_of,
    taken_in_event,
    water_test_event,
    water_test_of,
    withdrawn,
)
from drainward.record.schema import EVENT, connect, prepare

__all__ = ["RecordedJob", "Store"]

Pictured = TypeVar("Pictured", WaterTest, Received)


@dataclass(frozen=True, slots=True)
class RecordedJob:
    """A job whose readings, water tests, measures and sizes of units come from the record.

    problems  : what could not be read in the folder, and where folder and record have parted
    taken_in  : how many rows of the folder's tables this call took into the record
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
        return tuple(reading_of(event) for event in self._standing(EventKind.READING, room))

    def water_tests(self, room: str | None = None) -> tuple[WaterTest, ...]:
        """The water tests of a room (None: of all rooms) that were not withdrawn, in order of arrival."""
        return tuple(water_test_of(event) for event in self._standing(EventKind.WATER_TEST, room))

    def measures(self, room: str | None = None) -> tuple[Measure, ...]:
        """The measures of a room's pocket (None: of all rooms) that were not withdrawn, in order of arrival."""
        return tuple(measure_of(event) for event in self._standing(EventKind.MEASURE, room))

    def received(self, room: str | None = None) -> tuple[Received, ...]:
        """Sizes and damage of a room's unit (None: of all rooms) that were not withdrawn, in order of arrival."""
        return tuple(received_of(event) for event in self._standing(EventKind.RECEIVED, room))

    def setting(self, room: str | None = None) -> tuple[SettingEvent, ...]:
        """What was done when a room's unit was set (None: of all rooms) and not withdrawn, in order of arrival."""
        return tuple(setting_of(event) for event in self._standing(EventKind.SETTING, room))

    def _standing(self, kind: EventKind, room: str | None) -> Iterator[Event]:
        events = self.events(room=room)
        gone = {withdrawn(event, kind) for event in events}
        return (event for event in events if event.kind == kind and event.uuid not in gone)

    def keep_photo(self, data: bytes, media_type: str) -> str:
        """Keep a photograph and give its name: the SHA-256 of the data. When this returns, it is on the disk.

        media_type : as the sender calls it; kept is what the first bytes say
        Raises InputError where it is no JPEG or PNG, or larger than 8 MB.
        """
        if media_type.partition(";")[0].strip().lower() not in MEDIA_TYPES:
            raise _problem("photo", "", media_type, f"cannot be kept; expected {' or '.join(MEDIA_TYPES)}")
        try:
            with self._write.begin() as connection:
                return photos.keep(connection, data)
        except ValueError as error:
            raise _problem("photo", "", media_type, str(error)) from None

    def photo(self, name: str) -> tuple[bytes, str]:
        """A photograph and its media type. Raises InputError where none is kept under the name."""
        with self._engine.connect() as connection:
            found = photos.find(connection, name)
        if found is None:
            raise _problem(self.name, "photo", name, "is no photograph of this record")
        return found

    def load_job(self, folder: Path) -> RecordedJob:
        """The job of a folder with what this record holds of it.

        The first time, the folder's readings are taken in, and each other table with its photographs the first time
        that it holds a row, in one transaction. After that the record alone says what was read, poured and measured:
        where a table has changed since, a problem says so, and the record stays as it is (an edited row would else
        come in beside the one it replaces and count twice).
        Raises InputError when the folder cannot be read or the record belongs to another job.
        """
        loaded = load(folder)
        job, now = loaded.job, datetime.now(UTC)
        problems = list(loaded.problems)
        read = taken_in_event(job.name, "readings", len(job.readings), _digest(job.readings), now)
        poured = taken_in_event(job.name, "water tests", len(job.water_tests), _digest(job.water_tests), now)
        measured = taken_in_event(job.name, "measures", len(job.survey), _digest(job.survey), now)
        arrived = taken_in_event(job.name, "received", len(job.received), _digest(job.received), now)
        set_by = taken_in_event(job.name, "setting", len(job.setting), _digest(job.setting), now)
        with self._write.begin() as connection:
            tests = (self._with_photo(connection, folder, test, problems) for test in job.water_tests)
            sizes = (self._with_photo(connection, folder, size, problems) for size in job.received)
            tables: tuple[tuple[str, Event, Iterable[Event]], ...] = (
                ("readings.csv", read, (reading_event(reading, now) for reading in job.readings)),
                ("water.csv", poured, (water_test_event(test, now) for test in tests)),
                ("survey.csv", measured, (measure_event(measure, now) for measure in job.survey)),
                ("received.csv", arrived, (received_event(size, now) for size in sizes)),
                ("setting.csv", set_by, (setting_event(done, now) for done in job.setting)),
            )
            taken_in = 0
            for (file, seed, events), rows in zip(
                tables, (True, job.water_tests, job.survey, job.received, job.setting), strict=True
            ):
                # A table gets its first rows when the readings have long been taken in.
                if rows or self._stored(connection, seed.uuid):
                    taken_in += self._take_in(connection, file, seed, events, problems)
        update = {
            "readings": self.readings(),
            "water_tests": self.water_tests(),
            "survey": self.measures(),
            "received": self.received(),
            "setting": self.setting(),
        }
        return RecordedJob(job.model_copy(update=update), tuple(problems), taken_in)

    def _take_in(
        self, connection: Connection, file: str, seed: Event, events: Iterable[Event], problems: list[Problem]
    ) -> int:
        """Take a table of the folder in, once; gives how many events were new. events : not touched the second time."""
        first = self._stored(connection, seed.uuid)
        if first is None:
            self._append(connection, seed)
            return sum(self._append(connection, event) for event in events)
        if first.body["name"] != seed.body["name"]:
            raise _problem(
                "job.toml",
                "name",
                seed.body["name"],
                f'is not the job of {self.name}; expected "{first.body["name"]}"',
            )
        if first.body["digest"] != seed.body["digest"]:
            when = f"{first.at:%Y-%m-%d %H:%M} UTC"
            says = f"has changed since it was taken into the record on {when}; the record was kept"
            problems.append(Problem(file, None, "", file, says))
        return 0

    def _with_photo(self, connection: Connection, folder: Path, entry: Pictured, problems: list[Problem]) -> Pictured:
        """The entry with its photograph as the record keeps it; without one where the file cannot be kept."""
        if not entry.photo:
            return entry
        try:
            name = photos.keep(connection, (folder / PHOTOS / entry.photo).read_bytes())
        except (OSError, ValueError) as error:
            why = f"cannot be opened ({error.strerror})" if isinstance(error, OSError) else error
            row = "water test" if isinstance(entry, WaterTest) else "row"
            says = f"{why}; the {row} was taken into the record without it"
            problems.append(Problem(entry.file, entry.line, "photo", entry.photo, says))
            name = ""
        return entry.model_copy(update={"photo": name})

    def _stored(self, connection: Connection, uuid: str) -> Event | None:
        row = connection.execute(select(EVENT).where(EVENT.c.uuid == uuid)).one_or_none()
        return None if row is None else _event(row)


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


def _digest(entries: Sequence[Entry]) -> str:
    """SHA-256 over the rows of a table, whatever line they stand in."""
    rows = [entry.model_dump(mode="json", exclude_none=True, exclude={"file", "line"}) for entry in entries]
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
