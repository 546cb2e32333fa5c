"""A record that an earlier version wrote: brought up to this one in place, or left as it was."""

from __future__ import annotations

import hashlib
import sqlite3
from pathlib import Path

import job_texts
import pytest

from drainward.errors import InputError
from drainward.record import Store, schema

VERSION_1 = """
CREATE TABLE event (
    seq INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    uuid TEXT NOT NULL, kind TEXT NOT NULL, room TEXT NOT NULL, at TEXT NOT NULL, who TEXT NOT NULL, body TEXT NOT NULL,
    CONSTRAINT uuid_form CHECK (length(uuid) = 36 AND uuid = lower(uuid)),
    CONSTRAINT kind_given CHECK (kind <> ''),
    CONSTRAINT at_utc CHECK (at LIKE '____-__-__T__:__:__.______+00:00'),
    CONSTRAINT body_json CHECK (json_valid(body) AND json_type(body) = 'object'),
    UNIQUE (uuid)
) STRICT;
CREATE TABLE record_schema (version INTEGER NOT NULL, made TEXT NOT NULL) STRICT;
INSERT INTO record_schema VALUES (1, '2026-03-14T09:30:00+00:00');
CREATE INDEX ix_event_room ON event (room);
CREATE TRIGGER event_kept_on_update BEFORE UPDATE ON event
    BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;
CREATE TRIGGER event_kept_on_delete BEFORE DELETE ON event
    BEGIN SELECT RAISE(ABORT, 'an event is never deleted'); END;
CREATE TRIGGER event_kept_on_replace BEFORE INSERT ON event
    WHEN EXISTS (SELECT 1 FROM event WHERE uuid = NEW.uuid OR seq = NEW.seq)
    BEGIN SELECT RAISE(IGNORE); END;
INSERT INTO event (uuid, kind, room, at, who, body) VALUES (
    'e5aafd76-5d51-5704-a1da-36da050b097d', 'job', '', '2026-03-14T09:30:00.000000+00:00', '',
    '{"digest":"DIGEST","name":"Maple Court","readings":0}'
);
INSERT INTO event (uuid, kind, room, at, who, body) VALUES (
    'bdae9bea-b50c-5d63-a60a-98e7bb45379d', 'reading', 'North-11A', '2026-03-14T09:31:00.000000+00:00', '',
    '{"file":"page","id":"p","kind":"tap","note":"","room":"North-11A","u":0.5,"value":1,"x":0.1,"y":0.1}'
);
""".replace("DIGEST", hashlib.sha256(b"[]").hexdigest())
"""As version 1 wrote it, for a folder that held no reading, and one reading typed on the page."""


def version_1(path: Path) -> Path:
    raw = sqlite3.connect(path)
    raw.executescript(VERSION_1)
    raw.close()
    return path


def dumped(path: Path) -> list[str]:
    raw = sqlite3.connect(path)
    lines = list(raw.iterdump())
    raw.close()
    return lines


def test_a_record_of_version_1_opens_and_takes_water_tests_in(tmp_path: Path) -> None:
    path = version_1(tmp_path / "record.sqlite")
    before = dumped(path)
    (tmp_path / "job").mkdir()
    folder = job_texts.write(tmp_path / "job")
    (folder / "readings.csv").unlink()
    with Store.open(path) as store:
        assert [reading.id for reading in store.readings()] == ["p"]
        taken = store.load_job(folder)
        assert (taken.taken_in, taken.problems) == (8, ())
        assert [reading.id for reading in taken.job.readings] == ["p"]
        assert len(store.water_tests()) == 8
        assert store.photo(hashlib.sha256(job_texts.JPEG).hexdigest())[1] == "image/jpeg"
    with Store.open(path) as store:
        assert store.load_job(folder).taken_in == 0
    kept = {line for line in before if line.startswith('INSERT INTO "event"')}
    assert kept <= set(dumped(path))


def test_a_record_brought_up_has_the_tables_of_a_new_one(tmp_path: Path) -> None:
    Store.open(version_1(tmp_path / "old.sqlite")).close()
    Store.open(tmp_path / "new.sqlite").close()
    plain = [
        {" ".join(line.split()) for line in dumped(tmp_path / name) if line.startswith("CREATE")}
        for name in ("old.sqlite", "new.sqlite")
    ]
    assert len([line for line in plain[0] if "photo" in line]) == 4
    assert {line for line in plain[0] if "photo" in line} == {line for line in plain[1] if "photo" in line}
    assert """INSERT INTO "record_schema" VALUES(2,'2026-03-14T09:30:00+00:00');""" in dumped(tmp_path / "old.sqlite")


def test_a_record_that_cannot_be_brought_up_stays_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = version_1(tmp_path / "record.sqlite")
    before = dumped(path)
    monkeypatch.setattr(schema, "_PHOTO_TRIGGERS", (*schema._PHOTO_TRIGGERS, "CREATE NONSENSE"))
    with pytest.raises(InputError, match="cannot be used as a record"):
        Store.open(path)
    assert dumped(path) == before
    monkeypatch.undo()
    Store.open(path).close()
    assert len(dumped(path)) > len(before)
