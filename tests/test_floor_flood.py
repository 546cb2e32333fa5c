"""Depression filling: against a general-purpose image library, closed forms of ponds, invariants, and bad input."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage.morphology import reconstruction

from drainward.floor.abreast.flood import LANES, flood, flood_lanes, pack, pond_statistics, unpack


def by_library(z: NDArray[np.float32], outlet: NDArray[np.bool_]) -> NDArray[np.float32]:
    """scikit-image: reconstruction by erosion; the outlet keeps its height, all else starts at the top."""
    return reconstruction(np.where(outlet, z, z.max()), z, method="erosion").astype(np.float32)


@st.composite
def floors(draw: st.DrawFn) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Noise, terraces (many equal heights) or smooth hills, over a cone; outlets anywhere in the grid."""
    ny, nx = draw(st.integers(1, 40)), draw(st.integers(1, 40) | st.integers(60, 130))
    n = draw(st.integers(1, 2 * LANES + 1))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    z = rng.standard_normal((n, ny, nx))
    form = draw(st.sampled_from(["noise", "terraces", "hills"]))
    if form == "terraces":
        z = np.round(2 * z)
    if form == "hills":
        y, x = np.mgrid[:ny, :nx]
        z = np.cos(0.3 * x * (1 + z[:, :1, :1])) * np.cos(0.4 * y + z[:, -1:, -1:])
    outlet = np.zeros((ny, nx), np.bool_)
    rows, columns = rng.integers(0, ny, 3), rng.integers(0, nx, 3)
    cells = draw(st.integers(1, 3))
    outlet[rows[:cells], columns[:cells]] = True
    fall = draw(st.sampled_from([0.0, 0.1]))
    z += fall * np.hypot(*np.meshgrid(np.arange(ny) - rows[0], np.arange(nx) - columns[0], indexing="ij"))
    return z.astype(np.float32), outlet


@settings(deadline=None, max_examples=150)
@given(floors())
def test_equals_image_library(case: tuple[NDArray[np.float32], NDArray[np.bool_]]) -> None:
    z, outlet = case
    expected = np.stack([by_library(one, outlet) for one in z])
    np.testing.assert_array_equal(flood(z, outlet), expected)


@settings(deadline=None, max_examples=60)
@given(floors())
def test_invariants(case: tuple[NDArray[np.float32], NDArray[np.bool_]]) -> None:
    z, outlet = case
    w = flood(z, outlet)
    assert (w >= z).all()
    np.testing.assert_array_equal(w[:, outlet], z[:, outlet])
    np.testing.assert_array_equal(flood(w, outlet), w)
    np.testing.assert_array_equal(flood(z[:, ::-1], outlet[::-1])[:, ::-1], w)
    np.testing.assert_array_equal(flood(z[:, :, ::-1], outlet[:, ::-1])[:, :, ::-1], w)
    np.testing.assert_array_equal(flood(z.swapaxes(1, 2), outlet.T).swapaxes(1, 2), w)
    # the surface takes no height that the floor does not have, so an order-preserving map goes through
    np.testing.assert_array_equal(flood(2 * z, outlet), 2 * w)
    np.testing.assert_array_equal(flood(np.exp2(z), outlet), np.exp2(w))
    higher = z + np.abs(z[:, ::-1]) * ~outlet
    assert (flood(higher, outlet) >= w).all()


@settings(deadline=None, max_examples=40)
@given(floors(), st.integers(0, 2**32 - 1))
def test_walls_equal_a_floor_too_high_to_cross(case: tuple[NDArray[np.float32], NDArray[np.bool_]], seed: int) -> None:
    z, outlet = case
    inside = np.random.default_rng(seed).random(outlet.shape) > 0.2
    inside |= outlet
    walled = np.where(inside, z, np.float32(1e6))
    w = np.stack([by_library(one, outlet) for one in walled])
    inside &= (w < 1e6).all(axis=0)
    w[:, ~inside] = np.inf
    z[:, ~inside] = np.nan
    np.testing.assert_array_equal(flood(z, outlet, inside=inside), w)


