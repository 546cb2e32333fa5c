"""The survey of a pocket adjusted: what any subset tells, which reading is wrong, and which to take next."""

from __future__ import annotations

import job_texts
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.job import Measure, What
from drainward.pocket.adjust import Adjusted, adjust, sift
from drainward.pocket.ask import place_words
from drainward.pocket.equations import Network
from drainward.pocket.faces import FRAMED, nominal
from drainward.pocket.network import critical_value, least_squares
from drainward.pocket.place import place
from drainward.pocket.shape import Pocket, Wall

INCH = 0.0254
UNIT = job_texts.unit_models()["alcove"]
WIDE, DEEP = 61.75, 37.6
LEVELS = (2.0, 40.0, 78.0)


def measure(what: What, inches: float, u: float = 1 / 32, line: int = 0, **place: object) -> Measure:
    """All in inches."""
    where = {key: value * INCH if isinstance(value, float) else value for key, value in place.items()}
    return Measure(
        id=f"{what}-{line}", room="1", what=what, value=inches * INCH, u=u * INCH, line=line, **where
    )  # fmt: skip


def square_survey() -> list[Measure]:
    """21 readings of a plumb and square pocket."""
    found: list[Measure] = []
    for z in LEVELS:
        found += [measure(What.WIDTH, WIDE, line=len(found) + k, y=y, z=z) for k, y in enumerate((2.0, 18.0, 35.0))]
        found += [measure(What.DEPTH, DEEP, line=len(found) + k, x=x, z=z) for k, x in enumerate((2.0, 59.0))]
        across = float(np.hypot(WIDE, DEEP))
        found += [
            measure(What.DIAGONAL, across, line=len(found) + k, wall=w, z=z) for k, w in enumerate(("left", "right"))
        ]
    return found


def off(pocket: Pocket, wall: Wall) -> np.ndarray:
    return pocket.off[pocket.wall == wall] / INCH


def u_of(pocket: Pocket, wall: Wall, z: float) -> float:
    """The largest standard uncertainty of a wall's faces near a height, in."""
    near = (pocket.wall == wall) & (np.abs(pocket.z / INCH - z) < 12)
    return float(np.sqrt(np.diag(pocket.covariance)[: len(pocket)][near].max()) / INCH)


def test_no_measure_at_all_gives_a_nominal_pocket_that_proves_nothing() -> None:
    found = adjust(UNIT, ())
    assert np.allclose(off(found.pocket, Wall.LEFT), 0)
    assert np.allclose(off(found.pocket, Wall.RIGHT), 61.5)
    assert u_of(found.pocket, Wall.RIGHT, 2) > 0.9
    assert np.isnan(found.pocket.core).all() and np.isnan(found.pocket.front).all()
    assert np.isnan(found.pocket.core_radius) and len(found.pocket.slab) == 0
    assert found.asked is not None and found.asked.what is What.WIDTH
    assert 0.05 < found.asked.goes_in < 0.95


def test_a_square_pocket_comes_out_square_and_the_frame_is_kept() -> None:
    found = adjust(UNIT, square_survey())
    pocket = found.pocket
    assert np.allclose(off(pocket, Wall.RIGHT) - off(pocket, Wall.LEFT).mean(), WIDE, atol=0.02)
    assert np.allclose(pocket.front / INCH, DEEP, atol=0.02)
    assert (found.blunders, found.refused) == ((), ())
    assert found.misfit < 5
    assert np.linalg.eigvalsh(pocket.covariance).min() > -1e-12
    place(UNIT, pocket)


def test_each_measure_makes_its_own_place_surer() -> None:
    low = adjust(UNIT, [measure(What.WIDTH, 61.9, y=18.0, z=2.0)]).pocket
    assert np.allclose(off(low, Wall.RIGHT), 61.9, atol=0.05)
    # It says nothing of how the walls lean, and that is kept.
    assert 1.2 * u_of(low, Wall.RIGHT, 2) < u_of(low, Wall.RIGHT, 78)


