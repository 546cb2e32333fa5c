"""The void and the slab under it: closed forms, invariants, what is known and what is not."""

from __future__ import annotations

import numpy as np
import pytest
from bed_cases import FLOOR, SET, box, flat, spots
from shower_units import INCH
from surveys import UNIT

from drainward.bed.slab import before, believe
from drainward.bed.void import Underside, box_out_of, spots_of, void
from drainward.job.model import Measure, What
from drainward.pocket.shape import Pocket

CUBIC_INCH = INCH**3
SUNK = -1.25


def tilted(x: float, y: float) -> float:
    return SUNK + 0.004 * (x - 30) - 0.003 * (y - 18)


def level(x: float, y: float) -> float:
    return SUNK


def test_a_higher_floor_takes_its_area_more() -> None:
    low = void(UNIT, spots(level), box(), SET, samples=2)
    high = void(UNIT, spots(level), box(), Underside(0.25 * INCH, u=0.0, u_level=0.0), samples=2)
    body = np.pi / 4 * UNIT.drain.body_diameter**2
    assert high.volume - low.volume == pytest.approx((FLOOR - body) * 0.25 * INCH, rel=0.01)


def test_a_slab_that_tilts_about_the_middle_changes_no_volume_but_the_thinnest_place() -> None:
    plane = void(UNIT, spots(tilted, u=1e-4), box(), SET, samples=100)
    flat_one = void(UNIT, spots(level, u=1e-4), box(), SET, samples=100)
    assert plane.volume == pytest.approx(flat_one.volume, rel=1e-3)
    assert plane.thinnest.mean() < flat_one.thinnest.mean() - 0.01 * INCH


def test_a_mirrored_slab_gives_the_mirrored_void() -> None:
    one = void(UNIT, spots(lambda x, y: SUNK + 0.1 * np.cos(x / 9)), box(), SET, samples=2)
    other = void(UNIT, spots(lambda x, y: SUNK + 0.1 * np.cos((60 - x) / 9)), box(), SET, samples=2)
    assert one.volume == pytest.approx(other.volume, rel=1e-9)
    assert one.u == pytest.approx(other.u, rel=1e-9)


def test_drawn_volumes_agree_with_the_computed_one() -> None:
    found = void(UNIT, spots(tilted, seed=1), box(u=1 / 32), Underside(0.0), samples=2000)
    assert found.volumes.mean() == pytest.approx(found.volume, abs=4 * found.u / np.sqrt(2000))
    assert found.volumes.std() == pytest.approx(found.u, rel=0.08)


def test_drawn_thickness_adds_up_to_the_drawn_volume() -> None:
    found = void(UNIT, spots(tilted, seed=1), box(0.0), SET, samples=50)
    weight = np.outer(*(np.where((a == a[0]) | (a == a[-1]), 0.5, 1.0) * (a[1] - a[0]) for a in (found.y, found.x)))
    summed = (found.drawn * weight).sum(axis=(1, 2))
    assert np.ptp(summed - found.volumes) < 2 * CUBIC_INCH


def test_the_belief_goes_through_exact_spots_and_is_unsure_between() -> None:
    read = spots(lambda x, y: SUNK + 0.1 * np.sin(x / 7), u=1e-3)
    belief = believe(UNIT, read, SUNK * INCH)
    rows = belief.grid.weights(np.append(read.x, 15 * INCH), np.append(read.y, 12 * INCH)).toarray()
    mean, sd = belief.moments(rows)
    assert np.abs(mean[:-1] - read.value).max() < 0.005 * INCH
    assert sd[-1] > 5 * sd[:-1].max()


def test_draws_have_the_moments_of_the_belief() -> None:
    read = spots(lambda x, y: SUNK + 0.1 * np.sin(x / 7), seed=3)
    belief = believe(UNIT, read, SUNK * INCH)
    rows = belief.grid.weights(np.array([10.0, 33.0]) * INCH, np.array([30.0, 9.0]) * INCH).toarray()
    mean, sd = belief.moments(rows)
    drawn = belief.draw(4000, 2).nodes @ rows.T
    assert drawn.mean(axis=0) == pytest.approx(mean, abs=5 * sd.max() / np.sqrt(4000))
    assert drawn.std(axis=0) == pytest.approx(sd, rel=0.06)


