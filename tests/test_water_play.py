"""The water packed for a screen: what comes out is what went in, within the stated error."""

from __future__ import annotations

import gzip
import json
from base64 import b64decode
from dataclasses import replace
from typing import Any

import hand_made
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from drainward.floor.film.result import Play, Range
from drainward.report.water_play import MOST_ERROR, play_json


def unpacked(packed: dict[str, Any]) -> NDArray[np.float64]:
    """The depths as a screen takes them out, m."""
    grid = packed["grid"]
    changes = np.frombuffer(b64decode(packed["depth"]), np.uint8).reshape(-1, grid["ny"], grid["nx"])
    codes = np.cumsum(changes, axis=0, dtype=np.uint8)
    return np.asarray(packed["most"] * (codes / 255.0) ** 2)


def of(play: Play) -> dict[str, Any]:
    bare = replace(hand_made.water(), play=play, puddle=np.zeros(play.depth.shape[1:]), drained=Range(0.0, 1.0, 9.0))
    return play_json(bare, hand_made.unit())


def test_a_round_trip_stays_within_the_stated_error() -> None:
    play = hand_made.play()
    packed = play_json(hand_made.water(), hand_made.unit())
    depth = play.depth[: len(packed["t"])]
    off = np.abs(unpacked(packed) - depth)
    assert off.max() <= packed["error"] * (1 + 1e-6)
    assert packed["error"] == pytest.approx(depth.max() / 255, rel=0.01)
    half = 0.5 / 255  # of a step in the root of the depth: a thin film is told more finely than a pond
    root = np.sqrt(depth.astype(float))
    assert np.all(off <= packed["most"] * half**2 + 2 * half * root * np.sqrt(packed["most"]) + 1e-9)


@given(arrays(np.float32, (4, 3, 5), elements=st.floats(0, 0.03125, width=32)))
def test_any_water_comes_out_as_it_went_in(depth: NDArray[np.float32]) -> None:
    t, nothing = np.arange(4.0), np.zeros(4)
    play = Play(np.linspace(0, 1, 5), np.linspace(0, 2, 3), t, depth, nothing, nothing, nothing, depth[0] * 0.0, 1e-4)
    packed = of(play)
    assert np.abs(unpacked(packed) - depth).max() <= packed["most"] * MOST_ERROR * (1 + 1e-6)


def test_grid_times_flows_and_marks_are_the_play_s_own() -> None:
    water = hand_made.water()
    packed, play = play_json(water, hand_made.unit()), water.play
    grid = packed["grid"]
    assert np.allclose(grid["x0"] + grid["dx"] * np.arange(grid["nx"]), play.x)
    assert np.allclose(grid["y0"] + grid["dy"] * np.arange(grid["ny"]), play.y)
    shown = len(packed["t"])
    assert np.allclose(packed["t"], play.t[:shown], atol=0.005)
    assert packed["t"][-2] < packed["end"] <= packed["t"][-1]
    for name in ("stream", "spill", "left"):
        assert np.allclose(packed[name], getattr(play, name)[:shown], rtol=1e-3)
    assert (packed["pour"], packed["drained"]) == (62.0, {"low": 81.0, "likely": 112.0, "high": 164.0})
    assert packed["drain"] == {"x": hand_made.WIDTH / 2, "y": hand_made.DEPTH / 2, "radius": 0.05}
    assert packed["timed"] == [135.0]
    assert [(stain["number"], stain["x"], stain["across"]) for stain in packed["seen"]] == [
        (1, 1.15, 0.1),
        (2, 0.3, None),
    ]
    assert packed["place"] is None
    (likely,) = [area for area in packed["puddles"] if area["chance"] >= 0.5]
    assert (likely["x"], likely["y"]) == (1.15, 0.68)


def test_a_time_that_never_comes_is_null_and_the_whole_is_json() -> None:
    never = hand_made.water(drained=Range(120.0, np.inf, np.inf))
    packed = json.loads(json.dumps(play_json(never, hand_made.unit()), allow_nan=False))
    assert packed["drained"] == {"low": 120.0, "likely": None, "high": None}
    assert packed["drained_words"] == "never within an hour"


def test_a_gallon_is_small_on_the_wire() -> None:
    packed = json.dumps(play_json(hand_made.water(), hand_made.unit())).encode()
    assert len(gzip.compress(packed, 6)) < 300_000