@pytest.mark.parametrize(("wall", "sign"), [("left", 1), ("right", -1), ("back", 1)])
def test_a_wall_out_of_plumb_leans_into_the_pocket(wall: str, sign: int) -> None:
    along = {"x": 30.0} if wall == "back" else {"y": 30.0}
    pocket = adjust(UNIT, [measure(What.PLUMB, 0.5, wall=wall, z=78.0, **along)]).pocket
    mine = pocket.wall == Wall[wall.upper()]
    top, foot = pocket.off[mine & (pocket.z > 1.5)], pocket.off[mine & (pocket.z < 0.1)]
    assert sign * (top - foot).mean() / INCH == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize(("wall", "sign"), [("left", -1), ("right", 1)])
def test_an_open_corner_leads_the_wall_outward(wall: str, sign: int) -> None:
    pocket = adjust(UNIT, [measure(What.SQUARE, 0.25, u=0.01, wall=wall, y=24.0)]).pocket
    mine = (pocket.wall == Wall[wall.upper()]) & (pocket.z < 0.1)
    slope = np.polyfit(pocket.at[mine], pocket.off[mine], 1)[0]
    assert sign * slope * 24 == pytest.approx(0.25, abs=0.1)


@pytest.mark.parametrize("longer", ["left", "right"])
def test_unequal_diagonals_skew_the_pocket(longer: str) -> None:
    """From the back left to the front right is longer where the front has slid to the right."""
    across = {"left": 72.0, "right": 72.6} if longer == "right" else {"left": 72.6, "right": 72.0}
    sides = [measure(What.WIDTH, WIDE, y=y, z=2.0) for y in (2.0, 35.0)]
    sides += [measure(What.DEPTH, DEEP, x=x, z=2.0) for x in (2.0, 59.0)]
    found = adjust(UNIT, [*sides, *(measure(What.DIAGONAL, across[w], wall=w, z=2.0) for w in across)])
    pocket = found.pocket
    mine = (pocket.wall == Wall.LEFT) & (pocket.z < 0.1)
    skew = np.polyfit(pocket.at[mine], pocket.off[mine], 1)[0] * DEEP
    # Closed form: d1^2 - d2^2 = 4 width times the slide of the front.
    slide = (across["left"] ** 2 - across["right"] ** 2) / (4 * WIDE)
    assert skew == pytest.approx(slide, abs=0.1)
    assert found.blunders == ()


def test_core_slab_front_and_sizes() -> None:
    seen = [
        measure(What.CORE, 6.0),
        measure(What.CORE_FROM_LEFT, 30.5),
        measure(What.CORE_FROM_BACK, 19.0),
        measure(What.DEPTH, DEEP, x=2.0, z=2.0),
        measure(What.DEPTH, DEEP + 0.25, x=59.0, z=2.0),
        measure(What.BUILD_UP, 0.5, u=1 / 16),
        measure(What.CEILING, 96.0),
        measure(What.CEILING, 96.0625),
        measure(What.SLAB, -41.0, setup="a", x=10.0, y=10.0),
        measure(What.SLAB, -41.5, setup="a", x=50.0, y=10.0),
        measure(What.SLAB, -41.0, setup="a", x=30.0, y=44.0),
    ]
    found = adjust(UNIT, seen)
    pocket = found.pocket
    assert pocket.core / INCH == pytest.approx([30.5, 19.0], abs=0.05)
    assert pocket.core_radius / INCH == pytest.approx(3.0, abs=0.01)
    assert (pocket.front[1] - pocket.front[0]) / INCH == pytest.approx(0.27, abs=0.06)
    # The slab outside lies the build-up below the finished floor, and the recess is read against it.
    assert pocket.slab / INCH == pytest.approx([-0.5, -1.0, -0.5], abs=0.15)
    assert pocket.slab[0] - pocket.slab[1] == pytest.approx(0.5 * INCH, abs=0.1 * INCH)
    value, u = found.sizes[What.CEILING]
    assert (value / INCH, u / INCH) == pytest.approx((96.03125, 1 / 32 / np.sqrt(2)), abs=1e-3)
    assert set(found.sizes) == {What.CEILING, What.BUILD_UP}


