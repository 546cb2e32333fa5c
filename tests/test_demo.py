"""The made-up job: what is written reads back, its verdicts, computed live, are all three and all true, and each of its
water tests tells its story."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from drainward.cli import main
from drainward.demo import write_demo
from drainward.demo.crew import INSTRUMENTS, Visit, level_lines, read_floor, star
from drainward.demo.floors import TrueFloor, hollowed, true_floor
from drainward.demo.home import NAME, job
from drainward.demo.pour import Pouring, pour_and_look
from drainward.demo.rooms import POURS, ROOMS, hidden_floor
from drainward.demo.units import bedded, own_base
from drainward.errors import InputError
from drainward.finding import Finding, Verdict
from drainward.floor import draft_stage
from drainward.floor.abreast.flood import flood
from drainward.floor.film import Water, water_stage
from drainward.floor.functionals import as_functionals
from drainward.floor.ponds import outlet
from drainward.floor.result import Draft
from drainward.floor.shape import INCH, fine_axes, moulded, radial_net
from drainward.job import Job, UnitModel, WaterTest, load, write_job
from drainward.rules import load_rules
from drainward.rules.window import job_warnings

ROWS = ("readings", "water_tests", "survey", "received", "setting")
LEAST, GREATEST, POND = 1 / 48, 1 / 24, INCH / 16


def _fails_by_threshold_alone(draft: Draft) -> bool:
    rules = job().rules
    of_threshold = {row.id for row in load_rules(rules).requirements("threshold.rise", rules.shower)}
    failed = {f.id for f in draft.findings if f.verdict is Verdict.FAILS}
    return bool(failed) and failed <= of_threshold


CAUSES: dict[str, tuple[str, Callable[[Draft], bool]]] = {
    "103": ("back-fall", lambda d: d.fall_min.interval[1] < 0),
    "202": ("tilt", lambda d: d.fall_min.interval[1] < LEAST and d.fall_max.interval[0] > GREATEST and not d.ponds),
    "108": ("bulge", lambda d: d.fall_max.interval[0] > GREATEST and any(s.probability > 0.9 for s in d.high_spots)),
    "105": ("birdbath", lambda d: any(p.probability > 0.9 and p.depth > POND for p in d.ponds)),
    "106": ("proud threshold", _fails_by_threshold_alone),
}
"""The room of each cause of failure, and how the answer tells it."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo") / "job", 1)


@pytest.fixture(scope="module")
def made_up(folder: Path) -> Job:
    return load(folder).job


@pytest.fixture(scope="module")
def drafts(made_up: Job) -> dict[str, Draft]:
    rooms = sorted({r.room for r in made_up.readings})
    return {
        room: draft_stage(made_up, room, tuple(r for r in made_up.readings if r.room == room), samples=1000)
        for room in rooms
    }


def test_three_floors_of_eight_rooms_two_units_and_one_room_not_read(made_up: Job) -> None:
    assert Counter(room.floor for room in made_up.rooms) == {"1": 8, "2": 8, "3": 8}
    assert {unit.style for unit in made_up.units.values()} == {"bedded", "own base"}
    assert {unit.floor.form for unit in made_up.units.values()} == {"planes", "cone"}
    assert {room.room for room in made_up.rooms} - {r.room for r in made_up.readings} == {"308"}
    assert all(room.ready and room.due and room.ready < room.due for room in made_up.rooms)
    assert made_up.crews and made_up.calendar.start and made_up.kits.braces and made_up.inspectors


def test_all_reads_back_but_two_rows_that_cannot_be_read(folder: Path) -> None:
    loaded = load(folder)
    assert [(p.file, p.field, p.got) for p in loaded.problems] == [
        ("readings.csv", "value", "16-Mar"),
        ("readings.csv", "y", "six"),
    ]
    assert loaded.job.model_copy(update=dict.fromkeys(ROWS, ())) == job()
    assert [test.room for test in loaded.job.water_tests] == [room for room, pours in POURS.items() for _ in pours]


def test_same_seed_same_files_another_seed_other_readings(folder: Path, tmp_path: Path) -> None:
    again, other = write_demo(tmp_path / "again", 1), write_demo(tmp_path / "other", 2)
    for name in ("job.toml", "rooms.csv", "readings.csv", "water.csv"):
        assert (folder / name).read_bytes() == (again / name).read_bytes()
    for name in ("readings.csv", "water.csv"):
        assert (folder / name).read_bytes() != (other / name).read_bytes()


