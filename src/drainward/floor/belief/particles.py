"""Ways in which a floor may be, drawn from what the readings leave possible.

Particles     p ways of p floors: field, tilt, local defects and blunders
draw_particles   the sampler: exact for the first defect, sequential importance sampling for further ones, then Gibbs
                 and Metropolis moves on all of them
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import over_blocks
from drainward.floor.belief.defects import Shapes, dictionary, nudge
from drainward.floor.belief.odds import choose, log_ratio
from drainward.floor.belief.ways import Prior, Ways
from drainward.floor.functionals import Functionals

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
        return Particles(self.way[index], self.element[index], s, self.feature[index], self.mean[index], self.sd[index])


@dataclass(frozen=True, slots=True, eq=False)
class _Odds:
    """Prior odds of the m + n elements (defect shapes, then blunders of each reading) and of their height classes.

    shapes : (m,); feature : (m + n, n) what each adds to the readings; element : (m + n,) odds
    start : bounds of the two groups; mean, sd : (2, classes) height classes of each; share : (classes,) their odds
    white : (w, n, m + n) whitened features, by way; norm : (w, m + n) their squared norms
    """

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
    sampler = _Sampler(prior, ways, f, (width, depth), _odds(prior, ways, f, width, depth, threads), threads, rng)
    state = sampler.start(count)
    for _ in range(sweeps):
        sampler.move_all(state, moves)
        sampler.rechoose_way(state)
        for slot in range(prior.slots):
            sampler.refresh(state, slot)
    sampler.move_all(state, moves)
    # Resampling sorted them: shuffled, any part of them stands for all.
    return state.keep(rng.permutation(count))


def _odds(prior: Prior, ways: Ways, f: Functionals, width: float, depth: float, threads: int) -> _Odds:
    shapes, share = dictionary(width, depth)
    feature = np.concatenate([_shape_feature(shapes[:, None, None], f), np.diag(f.u)])
    m, n = len(share), len(f)
    of_defect = prior.defect_odds * (1 - prior.blunder_odds) if n else prior.defect_odds
    of_blunder = prior.defect_odds * prior.blunder_odds / max(n, 1)
    white, norm = _whiten(ways, feature, threads)
    return _Odds(
        shapes,
        feature,
        np.concatenate([of_defect * share, np.full(n, of_blunder)]),
        np.array([0, m, m + n]),
        np.array([prior.heights, np.zeros(len(prior.blunders))]),
        np.array([prior.height_sds, prior.blunders]),
        np.array(prior.height_odds),
        1.0 - prior.defect_odds,
        white,
        norm,
    )


def _whiten(ways: Ways, feature: Array, threads: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Whitened features (w, n, m) and their squared norms (w, m), for features (m, n)."""
    columns = np.ascontiguousarray(feature.T, dtype=np.float32)
    white = np.empty((len(ways.size), *columns.shape), dtype=np.float32)
    norm = np.empty((len(ways.size), columns.shape[1]), dtype=np.float32)

    def work(first: int, last: int) -> None:
        for w in range(first, last):
            np.matmul(ways.whiten[w].astype(np.float32), columns, out=white[w])
            np.einsum("nm,nm->m", white[w], white[w], out=norm[w])

    over_blocks(work, len(white), threads)
    return white, norm


def _shape_feature(shapes: Shapes, f: Functionals) -> Array:
    """What shapes of unit height (..., 1, 1) add to the readings: (..., n)."""
    feature: Array = np.einsum("...np,np->...n", shapes.at(f.x, f.y), f.weight)
    return feature