def rough(n: int, ny: int, nx: int, seed: int = 0) -> NDArray[np.float32]:
    """Sums of a few long waves over a cone."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:ny, :nx]
    z = 0.004 * np.hypot(y - ny / 2, x - nx / 2) * np.ones((n, 1, 1))
    for _ in range(6):
        k, phase = rng.normal(0, 0.1, (2, n, 1, 1)), rng.uniform(0, 6.3, (n, 1, 1))
        z += 0.08 * np.cos(k[0] * x + k[1] * y + phase)
    return z.astype(np.float32)


def drain(ny: int, nx: int, radius: float = 4.0) -> NDArray[np.bool_]:
    y, x = np.mgrid[:ny, :nx]
    return np.hypot(y - ny // 2, x - nx // 2) <= radius


def test_full_size_equals_image_library_with_any_number_of_threads() -> None:
    z, outlet = rough(LANES + 5, 145, 241), drain(145, 241)
    expected = np.stack([by_library(one, outlet) for one in z])
    assert (expected > z).any(axis=(1, 2)).all()
    for threads in (1, 2, 5):
        np.testing.assert_array_equal(flood(z, outlet, threads), expected)
    lanes = pack(z)
    for threads in (1, 2):
        np.testing.assert_array_equal(unpack(flood_lanes(lanes, outlet, threads), len(z)), expected)


def test_spiral_is_followed_to_its_end() -> None:
    """The way out winds across rows many times: no fixed number of sweeps would do."""
    size = 41
    z = np.full((size, size), 9.0, np.float32)
    row, column, step = size // 2, size // 2, (0, 1)
    length, height = 2, 0.0
    while length < size - 2:
        for _ in range(2):
            for _ in range(length):
                z[row, column] = height
                height += 1e-3
                row, column = row + step[0], column + step[1]
            step = (step[1], -step[0])
        length += 2
    outlet = np.zeros((size, size), np.bool_)
    outlet[size // 2, size // 2] = True
    w = flood(z, outlet)
    np.testing.assert_array_equal(w, by_library(z, outlet))
    np.testing.assert_array_equal(w, z)


def test_pack_and_unpack_are_inverse_and_fill_up_with_the_last() -> None:
    z = rough(LANES + 3, 7, 11)
    lanes = pack(z)
    assert lanes.shape == (2, 7, 11, LANES)
    np.testing.assert_array_equal(lanes[1, :, :, 2], z[LANES + 2])
    np.testing.assert_array_equal(lanes[1, :, :, -1], z[-1])
    np.testing.assert_array_equal(unpack(lanes, len(z)), z)


def dish(step: float) -> tuple[NDArray[np.float64], NDArray[np.bool_], float, float]:
    """A spherical cap, depth 6 mm and rim radius 120 mm, sunk into a plane; the plane drains at its edge."""
    depth, rim = 0.006, 0.120
    ball = (rim**2 + depth**2) / (2 * depth)
    axis = np.arange(-0.15, 0.15 + step / 2, step)
    r = np.hypot(axis[:, None] - 0.0007, axis[None, :] + 0.0003)
    z = np.where(r < rim, ball - depth - np.sqrt(np.maximum(ball**2 - r**2, 0)), 0.0)
    return z, r > 0.14, depth, math.pi * depth * (3 * rim**2 + depth**2) / 6


def pit(step: float) -> tuple[NDArray[np.float64], NDArray[np.bool_], float, float]:
    """A cone pit of the same size."""
    depth, rim = 0.006, 0.120
    axis = np.arange(-0.15, 0.15 + step / 2, step)
    r = np.hypot(axis[:, None] - 0.0007, axis[None, :] + 0.0003)
    return np.minimum(depth * (r / rim - 1), 0.0), r > 0.14, depth, math.pi * rim**2 * depth / 3


def trough(step: float) -> tuple[NDArray[np.float64], NDArray[np.bool_], float, float]:
    """A parabolic trough right across the grid, behind a crest; volume 2/3 of width times depth times length."""
    depth, half = 0.006, 0.080
    axis = np.arange(-0.15, 0.15 + step / 2, step) + 0.0007
    z = np.broadcast_to(np.where(np.abs(axis) < half, depth * ((axis / half) ** 2 - 1), 0.0), (len(axis), len(axis)))
    return z, np.broadcast_to(axis > 0.12, z.shape), depth, 4 / 3 * half * depth * len(axis) * step


@pytest.mark.parametrize("shape", [dish, pit, trough])
def test_pond_volume_converges_to_closed_form(shape: object) -> None:
    """Closed forms of the cap, cone and parabola; a sum over nodes is of second order where the depth ends at zero."""
    steps = np.array([0.006, 0.003, 0.0015])
    errors = []
    for step in steps:
        z, outlet, depth, volume = shape(step)  # type: ignore[operator]
        lanes = pack(z[None].astype(np.float32))
        found = pond_statistics(lanes, flood_lanes(lanes, outlet), 0.001, step**2, n=1)
        assert found.deepest[0] == pytest.approx(depth, rel=0.05)
        assert abs(found.volume[0] / volume - 1) < 0.01
        errors.append(abs(found.volume[0] - volume))
    order = np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert order > 1.5, errors


def test_statistics_equal_plain_sums() -> None:
    n = 2 * LANES + 3
    z, outlet = rough(n, 60, 50, seed=3), drain(60, 50)
    lanes = pack(z)
    w = flood_lanes(lanes, outlet)
    depth = unpack(w, n) - z
    for threads in (1, 3):
        found = pond_statistics(lanes, w, 0.02, 0.25, n=n, threads=threads)
        np.testing.assert_array_equal(found.deepest, depth.max(axis=(1, 2)))
        np.testing.assert_array_equal(found.cell, depth.reshape(n, -1).argmax(axis=1))
        np.testing.assert_allclose(found.volume, 0.25 * depth.sum(axis=(1, 2), dtype=float), rtol=1e-6)
        np.testing.assert_allclose(found.depth_sum, depth.sum(axis=0, dtype=float), rtol=1e-6)
        np.testing.assert_array_equal(found.probability, (depth > np.float32(0.02)).mean(axis=0))


def test_statistics_count_no_water_outside_the_floor() -> None:
    z, outlet = rough(LANES, 30, 30), drain(30, 30)
    inside = drain(30, 30, 12)
    lanes = pack(z)
    w = flood_lanes(lanes, outlet, inside=inside)
    found = pond_statistics(lanes, w, 0.0, 1.0)
    assert np.isfinite(found.volume).all()
    assert found.depth_sum[~inside].max() == 0.0
    assert found.depth_sum[inside].max() > 0.0


def test_writes_to_the_buffer_given() -> None:
    z, outlet = rough(3, 20, 20), drain(20, 20)
    out = np.empty_like(z)
    assert np.shares_memory(flood(z, outlet, out=out), out)
    np.testing.assert_array_equal(out, flood(z, outlet))
    lanes = pack(z)
    out = np.empty_like(lanes)
    assert np.shares_memory(flood_lanes(lanes, outlet, out=out), out)
    with pytest.raises(ValueError, match=r"out is a contiguous float32 array of shape \(3, 20, 20\), got float64"):
        flood(z, outlet, out=np.empty((3, 20, 20)))  # type: ignore[arg-type]


def test_refuses_what_cannot_be_answered() -> None:
    z, outlet = rough(LANES + 2, 12, 14), drain(12, 14, 1)
    with pytest.raises(ValueError, match="the outlet has no cell on the floor"):
        flood(z, np.zeros_like(outlet))
    with pytest.raises(ValueError, match="the outlet has no cell on the floor"):
        flood(z, outlet, inside=~outlet)
    with pytest.raises(ValueError, match=r"outlet has shape \(14, 12\), the grid has \(12, 14\)"):
        flood(z, outlet.T)
    with pytest.raises(ValueError, match="one thread or more, got 0"):
        flood(z, outlet, 0)
    inside = np.ones_like(outlet)
    inside[3] = False
    with pytest.raises(ValueError, match="row 0, column 0 is cut off from the outlet by cells outside the floor"):
        flood(z, outlet, inside=inside)
    for bad in (np.nan, np.inf, -np.inf):
        z[LANES + 1, 4, 5] = bad
        with pytest.raises(ValueError, match=f"sample {LANES + 1}, row 4, column 5: height {bad} is not finite"):
            flood(z, outlet)
        with pytest.raises(ValueError, match=f"sample {LANES + 1}, row 4, column 5: height {bad} is not finite"):
            flood_lanes(pack(z), outlet)
    with pytest.raises(ValueError, match="lanes are a contiguous"):
        flood_lanes(z, outlet)
    lanes = pack(rough(2, 12, 14))
    with pytest.raises(ValueError, match="do not fit"):
        pond_statistics(lanes, lanes, 0.0, 1.0, n=LANES + 1)
    with pytest.raises(ValueError, match="float32 array, got float64"):
        pond_statistics(lanes, lanes.astype(np.float64), 0.0, 1.0)  # type: ignore[arg-type]