def test_a_slab_that_nothing_ties_to_the_finished_floor_is_unsure() -> None:
    untied = adjust(UNIT, [measure(What.SLAB, -41.0, setup="a", x=10.0, y=10.0)]).pocket
    u = float(np.sqrt(untied.covariance[len(untied) + 3, len(untied) + 3])) / INCH
    assert u > 1.5


def test_studs_stand_where_they_were_measured_and_at_16_in_elsewhere() -> None:
    seen = [measure(What.STUD, at, wall="back") for at in (0.75, 15.25, 15.5, 31.0)]
    pocket = adjust(UNIT, seen).pocket
    back = sorted(set(np.round(pocket.at[pocket.wall == Wall.BACK] / INCH, 3)))
    assert back == pytest.approx([0.75, 15.25, 31.0, 48.0, 60.75])
    left = sorted(set(np.round(pocket.at[pocket.wall == Wall.LEFT] / INCH, 3)))
    assert left == pytest.approx([0.75, 16.0, 32.0, 36.75])
    assert pocket.stud[pocket.wall == Wall.BACK].max() == 4
    assert sorted(set(np.round(pocket.z / INCH, 3))) == pytest.approx([2, 40, 78])


def test_heights_are_those_of_the_survey() -> None:
    pocket = adjust(UNIT, [measure(What.WIDTH, WIDE, y=2.0, z=z) for z in (6.0, 36.0, 75.0)]).pocket
    assert sorted(set(np.round(pocket.z / INCH, 3))) == pytest.approx([6, 36, 75])


@pytest.mark.parametrize("wrong", range(21))
def test_each_wrong_reading_is_named_and_left_out(wrong: int) -> None:
    seen = square_survey()
    seen[wrong] = seen[wrong].model_copy(update={"value": seen[wrong].value + INCH})
    found = adjust(UNIT, seen)
    (blunder,) = found.blunders
    assert (blunder.measure, blunder.rivals) == (seen[wrong], ())
    assert blunder.off / INCH == pytest.approx(1.0, abs=0.05)
    assert blunder.expected == pytest.approx(seen[wrong].value - blunder.off)
    assert 0 < blunder.u < INCH / 4
    assert len(found.residuals) == 20
    right = off(found.pocket, Wall.RIGHT) - off(found.pocket, Wall.LEFT).mean()
    assert np.allclose(right, WIDE, atol=0.05)
    assert found.asked is not None and found.asked.what is seen[wrong].what and "once more" in found.asked.why


def test_two_that_contradict_each_other_and_nothing_else_cannot_be_told_apart() -> None:
    found = adjust(UNIT, [measure(What.CORE, 6.0, line=2), measure(What.CORE, 5.0, line=3)])
    assert len(found.blunders[0].rivals) == 1
    assert np.isnan(found.pocket.core_radius), "neither is used"
    more = [measure(What.WIDTH, WIDE, line=4 + k, y=y, z=2.0) for k, y in enumerate((2.0, 10.0, 18.0, 26.0, 35.0))]
    (blunder,) = adjust(UNIT, [measure(What.CORE, 6.0, line=2), measure(What.CORE, 5.0, line=3), *more]).blunders
    assert {blunder.measure.line, *(rival.line for rival in blunder.rivals)} == {2, 3}
    third = adjust(UNIT, [*(measure(What.CORE, d, line=k) for k, d in enumerate((6.0, 5.0, 6.0))), *more])
    assert [b.measure.line for b in third.blunders] == [1], "a third reading tells which"