def test_its_own_job_is_written_anew_and_no_other(tmp_path: Path) -> None:
    first = (write_demo(tmp_path / "demo", 1) / "readings.csv").read_bytes()
    assert first == (write_demo(tmp_path / "demo", 1) / "readings.csv").read_bytes()
    write_job(tmp_path / "mine", Job(name="Mine"))
    before = (tmp_path / "mine" / "job.toml").read_bytes()
    with pytest.raises(InputError, match="stands already"):
        write_demo(tmp_path / "mine", 1)
    assert before == (tmp_path / "mine" / "job.toml").read_bytes()
    assert load(tmp_path / "demo").job.name == NAME


@pytest.mark.parametrize("unit", [bedded(), own_base()], ids=lambda unit: unit.id)
def test_as_moulded_every_fall_lies_well_within_the_window(unit: UnitModel) -> None:
    net = radial_net(unit, 12 * INCH)
    height = moulded(unit, net.x, net.y)
    fall = (height[net.outer] - height[net.inner]) / net.length
    assert LEAST + 0.009 < fall.min() and fall.max() < GREATEST - 0.009


def test_the_units_raise_no_doubt_of_the_window_before_anything_is_set(made_up: Job) -> None:
    outlook = job_warnings(made_up, load_rules(made_up.rules))
    assert [f for f in outlook.findings if f.verdict is Verdict.FAILS] == []


def test_a_level_reads_what_the_floor_does_within_its_uncertainty() -> None:
    unit, rng = own_base(), np.random.default_rng(3)
    floor = true_floor(unit, "plain", rng)
    places = level_lines(unit, 40)
    read = read_floor(floor, Visit("1", "AB", datetime.fromisoformat("2026-03-02T09:00")), "L9", places, rng)
    f, _, refused = as_functionals(unit, tuple(read))
    off = (f.value - f.apply(floor.height(f.x, f.y))) / f.u
    assert not refused and len(off) == len(places)
    assert 0.75 < float(np.sqrt((off**2).mean())) < 1.25
    assert all(r.written == f"{r.value * 100:.1f} %" for r in read), "as the display shows it"


def test_a_star_stays_on_the_floor_and_off_the_drain() -> None:
    unit = bedded()
    for x, y in ((4, 4), (24, 4), (30, 21), (59, 35)):
        for x1, y1, x2, y2 in star(unit, x * INCH, y * INCH):
            assert x2 is not None and y2 is not None
            assert 0 <= x2 <= unit.inside_width and 0 <= y2 <= unit.inside_depth
            assert math.hypot((x1 + x2) / 2 - unit.drain.x, (y1 + y2) / 2 - unit.drain.y) > unit.drain.radius


def test_all_three_verdicts_come_out(drafts: dict[str, Draft]) -> None:
    count = Counter(draft.verdict for draft in drafts.values())
    assert count[Verdict.MEETS] >= 4, count
    assert count[Verdict.FAILS] >= 5, count
    assert count[Verdict.NOT_PROVEN] >= 4, count
    open_ones = [d for d in drafts.values() if d.verdict is Verdict.NOT_PROVEN]
    assert all(d.next_reading is not None and d.next_reading.instrument in INSTRUMENTS for d in open_ones)


@pytest.mark.parametrize("room", CAUSES, ids=[cause for cause, _ in CAUSES.values()])
def test_each_cause_of_failure_is_told(drafts: dict[str, Draft], room: str) -> None:
    assert drafts[room].verdict is Verdict.FAILS
    told_in = [name for name, (_, tells) in CAUSES.items() if tells(drafts[room])]
    assert room in told_in
    assert not CAUSES[room][1](drafts["102"]), "a good floor does not tell it"


def test_no_verdict_is_false_on_the_hidden_floors(made_up: Job, drafts: dict[str, Draft]) -> None:
    units = {room.room: made_up.units[room.unit] for room in made_up.rooms}
    false = []
    for room, draft in drafts.items():
        hidden = ROOMS[room]
        conforms = _truly_conforms(hidden_floor(hidden, units[room])) and hidden.rise <= INCH / 2
        if draft.verdict is not Verdict.NOT_PROVEN and (draft.verdict is Verdict.MEETS) != conforms:
            false.append(room)
    assert false == []


