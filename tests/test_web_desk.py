"""The desk: each draft computed once, whoever waits goes first, what fails is said."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import cast

import hand_made
import pytest
import web_job

from drainward.errors import StageError
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job.model import Job, Reading, WaterTest
from drainward.wayin import Plan, WayIn
from drainward.web.board import Board
from drainward.web.desk import FULL, QUICK, WATER_FULL, WATER_QUICK, Desk

WAIT = 10


class Engine:
    """Computes when it is let, and writes down what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, int]] = []
        self.finished: list[str] = []
        self.go = threading.Event()
        self.go.set()
        self.steps = 1
        self.fault: Exception | None = None
        self.stepped = threading.Semaphore(0)
        self.before: Callable[[int], object] = self.wait

    def wait(self, _samples: int) -> None:
        assert self.go.wait(WAIT)

    def __call__(
        self,
        job: Job,
        room: str,
        readings: tuple[Reading, ...],
        *,
        samples: int,
        progress: Callable[[str, float], None] | None,
    ) -> Draft:
        self.asked.append((room, samples))
        assert progress is not None
        for step in range(self.steps):
            progress("step", step / self.steps)
            self.stepped.release()
            self.before(samples)
        if self.fault is not None:
            raise self.fault
        self.finished.append(room)
        return hand_made.draft(room=room, samples=samples)

    def water(
        self,
        job: Job,
        room: str,
        readings: tuple[Reading, ...],
        tests: tuple[WaterTest, ...],
        *,
        samples: int,
        progress: Callable[[str, float], None] | None,
    ) -> Water:
        self(job, f"{room} water", readings, samples=samples, progress=progress)
        return hand_made.water(room=f"{room} water", samples=samples)


@pytest.fixture
def engine() -> Engine:
    return Engine()


@pytest.fixture
def desk(engine: Engine) -> Iterator[Desk]:
    opened = Desk(web_job.job(), engine, engine.water, kept=3, kept_water=1)
    yield opened
    engine.go.set()
    opened.close()


def readings(room: str) -> tuple[Reading, ...]:
    return tuple(reading for reading in web_job.job().readings if reading.room == room)


def test_a_draft_is_computed_once(desk: Desk, engine: Engine) -> None:
    first = desk.ask("101", readings("101")).result(WAIT)
    assert desk.ask("101", readings("101")).result(WAIT) is first
    assert desk.known("101", readings("101")) is first
    assert engine.asked == [("101", FULL)]


def test_a_way_in_is_found_once_for_a_plan_and_the_one_before_is_still_known() -> None:
    go, asked = threading.Event(), []

    def look(job: Job, room: str, plan: Plan, *, progress: Callable[[str, float], None] | None) -> WayIn:
        assert progress is not None
        asked.append(plan.floor)
        progress("upright: cells", 0.25)
        assert go.wait(WAIT)
        return cast("WayIn", plan.floor)

    first, second = (Plan(floor, ()) for floor in ("1", "1 anew"))
    desk = Desk(web_job.job(), compute_way=look)
    try:
        waits = desk.ask_way("101", first)
        while (at := desk.way_at("101", first)) is None or not at[1]:
            assert not waits.done()
        assert at == (0.25, "upright: cells")
        go.set()
        assert (waits.result(WAIT).plan, desk.known_way("101", first)) == (first, waits.result(WAIT))
        assert (desk.known_way("101", second), desk.last_way("101")) == (None, waits.result(WAIT))
        assert desk.last_way("102") is None
        again = [desk.ask_way("101", plan).result(WAIT) for plan in (Plan("1", ()), second)]
        assert (again[0], asked, desk.last_way("101")) == (waits.result(WAIT), ["1", "1 anew"], again[1])
    finally:
        desk.close()


def test_other_readings_or_samples_are_another_draft(desk: Desk, engine: Engine) -> None:
    desk.ask("101", readings("101")).result(WAIT)
    desk.ask("101", readings("101")[1:]).result(WAIT)
    desk.ask("101", readings("101"), QUICK).result(WAIT)
    assert len(engine.asked) == 3


def test_two_who_ask_at_once_get_one_computation(desk: Desk, engine: Engine) -> None:
    engine.go.clear()
    futures = [desk.ask("101", readings("101"), waiting=waiting) for waiting in (False, False)]
    assert engine.stepped.acquire(timeout=WAIT)
    futures += [desk.ask("101", readings("101")) for _ in range(2)]
    engine.go.set()
    assert len({id(future.result(WAIT)) for future in futures}) == 1
    assert engine.asked == [("101", FULL)]


def test_who_waits_is_not_behind_the_rest_and_the_rest_stands_still(desk: Desk, engine: Engine) -> None:
    engine.go.clear()
    engine.steps = 2
    slow = [desk.ask(room, readings(room), waiting=False) for room in ("101", "102")]
    assert engine.stepped.acquire(timeout=WAIT)  # 101 is under way in the back
    urgent = desk.ask("201", readings("201"), QUICK)
    assert engine.stepped.acquire(timeout=WAIT)  # 201 has begun beside it
    assert desk.share("101", readings("101")) == 0.0
    engine.go.set()
    assert urgent.result(WAIT).room == "201"
    assert [future.result(WAIT).room for future in slow] == ["101", "102"]
    assert [room for room, _ in engine.asked] == ["101", "201", "102"]


def test_only_the_last_drafts_are_kept(desk: Desk) -> None:
    for room in ("101", "102", "103", "201"):
        desk.ask(room, readings(room)).result(WAIT)
    assert desk.known("101", readings("101")) is None
    assert desk.known("201", readings("201")) is not None


