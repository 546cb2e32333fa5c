"""Local defects: their shapes by formula, a dictionary spread evenly, and moves that keep a distribution."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.belief.defects import FORMS, RIDGE, SPOT, STEP, Shapes, dictionary, nudge

seeds = st.integers(0, 2**32 - 1)
SHAPES, SHARE = dictionary(WIDTH, DEPTH)
MARGIN = 1.5 * INCH


def is_round(form: int) -> bool:
    """Whether a form's bounds on `along` are multiples of `across` and not metres."""
    return form != STEP and FORMS[form].along[0] == 1.0


def one(form: int, angle: float = 0.0, along: float = 0.1, across: float = 0.05) -> Shapes:
    return Shapes(np.array(form), *(np.array(v) for v in (0.6, 0.4, angle, along, across)))


def at(shape: Shapes, along: float, across: float) -> float:
    """Value at a place given along and across the shape's own axes, m."""
    c, s = np.cos(shape.angle), np.sin(shape.angle)
    return float(shape.at(shape.x + along * c - across * s, shape.y + along * s + across * c))


@given(st.sampled_from([SPOT, RIDGE]), st.floats(0, 3.2), st.floats(-0.3, 0.3), st.floats(-0.2, 0.2))
def test_bells_have_unit_height_and_their_half_widths_along_their_axes(
    form: int, angle: float, along: float, across: float
) -> None:
    shape = one(form, angle)
    assert at(shape, 0, 0) == pytest.approx(1.0)
    assert at(shape, 0.1, 0) == pytest.approx(np.exp(-0.5)) == at(shape, 0, -0.05)
    assert at(shape, along, across) == pytest.approx(np.exp(-0.5 * (along**2 / 0.01 + across**2 / 0.0025)))


@given(st.floats(0, 3.2), st.floats(-0.5, 0.5), st.floats(-0.2, 0.2))
def test_a_step_rises_by_one_across_its_line_and_is_level_along_it(angle: float, along: float, across: float) -> None:
    shape = one(STEP, angle, along=1.0, across=0.02)
    assert at(shape, along, 0.0) == pytest.approx(0.0, abs=1e-9)
    assert at(shape, along, 0.5) == pytest.approx(0.5) == -at(shape, along, -0.5)
    assert at(shape, along, across) == pytest.approx(-at(shape, 0.0, -across), abs=1e-9)
    higher = at(shape, 0.0, across + 0.001) - at(shape, 0.0, across)
    assert -1e-12 <= higher <= 0.05


def test_lists_mix_forms_and_each_keeps_its_own() -> None:
    index = np.array([np.flatnonzero(SHAPES.form == form)[0] for form in (SPOT, RIDGE, STEP)])
    some = SHAPES[index]
    assert some.form.tolist() == [SPOT, RIDGE, STEP]
    px, py = np.linspace(0, WIDTH, 7)[:, None], np.linspace(0, DEPTH, 7)[:, None]
    together = some.at(px, py)
    for k in range(3):
        np.testing.assert_allclose(together[:, k], some[k].at(px[:, 0], py[:, 0]))
    some.put(np.array([0]), SHAPES[index[1:2]])
    assert some.form.tolist() == [RIDGE, RIDGE, STEP]
    assert SHAPES.form[0] == SPOT, "a list picked by index is a copy"


def test_the_dictionary_has_the_shares_and_bounds_that_it_states() -> None:
    assert SHARE.sum() == pytest.approx(1.0)
    assert sum(bounds.share for bounds in FORMS) == pytest.approx(1.0)
    for form, bounds in enumerate(FORMS):
        mine = SHAPES[SHAPES.form == form]
        assert SHARE[SHAPES.form == form].sum() == pytest.approx(bounds.share)
        assert mine.across.min() >= bounds.across[0] and mine.across.max() <= bounds.across[1]
        stretch = mine.along / mine.across if is_round(form) else mine.along
        assert stretch.min() >= bounds.along[0] and stretch.max() <= bounds.along[1]


@pytest.mark.parametrize("form", [SPOT, RIDGE])
def test_bells_are_spread_more_evenly_than_chance_would(form: int) -> None:
    mine = SHAPES[SHAPES.form == form]
    cells = np.stack([(mine.x + MARGIN) / (WIDTH + 2 * MARGIN) * 6, (mine.y + MARGIN) / (DEPTH + 2 * MARGIN) * 4])
    counts = np.bincount(np.ravel_multi_index(tuple(cells.astype(int)), (6, 4)), minlength=24)
    expected = len(mine.x) / 24
    assert counts.var() < 0.25 * expected, "a throw of dice has variance equal to its mean"