def test_a_slip_of_metres_is_told_as_plainly() -> None:
    """Far from the truth the diagonals are not linear; what is expected does not suffer by it."""
    seen = square_survey()
    seen[3] = seen[3].model_copy(update={"value": seen[3].value + 3.0})
    (blunder,) = adjust(UNIT, seen).blunders
    assert blunder.measure is seen[3]
    assert blunder.expected / INCH == pytest.approx(DEEP, abs=0.05)


@pytest.mark.parametrize("inches", [58.5, 59.0, 65.0, 100.0])
def test_a_lone_size_far_from_the_units_is_asked_again_and_nothing_is_named(inches: float) -> None:
    lone = measure(What.WIDTH, inches, y=2.0, z=2.0)
    found = adjust(UNIT, [lone])
    assert found.blunders == ()
    assert found.asked is not None and (found.asked.what, found.asked.y, found.asked.z) == (lone.what, lone.y, lone.z)
    assert "nothing else checks it" in found.asked.why
    again = adjust(UNIT, [lone, measure(What.WIDTH, inches, line=1, y=2.0, z=2.0)])
    assert again.blunders == () and (again.asked is None or "checks" not in again.asked.why)
    assert np.allclose(off(again.pocket, Wall.RIGHT) - off(again.pocket, Wall.LEFT), inches, atol=0.1)


def test_two_sizes_that_differ_and_nothing_else_are_rivals() -> None:
    found = adjust(UNIT, [measure(What.WIDTH, d, line=k, y=2.0, z=2.0) for k, d in enumerate((59.0, 61.75))])
    assert [len(blunder.rivals) for blunder in found.blunders] == [1]


def proud(by: float, heights: tuple[float, ...]) -> list[Measure]:
    """The square survey, in which the widths at the stud in the middle are all shorter by so much, and only those."""
    kept = [m for m in square_survey() if m.what is not What.WIDTH or m.y != 18.0 * INCH]
    return [*kept, *(measure(What.WIDTH, WIDE - by, line=100 + k, y=18.0, z=z) for k, z in enumerate(heights))]


@pytest.mark.parametrize("by", [0.375, 0.5, 0.625, 0.75])
@pytest.mark.parametrize("heights", [(2.0, 78.0), (2.0, 40.0, 78.0)])
def test_a_stud_that_stands_proud_at_two_heights_is_believed(by: float, heights: tuple[float, ...]) -> None:
    found = adjust(UNIT, proud(by, heights))
    assert found.blunders == ()
    there = np.abs(found.pocket.at / INCH - 16) < 3
    wide = off(found.pocket, Wall.RIGHT)[there[found.pocket.wall == Wall.RIGHT]].mean()
    wide -= off(found.pocket, Wall.LEFT)[there[found.pocket.wall == Wall.LEFT]].mean()
    assert wide == pytest.approx(WIDE - by, abs=0.06)


def test_one_lone_reading_of_a_proud_stud_is_not_proven_either_way() -> None:
    found = adjust(UNIT, proud(0.75, (40.0,)))
    (blunder,) = found.blunders
    assert blunder.measure.line == 100 and blunder.rivals == ()
    assert blunder.stud is not None and blunder.stud.number == 1 and blunder.stud.wall is not Wall.BACK
    assert found.asked is not None and "stud 2 of the" in found.asked.why and found.asked.z == 40.0 * INCH
    # Both ways count in the belief: the width there is either short or it is not.
    drawn = found.pocket.draw(2000, 0)[:, : len(found.pocket)] / INCH
    face = [
        int(np.argmin(np.where(found.pocket.wall == wall, np.hypot(found.pocket.at - 0.406, found.pocket.z - 1.0), 9)))
        for wall in (Wall.RIGHT, Wall.LEFT)
    ]
    short = drawn[:, face[0]] - drawn[:, face[1]] < WIDE - 0.375
    assert 0.1 < short.mean() < 0.9
    # The deciding reading: the same again.
    again = measure(What.WIDTH, WIDE - 0.75, line=200, y=18.0, z=78.0)
    assert adjust(UNIT, [*proud(0.75, (40.0,)), again]).blunders == ()
    other = measure(What.WIDTH, WIDE, line=200, y=18.0, z=40.0)
    last = adjust(UNIT, [*proud(0.75, (40.0,)), other]).blunders
    assert {m.line for blunder in last for m in (blunder.measure, *blunder.rivals)} >= {100}


