"""The next reading: the one expected to settle the verdict best.

Tool, tools      what the crew can read with
Candidates       places and directions to read
next_reading     the candidate with the most information on whether the floor conforms, moved to its best place

The worth of a reading is the mutual information between what it would read, noise included, and whether the floor
conforms, over the drawn floors: by how much, on average, it lessens the doubt (C. E. Shannon, "A mathematical theory of
communication", 1948, section 6; D. V. Lindley, "On a measure of the information provided by an experiment", 1956).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from drainward.floor.functionals import Functionals, chord, difference
from drainward.floor.result import Ask
from drainward.floor.shape import INCH
from drainward.job.model import Instrument, ReadingKind, UnitModel

__all__ = ["DEFAULT_TOOLS", "Candidates", "Tool", "as_functional", "next_reading", "tools"]

Array = NDArray[np.float64]
Heights = Callable[[Array, Array], NDArray[np.float32]]

_BINS = 12
_PARTS = {ReadingKind.HEIGHT: (0.0, 0.0), ReadingKind.CHORD: (-1.0, 2.0)}
_PLACED = INCH / 2


@dataclass(frozen=True, slots=True)
class Tool:
    """One way of reading: an instrument, the kind of reading, the base it rests on (0 for a spot height), and u."""

    instrument: str
    kind: ReadingKind
    length: float
    u: float


DEFAULT_TOOLS = (
    Tool("", ReadingKind.SLOPE, 9 * INCH, 0.0009),
    Tool("", ReadingKind.SLOPE, 24 * INCH, 0.0009),
    Tool("", ReadingKind.CHORD, 12 * INCH, INCH / 64),
)
"""A job that names no instruments is taken to have 9 in and 24 in digital levels (u 0.05 degrees) and a 1 ft rule."""


def tools(instruments: Iterable[Instrument]) -> tuple[Tool, ...]:
    """What these instruments can read on a floor."""
    found = []
    for i in instruments:
        if i.length is None:
            if i.u is not None:
                found.append(Tool(i.id, ReadingKind.HEIGHT, 0.0, i.u))
            continue
        if i.u_slope is not None:
            found.append(Tool(i.id, ReadingKind.SLOPE, i.length, i.u_slope))
        elif i.u is not None:
            found.append(Tool(i.id, ReadingKind.WEDGE, i.length, i.u))
        if i.u is not None:
            found.append(Tool(i.id, ReadingKind.CHORD, i.length, i.u))
    return tuple(found) or DEFAULT_TOOLS


@dataclass(frozen=True, slots=True)
class Candidates:
    """k places for one tool each: the middle and the direction of the base, m and rad; tool index (k,)."""

    x: Array
    y: Array
    angle: Array
    tool: NDArray[np.intp]

    def __getitem__(self, index: object) -> Candidates:
        return Candidates(*(getattr(self, f.name)[index] for f in fields(self)))

    def ends(self, of: tuple[Tool, ...]) -> tuple[Array, Array, Array, Array]:
        """Both ends of the bases, x, y, x2, y2, each (k,)."""
        half = np.array([t.length for t in of])[self.tool] / 2
        dx, dy = half * np.cos(self.angle), half * np.sin(self.angle)
        return self.x - dx, self.y - dy, self.x + dx, self.y + dy

    def within(self, unit: UnitModel, of: tuple[Tool, ...]) -> NDArray[np.bool_]:
        """Those that rest on the floor, clear of the drain's opening."""
        x, y, x2, y2 = self.ends(of)
        w, d, drain = unit.inside_width, unit.inside_depth, unit.drain
        inside = (
            (np.minimum(x, x2) >= 0) & (np.maximum(x, x2) <= w) & (np.minimum(y, y2) >= 0) & (np.maximum(y, y2) <= d)
        )
        for px, py in ((x, y), (x2, y2)):
            inside &= np.hypot(px - drain.x, py - drain.y) >= drain.radius
        return inside


def next_reading(
    unit: UnitModel,
    heights: Heights,
    conforms: NDArray[np.bool_],
    of: tuple[Tool, ...],
    rng: np.random.Generator,
    *,
    spacing: float = 3 * INCH,
    directions: int = 8,
    rounds: int = 3,
    datum_known: bool = False,
) -> tuple[Ask, float] | None:
    """The best next reading and its worth in bits; None where no tool fits on the floor.

    heights  : function of points (m,), (m,) giving the heights of all c drawn floors there, (m, c), m
    conforms : (c,) whether each drawn floor meets all that is asked
    datum_known : whether spot heights hang on a datum that earlier ones have fixed; else heights are not considered
    """
    usable = tuple(t for t in of if t.kind is not ReadingKind.HEIGHT or datum_known)
    if not usable:
        # With nothing but spot heights the first one tells nothing by itself: take it where the others start from.
        y = min(unit.drain.y + unit.drain.radius + INCH, unit.inside_depth)
        why = "the first spot height of a set-up is what the others are compared with"
        return Ask("height", unit.drain.x, y, None, None, of[0].instrument, why), 0.0
    start = _everywhere(unit, usable, spacing, directions)
    if not len(start.x):
        return None
    worth = _worth(start, usable, heights, conforms, rng)
    best = start[np.argsort(-worth)[:6]]
    reach, turn = spacing / 2, np.pi / directions / 2
    for _ in range(rounds):
        near = _around(best, reach, turn, 10, rng)
        near = near[near.within(unit, usable)]
        worth = _worth(near, usable, heights, conforms, rng)
        best = near[np.argsort(-worth)[:6]]
        reach, turn = reach / 2, turn / 2
    top = best[:1]
    tool = usable[int(top.tool[0])]
    # A tape and wet gloves place a level to half an inch.
    x, y, x2, y2 = (round(float(v[0]) / _PLACED) * _PLACED for v in top.ends(usable))
    why = "of all places and directions, a reading here is expected to lessen the doubt most"
    one_end = tool.kind is ReadingKind.HEIGHT
    ask = Ask(str(tool.kind), x, y, None if one_end else x2, None if one_end else y2, tool.instrument, why)
    return ask, float(worth.max())