def test_steps_cross_the_floor_in_every_direction() -> None:
    mine = SHAPES[SHAPES.form == STEP]
    gx, gy = np.meshgrid(np.linspace(0, WIDTH, 21), np.linspace(0, DEPTH, 15))
    values = mine[:, None].at(gx.ravel(), gy.ravel())
    rises = np.ptp(values, axis=1)
    assert (rises > 0.9).mean() > 0.9
    assert (rises > 0.25).all()
    counts = np.bincount((mine.angle / np.pi * 8).astype(int), minlength=8)
    assert counts.min() > 0.9 * len(mine.x) / 8


def legal(shapes: Shapes) -> np.ndarray:
    good = (np.abs(shapes.x - WIDTH / 2) <= WIDTH / 2 + MARGIN) & (np.abs(shapes.y - DEPTH / 2) <= DEPTH / 2 + MARGIN)
    for form, bounds in enumerate(FORMS):
        stretch = shapes.along / shapes.across if is_round(form) else shapes.along
        within = (shapes.across >= bounds.across[0]) & (shapes.across <= bounds.across[1])
        if form != STEP:
            within &= (stretch >= bounds.along[0] - 1e-12) & (stretch <= bounds.along[1] + 1e-12)
        good &= (shapes.form != form) | within
    return good


@given(seeds)
def test_a_nudge_keeps_the_form_and_tells_what_lies_within_the_bounds(seed: int) -> None:
    new, told = nudge(SHAPES, WIDTH, DEPTH, np.random.default_rng(seed))
    np.testing.assert_array_equal(new.form, SHAPES.form)
    np.testing.assert_array_equal(told, legal(new))
    assert 0.3 < told.mean() < 0.95
    assert ((new.x != SHAPES.x) | (new.across != SHAPES.across)).mean() > 0.8


def chain(form: int, steps: int, tight: float, count: int = 10_000) -> np.ndarray:
    """Share of the log range of `across` after Metropolis steps whose target is uniform in size and direction.

    The place is known to `tight` (m, standard deviation); the chain starts in its target.
    """
    rng = np.random.default_rng(1)
    low, high = FORMS[form].across
    spread = rng.random((3, count))
    across = low * (high / low) ** spread[0]
    along = {
        SPOT: across * FORMS[SPOT].along[1] ** spread[1],
        RIDGE: FORMS[RIDGE].along[0] * (FORMS[RIDGE].along[1] / FORMS[RIDGE].along[0]) ** spread[1],
        STEP: np.ones(count),
    }[form]
    place = tight * rng.standard_normal((2, count))
    state = Shapes(np.full(count, form), WIDTH / 2 + place[0], DEPTH / 2 + place[1], np.pi * spread[2], along, across)

    def log_target(s: Shapes) -> np.ndarray:
        return -0.5 * ((s.x - WIDTH / 2) ** 2 + (s.y - DEPTH / 2) ** 2) / tight**2

    for _ in range(steps):
        new, within = nudge(state, WIDTH, DEPTH, rng)
        take = np.flatnonzero(within & (np.log(rng.random(count)) < log_target(new) - log_target(state)))
        state.put(take, new[take])
    np.testing.assert_allclose([state.x.std(), state.y.std()], tight, rtol=0.04)
    return np.log(state.across / low) / np.log(high / low)


@pytest.mark.parametrize("form", [SPOT, RIDGE, STEP])
def test_a_few_metropolis_moves_keep_sizes_uniform_where_the_place_is_known(form: int) -> None:
    share = chain(form, 8, 0.3 * INCH)
    assert share.mean() == pytest.approx(0.5, abs=0.02)
    assert share.std() == pytest.approx(12**-0.5, abs=0.01)


def test_many_metropolis_moves_keep_sizes_uniform_where_the_place_is_known() -> None:
    """A step as long as the size that it changes would drift to the large ones: it did, to a mean share of 0.58."""
    assert chain(SPOT, 200, 0.3 * INCH).mean() == pytest.approx(0.5, abs=0.012)
