"""The made-up job before its units are set: surveys of hidden pockets tell their stories, and no answer is false."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from drainward.demo import write_demo
from drainward.demo.crew import Visit
from drainward.demo.framing import Framing, exactly, true_pocket
from drainward.demo.home import job as bare
from drainward.demo.storey import FLOOR, door_of
from drainward.demo.surveys import POCKETS, hidden_pocket, measures, received
from drainward.demo.tape import MANNERS, read_pocket
from drainward.demo.units import bedded, own_base
from drainward.finding import Finding, Verdict
from drainward.job import Job, load
from drainward.job.model import UnitModel, What
from drainward.pocket.fit import FITS_FROM
from drainward.pocket.place import place
from drainward.pocket.shape import Wall
from drainward.pocket.stage import DrySet, SetOut, Survey, dry_set_stage, set_stage, survey_stage
from drainward.quantity import INCH
from drainward.wayin.plan import read_plan

EVERYWHERE = [z * INCH for z in range(1, 80, 3)]
"""Heights at which a true pocket is met: far closer than any survey."""
WHEN = datetime.fromisoformat("2026-03-02T08:00")


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return load(write_demo(tmp_path_factory.mktemp("before") / "job", 1)).job


@pytest.fixture(scope="module")
def surveys(made_up: Job) -> dict[str, Survey]:
    return {room: survey_stage(made_up, room) for room in POCKETS}


@pytest.fixture(scope="module")
def dry_sets(made_up: Job) -> dict[str, DrySet]:
    return {room: dry_set_stage(made_up, room) for room in POCKETS}


@pytest.fixture(scope="module")
def set_outs(made_up: Job) -> dict[str, SetOut]:
    return {room: set_stage(made_up, room) for room in POCKETS}


def finding(answer: Survey | DrySet | SetOut, start: str) -> Finding:
    return next(f for f in answer.findings if f.id.startswith(start))


def test_half_of_the_rooms_are_surveyed_and_all_of_it_reads_back(made_up: Job) -> None:
    assert {measure.room for measure in made_up.survey} == set(POCKETS)
    assert 12 <= len(POCKETS) < len(made_up.rooms)
    home = bare()
    for room in home.rooms:
        for wrote, read in (
            (measures(room, home.units[room.unit], 1), made_up.survey),
            (received(room, home.units[room.unit], 1), made_up.received),
        ):
            back = [row for row in read if row.room == room.room]
            assert [row.model_copy(update={"file": "", "line": None}) for row in back] == list(wrote)


def test_surveys_have_their_own_streams_of_chance(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with_surveys = write_demo(tmp_path / "with", 1)
    monkeypatch.setattr("drainward.demo.write.measures", lambda *_: ())
    monkeypatch.setattr("drainward.demo.write.received", lambda *_: ())
    without = write_demo(tmp_path / "without", 1)
    for name in ("readings.csv", "water.csv", "rooms.csv"):
        assert (with_surveys / name).read_bytes() == (without / name).read_bytes()
    for name in ("survey.csv", "received.csv"):
        assert (with_surveys / name).read_bytes() != (without / name).read_bytes()
        assert (with_surveys / name).read_bytes() != (write_demo(tmp_path / "other", 2) / name).read_bytes()


@pytest.mark.parametrize("room", POCKETS)
def test_no_answer_is_false(made_up: Job, surveys: dict[str, Survey], room: str) -> None:
    """What is said of the room against its hidden pocket, met at every stud from bottom to top."""
    told = surveys[room]
    sheet = made_up.units[next(r.unit for r in made_up.rooms if r.room == room)]
    hidden = hidden_pocket(POCKETS[room], sheet)
    pocket = exactly(hidden, EVERYWHERE)
    if not POCKETS[room].cored:
        unknown = np.full(2, np.nan)
        pocket = replace(pocket, core=unknown, core_radius=float("nan"))
    arrived = POCKETS[room].arrived or {}
    unit = sheet.model_copy(
        update={str(what).replace(" ", "_"): getattr(sheet, str(what).replace(" ", "_")) + off * INCH
                for what, off in arrived.items() if str(what).startswith("outside")}
    )  # fmt: skip
    true = place(unit, pocket)
    verdict = finding(told, "pocket/goes-in").verdict
    assert verdict is Verdict.NOT_PROVEN or (verdict is Verdict.MEETS) == true.goes_in
    seen = told.adjusted.pocket
    slab = [hidden.slab(x, y) for x, y in zip(seen.slab_x, seen.slab_y, strict=True)]
    first = len(seen) + 3
    u = np.sqrt(np.diag(seen.covariance)[first : first + len(slab)])
    assert np.all(np.abs(seen.slab - slab) < 4 * u)


def test_a_pocket_that_takes_its_unit(surveys: dict[str, Survey], dry_sets: dict[str, DrySet]) -> None:
    for room in ("101", "302"):
        assert surveys[room].goes_in is Verdict.MEETS
        # Nobody measured yet what the picked rules ask of the room's door and floor.
        assert surveys[room].says.startswith("The unit goes into the pocket. Not known yet: door ")
        assert not surveys[room].adjusted.blunders
        assert dry_sets[room].verdict is Verdict.MEETS
    assert finding(surveys["101"], "receive/damage").verdict is Verdict.MEETS


def test_a_bowed_stud_is_named_with_what_to_plane(surveys: dict[str, Survey], dry_sets: dict[str, DrySet]) -> None:
    told = surveys["102"]
    assert told.says.startswith("Mend this first: plane or move right wall, stud 2")
    change = told.placed.change
    assert change is not None and (change.what, change.wall, change.stud) == ("stud", Wall.RIGHT, 1)
    assert INCH / 16 < change.most < 7 / 16 * INCH
    assert dry_sets["102"].verdict is Verdict.FAILS


def test_planing_what_is_named_lets_it_in(made_up: Job, surveys: dict[str, Survey]) -> None:
    """The hidden pocket itself takes the unit once its stud is planed by what the survey said and an eighth more."""
    change = surveys["102"].placed.change
    assert change is not None
    pocket = exactly(hidden_pocket(POCKETS["102"], made_up.units["B60"]), EVERYWHERE)
    much = change.most + INCH / 8
    assert not place(made_up.units["B60"], pocket).goes_in
    mine = (pocket.wall == change.wall) & (pocket.stud == change.stud)
    planed = replace(pocket, off=np.where(mine, pocket.off + much, pocket.off))
    assert place(made_up.units["B60"], planed).goes_in


def test_too_narrow_for_either_unit(surveys: dict[str, Survey]) -> None:
    told = surveys["103"]
    assert {choice.fits for choice in told.units} == {Verdict.FAILS}
    assert told.placed.room < FITS_FROM and told.says.startswith("Mend this first: move the")


def test_too_narrow_for_its_unit_and_not_for_the_other(surveys: dict[str, Survey]) -> None:
    told = surveys["301"]
    assert {choice.unit.id: choice.fits for choice in told.units} == {"S60": Verdict.FAILS, "B60": Verdict.MEETS}
    assert told.says.startswith("Wrong unit for this pocket: B60")


def test_a_slip_of_an_inch_is_named(made_up: Job, surveys: dict[str, Survey]) -> None:
    told = surveys["104"]
    (blunder,) = told.adjusted.blunders
    home = bare()
    room = next(r for r in home.rooms if r.room == "104")
    hidden = hidden_pocket(POCKETS["104"], home.units[room.unit])
    widths = [measure for measure in made_up.survey if measure.room == "104" and measure.what is What.WIDTH]
    assert blunder.measure == widths[POCKETS["104"].slip or 0] and blunder.rivals == ()
    y, z = blunder.measure.y or 0.0, blunder.measure.z or 0.0
    assert blunder.expected == pytest.approx(hidden.walls[2].face(y, z) - hidden.walls[0].face(y, z), abs=INCH / 8)
    assert told.verdict is Verdict.NOT_PROVEN and told.adjusted.asked is not None
    assert (told.adjusted.asked.what, told.adjusted.asked.y) == (What.WIDTH, blunder.measure.y)


def test_few_measures_ask_for_the_next(surveys: dict[str, Survey]) -> None:
    told = surveys["105"]
    assert len(told.adjusted.residuals) < 8
    assert told.adjusted.asked is not None and told.adjusted.asked.settles > 0
    assert "Measure next: " in told.says


def test_a_small_core_off_its_place_holds_the_unit(surveys: dict[str, Survey]) -> None:
    told = surveys["106"]
    assert told.says.startswith("Mend this first: widen the core by ")
    assert finding(told, "practice/core").verdict is Verdict.FAILS
    assert told.placed.change is not None and told.placed.change.what == "core"


def test_a_high_slab_is_ground(surveys: dict[str, Survey]) -> None:
    told = surveys["107"]
    bed = finding(told, "practice/bed-least")
    assert bed.verdict is Verdict.FAILS and bed.advice.startswith("Grind ") and told.verdict is Verdict.FAILS
    assert 'rind 0"' not in bed.advice


def test_what_arrived_wider_no_longer_goes_in(surveys: dict[str, Survey]) -> None:
    """By its sheet it would."""
    told = surveys["108"]
    assert finding(told, "pocket/goes-in").verdict is Verdict.FAILS
    assert finding(told, "receive/outside-width").verdict is Verdict.FAILS
    assert {choice.unit.id: choice.fits for choice in told.units}["B60"] is Verdict.MEETS


def test_damage_is_a_finding(surveys: dict[str, Survey], dry_sets: dict[str, DrySet]) -> None:
    damage = finding(surveys["201"], "receive/damage")
    assert damage.verdict is Verdict.FAILS and "back flange cracked" in damage.advice
    assert surveys["201"].verdict is Verdict.FAILS and dry_sets["201"].verdict is Verdict.MEETS


def test_holes_find_their_studs_and_bars_their_board(set_outs: dict[str, SetOut]) -> None:
    for room, told in set_outs.items():
        if POCKETS[room].manner == "quick":
            assert told.verdict is Verdict.NOT_PROVEN and not told.layouts
        elif room == "203":
            assert told.verdict is Verdict.FAILS and [c.zone.kind for c in told.conflicts] == ["controls"]
        else:
            assert told.verdict is Verdict.MEETS, room


def test_the_ground_floor_is_drawn_for_all_of_its_rooms(tmp_path: Path, made_up: Job) -> None:
    plans, problems = read_plan(write_demo(tmp_path / "job", 1) / "plan.csv")
    assert problems == () and set(plans) == {FLOOR}
    plan = plans[FLOOR]
    rooms = {room.room for room in made_up.rooms if room.floor == FLOOR}
    assert {goal.name for goal in plan.goals} == rooms == {door.name for door in plan.doors}
    taped = {m.room: (m.value, m.u) for m in made_up.survey if m.what is What.DOOR_WIDTH}
    for door in plan.doors:
        assert door.width == pytest.approx(door_of(door.name))
        if door.name in taped:
            value, u = taped[door.name]
            assert abs(value - door.width) < 4 * u


@pytest.mark.parametrize("unit", [bedded(), own_base()], ids=lambda unit: unit.id)
def test_measures_are_off_by_what_their_tools_say(unit: UnitModel) -> None:
    """In a plumb and square pocket every measure of a wall is known beforehand."""
    rng = np.random.default_rng(5)
    true = true_pocket(unit, rng, Framing(lean=0.0, skew=0.0, crook=0.0, jog=0.0, line=0.0))
    found = read_pocket(true, Visit("1", "AB", WHEN), MANNERS["thorough"], {}, rng)
    wide, deep = true.walls[2].stands, true.front[0]
    known = {
        What.WIDTH: wide, What.DEPTH: deep, What.DIAGONAL: float(np.hypot(wide, deep)), What.PLUMB: 0.0,
        What.SQUARE: 0.0, What.CORE: true.core[2], What.CORE_FROM_LEFT: true.core[0], What.CORE_FROM_BACK: true.core[1],
    }  # fmt: skip
    off = np.array([(measure.value - known[measure.what]) / measure.u for measure in found if measure.what in known])
    assert {measure.what for measure in found} >= set(known) | {What.STUD, What.SLAB, What.BLOCKING}
    assert 0.75 < float(np.sqrt((off**2).mean())) < 1.25
    assert np.abs(off).max() < 5