def test_the_survey_itself_tells_how_rough_the_framing_is() -> None:
    straight, rough = (
        [m.model_copy(update={"value": m.value + by * INCH * error}) for m, error in zip(seen, errors, strict=True)]
        for seen, errors in [(square_survey(), np.random.default_rng(4).standard_normal(21))]
        for by in (0.02, 0.15)
    )
    u = [u_of(adjust(UNIT, seen).pocket, Wall.LEFT, 40) for seen in (straight, rough)]
    assert u[1] > 1.5 * u[0]


def test_two_wrong_readings_are_both_named_and_no_good_one_with_them() -> None:
    """In ten pairs, each wrong the other way."""
    for first in range(0, 20, 2):
        second = (first + 7) % 21
        seen = square_survey()
        for k, by in ((first, INCH), (second, -INCH)):
            seen[k] = seen[k].model_copy(update={"value": seen[k].value + by})
        found = sift(UNIT, seen)
        named = [m for blunder in found.blunders for m in (blunder.measure, *blunder.rivals)]
        assert sorted(m.line or 0 for m in named) == sorted(seen[k].line or 0 for k in (first, second))
        assert len(found.aside) == 2


def test_half_of_the_readings_are_never_set_aside() -> None:
    rng = np.random.default_rng(3)
    seen = [m.model_copy(update={"value": m.value + rng.uniform(-0.1, 0.1)}) for m in square_survey()]
    found = sift(UNIT, seen)
    assert 0 < sum(1 + len(blunder.rivals) for blunder in found.blunders) <= 10


def test_a_reading_that_nothing_checks_has_no_redundancy() -> None:
    found = adjust(UNIT, [measure(What.CEILING, 96.0), *square_survey()])
    assert found.residuals[0].redundancy < 1e-3
    assert min(residual.redundancy for residual in found.residuals[1:]) > 0.02


def test_a_bow_read_twice_is_believed() -> None:
    """Two readings that bear each other out are the wall, not a slip."""
    bowed = [measure(What.WIDTH, WIDE - 0.6, line=100 + k, y=18.0, z=40.0) for k in range(2)]
    seen = [m for m in square_survey() if not (m.what is What.WIDTH and m.y == 18.0 * INCH and m.z == 40.0 * INCH)]
    found = sift(UNIT, [*seen, *bowed])
    assert {blunder.measure.line for blunder in found.blunders}.isdisjoint({100, 101})


def test_what_lies_outside_the_pocket_is_refused() -> None:
    bad = [measure(What.WIDTH, WIDE, y=50.0, z=2.0), measure(What.STUD, 80.0, wall="back")]
    found = adjust(UNIT, bad)
    assert [refused.why for refused in found.refused] == ["lies before the opening", "lies beyond the right wall"]
    assert found.residuals == ()


def test_what_is_asked_settles_the_doubt() -> None:
    """Taking each asked reading of a good pocket ends in a yes within few of them."""
    truth = {What.WIDTH: 62.0, What.DEPTH: 37.5, What.PLUMB: 0.0, What.CORE: 6.0, What.CORE_FROM_LEFT: 31.0}
    truth |= {What.DIAGONAL: float(np.hypot(62.0, 37.5)), What.CORE_FROM_BACK: 18.2}
    seen: list[Measure] = []
    asked: list[What] = []
    found: Adjusted = adjust(UNIT, seen)
    while found.asked is not None and found.asked.goes_in < 0.95 and len(seen) < 10:
        ask = found.asked
        place = {"x": ask.x, "y": ask.y, "z": ask.z}
        seen.append(
            Measure(id=str(len(seen)), room="1", what=ask.what, wall=ask.wall, value=truth[ask.what] * INCH,
                    u=INCH / 32, **place)
        )  # fmt: skip
        asked.append(ask.what)
        found = adjust(UNIT, seen)
    assert len(seen) <= 6
    assert What.WIDTH in asked
    assert found.asked is not None and found.asked.what is What.CORE_FROM_LEFT, "nobody measured the core yet"


