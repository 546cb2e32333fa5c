"""The made-up job: what is written reads back, and its verdicts, computed live, are all three and all true."""

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
from drainward.demo.floors import TrueFloor, true_floor
from drainward.demo.home import NAME, job
from drainward.demo.rooms import ROOMS
from drainward.demo.units import bedded, own_base
from drainward.errors import InputError
from drainward.finding import Verdict
from drainward.floor import draft_stage
from drainward.floor.abreast.flood import flood
from drainward.floor.functionals import as_functionals
from drainward.floor.ponds import outlet
from drainward.floor.result import Draft
from drainward.floor.shape import INCH, fine_axes, moulded, radial_net
from drainward.job import Job, UnitModel, load, write_job
from drainward.rules import load_rules
from drainward.rules.window import job_warnings

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
    assert made_up.crews and made_up.calendar and made_up.kits and made_up.materials


def test_all_reads_back_but_two_rows_that_cannot_be_read(folder: Path) -> None:
    loaded = load(folder)
    assert [(p.file, p.field, p.got) for p in loaded.problems] == [
        ("readings.csv", "value", "16-Mar"),
        ("readings.csv", "y", "six"),
    ]
    assert loaded.job.model_copy(update={"readings": ()}) == job()


def test_same_seed_same_files_another_seed_other_readings(folder: Path, tmp_path: Path) -> None:
    again, other = write_demo(tmp_path / "again", 1), write_demo(tmp_path / "other", 2)
    for name in ("job.toml", "rooms.csv", "readings.csv"):
        assert (folder / name).read_bytes() == (again / name).read_bytes()
    assert (folder / "readings.csv").read_bytes() != (other / "readings.csv").read_bytes()


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
        floor = true_floor(units[room], hidden.kind, np.random.default_rng([hidden.seed]), hidden.severity)
        conforms = _truly_conforms(floor) and hidden.rise <= INCH / 2
        if draft.verdict is not Verdict.NOT_PROVEN and (draft.verdict is Verdict.MEETS) != conforms:
            false.append(room)
    assert false == []


def test_a_blunder_is_flagged_and_named_and_nothing_else_is(drafts: dict[str, Draft]) -> None:
    rejected = {room: [(r.line, r.why) for r in draft.rejected] for room, draft in drafts.items() if draft.rejected}
    assert list(rejected) == ["104"]
    ((line, why),) = rejected["104"]
    assert line is not None and "contradicts the other readings" in why


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
