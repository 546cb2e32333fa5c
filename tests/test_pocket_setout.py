"""Holes of the flanges: against every choice there is, and in cases that a hand can check."""

from __future__ import annotations

import random
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shower_units import level

from drainward.finding import Verdict
from drainward.job.model import Measure, RuleChoice, What
from drainward.pocket.setout import (
    Blocking,
    FramedWall,
    Layout,
    Practice,
    Run,
    Stud,
    framed_walls,
    practice,
    runs,
    set_out,
    setout_findings,
)
from drainward.pocket.shape import Wall
from drainward.quantity import INCH
from drainward.rules import load_rules

RULE = Practice()
GRID = 8
"""Random walls lie on eighths of an inch, so that a search over places on that grid misses no layout."""


def inches(*places: float, width: float = 1.5) -> tuple[Stud, ...]:
    return tuple(Stud(place * INCH, width * INCH) for place in places)


def level_run(length: float) -> Run:
    return Run(Wall.BACK, "along", 0.0, length * INCH, 79 * INCH, 80 * INCH)


def layout(length: float, studs: tuple[Stud, ...], *blocking: Blocking) -> Layout:
    return set_out(FramedWall(Wall.BACK, studs, blocking), level_run(length), RULE)


def at(found: Layout) -> list[float]:
    return [hole.at / INCH for hole in found.holes]


def sound(found: Layout) -> None:
    places, run = at(found), found.run
    assert places[0] <= 3 + 1e-6 and places[-1] >= run.end / INCH - 3 - 1e-6
    assert all(0 < b - a <= 17 + 1e-6 for a, b in pairwise(places))
    assert all(hole.spare >= RULE.wood - 1e-9 for hole in found.holes)


def test_measured_studs_with_one_wide_bay() -> None:
    found = layout(60, inches(0.75, 15.2, 31.5, 50.0, 59.25))
    sound(found)
    assert len(found.add) == 1
    piece = found.add[0]
    assert (piece.start / INCH, piece.end / INCH) == pytest.approx((32.25, 49.25))
    assert piece.length / INCH == pytest.approx(17)
    assert [hole.wood for hole in found.holes].count("blocking to add") == 1


def test_studs_at_sixteen_inches_need_no_more_than_themselves() -> None:
    found = layout(64, inches(0.75, 16, 32, 48, 63.25))
    assert at(found) == pytest.approx([0.75, 16, 32, 48, 63.25])
    assert [hole.wood for hole in found.holes] == [f"stud {k}" for k in range(1, 6)]
    assert found.add == () and found.widest / INCH == pytest.approx(16)


def test_a_close_stud_is_passed_over_and_blocking_at_hand_is_used() -> None:
    assert at(layout(32, inches(0.75, 10, 16, 31.25))) == pytest.approx([0.75, 16, 31.25])
    there = Blocking(1.5 * INCH, 30.5 * INCH, 76 * INCH, 81.5 * INCH)
    found = layout(32, inches(0.75, 31.25), there)
    sound(found)
    assert found.add == () and "blocking" in {hole.wood for hole in found.holes}
    low = Blocking(1.5 * INCH, 30.5 * INCH, 60 * INCH, 65.5 * INCH)
    assert len(layout(32, inches(0.75, 31.25), low).add) == 1


def test_a_standing_flange_is_on_its_stud_or_asks_for_one() -> None:
    run = Run(Wall.LEFT, "up", 2 * INCH, 79 * INCH, 35 * INCH, 36 * INCH)
    found = set_out(FramedWall(Wall.LEFT, inches(0.75, 16, 35.5)), run, RULE)
    assert len(found.holes) == 10
    assert found.widest / INCH == pytest.approx(71 / 9)
    assert [hole.at / INCH for hole in found.holes] == pytest.approx([35.5] * 10)
    bare = set_out(FramedWall(Wall.LEFT, inches(0.75, 16)), run, RULE)
    assert [(piece.bottom / INCH, piece.top / INCH) for piece in bare.add] == [pytest.approx((2, 79))]
    (finding,) = setout_findings([bare], RULE)
    assert finding.verdict is Verdict.FAILS
    assert finding.advice == 'Add a stud, its middle 35-1/2" off the back corner, from 2" to 79" up.'


def fewest(run: Run, studs: tuple[Stud, ...]) -> tuple[int, int]:
    """By trying everything: fewest bays to block, then fewest holes, over places on the grid."""
    solid = [(round((s.at - s.width / 2) / INCH * GRID), round((s.at + s.width / 2) / INCH * GRID)) for s in studs]
    length, edge = round(run.end / INCH * GRID), round(RULE.wood / INCH * GRID)
    bays, here = [], 0
    for a, b in [*sorted((max(a, 0), min(b, length)) for a, b in solid if b > 0 and a < length), (length, length)]:
        if a - here >= 2 * edge:
            bays.append((here, a))
        here = max(here, b)
    for count in range(len(bays) + 1):
        holes = [_least_holes([*solid, *chosen], length, edge) for chosen in combinations(bays, count)]
        if any(holes):
            return count, min(n for n in holes if n)
    raise AssertionError("no layout at all")


