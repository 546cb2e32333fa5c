"""Water tests in the record, and their photographs: taken in once, taken back, never changed."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import hand_made
import job_texts
import pytest

from drainward.errors import InputError
from drainward.job import Loaded, WaterTest, load
from drainward.job.photos import MOST
from drainward.record import Store, reading_event, water_test_event, withdrawal_event

NOW = datetime(2026, 3, 14, 9, 30, 0, 123456, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "record.sqlite") as opened:
        yield opened


def poured(number: int, **changes: object) -> WaterTest:
    return WaterTest(id=f"w{number}", room="101", poured=0.0038, over=60, puddles=()).model_copy(update=changes)


def test_a_water_test_is_taken_back_like_a_reading(store: Store) -> None:
    reading = hand_made.readings()[0].model_copy(update={"id": "w1"})
    tests = (poured(1), poured(2), poured(3, room="102"))
    store.append([reading_event(reading, NOW), *(water_test_event(test, NOW) for test in tests)])
    assert store.water_tests() == tests
    store.append([withdrawal_event(tests[0], "the drain was taped over", "Ana", NOW)])
    assert store.water_tests("101") == tests[1:2]
    assert store.water_tests("102") == tests[2:]
    assert store.readings("101") == (reading,), "a reading of the same name stands"
    store.append([withdrawal_event(reading, "level was upside down", "Ana", NOW)])
    assert (store.readings(), store.water_tests("101")) == ((), tests[1:2])
    assert len(store.events()) == 6


def test_a_photograph_is_kept_once_under_what_it_holds(store: Store) -> None:
    name = store.keep_photo(job_texts.JPEG, "image/jpeg")
    assert name == hashlib.sha256(job_texts.JPEG).hexdigest()
    assert store.keep_photo(job_texts.JPEG, "image/jpeg; name=a.jpg") == name
    assert store.photo(name) == (job_texts.JPEG, "image/jpeg")
    other = store.keep_photo(job_texts.PNG, "image/jpeg")
    assert store.photo(other) == (job_texts.PNG, "image/png"), "what it is, not what the sender calls it"
    with store._engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM photo").scalar() == 2


@pytest.mark.parametrize(
    ("data", "media_type", "says"),
    [
        (job_texts.JPEG, "image/heic", 'photo: "image/heic" cannot be kept; expected image/jpeg or image/png'),
        (b"", "image/png", 'photo: "image/png" is no JPEG or PNG picture by its first bytes'),
        (b"<svg/>", "image/png", "is no JPEG or PNG picture"),
        (job_texts.PNG.ljust(MOST + 1), "image/png", "is 8.0 MB large; expected at most 8 MB"),
    ],
)
def test_what_is_no_photograph_is_refused(store: Store, data: bytes, media_type: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        store.keep_photo(data, media_type)
    assert says in str(refused.value)
    with store._engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM photo").scalar() == 0


def test_the_largest_photograph_is_kept(store: Store) -> None:
    largest = job_texts.PNG.ljust(MOST)
    assert store.photo(store.keep_photo(largest, "image/png"))[0] == largest


def test_an_unknown_photograph_is_refused(store: Store) -> None:
    with pytest.raises(InputError, match=r'record\.sqlite, field "photo": "ab" is no photograph of this record'):
        store.photo("ab")


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE photo SET data = x'00'", "a photograph is never changed"),
        ("DELETE FROM photo", "a photograph is never deleted"),
        ("INSERT INTO photo VALUES ('x', 'image/png', x'00')", "name_form"),
        (f"INSERT INTO photo VALUES ('{'a' * 64}', 'text/html', x'00')", "a_picture"),
    ],
)
def test_the_database_itself_refuses_to_change_a_photograph(tmp_path: Path, statement: str, says: str) -> None:
    path = tmp_path / "record.sqlite"
    with Store.open(path) as store:
        name = store.keep_photo(job_texts.JPEG, "image/jpeg")
        raw = sqlite3.connect(path)
        with pytest.raises(sqlite3.IntegrityError, match=says):
            raw.execute(statement)
        raw.execute(f"INSERT OR REPLACE INTO photo VALUES ('{name}', 'image/png', x'00')")
        raw.execute(
            f"INSERT OR REPLACE INTO photo (rowid, name, media_type, data) VALUES (1, '{'b' * 64}', 'image/png', x'')"
        )
        raw.commit()
        raw.close()
        assert store.photo(name) == (job_texts.JPEG, "image/jpeg")


def test_the_folders_water_tests_are_taken_in_once_with_their_photographs(store: Store, tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    first = store.load_job(folder)
    assert (first.taken_in, first.problems) == (48 + 8, ())
    name = hashlib.sha256(job_texts.JPEG).hexdigest()
    assert store.photo(name) == (job_texts.JPEG, "image/jpeg")
    expected = load(folder).job.water_tests
    assert {test.photo for test in expected} == {"", "wet.jpg"}
    photo = {"": "", "wet.jpg": name}
    assert first.job.water_tests == tuple(test.model_copy(update={"photo": photo[test.photo]}) for test in expected)
    again = store.load_job(folder)
    assert (again.taken_in, again.problems, again.job) == (0, (), first.job)


def test_a_water_test_taken_back_does_not_come_in_again(store: Store, tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    tests = store.load_job(folder).job.water_tests
    store.append([withdrawal_event(tests[0], "wrong room", "Ana", NOW)])
    assert store.load_job(folder).job.water_tests == tests[1:]


def test_the_first_water_tests_come_in_when_they_come(store: Store, tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    later = (folder / "water.csv").read_text()
    (folder / "water.csv").unlink()
    assert store.load_job(folder).taken_in == 48
    (folder / "water.csv").write_text(later.splitlines()[0])
    assert store.load_job(folder).taken_in == 0
    (folder / "water.csv").write_text(later)
    again = store.load_job(folder)
    assert (again.taken_in, again.problems, len(again.job.water_tests)) == (8, (), 8)


def test_water_tests_edited_later_are_said_and_count_nothing_twice(store: Store, tmp_path: Path) -> None:
    folder = job_texts.write(tmp_path)
    before = store.load_job(folder).job.water_tests
    path = folder / "water.csv"
    for edited in (
        "\n".join(path.read_text().splitlines()[:-1]),
        path.read_text().replace("none", "6 in / 6 in"),
        None,
    ):
        path.unlink()
        if edited is not None:
            path.write_text(edited)
        after = store.load_job(folder)
        assert (after.taken_in, after.job.water_tests) == (0, before)
        assert [problem.file for problem in after.problems] == ["water.csv"]
        assert "has changed since it was taken into the record" in str(after.problems[0])
        path.touch()


def test_a_photograph_gone_between_looking_and_keeping_costs_only_itself(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = job_texts.write(tmp_path)

    def load_and_lose(place: Path) -> Loaded:
        loaded = load(place)
        (place / "photos/wet.jpg").unlink()
        return loaded

    monkeypatch.setattr("drainward.record.store.load", load_and_lose)
    taken = store.load_job(folder)
    assert (taken.taken_in, {test.photo for test in taken.job.water_tests}) == (56, {""})
    assert [str(problem) for problem in taken.problems] == [
        f'water.csv, line {line}, column "photo": "wet.jpg" cannot be opened (No such file or directory); '
        "the water test was taken into the record without it"
        for line in (2, 6)
    ]
