"""How water comes onto a floor: all of it, where it is meant to, within reach."""

from __future__ import annotations

import numpy as np
import pytest
from film_cases import INCH
from hypothesis import given
from hypothesis import strategies as st

from drainward.errors import StageError
from drainward.floor.film.flow import Basin
from drainward.floor.film.pour import REACH, pour_of, rain
from drainward.floor.film.result import Pour
from drainward.job.model import Job, Pattern, WaterTest

FLOW = 1.5e-4
PATTERNS = st.sampled_from(list(Pattern))


def grid(step: float = INCH, width: float = 60.0, depth: float = 36.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    x, y = (np.arange(round(size * INCH / step) + 1) * step for size in (width, depth))
    flat = np.zeros((len(y), len(x)))
    return x, y, Basin(flat, step, step, flat > 0, None).area


@given(PATTERNS, st.floats(0, 60), st.floats(0, 36), st.sampled_from([INCH / 4, INCH / 2, INCH]))
def test_all_of_the_flow_falls_on_the_floor_within_reach(how: Pattern, px: float, py: float, step: float) -> None:
    x, y, area = grid(step)
    pour = Pour(how, 1e-3, 60.0, px * INCH, py * INCH)
    rate = rain(pour, FLOW, x, y, area)
    assert rate.shape == area.shape and (rate >= 0).all()
    assert (rate * area).sum() == pytest.approx(FLOW)
    if how is Pattern.OVER_THE_FLOOR:
        assert rate.max() == rate.min()
    else:
        off = np.hypot(x[None, :] - px * INCH, y[:, None] - py * INCH)
        assert not rate[off > REACH[how]].any()
        assert (rate[off < 0.9 * REACH[how]] > 0).all()


@pytest.mark.parametrize("how", [Pattern.AT_A_POINT, Pattern.SHOWER])
def test_without_a_place_it_falls_in_the_middle(how: Pattern) -> None:
    x, y, area = grid()
    rate = rain(Pour(how, 1e-3, 60.0), FLOW, x, y, area)
    np.testing.assert_allclose(rate, rate[::-1, ::-1], atol=1e-12)
    assert np.unravel_index(rate.argmax(), rate.shape) == (18, 30)
    np.testing.assert_array_equal(rain(Pour(how, 1e-3, 60.0, 30 * INCH, 18 * INCH), FLOW, x, y, area), rate)


def test_a_bucket_is_narrower_than_a_head() -> None:
    x, y, area = grid()
    bucket, head = (rain(Pour(how, 1e-3, 60.0), FLOW, x, y, area) for how in (Pattern.AT_A_POINT, Pattern.SHOWER))
    assert (bucket > 0).sum() < (head > 0).sum() / 3
    assert bucket.max() > 3 * head.max()


@pytest.mark.parametrize("place", [(-0.01, 0.3), (0.5, -0.01), (60.1 * INCH, 0.3), (0.5, 36.1 * INCH)])
def test_refuses_to_pour_beside_the_floor(place: tuple[float, float]) -> None:
    x, y, area = grid()
    with pytest.raises(StageError, match="the water is poured beside the floor"):
        rain(Pour(Pattern.AT_A_POINT, 1e-3, 60.0, *place), FLOW, x, y, area)


def test_over_the_floor_names_no_place() -> None:
    x, y, area = grid()
    assert rain(Pour(Pattern.OVER_THE_FLOOR, 1e-3, 60.0, -9.0, -9.0), FLOW, x, y, area).min() > 0


def test_the_recorded_pour_stands_over_the_job_s() -> None:
    job = Job(name="made up")
    assert pour_of(job, None) == Pour(job.water.how, job.water.poured, job.water.over)
    test = WaterTest(id="1", room="1", poured=2e-3, over=30.0, how=Pattern.AT_A_POINT, x=0.4, y=0.3)
    assert pour_of(job, test) == Pour(Pattern.AT_A_POINT, 2e-3, 30.0, 0.4, 0.3)