def test_a_blunder_is_flagged_and_named_and_nothing_else_is(drafts: dict[str, Draft]) -> None:
    rejected = {room: [(r.line, r.why) for r in draft.rejected] for room, draft in drafts.items() if draft.rejected}
    assert list(rejected) == ["104"]
    ((line, why),) = rejected["104"]
    assert line is not None and "contradicts the other readings" in why


@pytest.fixture(scope="module")
def waters(made_up: Job) -> dict[str, Water]:
    return {room: _water(made_up, room) for room in POURS}


def _water(made_up: Job, room: str) -> Water:
    readings = tuple(r for r in made_up.readings if r.room == room)
    return water_stage(made_up, room, readings, _tests(made_up, room), samples=16)


def _tests(made_up: Job, room: str) -> tuple[WaterTest, ...]:
    return tuple(test for test in made_up.water_tests if test.room == room)


def _found(water: Water, id: str) -> Finding:
    return next(finding for finding in water.findings if finding.id == id)


def test_a_third_of_the_rooms_are_wetted_after_they_were_read(made_up: Job) -> None:
    assert len(POURS) == len(made_up.rooms) // 3
    for room in POURS:
        read = [r.when for r in made_up.readings if r.room == room]
        for test in _tests(made_up, room):
            assert test.when is not None and all(when is not None and when < test.when for when in read)
            assert test.drained is not None and test.drained >= test.over


