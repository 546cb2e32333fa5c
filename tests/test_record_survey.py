"""Measures, sizes of units and what was done in the record: taken in once, taken back, never changed."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import job_texts
import pytest

from drainward.errors import InputError
from drainward.job import Measure, Received, SettingEvent, Size, What, Work, load
from drainward.record import (
    Event,
    EventKind,
    Store,
    measure_event,
    measure_uuid,
    received_event,
    received_uuid,
    setting_event,
    setting_uuid,
    withdrawal_event,
)

NOW = datetime(2026, 3, 14, 9, 30, 0, 123456, tzinfo=UTC)
SURVEY = """\
room,instrument,what,y,z,value,u
North-11A,G1,width,2 in,2 in,49-3/8 in,1/32 in
North-11A,G1,core,,,6 in,1/16 in
"""
RECEIVED = """\
room,instrument,what,value,photo
North-11A,G1,drain x,24 in,
North-11A,,damage,crack,wet.jpg
"""
SETTING = """\
room,when,what,value
North-11A,2026-03-14 08:30,mortar used,2 bags
North-11A,2026-03-14 08:45,bed placed,
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "record.sqlite") as opened:
        yield opened


def folder(tmp_path: Path) -> Path:
    place = job_texts.write(tmp_path)
    (place / "survey.csv").write_text(SURVEY)
    (place / "received.csv").write_text(RECEIVED)
    (place / "setting.csv").write_text(SETTING)
    return place


def test_both_are_taken_back_like_a_reading(store: Store) -> None:
    cores = [Measure(id=id, room="101", what=What.CORE, value=0.15, u=0.001) for id in "ab"]
    sizes = [Received(id=id, room="101", what=Size.DAMAGE, value=0.0) for id in "ab"]
    store.append([*(measure_event(core, NOW) for core in cores), *(received_event(size, NOW) for size in sizes)])
    assert (store.measures("101"), store.received()) == (tuple(cores), tuple(sizes))
    store.append([withdrawal_event(cores[0], "wrong hole", "Ana", NOW)])
    assert (store.measures("101"), store.received("101")) == ((cores[1],), tuple(sizes)), "ids of another kind stand"
    store.append([withdrawal_event(sizes[1], "wrong unit", "Ana", NOW)])
    assert (store.measures(), store.received("101"), store.measures("102")) == ((cores[1],), (sizes[0],), ())
    assert len(store.events()) == 6


def test_what_was_done_stays_when_the_program_starts_anew(tmp_path: Path) -> None:
    bed = SettingEvent(id="a", room="101", what=Work.BED_PLACED, when=NOW)
    used = SettingEvent(id="b", room="101", what=Work.MORTAR_USED, when=NOW, value=40.0, u=1.0, written="88 lb")
    with Store.open(tmp_path / "record.sqlite") as first:
        first.append([setting_event(bed, NOW), setting_event(used, NOW)])
        first.append([withdrawal_event(used, "other room", "Ana", NOW)])
    with Store.open(tmp_path / "record.sqlite") as second:
        assert (second.setting("101"), second.setting(), second.setting("102")) == ((bed,), (bed,), ())


def test_uuids_are_of_the_kind() -> None:
    assert measure_uuid("101", "a") != received_uuid("101", "a") != measure_uuid("102", "a")
    assert setting_uuid("101", "a") not in (measure_uuid("101", "a"), received_uuid("101", "a"))
    own = "5d0f6f5e-0c0b-5b0e-9a53-0b8a4c1e7a11"
    assert measure_uuid("101", own) == own


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        (EventKind.MEASURE, "measure"),
        (EventKind.RECEIVED, "size of a unit"),
        (EventKind.SETTING, "work of setting a unit"),
    ],
)
def test_a_body_that_is_none_is_refused(store: Store, kind: EventKind, says: str) -> None:
    store.append([Event(measure_uuid("101", "a"), kind, "101", NOW, body={"x": 1})])
    with pytest.raises(InputError, match=f"holds no {says}"):
        _ = (store.measures(), store.received(), store.setting())


def test_the_folders_tables_are_taken_in_once(store: Store, tmp_path: Path) -> None:
    place = folder(tmp_path)
    first = store.load_job(place)
    assert (first.taken_in, first.problems) == (48 + 8 + 2 + 2 + 2, ())
    loaded = load(place).job
    assert (first.job.survey, first.job.setting) == (loaded.survey, loaded.setting)
    name = hashlib.sha256(job_texts.JPEG).hexdigest()
    assert [size.photo for size in first.job.received] == ["", name]
    again = store.load_job(place)
    assert (again.taken_in, again.problems, again.job) == (0, (), first.job)


def test_each_table_comes_in_when_it_holds_its_first_row(store: Store, tmp_path: Path) -> None:
    place = job_texts.write(tmp_path)
    assert store.load_job(place).taken_in == 56
    (place / "survey.csv").write_text(SURVEY.splitlines()[0])
    assert store.load_job(place).taken_in == 0
    (place / "survey.csv").write_text(SURVEY)
    assert store.load_job(place).taken_in == 2
    (place / "received.csv").write_text(RECEIVED)
    again = store.load_job(place)
    assert (again.taken_in, len(again.job.survey), len(again.job.received)) == (2, 2, 2)


@pytest.mark.parametrize("file", ["survey.csv", "received.csv", "setting.csv"])
def test_a_table_edited_later_is_said_and_counts_nothing_twice(store: Store, tmp_path: Path, file: str) -> None:
    place = folder(tmp_path)
    before = store.load_job(place).job
    (place / file).write_text(
        (place / file).read_text().replace("1/32 in", "1/8 in").replace("crack", "none").replace("2 bags", "3 bags")
    )
    after = store.load_job(place)
    assert (after.taken_in, after.job) == (0, before)
    assert [problem.file for problem in after.problems] == [file]
    assert "has changed since it was taken into the record" in str(after.problems[0])
