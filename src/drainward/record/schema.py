"""The tables of the record, and the rules that the database itself enforces.

EVENT, SCHEMA, VERSION   the append-only event table, the one-row table of its version
connect                  an engine whose connections sync each commit
prepare                  makes the tables in an empty database, refuses any other
"""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Column,
    Connection,
    Engine,
    Integer,
    MetaData,
    Table,
    Text,
    create_engine,
    event,
    select,
)
from sqlalchemy import inspect as look
from sqlalchemy.engine import URL

from drainward.errors import InputError, Problem

__all__ = ["EVENT", "SCHEMA", "VERSION", "connect", "prepare"]

VERSION = 1
"""Raised by one with each change of the tables; a record of a later version is refused, not guessed at."""

BUSY_MS = 10_000
"""How long a writer waits for another one, ms."""

_META = MetaData()

EVENT = Table(
    "event",
    _META,
    Column("seq", Integer, primary_key=True, doc="order of arrival"),
    Column("uuid", Text, nullable=False, unique=True),
    Column("kind", Text, nullable=False),
    Column("room", Text, nullable=False, index=True),
    Column("at", Text, nullable=False, doc="UTC, ISO 8601 to the microsecond"),
    Column("who", Text, nullable=False),
    Column("body", Text, nullable=False, doc="JSON object, keys sorted"),
    CheckConstraint("length(uuid) = 36 AND uuid = lower(uuid)", name="uuid_form"),
    CheckConstraint("kind <> ''", name="kind_given"),
    CheckConstraint("at LIKE '____-__-__T__:__:__.______+00:00'", name="at_utc"),
    CheckConstraint("json_valid(body) AND json_type(body) = 'object'", name="body_json"),
    sqlite_autoincrement=True,
    sqlite_strict=True,
)

SCHEMA = Table(
    "record_schema",
    _META,
    Column("version", Integer, nullable=False),
    Column("made", Text, nullable=False),
    sqlite_strict=True,
)

# The insert trigger closes INSERT OR REPLACE, which deletes the old row without firing the delete trigger.
_TRIGGERS = (
    """CREATE TRIGGER event_kept_on_update BEFORE UPDATE ON event
       BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END""",
    """CREATE TRIGGER event_kept_on_delete BEFORE DELETE ON event
       BEGIN SELECT RAISE(ABORT, 'an event is never deleted'); END""",
    """CREATE TRIGGER event_kept_on_replace BEFORE INSERT ON event
       WHEN EXISTS (SELECT 1 FROM event WHERE uuid = NEW.uuid OR seq = NEW.seq)
       BEGIN SELECT RAISE(IGNORE); END""",
)


def connect(url: URL) -> Engine:
    """An engine on SQLite: write-ahead log, full sync on each commit, foreign keys, patient with other writers.

    Transactions of an engine with the execution option `immediate` take the write lock at once, so that two
    writers wait for each other instead of failing half way.
    """
    engine = create_engine(url)

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        connection.isolation_level = None
        for pragma in (
            f"busy_timeout={BUSY_MS}",
            "synchronous=FULL",
            "foreign_keys=ON",
            "recursive_triggers=ON",
        ):
            connection.execute(f"PRAGMA {pragma}")
        (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
        if mode != "wal":
            raise sqlite3.OperationalError(f"no write-ahead log is possible here (journal mode {mode})")

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        immediate = connection.get_execution_options().get("immediate", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")

    return engine


def prepare(engine: Engine, name: str) -> None:
    """Make the tables in an empty database; leave a record of this version as it is.

    name: how messages call the database. Raises InputError on another program's database or another version.
    """
    with engine.execution_options(immediate=True).begin() as connection:
        tables = set(look(connection).get_table_names())
        if not tables:
            _META.create_all(connection)
            for trigger in _TRIGGERS:
                connection.exec_driver_sql(trigger)
            made = datetime.now(UTC).isoformat(timespec="seconds")
            connection.execute(SCHEMA.insert().values(version=VERSION, made=made))
            return
        if not {"event", "record_schema"} <= tables:
            raise _refused(
                name,
                "",
                ", ".join(sorted(tables)),
                "are tables of another program; expected a record",
            )
        version = connection.execute(select(SCHEMA.c.version)).scalar_one()
        if version != VERSION:
            raise _refused(
                name,
                "schema version",
                str(version),
                f"was not written by this version; expected {VERSION}",
            )


def _refused(name: str, field: str, got: str, expected: str) -> InputError:
    return InputError((Problem(name, None, field, got, expected),))