def _least_holes(wood: list[tuple[int, int]], length: int, edge: int) -> int:
    """Shortest way through all allowed places, by breadth; 0 where there is none."""
    allowed = {x for a, b in wood for x in range(a + edge, b - edge + 1) if edge <= x <= length - edge}
    front, count = {x for x in allowed if x <= 3 * GRID}, 1
    while front:
        if any(x >= length - 3 * GRID for x in front):
            return count
        ahead = {y for y in allowed if any(0 < y - x <= 17 * GRID for x in front)}
        if ahead <= front:
            return 0
        front, count = ahead, count + 1
    return 0


def random_wall(rng: random.Random) -> tuple[float, tuple[Stud, ...]]:
    length = rng.randrange(8 * GRID, 72 * GRID) / GRID
    widest = rng.choice([16, 18, 26])
    places, here = [], 0.75 + rng.choice([0, 0, rng.randrange(0, 6 * GRID) / GRID])
    while here < length:
        places.append(here)
        here += rng.randrange(3 * GRID, widest * GRID) / GRID
    return length, inches(*places)


def test_farthest_reach_equals_every_choice_on_two_thousand_walls() -> None:
    rng, asked = random.Random(4), 0
    for _ in range(2000):
        length, studs = random_wall(rng)
        found = layout(length, studs)
        assert not found.open
        assert (len(found.add), len(found.holes)) == fewest(level_run(length), studs), (length, studs)
        sound(found)
        asked += bool(found.add)
    assert 200 < asked < 1800


@given(st.lists(st.floats(0.75, 71), max_size=8), st.floats(4, 72))
def test_any_wall_gets_holes_that_hit_wood(places: list[float], length: float) -> None:
    found = layout(length, inches(*sorted(places)))
    if not found.open:
        sound(found)


def test_finding_says_meets_not_proven_or_what_to_add() -> None:
    fine = layout(64, inches(0.75, 16, 32, 48, 63.25))
    (finding,) = setout_findings([fine], RULE)
    assert finding.verdict is Verdict.MEETS and finding.value == 0 and (finding.probability or 0) > 0.99
    assert finding.source == "common practice, no source"
    (doubtful,) = setout_findings([fine], RULE, u=0.5 * INCH)
    assert doubtful.verdict is Verdict.NOT_PROVEN and "Find the studs again" in doubtful.advice
    (bare,) = setout_findings([layout(32, inches(0.75, 31.25))], RULE)
    assert bare.verdict is Verdict.FAILS
    assert bare.advice == 'Add blocking 29" long, from 1-1/2" to 30-1/2" off the left corner, its middle 79-1/2" up.'


def test_flanges_of_a_unit() -> None:
    unit = level(60, 36, (30, 18), 1)
    found = {(run.wall, run.way): run for run in runs(unit, floor=-0.02)}
    assert set(found) == {
        (Wall.LEFT, "along"), (Wall.BACK, "along"), (Wall.RIGHT, "along"), (Wall.LEFT, "up"), (Wall.RIGHT, "up"),
    }  # fmt: skip
    top = found[Wall.BACK, "along"]
    assert (top.end, top.high) == pytest.approx((unit.outside_width, unit.outside_height - 0.02))
    front = found[Wall.LEFT, "up"]
    assert (front.low, front.high) == pytest.approx((unit.outside_depth - 0.03, unit.outside_depth))


def test_spacings_are_rules_that_a_job_may_tighten() -> None:
    choice = RuleChoice()
    found = practice(load_rules(choice), choice.shower)
    assert (found.along / INCH, found.up / INCH) == pytest.approx((16, 8))
    own = {"id": "job/spacing", "what": "Maker's sheet", "quantity": "flange.spacing.along", "high": "12 in"}
    tight = RuleChoice(local=(own,))
    assert practice(load_rules(tight), tight.shower).along / INCH == pytest.approx(12)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="the run is on the back wall, the studs on the left"):
        set_out(FramedWall(Wall.LEFT, ()), level_run(20), RULE)
    with pytest.raises(ValueError, match="is narrower than"):
        set_out(FramedWall(Wall.BACK, ()), Run(Wall.BACK, "along", 0, 1, 2, 2.01), RULE)
    with pytest.raises(ValueError, match="width is positive"):
        FramedWall(Wall.BACK, (Stud(0.1, 0.0),))
    with pytest.raises(ValueError, match="blocking ends after it starts"):
        FramedWall(Wall.BACK, (), (Blocking(0.2, 0.1, 0, 1),))


def test_walls_of_a_survey() -> None:
    def stud(wall: str, value: float, z: float) -> Measure:
        return Measure(id=f"{wall}{value}{z}", room="101", what=What.STUD, wall=wall, z=z, value=value, u=0.001)

    board = Measure(id="b", room="101", what=What.BLOCKING, wall="left", y=0.9, y2=0.5, z=0.8, value=0.18, u=0.001)
    lost = board.model_copy(update={"id": "c", "z": None})
    walls = framed_walls([stud("back", 0.41, 0.1), stud("back", 0.40, 2.0), stud("back", 0.81, 1.0), board, lost])
    assert set(walls) == {Wall.BACK, Wall.LEFT}
    assert [s.at for s in walls[Wall.BACK].studs] == pytest.approx([0.405, 0.81])
    assert walls[Wall.LEFT].blocking == (Blocking(0.5, 0.9, 0.8, pytest.approx(0.98)),)
