"""Ways in which a floor may be, drawn from what the readings leave possible.

Particles     p ways of p floors: field, tilt, local defects and blunders
draw_particles   the sampler: exact for the first defect, sequential importance sampling for further ones, then Gibbs
                 and Metropolis moves on all of them
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.defects import Shapes, dictionary, nudge
from drainward.floor.functionals import Functionals
from drainward.floor.odds import choose, log_ratio
from drainward.floor.ways import Prior, Ways

__all__ = ["Particles", "draw_particles"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(slots=True, eq=False)
class Particles:
    """p equally weighted particles with s slots.

    way : (p,) index of the way
    element : (p, s) -1 nothing, 0 a local defect, 1 + i a blunder of reading i
    shapes : (p, s) the defects
    feature : (p, s, n) what each element of unit height adds to the readings
    mean, sd : (p, s) normal prior of its height, m (of a blunder, in standard uncertainties)
    """

    way: Index
    element: Index
    shapes: Shapes
    feature: Array
    mean: Array
    sd: Array

    def keep(self, index: Index) -> Particles:
        """Particles picked by index, copied."""
        s = self.shapes[index]
        return Particles(
            self.way[index], self.element[index], s, self.feature[index], self.mean[index], self.sd[index]
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Odds:
    """Prior odds of the m + n elements (defect shapes, then blunders) and of their height classes."""

    shapes: Shapes
    feature: Array
    element: Array
    start: Index
    mean: Array
    sd: Array
    share: Array
    none: float
    white: NDArray[np.float32]
    norm: NDArray[np.float32]


def draw_particles(
    prior: Prior,
    ways: Ways,
    f: Functionals,
    width: float,
    depth: float,
    *,
    count: int,
    sweeps: int,
    moves: int,
    threads: int,
    rng: np.random.Generator,
) -> Particles:
    """`count` particles given the readings.

    sweeps, moves : Gibbs sweeps after the first draw, and Metropolis moves of every defect in each sweep
    """
    odds = _odds(prior, ways, f, width, depth)
    n, slots = len(f), prior.slots
    blank = Shapes(np.zeros((count, slots), dtype=np.intp), *(np.ones((count, slots)) for _ in range(5)))
    state = Particles(
        np.zeros(count, dtype=np.intp),
        np.full((count, slots), -1, dtype=np.intp),
        blank,
        np.zeros((count, slots, n)),
        np.zeros((count, slots)),
        np.zeros((count, slots)),
    )
    everywhere = Particles(
        np.arange(len(ways.size)),
        *(getattr(state.keep(np.zeros(len(ways.size), dtype=np.intp)), name) for name in ("element", "shapes", "feature", "mean", "sd")),
    )
    first = ways.log_evidence + _refresh(everywhere, 0, odds, ways, f, threads, rng)
    state.way = _systematic(np.exp(first - first.max()), count, rng)
    _refresh(state, 0, odds, ways, f, threads, rng)
    log_weight = np.zeros(count)
    for slot in range(1, slots):
        log_weight += _refresh(state, slot, odds, ways, f, threads, rng)
    state = state.keep(_systematic(np.exp(log_weight - log_weight.max()), count, rng))
    for _ in range(sweeps):
        for _ in range(moves):
            for slot in range(slots):
                _move(state, slot, odds, ways, f, width, depth, rng)
        _rechoose_way(state, ways, rng)
        for slot in range(slots):
            _refresh(state, slot, odds, ways, f, threads, rng)
    for _ in range(moves):
        for slot in range(slots):
            _move(state, slot, odds, ways, f, width, depth, rng)
    # Resampling sorted them: shuffled, any part of them stands for all.
    return state.keep(rng.permutation(count))


def _odds(prior: Prior, ways: Ways, f: Functionals, width: float, depth: float) -> _Odds:
    shapes, share = dictionary(width, depth)
    on_readings = _shape_feature(shapes[:, None, None], f)
    feature = np.concatenate([on_readings, np.diag(f.u)])
    n = len(f)
    defect_odds = prior.defect_odds * (1 - prior.blunder_odds) if n else prior.defect_odds
    white = ways.whiten.astype(np.float32) @ feature.T.astype(np.float32)
    return _Odds(
        shapes,
        feature,
        np.concatenate([defect_odds * share, np.full(n, prior.defect_odds * prior.blunder_odds / max(n, 1))]),
        np.array([0, len(share), len(share) + n]),
        np.array([prior.heights, np.zeros(len(prior.blunders))]),
        np.array([prior.height_sds, prior.blunders]),
        np.array(prior.height_odds),
        1.0 - prior.defect_odds,
        white,
        np.einsum("wnm,wnm->wm", white, white),
    )


def _shape_feature(shapes: Shapes, f: Functionals) -> Array:
    """What shapes of unit height (..., 1, 1) add to the readings: (..., n)."""
    return np.einsum("...np,np->...n", shapes.at(f.x, f.y), f.weight)


def _whitened(state: Particles, slots: Index, ways: Ways) -> tuple[Array, Array]:
    """Whitened features of some slots scaled by their standard deviation (p, o, n), and the misfit less their mean (p, n)."""
    white = np.einsum("pnm,pom->pon", ways.whiten[state.way], state.feature[:, slots])
    misfit = ways.misfit[state.way] - np.einsum("pon,po->pn", white, state.mean[:, slots])
    return white * state.sd[:, slots, None], misfit


def _refresh(state: Particles, slot: int, odds: _Odds, ways: Ways, f: Functionals, threads: int, rng: np.random.Generator) -> Array:
    """Draw one slot of every particle given its others; returns the log of the summed odds (p,)."""
    count, slots = state.element.shape
    others = np.delete(np.arange(slots), slot)
    b, misfit = _whitened(state, others, ways)
    inner = np.linalg.inv(np.eye(len(others)) + b @ b.transpose(0, 2, 1))
    pull = np.einsum("pij,pj->pi", inner, np.einsum("pjn,pn->pj", b, misfit))
    m = len(odds.element)
    product = np.empty((count, m), dtype=np.float32)
    cross = np.empty((count, len(others), m), dtype=np.float32)
    for w in np.unique(state.way):
        mine = np.flatnonzero(state.way == w)
        product[mine] = misfit[mine].astype(np.float32) @ odds.white[w]
        cross[mine] = (b[mine].reshape(len(mine) * len(others), len(f)).astype(np.float32) @ odds.white[w]).reshape(len(mine), len(others), m)
    element, height, total = np.empty(count, dtype=np.intp), np.empty(count, dtype=np.intp), np.empty(count)
    throw = rng.random((count, 2))

    def part(which: slice) -> None:
        choose(
            odds.norm, product[which], cross[which], inner[which], pull[which], odds.element, odds.start,
            odds.mean, odds.sd**2, odds.share, odds.none, throw[which], state.way[which],
            element[which], height[which], total[which],
        )  # fmt: skip

    ends = np.linspace(0, count, threads + 1).astype(int)
    pieces = [slice(a, z) for a, z in zip(ends[:-1], ends[1:], strict=True)]
    if threads == 1:
        part(pieces[0])
    else:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(part, pieces))
    shapes = len(odds.shapes.x)
    blunder = element >= shapes
    defect = (element >= 0) & ~blunder
    state.element[:, slot] = np.where(blunder, 1 + element - shapes, np.where(defect, 0, -1))
    state.shapes.put((np.flatnonzero(defect), slot), odds.shapes[element[defect]])
    state.feature[:, slot] = np.where(element[:, None] >= 0, odds.feature[element], 0.0)
    group = blunder.astype(np.intp)
    state.mean[:, slot] = np.where(element >= 0, odds.mean[group, height], 0.0)
    state.sd[:, slot] = np.where(element >= 0, odds.sd[group, height], 0.0)
    return total


def _move(state: Particles, slot: int, odds: _Odds, ways: Ways, f: Functionals, width: float, depth: float, rng: np.random.Generator) -> None:
    """Metropolis: shift, turn and resize one slot's defects, and draw their height class anew."""
    mine = np.flatnonzero(state.element[:, slot] == 0)
    if not len(mine):
        return
    part = state.keep(mine)
    others = np.delete(np.arange(state.element.shape[1]), slot)
    b, misfit = _whitened(part, others, ways)
    inner = np.linalg.inv(np.eye(len(others)) + b @ b.transpose(0, 2, 1))
    old = part.shapes[:, slot]
    new, legal = nudge(old, width, depth, rng)
    feature = _shape_feature(new[:, None, None], f)

    def score(feature: Array) -> Array:
        white = np.einsum("pnm,pm->pn", ways.whiten[part.way], feature)
        cross = np.einsum("pon,pn->po", b, white)
        pulled = np.einsum("pij,pj->pi", inner, cross)
        q = np.maximum((white**2).sum(1) - (cross * pulled).sum(1), 0.0)
        left = (white * misfit).sum(1) - (pulled * np.einsum("pon,pn->po", b, misfit)).sum(1)
        return log_ratio(q[:, None], left[:, None], odds.mean[0], odds.sd[0] ** 2) + np.log(odds.share)

    before, after = score(part.feature[:, slot]), score(feature)
    take = legal & (np.log(rng.random(len(mine))) < _log_sum(after) - _log_sum(before))
    moved = mine[take]
    state.shapes.put((moved, slot), new[take])
    state.feature[moved, slot] = feature[take]
    log_odds = np.where(take[:, None], after, before)
    odds_of_class = np.exp(log_odds - log_odds.max(1, keepdims=True)).cumsum(1)
    height = (rng.random((len(mine), 1)) * odds_of_class[:, -1:] > odds_of_class).sum(1)
    state.mean[mine, slot], state.sd[mine, slot] = odds.mean[0, height], odds.sd[0, height]