def as_functional(ask: Ask, u: float) -> Functionals:
    """The reading asked for, as a functional still without its value."""
    x, y = np.array([ask.x]), np.array([ask.y])
    setup = np.array([-1])
    if ask.x2 is None or ask.y2 is None:
        points = (np.repeat(x[:, None], 3, 1), np.repeat(y[:, None], 3, 1), np.array([[1.0, 0.0, 0.0]]))
        setup = np.array([0])
    elif ask.kind == ReadingKind.CHORD:
        points = chord(x, y, np.array([ask.x2]), np.array([ask.y2]))
    else:
        x2, y2 = np.array([ask.x2]), np.array([ask.y2])
        scale = -np.ones(1) if ask.kind == ReadingKind.WEDGE else 1 / np.hypot(x2 - x, y2 - y)
        points = difference(x, y, x2, y2, scale)
    return Functionals(*points, np.zeros(1), np.array([u]), setup)


def _everywhere(unit: UnitModel, of: tuple[Tool, ...], spacing: float, directions: int) -> Candidates:
    xs = np.linspace(0, unit.inside_width, max(round(unit.inside_width / spacing), 2) + 1)
    ys = np.linspace(0, unit.inside_depth, max(round(unit.inside_depth / spacing), 2) + 1)
    angles = np.pi * np.arange(directions) / directions
    parts = []
    for k, tool in enumerate(of):
        some = angles if tool.length else angles[:1]
        parts.append(np.stack([g.ravel() for g in np.meshgrid(xs, ys, some, float(k))]))
        if tool.length:
            # And along the lines to the drain, where the fall itself is judged.
            gx, gy = (g.ravel() for g in np.meshgrid(xs, ys))
            parts.append(np.stack([gx, gy, np.arctan2(gy - unit.drain.y, gx - unit.drain.x), np.full(gx.shape, k)]))
    x, y, angle, tool_index = np.concatenate(parts, axis=1)
    all_of_them = Candidates(x, y, angle, tool_index.astype(np.intp))
    return all_of_them[all_of_them.within(unit, of)]


def _around(best: Candidates, reach: float, turn: float, each: int, rng: np.random.Generator) -> Candidates:
    """The best and `each` random neighbours of every one."""
    k = len(best.x)
    throw = rng.uniform(-1.0, 1.0, (3, each + 1, k))
    throw[:, 0] = 0.0
    return Candidates(
        (best.x + reach * throw[0]).ravel(),
        (best.y + reach * throw[1]).ravel(),
        (best.angle + turn * throw[2]).ravel(),
        np.tile(best.tool, each + 1),
    )


def _worth(
    where: Candidates, of: tuple[Tool, ...], heights: Heights, conforms: NDArray[np.bool_], rng: np.random.Generator
) -> Array:
    """Mutual information between each candidate's reading and whether the floor conforms, (k,), bits."""
    x, y, x2, y2 = where.ends(of)
    # Height of the second end less so much of the first and of the middle, by kind of reading.
    first, middle = np.array([_PARTS.get(t.kind, (1.0, 0.0)) for t in of], dtype=np.float32)[where.tool].T[:, :, None]
    value = heights(x2, y2) - first * heights(x, y)
    straight = np.flatnonzero(middle[:, 0])
    if len(straight):
        value[straight] -= middle[straight] * heights(where.x[straight], where.y[straight])
    scale = [t.length if t.kind is ReadingKind.SLOPE else _PARTS.get(t.kind, (1.0, 0.0))[1] or 1.0 for t in of]
    u = np.array([t.u * s for t, s in zip(of, scale, strict=True)])[where.tool]
    value += u[:, None].astype(np.float32) * rng.standard_normal(value.shape[1], dtype=np.float32)
    centre = value.mean(axis=1, keepdims=True)
    spread = value.std(axis=1, keepdims=True) + np.float32(1e-9)
    # Bins of a third of a standard deviation, finer than a reading resolves; the tails share one each.
    bins = np.clip(((value - centre) / spread * 2.0 + _BINS / 2).astype(np.intp), 0, _BINS - 1)
    k, count = value.shape
    flat = (bins + _BINS * np.arange(k)[:, None]).ravel()
    every = np.bincount(flat, minlength=k * _BINS).reshape(k, _BINS) / count
    both = np.bincount(flat[np.tile(conforms, k)], minlength=k * _BINS).reshape(k, _BINS) / count
    p = conforms.mean()
    left: Array = (every * _entropy(both / np.maximum(every, 1e-12))).sum(axis=1)
    return _entropy(np.array([p])) - left


def _entropy(p: Array) -> Array:
    p = np.clip(p, 1e-12, 1 - 1e-12)
    entropy: Array = -(p * np.log2(p) + (1 - p) * np.log2(1 - p))
    return entropy