def test_a_fault_reaches_whoever_asked_and_is_not_kept(desk: Desk, engine: Engine) -> None:
    engine.fault = StageError("the first unit is not signed off")
    with pytest.raises(StageError):
        desk.ask("101", readings("101")).result(WAIT)
    engine.fault = None
    assert desk.ask("101", readings("101")).result(WAIT).room == "101"
    assert desk.share("101", readings("101")) is None


# ---- water


def test_water_is_another_answer_for_other_tests(desk: Desk, engine: Engine) -> None:
    tests = (hand_made.water_test(),)
    dry = desk.ask_water("101", readings("101"), ()).result(WAIT)
    assert desk.ask_water("101", readings("101"), ()).result(WAIT) is dry
    wet = desk.ask_water("101", readings("101"), tests).result(WAIT)
    assert wet is not dry
    assert desk.known_water("101", readings("101"), tests) is wet
    assert desk.known_water("101", readings("101"), tests, WATER_QUICK) is None
    assert desk.known_water("101", readings("101"), ()) is None, "only the last one is kept"
    assert engine.asked == [("101 water", WATER_FULL)] * 2


def test_water_stands_still_for_whoever_waits_for_a_draft_and_the_board_for_water(desk: Desk, engine: Engine) -> None:
    engine.go.clear()
    engine.steps = 2
    behind = desk.ask("102", readings("102"), waiting=False)
    assert engine.stepped.acquire(timeout=WAIT)
    water = desk.ask_water("101", readings("101"), ())
    assert engine.stepped.acquire(timeout=WAIT)
    urgent = desk.ask("201", readings("201"), QUICK)
    assert engine.stepped.acquire(timeout=WAIT)
    assert desk.share_water("101", readings("101"), ()) == 0.0
    engine.go.set()
    for future in (behind, water, urgent):
        future.result(WAIT)
    assert engine.finished == ["201", "101 water", "102"]
    assert desk.share_water("101", readings("101"), ()) is None


def test_who_joins_the_board_s_draft_does_not_wait_for_water(desk: Desk, engine: Engine) -> None:
    engine.go.clear()
    engine.steps = 2
    behind = desk.ask("102", readings("102"), waiting=False)
    assert engine.stepped.acquire(timeout=WAIT)
    water = desk.ask_water("101", readings("101"), ())
    assert engine.stepped.acquire(timeout=WAIT)
    joined = desk.ask("102", readings("102"))
    assert joined is behind
    engine.go.set()
    assert (water.result(WAIT).room, joined.result(WAIT).room) == ("101 water", "102")
    assert engine.finished == ["102", "101 water"]
    assert engine.asked == [("102", FULL), ("101 water", WATER_FULL)]


# ---- the board


def board(desk: Desk) -> Board:
    return Board(web_job.job(), desk, lambda: web_job.job().readings)


def settled(desk: Desk, board: Board) -> dict[str, tuple[str, str]]:
    board.rows()
    desk.ask(web_job.ROOMS[-1], readings(web_job.ROOMS[-1]), waiting=False).exception(WAIT)
    return {row.room.room: (row.state, row.verdict) for row in board.rows()}


def test_rooms_are_filled_in_and_an_unread_room_costs_nothing(desk: Desk, engine: Engine) -> None:
    found = settled(desk, board(desk))
    assert found["101"] == ("done", "fails")
    assert found["104"] == ("unread", "not proven")
    read = [room for room in web_job.ROOMS if room != "104"]
    assert engine.asked == [*((room, QUICK) for room in read), *((room, FULL) for room in read)]


def test_estimates_fill_the_board_before_anything_is_refined(desk: Desk, engine: Engine) -> None:
    def slow(samples: int) -> None:
        if samples == FULL:
            assert engine.go.wait(WAIT)

    engine.go.clear()
    engine.before = slow
    shown = board(desk)
    shown.rows()
    desk.ask(web_job.ROOMS[-1], readings(web_job.ROOMS[-1]), QUICK, waiting=False).result(WAIT)
    found = {row.room.room: (row.state, row.verdict, row.open) for row in shown.rows()}
    assert found["101"] == found["201"] == ("estimate", "fails", True)
    assert found["104"] == ("unread", "not proven", False)
    engine.go.set()
    assert settled(desk, shown)["101"] == ("done", "fails")


def test_what_was_found_outlives_the_desk_s_memory(desk: Desk, engine: Engine) -> None:
    shown = board(desk)
    settled(desk, shown)
    asked = len(engine.asked)
    assert desk.known("101", readings("101")) is None
    assert {row.state for row in shown.rows()} == {"done", "unread"}
    assert len(engine.asked) == asked


def test_a_room_that_cannot_be_computed_is_said(desk: Desk, engine: Engine, caplog: pytest.LogCaptureFixture) -> None:
    engine.fault = StageError("no bed yet")
    shown = board(desk)
    assert settled(desk, shown)["101"] == ("failed", "")
    assert shown.rows()[0].says == "no bed yet"
    assert caplog.records == []


def test_a_fault_of_ours_is_logged_and_not_shown(desk: Desk, engine: Engine, caplog: pytest.LogCaptureFixture) -> None:
    engine.fault = ZeroDivisionError("secret detail")
    shown = board(desk)
    assert settled(desk, shown)["101"] == ("failed", "")
    assert shown.rows()[0].says == ""
    assert "room 101 could not be computed" in caplog.text
