"""The water on its way to the drain, packed for a screen: `play_json`, and what its codes mean.

play_json     frames, flows and marks of one `Play` as compact JSON
MOST_ERROR    largest error of a packed depth, as a share of the deepest

A depth is a code of one byte: depth = most * (code / 255)^2, so that a thin film is told as finely as a pond. Each
frame holds the codes less those of the frame before, modulo 256: water moves little from frame to frame, and what is
packed so shrinks to a third on the wire.
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.floor.film.result import Play, Water
from drainward.job.model import UnitModel
from drainward.report.picture import Outlet, plain, pond_areas
from drainward.report.water_still import poured_at, stains, stream
from drainward.report.water_words import spread

__all__ = ["MOST_ERROR", "play_json"]

CODES = 255
MOST_ERROR = 1.0 - ((CODES - 0.5) / CODES) ** 2
"""Half a step at the deepest, where a step is widest: 0.4 %."""

DIGITS = 4
"""Of flows and volumes: finer than any bucket tells."""


def play_json(water: Water, unit: UnitModel) -> dict[str, Any]:
    """Everything that a screen needs to play the water; SI, lists and numbers only.

    grid    : first node, spacing and number of nodes along x and y, m
    t       : (k,) s;  depth : base64 of k * ny * nx bytes, rows from the back wall;  most, error : m
    stream, spill, left : (k,) m3/s, m3/s, m3
    end     : of what is played, s: a little after all that is told of the stream
    pour    : when the pouring ends, s
    drained : low, likely and high end of the time to drained, s (null: never); likely in words too
    timed   : what a watch said in recorded tests, s
    drain, lip, film, puddles : as the plan draws them; rise of the threshold, m; what counts as running, m
    seen, place : puddles as they were seen; where the bucket or the head is, with its name, or null
    samples : drawn floors behind the puddles
    """
    end = min(stream(water).end, float(water.play.t[-1]))
    play = _until(water.play, end)
    most = float(play.depth.max(initial=0.0))
    return {
        "grid": {
            "x0": float(play.x[0]), "dx": _spacing(play.x), "nx": len(play.x),
            "y0": float(play.y[0]), "dy": _spacing(play.y), "ny": len(play.y),
        },
        "t": np.round(play.t, 2).tolist(),
        "most": most,
        "error": most * MOST_ERROR,
        "depth": b64encode(_changes(play, most).tobytes()).decode(),
        "stream": _short(play.stream),
        "spill": _short(play.spill),
        "left": _short(play.left),
        "end": end,
        "pour": water.pour.over,
        "drained": {
            name: float(end) if np.isfinite(end := getattr(water.drained, name)) else None
            for name in ("low", "likely", "high")
        },
        "drained_words": spread(water.drained, "s").trade,
        "timed": [watch.seconds for watch in stream(water).timed],
        "drain": plain(Outlet(unit.drain.x, unit.drain.y, unit.drain.radius)),
        "lip": water.lip,
        "film": play.film,
        "puddles": plain(pond_areas(play.x, play.y, water.puddle, water.ponds)),
        "seen": plain(stains(water)),
        "place": poured_at(water, unit),
        "samples": water.samples,
    }  # fmt: skip


def _until(play: Play, end: float) -> Play:
    """The frames up to the first at or after `end`, s."""
    k = int(np.searchsorted(play.t, end)) + 1
    parts = {name: getattr(play, name)[:k] for name in ("t", "depth", "stream", "spill", "left")}
    return replace(play, **parts)


def _changes(play: Play, most: float) -> NDArray[np.uint8]:
    """Codes of each frame less those of the frame before, modulo 256, (k, ny, nx)."""
    share = np.clip(play.depth / most, 0.0, 1.0) if most else np.zeros_like(play.depth)
    codes = np.rint(CODES * np.sqrt(share)).astype(np.uint8)
    changes: NDArray[np.uint8] = np.diff(codes, axis=0, prepend=np.uint8(0))
    return changes


def _spacing(nodes: NDArray[np.float64]) -> float:
    return float(nodes[-1] - nodes[0]) / (len(nodes) - 1)


def _short(values: NDArray[np.float64]) -> list[float]:
    return [float(f"{value:.{DIGITS}g}") for value in values]