def test_water_changes_no_reading(made_up: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drainward.demo.rooms.POURS", {})
    monkeypatch.setattr("drainward.demo.rooms.ROOMS", {r: ROOMS[r] for r in ROOMS if ROOMS[r].hollow is None})
    dry = load(write_demo(tmp_path / "dry", 1)).job
    assert dry.water_tests == ()
    assert {r.id: r.value for r in dry.readings}.items() <= {r.id: r.value for r in made_up.readings}.items()


def test_no_tool_touched_the_hollow(made_up: Job) -> None:
    for room, hidden in ROOMS.items():
        if hidden.hollow is None:
            continue
        unit = made_up.units[next(r.unit for r in made_up.rooms if r.room == room)]
        floor = hidden_floor(hidden, unit)
        plain = true_floor(unit, hidden.kind, np.random.default_rng([hidden.seed]), hidden.severity)
        f, _, _ = as_functionals(unit, tuple(r for r in made_up.readings if r.room == room))
        np.testing.assert_array_equal(f.apply(floor.height(f.x, f.y)), f.apply(plain.height(f.x, f.y)))
        deepest = np.array([v * INCH for v in hidden.hollow])
        assert plain.height(*deepest) - floor.height(*deepest) > INCH / 4


def test_rooms_where_nothing_is_wrong_agree(waters: dict[str, Water]) -> None:
    for room in ("101", "105", "106", "201", "301"):
        assert [seen.agrees for seen in waters[room].seen] == [True], room
    (none,) = (seen.test.puddles for seen in waters["101"].seen)
    assert none == () and waters["101"].verdict is Verdict.MEETS


def test_a_pond_is_seen_where_the_readings_say(waters: dict[str, Water], drafts: dict[str, Draft]) -> None:
    (seen,) = waters["105"].seen
    assert seen.test.puddles is not None
    (puddle,), pond = seen.test.puddles, drafts["105"].ponds[0]
    assert math.hypot(puddle.x - pond.x, puddle.y - pond.y) < 2 * INCH
    assert puddle.depth is not None and abs(puddle.depth - pond.depth) < 2e-3
    assert _found(waters["105"], "practice/pond").verdict is Verdict.FAILS


def test_a_film_hangs_on_a_sound_floor_and_is_no_pond(waters: dict[str, Water]) -> None:
    water = waters["201"]
    (seen,) = water.seen
    assert seen.test.puddles and not seen.test.soap
    (puddle,) = seen.test.puddles
    assert (puddle.depth or 0.0) < water.hang.most + INCH / 32
    assert _found(water, "practice/pond").verdict is Verdict.MEETS


def test_a_puddle_that_nobody_expected_is_a_hollow_between_the_readings(
    waters: dict[str, Water], drafts: dict[str, Draft]
) -> None:
    assert ROOMS["307"].hollow is not None
    x, y = (v * INCH for v in ROOMS["307"].hollow)
    assert not any(math.hypot(p.x - x, p.y - y) < 6 * INCH for p in drafts["307"].ponds)
    water = waters["307"]
    (seen,) = water.seen
    assert seen.agrees is False
    assert seen.causes[0].what.startswith("a dip") and seen.causes[0].probability > 0.5
    assert water.next_reading is not None and water.next_reading.kind == "chord"
    ask = water.next_reading
    assert ask.x2 is not None and ask.y2 is not None
    assert math.hypot((ask.x + ask.x2) / 2 - x, (ask.y + ask.y2) / 2 - y) < 2 * INCH
    assert any(math.hypot(p.x - x, p.y - y) < 3 * INCH and p.probability > 0.5 for p in water.ponds)


def test_mortar_in_the_drain_is_named_and_gone_in_the_second_test(waters: dict[str, Water]) -> None:
    blocked, cleared = waters["203"].seen
    assert blocked.agrees is False and "grate" in blocked.causes[0].what
    assert cleared.agrees is True and cleared.causes == ()
    assert waters["203"].seen[-1].test.note.startswith("grate lifted")


def test_a_bucket_by_the_opening_of_a_leaning_floor_runs_over_the_threshold(waters: dict[str, Water]) -> None:
    water = waters["103"]
    assert water.spilled.low > 1e-4 and water.pour.x is not None
    assert _found(water, "practice/spilled").verdict is Verdict.FAILS
    (seen,) = water.seen
    assert seen.test.puddles, "and stands along the front"
    assert seen.drained_chance is not None and seen.drained_chance > 0.05


def test_one_room_is_too_hot_and_one_head_gives_too_much(made_up: Job, waters: dict[str, Water]) -> None:
    hot = _found(waters["106"], "us-ada-2010/608.6-temperature")
    assert hot.verdict is Verdict.FAILS and "burns skin deeply" in hot.advice
    flow = _found(waters["301"], "us-plumbing-irc-2021/P2903.2-flow")
    assert flow.verdict is Verdict.FAILS
    others = [_found(waters[r], flow.id).verdict for r in POURS if r != "301" and _tests(made_up, r)[-1].flow]
    assert len(others) >= 3 and Verdict.FAILS not in others


def test_what_is_seen_comes_from_the_hidden_floor() -> None:
    """Deeper hollows hold deeper puddles; water poured beside one does not come there."""
    home = job()
    unit = home.units["S60"]
    plain = true_floor(unit, "plain", np.random.default_rng(1))
    visit = Visit("301", "CM", datetime.fromisoformat("2026-03-17T08:00"))

    def seen(pouring: Pouring, *depths: float) -> list[tuple[float, ...]]:
        floors = [hollowed(plain, 45 * INCH, 24 * INCH, 6 * INCH, depth * INCH) for depth in depths]
        tests = [pour_and_look(home, floor, visit, pouring, np.random.default_rng(3)) for floor in floors]
        return [tuple(p.depth or 0.0 for p in test.puddles or ()) for test in tests]

    assert seen(Pouring(), 0.0) == [()]
    (shallow,), (deep,) = seen(Pouring(), 3 / 8, 1 / 2)
    assert 0 < shallow < deep
    assert seen(Pouring(at=(10, 6), over=10), 1 / 2) == [()]


def test_the_command_writes_computes_and_ends_well(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    quick = {"103", "204"}
    monkeypatch.setattr("drainward.demo.rooms.ROOMS", {room: ROOMS[room] for room in quick})
    assert main(["demo", "--no-serve", "--out", str(tmp_path / "job"), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    verdicts = {room["room"]: room["verdict"] for room in answer["rooms"] if room["room"] in quick}
    assert verdicts == {"103": "fails", "204": "not proven"}
    assert len(answer["rooms"]) == 24


def _truly_conforms(floor: TrueFloor) -> bool:
    net = radial_net(floor.unit, 12 * INCH)
    height = floor.height(net.x, net.y)
    fall = (height[net.outer] - height[net.inner]) / net.length
    x, y = fine_axes(floor.unit)
    surface = floor.height(*np.meshgrid(x, y)).astype(np.float32)
    deepest = float((flood(surface, outlet(floor.unit, x, y)) - surface).max())
    return bool(fall.min() >= LEAST and fall.max() <= GREATEST and deepest <= POND)