def test_a_datum_that_nothing_ties_down_leaves_the_volume_open() -> None:
    tied = void(UNIT, spots(level), box(), SET, samples=2)
    loose = void(UNIT, spots(level, datum=-40.0), box(), SET, samples=2)
    assert loose.u > 10 * tied.u


def test_the_slab_before_the_opening_ties_the_datum_down_where_the_threshold_stands() -> None:
    """Nearer the threshold it stands better for its mean there; what all of it shares tells nothing."""
    y = UNIT.inside_depth + UNIT.threshold_width
    x = np.array([12.0, 30.0, 48.0]) * INCH

    def sd(off: float) -> float:
        return float(np.sqrt(before(UNIT, x, np.full(3, y + off * INCH)).mean()))

    assert sd(0.0) < 0.02 * INCH
    assert sd(0.0) < sd(6.0) < sd(24.0) < 0.2 * INCH
    alone = np.sqrt(before(UNIT, x, np.full(3, y))[1, 1])
    assert alone > 2 * sd(0.0), "one spot tells less than three"


def test_a_figure_for_the_floor_to_come_that_a_tape_told_adds_no_doubt_and_a_guess_does() -> None:
    build_up = Measure(id="b", room="1", what=What.BUILD_UP, value=0.01, u=INCH / 16)
    told, guessed = (spots_of(UNIT, rows, np.zeros(3)) for rows in ([build_up], []))
    assert (told.build_up, told.u_build_up) == (pytest.approx(0.01), 0.0)
    assert guessed.u_build_up > 0.0


def test_no_spot_at_all_is_the_prior() -> None:
    none = spots(level, n=(1, 1))
    empty = type(none)(*(part[:0] if isinstance(part, np.ndarray) else part for part in _parts(none)))
    found = void(UNIT, empty, box(), SET, samples=50)
    assert found.u > 0.5 * FLOOR * 2 * INCH


def _parts(read: object) -> list[object]:
    names = ("x", "y", "value", "u", "setup", "outside", "build_up", "u_build_up")
    return [getattr(read, name) for name in names]


def test_the_same_seed_draws_the_same_slabs() -> None:
    one, other = (believe(UNIT, spots(level), 0.0).draw(20, 5).nodes for _ in range(2))
    assert np.array_equal(one, other)


def test_a_box_out_half_outside_the_floor_counts_by_half() -> None:
    assert box(at=(0.0, 18.0)).area(UNIT) == pytest.approx(50 * INCH**2)


def test_what_nobody_measured_of_the_recess_is_the_usual_one_and_unsure() -> None:
    nan = np.full(2, np.nan)
    pocket = Pocket(*([np.zeros(0, np.intp)] + [np.zeros(0)] * 3 + [np.zeros(0, np.intp)]), nan, float("nan"),
                    *([np.zeros(0)] * 3), nan, np.zeros(0), np.zeros((0, 0)))  # fmt: skip
    found = box_out_of(UNIT, pocket, {What.RECESS_WIDTH: (0.26, 0.001)}, np.zeros(3))
    assert not found.measured
    assert (found.wide, found.u[0]) == (0.26, 0.001)
    assert (found.deep, found.u[2]) == (1.5 * INCH, 0.25 * INCH)
    assert (found.x, found.y) == (UNIT.drain.x, UNIT.drain.y)


def test_spots_lie_in_the_units_frame_and_those_of_no_use_are_left_out() -> None:
    def slab(name: str, x: float, y: float) -> Measure:
        return Measure(id=name, room="1", what=What.SLAB, x=x * INCH, y=y * INCH, value=-1.0, u=0.001, setup="a")

    rows = [slab("in", 10, 10), slab("core", 32, 20), slab("out", 30, 50), slab("wrong", 12, 12)]
    found = spots_of(UNIT, rows, np.array([2 * INCH, 1 * INCH, 0.0]), ["wrong"])
    assert found.x.tolist() == pytest.approx([8 * INCH, 28 * INCH])
    assert found.outside.tolist() == [False, True]
    assert found.u_build_up == 0.5 * INCH


def test_flat_slab_thickness_follows_the_moulded_floor() -> None:
    found = flat(u=1e-3)
    assert found.mean.min() == pytest.approx(0.75 * INCH, abs=0.01 * INCH)
    assert found.mean.max() == pytest.approx(1.25 * INCH, abs=0.02 * INCH)
