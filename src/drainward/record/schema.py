"""The tables of the record, and the rules that the database itself enforces.

EVENT, PHOTO      the append-only tables: events, and photographs by what they hold
SCHEMA, VERSION   the one-row table of the version
connect           an engine whose connections sync each commit
prepare           makes the tables in an empty database, brings a record of an earlier version up to this one,
                  refuses any other
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Column,
    Connection,
    Engine,
    Integer,
    LargeBinary,
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

__all__ = ["EVENT", "PHOTO", "SCHEMA", "VERSION", "connect", "prepare"]

VERSION = 2
"""Raised by one with each change of the tables; a record of a later version is refused, not guessed at.

1 : events;  2 : photographs too
"""

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

PHOTO = Table(
    "photo",
    _META,
    Column("name", Text, primary_key=True, doc="SHA-256 of the data, hexadecimal"),
    Column("media_type", Text, nullable=False),
    Column("data", LargeBinary, nullable=False),
    CheckConstraint("length(name) = 64 AND name = lower(name)", name="name_form"),
    CheckConstraint("media_type IN ('image/jpeg', 'image/png')", name="a_picture"),
    sqlite_strict=True,
)

SCHEMA = Table(
    "record_schema",
    _META,
    Column("version", Integer, nullable=False),
    Column("made", Text, nullable=False),
    sqlite_strict=True,
)


def _triggers(table: str, one: str, same: str) -> tuple[str, ...]:
    """What keeps the rows of a table as they are; same : when a new row would take the place of an old one."""
    # The insert trigger closes INSERT OR REPLACE, which deletes the old row without firing the delete trigger.
    return (
        f"""CREATE TRIGGER {table}_kept_on_update BEFORE UPDATE ON {table}
       BEGIN SELECT RAISE(ABORT, '{one} is never changed'); END""",
        f"""CREATE TRIGGER {table}_kept_on_delete BEFORE DELETE ON {table}
       BEGIN SELECT RAISE(ABORT, '{one} is never deleted'); END""",
        f"""CREATE TRIGGER {table}_kept_on_replace BEFORE INSERT ON {table}
       WHEN EXISTS (SELECT 1 FROM {table} WHERE {same})
       BEGIN SELECT RAISE(IGNORE); END""",
    )


_EVENT_TRIGGERS = _triggers("event", "an event", "uuid = NEW.uuid OR seq = NEW.seq")
_PHOTO_TRIGGERS = _triggers("photo", "a photograph", "name = NEW.name OR rowid = NEW.rowid")


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
    """Make the tables in an empty database, and those that a record of an earlier version lacks, in one transaction.

    name: how messages call the database. Raises InputError on another program's database or a later version.
    """
    with engine.execution_options(immediate=True).begin() as connection:
        tables = set(look(connection).get_table_names())
        if not tables:
            _META.create_all(connection)
            _run(connection, _EVENT_TRIGGERS + _PHOTO_TRIGGERS)
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
        if version == 1:
            PHOTO.create(connection)
            _run(connection, _PHOTO_TRIGGERS)
            connection.execute(SCHEMA.update().values(version=VERSION))
        elif version != VERSION:
            raise _refused(
                name,
                "schema version",
                str(version),
                f"was not written by this version; expected {VERSION}",
            )


def _run(connection: Connection, statements: Iterable[str]) -> None:
    for statement in statements:
        connection.exec_driver_sql(statement)


def _refused(name: str, field: str, got: str, expected: str) -> InputError:
    return InputError((Problem(name, None, field, got, expected),))
