"""Placement of a unit in its pocket: closed forms, a general solver as witness, and what planing does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pockets import NAN, SHAPE, UNIT, moved, pocket, walls, with_off
from scipy.optimize import linprog
from shower_units import INCH

from drainward.errors import StageError
from drainward.pocket.limits import Limits, outline
from drainward.pocket.place import Placement, at_words, place
from drainward.pocket.shape import Pocket, Wall
from drainward.pocket.simplex import INFEASIBLE, OPTIMAL, least

SMALL = st.floats(-0.6, 0.9, allow_nan=False)
L, B, R = Wall


@st.composite
def programs(draw: st.DrawFn) -> tuple[Any, Any, Any]:
    """Few unknowns, many rows, whole numbers too: ties and parallel rows are the hard ones."""
    n, m = draw(st.integers(2, 5)), draw(st.integers(1, 40))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    a, b, c = rng.normal(size=(m, n)), rng.normal(size=m) + draw(st.sampled_from([0.3, 1.0])), rng.normal(size=n)
    if draw(st.booleans()):
        a, b = np.round(a), np.round(b)
    if draw(st.booleans()):
        c = np.eye(n)[0]
    return c, a, b


@settings(max_examples=150, deadline=None)
@given(programs())
def test_the_solver_agrees_with_a_general_one(program: tuple[Any, Any, Any]) -> None:
    c, a, b = program
    state, v, basis, weight, inverse = least(c, a, b, np.full(len(c), 5.0))
    witness = linprog(c, a, b, bounds=[(-5, 5)] * len(c), method="highs")
    assert (witness.status == 2) == (state == INFEASIBLE)
    if state == OPTIMAL:
        assert c @ v == pytest.approx(witness.fun, abs=1e-7)
        assert (a @ v <= b + 1e-9).all()
        assert (weight >= 0).all()
        ends = np.concatenate([b, np.full(2 * len(c), 5.0)])
        np.testing.assert_allclose(inverse @ ends[basis], v, atol=1e-9)
        assert c @ v == pytest.approx(-weight @ ends[basis], abs=1e-8)


def test_two_plumb_side_walls_share_their_gaps() -> None:
    found = place(UNIT, pocket(walls(0.5, 0, 0.25)))
    assert found.goes_in
    assert found.largest / INCH == pytest.approx(0.375, abs=1e-4)
    assert found.shift[0] / INCH == pytest.approx(-0.125, abs=1e-4)
    assert found.turn == pytest.approx(0, abs=1e-6)


def test_a_skewed_pocket_turns_the_unit() -> None:
    skew = 0.004
    ends = SHAPE.right / INCH
    left = [(L, y, 40.0, 0.25 + skew * y) for y in (2, 18, 34)]
    right = [(R, y, 40.0, 0.25 - skew * y) for y in (2, 18, 34)]
    back = [(B, x, 40.0, 0.25 - skew * x) for x in (2, 30, 58)]
    found = place(UNIT, pocket([*left, *back, *right]))
    assert abs(found.turn) == pytest.approx(skew, rel=2e-2)
    # Square to the flange the pocket is narrower by its cosine.
    assert found.largest / INCH == pytest.approx(0.25, abs=2e-3 + ends * skew**2 / 2)


def test_a_leaning_wall_needs_half_its_worst_sum() -> None:
    faces = [(L, y, z, 0.5 * (78 - z) / 76) for y in (2, 34) for z in (2, 40, 78)]
    faces += [(R, y, z, 0.5) for y in (2, 34) for z in (2, 40, 78)]
    faces += [(B, x, z, 0.1) for x in (2, 58) for z in (2, 78)]
    found = place(UNIT, pocket(faces))
    assert found.largest / INCH == pytest.approx(0.5, abs=1e-4)


def test_a_narrow_pocket_names_both_studs_and_the_amount() -> None:
    faces = [(L, y, 40.0, -0.2 + 0.003 * y) for y in (0, 17, 34)]
    faces += [(R, y, 40.0, 0.1) for y in (0, 17, 34)]
    faces += [(B, x, 40.0, 1.0) for x in (2, 58)]
    made = pocket(faces)
    found = place(UNIT, made)
    assert not found.goes_in
    assert found.room / INCH == pytest.approx(-0.05, abs=1e-3)
    gains = {at_words(made, bind.index): bind.gain for bind in found.binding}
    assert sum(gains.values()) == pytest.approx(1, abs=1e-3)
    assert set(gains) <= {at_words(made, 0), at_words(made, 3), at_words(made, 2), at_words(made, 5)}
    change = found.change
    assert change is not None and change.most / INCH == pytest.approx(0.1, abs=2e-3)


@pytest.mark.parametrize("side", [L, R])
def test_of_two_opposite_studs_the_one_out_of_line_is_to_be_planed(side: Wall) -> None:
    """Between the middle studs the pocket is short by 1/4 in: planing either would do."""
    places = [(w, y, z) for w in (L, R) for y in (2, 18, 34) for z in (2, 40, 78)]
    faces = [(w, y, z, -0.35 if (w, y) == (side, 18) else 0.1) for w, y, z in places]
    faces += [(B, x, z, 0.5) for x in (2, 58) for z in (2, 78)]
    change = place(UNIT, pocket(faces)).change
    assert change is not None and (change.what, change.wall) == ("stud", side)
    assert change.most / INCH == pytest.approx(0.25, abs=0.01)


def test_gains_are_what_planing_does() -> None:
    """Finite differences: planing a touching face, or bringing a far one forward, by a little.

    Where two studs nearly tie, the curve of a turn shares the gain between them: a hundredth is allowed for it.
    """
    rng = np.random.default_rng(5)
    step = 1e-6
    told = 0
    for _ in range(20):
        made = with_noise(pocket(walls(0.4, 0.3, 0.35), core=(30.1, 18.1, 3), front=(0, 0)), rng)
        found = place(UNIT, made)
        for bind in found.binding:
            if bind.what != "stud" or bind.up_to < 10 * step:
                continue
            after = place(UNIT, moved(made, [(bind.index, step if bind.touches else -step)]))
            assert (found.largest - after.largest) / step == pytest.approx(bind.gain, abs=1e-2)
            told += 1
    assert told > 20


def with_noise(made: Pocket, rng: np.random.Generator, sd: float = INCH / 16) -> Pocket:
    return with_off(made, made.off + rng.normal(size=len(made)) * sd)


@st.composite
def pockets(draw: st.DrawFn) -> Pocket:
    sides = draw(st.tuples(SMALL, SMALL, SMALL))
    core = draw(st.sampled_from([(NAN, NAN, NAN), (30.0, 18.0, 3.0), (30.3, 17.8, 2.6)]))
    front = draw(st.sampled_from([(NAN, NAN), (0.0, 0.0), (0.2, -0.1)]))
    made = pocket(walls(*sides), core=core, front=front)
    return with_noise(made, np.random.default_rng(draw(st.integers(0, 2**32 - 1))))


def exact_gaps(made: Pocket, found: Placement) -> Any:
    """Gaps square to the flange, from the placement alone."""
    c, s = np.cos(found.turn), np.sin(found.turn)
    x = np.where(made.wall == B, made.at, made.off)
    y = np.where(made.wall == B, made.off, made.at)
    own_x, own_y = c * x + s * y - found.shift[0], -s * x + c * y - found.shift[1]
    return np.where(
        made.wall == L, SHAPE.left - own_x, np.where(made.wall == B, SHAPE.back - own_y, own_x - SHAPE.right)
    )


@settings(max_examples=80, deadline=None)
@given(pockets())
def test_a_unit_that_goes_in_clears_everything(made: Pocket) -> None:
    found = place(UNIT, made)
    gaps = exact_gaps(made, found)
    np.testing.assert_allclose([shim.thickness for shim in found.shims], gaps, atol=1e-6)
    if found.goes_in:
        limits = Limits()
        assert gaps.min() > -1e-6
        assert gaps.max() == pytest.approx(found.largest, abs=1e-6)
        if np.isfinite(found.clearance):
            assert found.clearance >= limits.drain_clearance - 1e-6
        assert all(abs(off) <= limits.line_off + 1e-6 for off in found.line_off if np.isfinite(off))
    else:
        assert found.room < 0
        assert found.planing


@settings(max_examples=60, deadline=None)
@given(pockets())
def test_one_that_does_not_go_in_truly_has_no_place(made: Pocket) -> None:
    """A search over turns, each with its own program by a general solver, finds no more room."""
    found = place(UNIT, made)
    room = max(room_at(made, found.turn + turn) for turn in (0.0, -1e-3, 1e-3, -5e-3, 5e-3))
    assert room <= found.room + 1e-6
    # Its room is reached: at the turn with the most room, which need not be the turn of the smallest shims.
    assert found.goes_in or room_at(made, found.turn) == pytest.approx(found.room, abs=1e-5)


def room_at(made: Pocket, turn: float) -> float:
    limits = Limits()
    c, s = np.cos(turn), np.sin(turn)
    rows, ends = [], []

    def clear(ax: float, ay: float, k: float) -> None:
        """k + (ax, ay) shift >= room."""
        rows.append([-ax, -ay, 1.0])
        ends.append(k)

    for wall, at, off in zip(made.wall, made.at, made.off, strict=True):
        x, y = (at, off) if wall == B else (off, at)
        own_x, own_y = c * x + s * y, -s * x + c * y
        if wall == L:
            clear(1, 0, SHAPE.left - own_x)
        elif wall == B:
            clear(0, 1, SHAPE.back - own_y)
        else:
            clear(-1, 0, own_x - SHAPE.right)
    if np.isfinite(made.core_radius):
        x, y = c * made.core[0] + s * made.core[1], -s * made.core[0] + c * made.core[1]
        free = made.core_radius * np.cos(np.pi / 64) - SHAPE.drain - limits.drain_clearance
        for a in 2 * np.pi * np.arange(64) / 64:
            clear(-np.cos(a), -np.sin(a), free - np.cos(a) * (SHAPE.drain_x - x) - np.sin(a) * (SHAPE.drain_y - y))
    for end, front in zip((made.off[made.wall == L].mean(), made.off[made.wall == R].mean()), made.front, strict=True):
        if np.isfinite(front):
            y = -s * end + c * front
            clear(0, -1, limits.line_off + y - SHAPE.front)
            clear(0, 1, limits.line_off - y + SHAPE.front)
    answer = linprog([0, 0, -1], rows, ends, bounds=[(-1, 1)] * 3, method="highs")
    return float(-answer.fun)


@settings(max_examples=60, deadline=None)
@given(pockets())
def test_what_is_told_to_plane_lets_it_in(made: Pocket) -> None:
    found = place(UNIT, made)
    change = found.change
    if found.goes_in or change is None:
        return
    # A wall that is moved takes the end of the threshold's line with it.
    hair = 1e-4 if change.what == "wall" else 1e-5
    if change.what in ("stud", "wall"):
        after = place(UNIT, moved(made, [(i, much + hair) for i, much in change.faces]))
    elif change.what == "line":
        after = place(UNIT, made, Limits(line_off=Limits().line_off + change.most + hair))
    else:
        wider = made.core_radius + (change.most + hair) / np.cos(np.pi / 64)
        mean = made.mean.copy()
        mean[len(made) + 2] = wider
        after = place(
            UNIT,
            Pocket(
                made.wall, made.at, made.z, made.off, made.stud, made.core, wider, made.slab_x, made.slab_y, made.slab,
                made.front, mean, made.covariance,
            ),
        )  # fmt: skip
    assert after.goes_in
    if change.what in ("stud", "wall") and change.most > 1e-4:
        less = place(UNIT, moved(made, [(i, 0.98 * much - hair) for i, much in change.faces]))
        assert not less.goes_in, "a smaller change would have done"


def test_planing_everything_in_the_way_lets_it_in() -> None:
    made = with_noise(pocket(walls(-0.3, 0.2, 0.1)), np.random.default_rng(2))
    found = place(UNIT, made)
    faces = [face for change in found.planing for face in change.faces]
    assert not found.goes_in
    assert place(UNIT, moved(made, [(i, much + 1e-6) for i, much in faces])).goes_in


def test_a_drain_body_wider_than_its_core_asks_for_a_wider_one() -> None:
    narrow = pocket(walls(0.3, 0.3, 0.3), core=(30, 18, 2))
    found = place(UNIT, narrow)
    assert not found.goes_in and found.change is not None
    assert found.change.what == "core"
    need = UNIT.drain.body_diameter / 2 + Limits().drain_clearance
    assert found.change.most == pytest.approx(need - 2 * INCH * np.cos(np.pi / 64), abs=1e-6)


def test_the_uncertainty_follows_the_faces_that_hold_the_unit() -> None:
    rng = np.random.default_rng(8)
    made = with_noise(pocket(walls(0.5, 0.3, 0.25), core=(30.0, 18.0, 3.0), front=(0.0, 0.0), u=1e-5), rng)
    found = place(UNIT, made)
    drawn = [
        place(UNIT, with_off(made, made.off + rng.normal(size=len(made)) * 1e-5 * INCH)).largest for _ in range(300)
    ]
    assert found.u_largest == pytest.approx(float(np.std(drawn)), rel=0.2)


def test_heights_follow_the_sheet_and_the_slab() -> None:
    thick = UNIT.floor.thickness / INCH
    spots = [(10, 10, -1.5), (50, 10, -1.5), (30, 18, -3.0), (10, 30, -0.2)]
    found = place(UNIT, pocket(walls(0.3, 0.3, 0.3), core=(30, 18, 3), slab=spots)).heights
    assert list(found.spot) == [0, 1, 3], "the recess is no part of the bed"
    assert found.drain == pytest.approx(found.rise - 0.5 * INCH - 0.5 * INCH)
    assert found.grind[2] > 0 and not found.grind[:2].any() and not found.fill.any()
    below = found.drain / INCH - UNIT.drain.body_depth / INCH
    assert below + 0.5 <= found.cut / INCH <= below + 1
    assert found.cut_within / INCH == pytest.approx(0.25)
    assert found.under[0] / INCH == pytest.approx(found.drain / INCH + rise_over_drain(10, 10) - thick + 1.5, abs=1e-6)


def rise_over_drain(x: float, y: float) -> float:
    """Of a level rim of 1/2 in round a drain at 30, 18 in a floor of 60 x 36."""
    return 0.5 * max(abs(x - 30) / 30, abs(y - 18) / 18)


def test_the_unit_is_lifted_no_more_than_the_bed_needs() -> None:
    spots = [(10, 10, -0.95), (50, 30, -1.0)]
    high = place(UNIT, pocket(walls(0.3, 0.3, 0.3), slab=[(x, y, z + 0.9) for x, y, z in spots])).heights
    assert high.rise - high.rise_asked == pytest.approx(Limits().rise_off)
    assert high.grind.max() > 0
    low = place(UNIT, pocket(walls(0.3, 0.3, 0.3), slab=[(x, y, -1.6) for x, y, _ in spots])).heights
    assert low.rise == low.rise_asked and not low.grind.any() and not low.fill.any()


def test_a_sheet_without_a_lip_tells_no_cut() -> None:
    unit = UNIT.model_copy(update={"threshold_lip": None})
    found = place(unit, pocket(walls(0.3, 0.3, 0.3), slab=[(10, 10, -1.5)])).heights
    assert np.isnan(found.cut) and np.isnan(found.drain) and not len(found.spot)


@pytest.mark.parametrize(
    ("spoil", "message"),
    [
        (lambda faces: [face for face in faces if face[0] != R], "right wall"),
        (lambda faces: [face for face in faces if face[1] == 2], "second stud"),
    ],
)
def test_a_survey_that_leaves_it_free_is_refused(spoil: Callable[[Any], Any], message: str) -> None:
    with pytest.raises(StageError, match=message):
        place(UNIT, pocket(spoil(walls(0.3, 0.3, 0.3))))


def test_faces_above_the_unit_or_before_it_hold_nothing() -> None:
    beyond = [(L, 60.0, 40.0, -3.0), (R, 10.0, 100.0, -3.0)]
    made = pocket([*walls(0.3, 0.3, 0.3), *beyond])
    found = place(UNIT, made)
    assert found.goes_in
    assert {shim.index for shim in found.shims} == set(range(27))


def test_the_outline_of_a_deep_unit_has_its_front_at_the_sheets_depth() -> None:
    shape = outline(UNIT)
    assert shape.front - shape.back == pytest.approx(UNIT.outside_depth)
    assert shape.right - shape.left == pytest.approx(UNIT.outside_width)