def _log_sum(log_odds: Array) -> Array:
    top = log_odds.max(1)
    return top + np.log(np.exp(log_odds - top[:, None]).sum(1))


def _rechoose_way(state: Particles, ways: Ways, rng: np.random.Generator) -> None:
    """Gibbs step for the field's and the plane's size given the defects."""
    count, slots = state.element.shape
    log_odds = np.empty((count, len(ways.size)))
    for w in range(len(ways.size)):
        white = state.feature @ ways.whiten[w].T
        misfit = ways.misfit[w] - np.einsum("psn,ps->pn", white, state.mean)
        b = white * state.sd[:, :, None]
        gram = np.eye(slots) + b @ b.transpose(0, 2, 1)
        dot = np.einsum("psn,pn->ps", b, misfit)
        solved = np.linalg.solve(gram, dot[:, :, None])[:, :, 0]
        fit = (ways.misfit[w] ** 2).sum() - (misfit**2).sum(1) + (dot * solved).sum(1)
        log_odds[:, w] = ways.log_evidence[w] + 0.5 * fit - 0.5 * np.linalg.slogdet(gram)[1]
    odds = np.exp(log_odds - log_odds.max(1, keepdims=True)).cumsum(1)
    state.way = (rng.random((count, 1)) * odds[:, -1:] > odds).sum(1)


def _systematic(weight: Array, count: int, rng: np.random.Generator) -> Index:
    """Systematic resampling: `count` indices in proportion to the weights, one throw."""
    ends = np.cumsum(weight / weight.sum())
    return np.minimum(np.searchsorted(ends, (np.arange(count) + rng.random()) / count), len(weight) - 1)
