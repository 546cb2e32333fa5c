"""Screws: withdrawal values against printed tables, and how many a mount takes."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.job.fittings import ScrewSize, Species
from drainward.pocket.screws import (
    DIAMETERS,
    SPECIES,
    Factors,
    Mount,
    Screw,
    Wood,
    holds,
    lag_screw,
    mount_screws,
    schedule,
    wood_screw,
)
from drainward.pocket.setout import FramedWall, Practice, Run, Stud, set_out
from drainward.pocket.shape import Wall
from drainward.quantity import INCH

LBF = 4.4482216152605
LB_IN = LBF / INCH
SPF = Wood(SPECIES["spruce-pine-fir"])
TEN = Screw("#10", DIAMETERS["#10"], 2 * INCH)
THROUGH = 0.5 * INCH


def test_the_job_names_what_the_tables_know() -> None:
    assert set(get_args(Species)) == set(SPECIES)
    assert set(get_args(ScrewSize)) == set(DIAMETERS)


def test_handbook_value_of_a_number_ten() -> None:
    """109 lb/in printed, cut off after the point."""
    assert int(wood_screw(0.45, 0.190 * INCH) / LB_IN) == 109


@pytest.mark.parametrize(
    ("gravity", "values"),
    [
        (0.73, (397, 469, 538, 604, 668, 789, 905, 1016, 1123)),
        (0.55, (260, 307, 352, 395, 437, 516, 592, 664, 734)),
        (0.50, (225, 266, 305, 342, 378, 447, 513, 576, 636)),
        (0.43, (179, 212, 243, 273, 302, 357, 409, 459, 508)),
        (0.42, (173, 205, 235, 264, 291, 344, 395, 443, 490)),
        (0.36, (137, 163, 186, 209, 231, 273, 313, 352, 389)),
    ],
)
def test_lag_screws_as_printed(gravity: float, values: tuple[int, ...]) -> None:
    """NDS table 12.2A, pounds per inch, 1/4 to 1 in; printed to the pound."""
    sizes = (1 / 4, 5 / 16, 3 / 8, 7 / 16, 1 / 2, 5 / 8, 3 / 4, 7 / 8, 1)
    for size, value in zip(sizes, values, strict=True):
        assert lag_screw(gravity, size * INCH) / LB_IN == pytest.approx(value, abs=1.0)


def test_thread_counts_only_in_the_wood() -> None:
    assert TEN.thread_in(SPF, THROUGH) / INCH == pytest.approx(4 / 3)
    assert TEN.thread_in(SPF, 1.2 * INCH) / INCH == pytest.approx(0.8)
    assert TEN.thread_in(Wood(0.42, depth=0.75 * INCH), THROUGH) / INCH == pytest.approx(0.75)
    assert holds(TEN, SPF, through=3 * INCH) == 0
    lag = Screw("1/4 lag", 0.25 * INCH, 2 * INCH, "lag")
    assert lag.thread_in(SPF, THROUGH) / INCH == pytest.approx(1.25)


def test_factors_multiply_and_are_checked() -> None:
    wet = Factors(duration=1.6, wet=0.7)
    assert holds(TEN, SPF, THROUGH, wet) == pytest.approx(1.12 * holds(TEN, SPF, THROUGH))
    with pytest.raises(ValueError, match="expected duration within 0 to 2"):
        Factors(wet=1.1)


def test_end_grain_is_refused() -> None:
    with pytest.raises(ValueError, match="expected side grain"):
        holds(TEN, Wood(0.42, grain="end"))
    with pytest.raises(ValueError, match="expected side grain"):
        schedule((), TEN, Wood(0.42, grain="end"), THROUGH)


@pytest.mark.parametrize(("gravity", "diameter"), [(0.2, 0.005), (0.9, 0.005), (0.42, 0.0), (0.42, 0.19)])
def test_what_is_no_wood_or_no_screw_is_refused(gravity: float, diameter: float) -> None:
    for value in (wood_screw, lag_screw):
        with pytest.raises(ValueError, match="lies within"):
            value(gravity, diameter)


def test_screws_of_a_grab_bar_in_straight_pull() -> None:
    """250 lbf in #10 with 1 in of thread in spruce-pine-fir: 250 / 95.5 = 2.6, so three."""
    screw = Screw("#10", DIAMETERS["#10"], 1.5 * INCH)
    assert holds(screw, SPF, 0.5 * INCH) / LBF == pytest.approx(95.5, abs=0.1)
    assert mount_screws(250 * LBF, Mount(standoff=0.0), SPF, screw, 0.5 * INCH) == 3


def test_a_bar_off_the_wall_turns_its_mount() -> None:
    screw = Screw("#10", DIAMETERS["#10"], 1.5 * INCH)
    assert mount_screws(250 * LBF, Mount(), SPF, screw, 0.5 * INCH) == 5
    assert mount_screws(250 * LBF, Mount(), SPF, screw, 3 * INCH) is None


@given(st.floats(1, 5000), st.floats(0, 0.1), st.sampled_from(sorted(DIAMETERS)))
def test_the_screws_counted_do_hold(force: float, standoff: float, size: str) -> None:
    screw, mount = Screw(size, DIAMETERS[size], 2 * INCH), Mount(standoff)
    count = mount_screws(force, mount, SPF, screw, THROUGH)
    assert count is not None and count >= 2
    each = holds(screw, SPF, THROUGH)
    assert count * each >= force * (1 - 1e-6)
    assert (count + 1) // 2 * each >= force * standoff / mount.arm * (1 - 1e-6)


def test_schedule_counts_the_holes_and_asks_for_enough_wood() -> None:
    run = Run(Wall.BACK, "along", 0, 64 * INCH, 79 * INCH, 80 * INCH)
    studs = tuple(Stud(at * INCH) for at in (0.75, 16, 32, 48, 63.25))
    found = set_out(FramedWall(Wall.BACK, studs), run, Practice())
    (line,) = schedule([found], TEN, SPF, THROUGH)
    assert (line.use, line.count, line.screw.words) == ("back wall, top flange", 5, '#10 × 2"')
    assert line.each == pytest.approx(holds(TEN, SPF, THROUGH))
    with pytest.raises(ValueError, match=r'finds 1" of wood: expected 2-1/8" or longer'):
        schedule([found], TEN, SPF, 1 * INCH)