@dataclass(frozen=True, slots=True, eq=False)
class _Others:
    """A particle's other elements, taken out: b (p, o, n) scaled whitened features, misfit (p, n) less their mean,
    inner (p, o, o) inverse of I + Gram matrix, pull (p, o) inner times b misfit.
    """

    b: Array
    misfit: Array
    inner: Array
    pull: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Sampler:
    prior: Prior
    ways: Ways
    f: Functionals
    size: tuple[float, float]
    odds: _Odds
    threads: int
    rng: np.random.Generator

    def start(self, count: int) -> Particles:
        """First draw: way and first element from their exact posterior, further elements by importance sampling."""
        every_way = self._blank(len(self.ways.size))
        every_way.way[:] = np.arange(len(self.ways.size))
        evidence = self.ways.log_evidence + self.refresh(every_way, 0)
        state = self._blank(count)
        state.way = self._systematic(evidence, count)
        self.refresh(state, 0)
        log_weight = np.zeros(count)
        for slot in range(1, self.prior.slots):
            log_weight += self.refresh(state, slot)
        return state.keep(self._systematic(log_weight, count))

    def _blank(self, count: int) -> Particles:
        slots = self.prior.slots
        return Particles(
            np.zeros(count, dtype=np.intp),
            np.full((count, slots), -1, dtype=np.intp),
            Shapes(np.zeros((count, slots), dtype=np.intp), *(np.ones((count, slots)) for _ in range(5))),
            np.zeros((count, slots, len(self.f))),
            np.zeros((count, slots)),
            np.zeros((count, slots)),
        )

    def refresh(self, state: Particles, slot: int) -> Array:
        """Draw one slot of every particle given its others; returns the log of the summed odds (p,)."""
        odds, count = self.odds, len(state.way)
        others = self._others(state, slot)
        o, m = others.b.shape[1], len(odds.element)
        product = np.empty((count, m), dtype=np.float32)
        cross = np.empty((count, o, m), dtype=np.float32)
        for w in np.unique(state.way):
            mine = np.flatnonzero(state.way == w)
            product[mine] = others.misfit[mine].astype(np.float32) @ odds.white[w]
            flat = others.b[mine].reshape(len(mine) * o, len(self.f)).astype(np.float32)
            cross[mine] = (flat @ odds.white[w]).reshape(len(mine), o, m)
        element, height, total = np.empty(count, dtype=np.intp), np.empty(count, dtype=np.intp), np.empty(count)
        throw = self.rng.random((count, 2))

        def part(first: int, last: int) -> None:
            of = slice(first, last)
            choose(
                odds.norm, product[of], cross[of], others.inner[of], others.pull[of], odds.element, odds.start,
                odds.mean, odds.sd**2, odds.share, odds.none, throw[of], state.way[of],
                element[of], height[of], total[of],
            )  # fmt: skip

        over_blocks(part, count, self.threads)
        self._put(state, slot, element, height)
        return total

    def _put(self, state: Particles, slot: int, element: Index, height: Index) -> None:
        """Write drawn elements (p,), -1 for none, of the given height classes into a slot."""
        odds, shapes = self.odds, self.odds.start[1]
        blunder, there = element >= shapes, element >= 0
        defect = there & ~blunder
        state.element[:, slot] = np.where(blunder, 1 + element - shapes, np.where(defect, 0, -1))
        state.shapes.put((np.flatnonzero(defect), slot), odds.shapes[element[defect]])
        state.feature[:, slot] = np.where(there[:, None], odds.feature[element], 0.0)
        group = blunder.astype(np.intp)
        state.mean[:, slot] = np.where(there, odds.mean[group, height], 0.0)
        state.sd[:, slot] = np.where(there, odds.sd[group, height], 0.0)

    def _others(self, state: Particles, slot: int) -> _Others:
        slots = np.delete(np.arange(self.prior.slots), slot)
        white = np.einsum("pnm,pom->pon", self.ways.whiten[state.way], state.feature[:, slots])
        misfit = self.ways.misfit[state.way] - np.einsum("pon,po->pn", white, state.mean[:, slots])
        b = white * state.sd[:, slots, None]
        inner = np.linalg.inv(np.eye(len(slots)) + b @ b.transpose(0, 2, 1))
        return _Others(b, misfit, inner, np.einsum("pij,pj->pi", inner, np.einsum("pjn,pn->pj", b, misfit)))

    def move_all(self, state: Particles, moves: int) -> None:
        """So many Metropolis moves of every defect."""
        for _ in range(moves):
            for slot in range(self.prior.slots):
                mine = np.flatnonzero(state.element[:, slot] == 0)
                if len(mine):
                    self._move(state, mine, slot)

    def _move(self, state: Particles, mine: Index, slot: int) -> None:
        """Metropolis: shift, turn and resize one slot's defects, and draw their height class anew."""
        part, odds = state.keep(mine), self.odds
        others = self._others(part, slot)
        new, legal = nudge(part.shapes[:, slot], *self.size, self.rng)
        feature = _shape_feature(new[:, None, None], self.f)

        def score(feature: Array) -> Array:
            white = np.einsum("pnm,pm->pn", self.ways.whiten[part.way], feature)
            cross = np.einsum("pon,pn->po", others.b, white)
            q = (white**2).sum(1) - np.einsum("pi,pij,pj->p", cross, others.inner, cross)
            b = (white * others.misfit).sum(1) - (others.pull * cross).sum(1)
            return log_ratio(np.maximum(q, 0.0)[:, None], b[:, None], odds.mean[0], odds.sd[0] ** 2) + np.log(
                odds.share
            )

        before, after = score(part.feature[:, slot]), score(feature)
        take = legal & (np.log(self.rng.random(len(mine))) < _log_sum(after) - _log_sum(before))
        state.shapes.put((mine[take], slot), new[take])
        state.feature[mine[take], slot] = feature[take]
        height = self._pick(np.where(take[:, None], after, before))
        state.mean[mine, slot], state.sd[mine, slot] = odds.mean[0, height], odds.sd[0, height]

    def rechoose_way(self, state: Particles) -> None:
        """Gibbs step for the field's and the plane's size given the elements."""
        ways = self.ways
        log_odds = np.empty((len(state.way), len(ways.size)))
        for w in range(len(ways.size)):
            white = state.feature @ ways.whiten[w].T
            misfit = ways.misfit[w] - np.einsum("psn,ps->pn", white, state.mean)
            b = white * state.sd[:, :, None]
            gram = np.eye(b.shape[1]) + b @ b.transpose(0, 2, 1)
            dot = np.einsum("psn,pn->ps", b, misfit)
            solved = np.linalg.solve(gram, dot[:, :, None])[:, :, 0]
            fit = (ways.misfit[w] ** 2).sum() - (misfit**2).sum(1) + (dot * solved).sum(1)
            log_odds[:, w] = ways.log_evidence[w] + 0.5 * fit - 0.5 * np.linalg.slogdet(gram)[1]
        state.way = self._pick(log_odds)

    def _pick(self, log_odds: Array) -> Index:
        """One column of each row (p, k), in proportion to the odds."""
        odds = np.exp(log_odds - log_odds.max(1, keepdims=True)).cumsum(1)
        column: Index = (self.rng.random((len(odds), 1)) * odds[:, -1:] > odds).sum(1)
        return column

    def _systematic(self, log_weight: Array, count: int) -> Index:
        """Systematic resampling: `count` indices in proportion to the weights, one throw."""
        weight = np.exp(log_weight - log_weight.max())
        ends = np.cumsum(weight / weight.sum())
        throws = (np.arange(count) + self.rng.random()) / count
        return np.minimum(np.searchsorted(ends, throws), len(weight) - 1)


def _log_sum(log_odds: Array) -> Array:
    top = log_odds.max(1)
    log_sum: Array = top + np.log(np.exp(log_odds - top[:, None]).sum(1))
    return log_sum
