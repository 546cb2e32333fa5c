"""The record: nothing acknowledged is lost, nothing is stored twice, nothing is changed."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
import time
import uuid
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import hand_made
import pytest
import web_job
from hypothesis import given
from hypothesis import strategies as st

from drainward.errors import InputError
from drainward.job import load
from drainward.job.model import Pattern, Puddle, Reading, ReadingKind, WaterTest
from drainward.record import (
    Event,
    EventKind,
    Store,
    reading_event,
    reading_uuid,
    water_test_event,
    water_test_uuid,
    withdrawal_event,
)
from drainward.record.event import reading_of, water_test_of

NOW = datetime(2026, 3, 14, 9, 30, 0, 123456, tzinfo=UTC)
INSERT = (
    "INSERT INTO event (uuid, kind, room, at, who, body) VALUES "
    f"('{uuid.UUID(int=0)}', 'note', '', '2026-03-14T09:30:00.000000+00:00', '', '{{}}')"
)
SRC = Path(__file__).parents[1] / "src"


def event(number: int = 0, *, room: str = "101", note: str = "") -> Event:
    return Event(
        str(uuid.uuid5(uuid.NAMESPACE_OID, str(number))), "note", room, NOW, "Ana", {"number": number, "note": note}
    )


@pytest.fixture
def store(tmp_path: Path) -> object:
    with Store.open(tmp_path / "record.sqlite") as opened:
        yield opened


# ---- events


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"uuid": "seven"}, 'event seven, field "uuid": "seven" is not a UUID'),
        ({"kind": ""}, "is empty; expected what happened, in a word"),
        ({"at": datetime(2026, 3, 14)}, "has no time zone; expected a time in UTC"),  # noqa: DTZ001
        ({"body": {"x": float("nan")}}, "is not a JSON object"),
        ({"body": {"x": object()}}, "is not a JSON object"),
    ],
)
def test_an_event_that_cannot_be_kept_is_refused(changes: dict[str, object], says: str) -> None:
    parts: dict[str, object] = {"uuid": str(uuid.uuid4()), "kind": "note", "room": "1", "at": NOW} | changes
    with pytest.raises(InputError) as refused:
        Event(**parts)  # type: ignore[arg-type]
    assert says in str(refused.value)


def test_times_are_kept_in_utc() -> None:
    there = NOW.astimezone(timezone(timedelta(hours=-7)))
    assert Event(str(uuid.uuid4()), "note", "", there).at.isoformat() == "2026-03-14T09:30:00.123456+00:00"


finite = st.floats(-1, 1, allow_nan=False)


@given(
    st.builds(
        Reading,
        id=st.text(max_size=20),
        room=st.text(min_size=1, max_size=20),
        kind=st.sampled_from(ReadingKind),
        x=finite,
        y=finite,
        x2=st.none() | finite,
        y2=st.none() | finite,
        value=finite,
        u=st.floats(1e-6, 1),
        written=st.text(max_size=20),
        setup=st.text(max_size=20),
        who=st.text(max_size=20),
        note=st.text(max_size=20),
        when=st.none() | st.datetimes(timezones=st.none() | st.just(UTC)),
        line=st.none() | st.integers(1, 99),
    )
)
def test_a_reading_comes_back_from_its_event_unchanged(reading: Reading) -> None:
    assert reading_of(reading_event(reading, NOW)) == reading


@given(
    st.builds(
        WaterTest,
        id=st.text(max_size=20),
        room=st.text(min_size=1, max_size=20),
        poured=st.floats(1e-6, 0.2),
        over=st.floats(0.1, 3600),
        how=st.sampled_from(Pattern),
        x=st.none() | finite,
        y=st.none() | finite,
        drained=st.none() | st.floats(1, 1e5),
        puddles=st.none()
        | st.lists(
            st.builds(Puddle, x=finite, y=finite, across=st.none() | st.floats(1e-6, 1), depth=st.none()), max_size=2
        ).map(tuple),
        soap=st.booleans(),
        hottest=st.none() | st.floats(0, 100),
        flow=st.none() | st.floats(1e-6, 0.01),
        photo=st.text(max_size=20),
        written=st.text(max_size=20),
        when=st.none() | st.datetimes(timezones=st.none() | st.just(UTC)),
    )
)
def test_a_water_test_comes_back_from_its_event_unchanged(test: WaterTest) -> None:
    event = water_test_event(test, NOW)
    assert water_test_of(event) == test
    assert (event.kind, event.room, event.who) == ("water test", test.room, test.who)


def test_an_event_that_holds_none_is_refused() -> None:
    bare = Event(str(uuid.uuid4()), EventKind.WATER_TEST, "101", NOW, "", {"poured": -1})
    with pytest.raises(InputError, match="holds no water test"):
        water_test_of(bare)
    with pytest.raises(InputError, match="holds no reading"):
        reading_of(bare)


def test_ids_that_are_no_uuid_are_kept_apart_by_room() -> None:
    assert reading_uuid("101", "a") != reading_uuid("102", "a")
    own = str(uuid.uuid4())
    assert reading_uuid("101", own) == water_test_uuid("101", own) == own
    assert reading_uuid("101", "a") != water_test_uuid("101", "a")


# ---- the store


def test_reopened_unchanged(tmp_path: Path) -> None:
    events = tuple(event(k, note="½ “quoted” \n ünï") for k in range(5))
    with Store.open(tmp_path / "a.sqlite") as store:
        store.append(events)
    with Store.open(tmp_path / "a.sqlite") as store:
        assert store.events() == events


def test_appending_twice_stores_once(store: Store) -> None:
    first = store.append([event(1), event(2)])
    assert len(first) == 2
    assert store.append([event(2), event(3)]) == (event(3).uuid,)
    assert [e.body["number"] for e in store.events()] == [1, 2, 3]


def test_the_same_uuid_with_another_content_is_refused_and_nothing_of_the_batch_is_stored(store: Store) -> None:
    store.append([event(1)])
    with pytest.raises(InputError, match="stands already with another content"):
        store.append([event(2), event(1, note="changed")])
    assert store.events() == (event(1),)


def test_events_are_asked_by_room_and_kind(store: Store) -> None:
    store.append([event(1), event(2, room="102")])
    assert [e.room for e in store.events(room="102")] == ["102"]
    assert store.events(kind=EventKind.READING) == ()


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE event SET who = 'someone else'", "an event is never changed"),
        ("DELETE FROM event", "an event is never deleted"),
        ("INSERT INTO event (uuid, kind, room, at, who, body) VALUES ('x', 'note', '', '2026', '', '{}')", "CHECK"),
        (
            INSERT.format("[1]"),
            "body_json",
        ),
    ],
)
def test_the_database_itself_refuses_to_change_an_event(tmp_path: Path, statement: str, says: str) -> None:
    path = tmp_path / "record.sqlite"
    with Store.open(path) as store:
        store.append([event(1)])
    raw = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match=says):
        raw.execute(statement)
    raw.close()


def test_insert_or_replace_does_not_replace(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite"
    with Store.open(path) as store:
        store.append([event(1)])
        raw = sqlite3.connect(path)
        for columns, values in (("uuid", f"'{event(1).uuid}'"), ("seq, uuid", f"1, '{uuid.uuid4()}'")):
            raw.execute(
                f"INSERT OR REPLACE INTO event ({columns}, kind, room, at, who, body) "
                f"VALUES ({values}, 'forged', '', '2026-03-14T09:30:00.000000+00:00', '', '{{}}')"
            )
            raw.commit()
        raw.close()
        assert store.events() == (event(1),)


def test_each_connection_syncs_each_commit(store: Store) -> None:
    with store._engine.connect() as connection:
        asked = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        found = [connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in asked]
    assert found == ["wal", 2, 1, 10_000]  # 2 is FULL


def test_writers_in_threads_wait_for_each_other(store: Store) -> None:
    def write(start: int) -> None:
        for k in range(start, start + 25):
            store.append([event(k)])

    threads = [threading.Thread(target=write, args=(100 * k,)) for k in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(store.events()) == 100


def test_a_file_that_is_no_record_is_refused(tmp_path: Path) -> None:
    junk = tmp_path / "junk.sqlite"
    junk.write_bytes(b"this is no database" * 100)
    with pytest.raises(InputError, match=r'junk\.sqlite: "junk\.sqlite" cannot be used as a record'):
        Store.open(junk)
    assert junk.read_bytes().startswith(b"this is no database")
    other = tmp_path / "other.sqlite"
    raw = sqlite3.connect(other)
    raw.execute("CREATE TABLE theirs (x)")
    raw.close()
    with pytest.raises(InputError, match="are tables of another program"):
        Store.open(other)


def test_a_record_of_a_later_version_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite"
    Store.open(path).close()
    raw = sqlite3.connect(path)
    raw.execute("UPDATE record_schema SET version = 3")
    raw.commit()
    raw.close()
    with pytest.raises(InputError, match='"3" was not written by this version; expected 2'):
        Store.open(path)


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ("", "is not a file"),
        ("postgresql://host/job", "is not a SQLite file; expected sqlite:///FILE"),
        ("sqlite://", "is not a SQLite file"),
        ("://", "is not an address"),
        ("no/such/folder/a.sqlite", "cannot be used as a record"),
    ],
)
def test_a_place_that_cannot_hold_a_record_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str, says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match=says):
        Store.open(place)


def test_an_address_names_the_file(tmp_path: Path) -> None:
    with Store.open(f"sqlite:///{tmp_path}/b.sqlite") as store:
        store.append([event(1)])
    with Store.open(tmp_path / "b.sqlite") as store:
        assert store.events() == (event(1),)


# ---- a job's readings


def test_a_withdrawn_reading_stays_in_the_record(store: Store) -> None:
    readings = hand_made.readings()
    store.append(reading_event(reading, NOW) for reading in readings)
    assert store.readings("101") == readings
    store.append([withdrawal_event(readings[1], "level was upside down", "Ana", NOW)])
    assert store.readings("101") == readings[:1] + readings[2:]
    assert store.readings("102") == ()
    assert len(store.events(room="101")) == len(readings) + 1


def test_the_folder_is_taken_in_once(store: Store, tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    first = store.load_job(folder)
    assert first.taken_in == len(load(folder).job.readings) == 30
    assert first.job == load(folder).job
    again = store.load_job(folder)
    assert (again.taken_in, again.problems) == (0, ())
    assert again.job == first.job


def test_a_folder_edited_later_is_said_and_counts_nothing_twice(store: Store, tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    before = store.load_job(folder).job.readings
    path = folder / "readings.csv"
    path.write_text("\n".join([*path.read_text().splitlines()[:-1], ""]))
    after = store.load_job(folder)
    assert after.job.readings == before
    assert "has changed since it was taken into the record" in str(after.problems[0])


def test_blank_lines_are_no_change(store: Store, tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    store.load_job(folder)
    path = folder / "readings.csv"
    head, *rows = path.read_text().splitlines()
    path.write_text("\n".join([head, "", *rows, ""]))
    assert store.load_job(folder).problems == ()


def test_a_record_belongs_to_one_job(store: Store, tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    store.load_job(folder)
    toml = folder / "job.toml"
    toml.write_text(toml.read_text().replace("Harbour House", "Another House"))
    with pytest.raises(InputError, match=r'"Another House" is not the job of record\.sqlite; expected "Harbour House"'):
        store.load_job(folder)


# ---- killed while writing

WRITER = """
import sys, uuid
from datetime import UTC, datetime
from drainward.record import Event, Store
with Store.open(sys.argv[1]) as store:
    k = int(sys.argv[2])
    while True:
        event = Event(str(uuid.uuid4()), "note", "101", datetime.now(UTC), "", {"k": k, "fill": "x" * (k % 700)})
        store.append([event])
        print(event.uuid, flush=True)
        k += 1
"""


def test_what_was_acknowledged_is_there_after_a_kill(tmp_path: Path) -> None:
    """A killed process, not a power cut: that cannot be tried here."""
    path = tmp_path / "record.sqlite"
    acknowledged: list[str] = []
    for round_ in range(4):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(1000 * round_)],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(SRC)},
        )
        assert writer.stdout is not None
        with writer.stdout as lines:
            acknowledged += [lines.readline().strip() for _ in range(20 + 13 * round_)]
            time.sleep(0.003 * round_)
            writer.kill()
            acknowledged += [line.strip() for line in lines if line.endswith("\n")]
        assert writer.wait() == -9
        with Store.open(path) as store:
            stored = [event.uuid for event in store.events()]
            assert set(acknowledged) <= set(stored)
            assert len(stored) == len(set(stored))
            with store._engine.connect() as connection:
                assert connection.exec_driver_sql("PRAGMA integrity_check").scalars().all() == ["ok"]
        with Store.open(path) as store:
            assert [event.uuid for event in store.events()] == stored
    assert len(acknowledged) >= 158