def test_a_pocket_that_cannot_take_the_unit_asks_nothing() -> None:
    narrow = [measure(What.WIDTH, 60.0, y=y, z=z) for z in LEVELS for y in (2.0, 18.0, 35.0)]
    assert adjust(UNIT, narrow).asked is None


def test_place_words() -> None:
    assert place_words(measure(What.WIDTH, 60.0, y=34.0, z=78.0)) == 'width, 34" from the back, 78" up'
    assert place_words(measure(What.PLUMB, 0.1, wall="left", y=34.0, z=72.0)) == (
        'plumb of the left wall, 34" from the back, 72" up'
    )
    assert place_words(measure(What.DIAGONAL, 72.0, wall="left", z=2.0)) == 'diagonal from the back left, 2" up'


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(range(21)), unique=True), st.integers(0, 99))
def test_any_subset_gives_a_pocket_and_more_measures_never_make_it_less_sure(chosen: list[int], seed: int) -> None:
    rng = np.random.default_rng(seed)
    seen = [square_survey()[k] for k in chosen]
    seen = [m.model_copy(update={"value": m.value + m.u * rng.standard_normal()}) for m in seen]
    places = sift(UNIT, ()).weighed.network.places
    few, more = (Network(UNIT, part, places).fit(FRAMED[0]) for part in (seen[:-1], seen))
    # The faces that a unit may meet come first.
    lost = np.diag(more.covariance)[: len(places)] - np.diag(few.covariance)[: len(places)]
    # A diagonal is linear only round where the pocket is believed to be.
    assert lost.max() < (1e-12 if all(m.what is not What.DIAGONAL for m in seen) else (INCH / 32) ** 2)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_the_adjustment_is_the_least_of_all_squares(seed: int) -> None:
    """No other unknowns fit better: the same minimum by a general optimiser."""
    from scipy.optimize import least_squares as optimise

    rng = np.random.default_rng(seed)
    a, truth = rng.standard_normal((6, 3)), rng.standard_normal(3)
    value, u = a @ truth + 0.1 * rng.standard_normal(6), rng.uniform(0.05, 0.2, 6)
    mean, covariance = np.zeros(3), 4 * np.eye(3)
    fit = least_squares(value, u, lambda x: (a @ x, a), mean, covariance)
    other = optimise(lambda x: np.concatenate([(a @ x - value) / u, x / 2]), np.zeros(3))
    assert fit.mean == pytest.approx(other.x, abs=1e-6)
    assert fit.misfit == pytest.approx(2 * other.cost, rel=1e-6)
    assert fit.residual == pytest.approx(value - a @ fit.mean)
    # What the others let expect: leave the reading out and look.
    k = int(rng.integers(6))
    rest = np.arange(6) != k
    without = least_squares(value[rest], u[rest], lambda x: (a[rest] @ x, a[rest]), mean, covariance)
    assert value[k] - fit.blunder[k] == pytest.approx(float(a[k] @ without.mean))
    u_without = np.sqrt(a[k] @ without.covariance @ a[k] + u[k] ** 2)
    assert fit.u_blunder[k] == pytest.approx(float(u_without))
    assert fit.normalised[k] == pytest.approx(fit.blunder[k] / fit.u_blunder[k])


def test_the_critical_value_grows_with_the_number_of_readings() -> None:
    assert critical_value(1) == pytest.approx(1.96, abs=0.001)
    assert critical_value(20) == pytest.approx(3.023, abs=0.001)
    assert nominal(UNIT).width == pytest.approx(61.5 * INCH)
