"""The survey of a pocket weighed: every way in which it may be framed, and all that may be wrong with its measures.

Weighed   the explanations of a survey with their shares, the likeliest adjustment, and the `Pocket` that is believed
weigh     the measures of a network to that
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.job.model import What
from drainward.pocket.doubt import Belief, Explanation, explain
from drainward.pocket.equations import SIZES, Network
from drainward.pocket.faces import FRAMED
from drainward.pocket.network import Fit
from drainward.pocket.shape import Part, Pocket

__all__ = ["Weighed", "weigh"]

Array = NDArray[np.float64]

_MOST_WRONG = 3
"""No more than one measure in three is taken for wrong: then it is the survey that is wrong, not a reading."""
_LITTLE, _PARTS = 0.002, 40
"""A part of the belief is kept from this share on, and so many of them at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """explanations : with their shares, the likeliest first;  fit : the adjustment for the likeliest

    Causes are numbered as by `Network.causes`.
    """

    network: Network
    explanations: tuple[Explanation, ...]
    fit: Fit

    def pocket(self, aside: Collection[int] = ()) -> Pocket:
        """The pocket as it is believed. aside : indices of the measures that nothing vouches for."""
        network = self.network
        of, n = network.unknowns, len(network.places)
        have = {measure.what for k, measure in enumerate(network.kept) if k not in aside}
        faces = [of.face(point) for point, _ in network.places]
        core = [of.core(0) if What.CORE_FROM_LEFT in have else -1, of.core(1) if What.CORE_FROM_BACK in have else -1]
        radius = of.core_radius() if What.CORE in have else -1
        spots = of.slab_spots()
        front = of.front_ends() if have & {What.DEPTH, What.DIAGONAL} else [-1, -1]
        order = np.array([*faces, *core, radius, *(index for _, _, index in spots), *front], dtype=np.intp)
        parts = self._parts(order)
        mean = sum((part.share * part.mean for part in parts), np.zeros(len(order)))
        covariance = sum(
            (part.share * (part.covariance + _square(np.nan_to_num(part.mean - mean))) for part in parts),
            np.zeros((len(order), len(order))),
        )
        k = len(spots)
        return Pocket(
            wall=np.array([point.wall for point, _ in network.places], dtype=np.intp),
            at=np.array([point.at for point, _ in network.places]),
            z=np.array([point.z for point, _ in network.places]),
            off=mean[:n],
            stud=np.array([number for _, number in network.places], dtype=np.intp),
            core=mean[n : n + 2],
            core_radius=float(mean[n + 2]),
            slab_x=np.array([x for x, _, _ in spots]),
            slab_y=np.array([y for _, y, _ in spots]),
            slab=mean[n + 3 : n + 3 + k],
            front=mean[n + 3 + k :],
            mean=mean,
            covariance=covariance,
            parts=parts,
        )

    def sizes(self, aside: Collection[int] = ()) -> dict[What, tuple[float, float]]:
        """Each size that was measured, with its standard uncertainty."""
        found = {}
        for what in SIZES:
            if any(measure.what is what for k, measure in enumerate(self.network.kept) if k not in aside):
                k = self.network.unknowns.size(what)
                found[what] = (float(self.fit.mean[k]), float(np.sqrt(self.fit.covariance[k, k])))
        return found

    def _parts(self, order: NDArray[np.intp]) -> tuple[Part, ...]:
        """The likeliest explanations under the likeliest framings; -1 in `order` is an unknown that nobody measured."""
        network = self.network
        mean, spread = network.unknowns.spreads()
        h, jacobian = network.model(self.fit.mean)
        misclosure = network.value - h - jacobian @ (mean - self.fit.mean)
        ways = sorted(
            ((float(share), t, one) for one in self.explanations for t, share in enumerate(one.share)),
            key=lambda way: -way[0],
        )
        kept = [way for way in ways[:_PARTS] if way[0] >= _LITTLE] or ways[:1]
        whole = sum(share for share, _, _ in kept)
        known = order >= 0
        pick = order[known]
        found = []
        for share, t, one in kept:
            covariance, noise = network.loosened(_framed(spread, t), sorted(one.causes))
            follow = covariance[pick] @ jacobian.T
            gain = np.linalg.solve(jacobian @ covariance @ jacobian.T + np.diag(noise), follow.T).T
            own, after = np.full(len(order), np.nan), np.zeros((len(order), len(order)))
            own[known] = mean[pick] + gain @ misclosure
            left = covariance[np.ix_(pick, pick)] - gain @ follow.T
            after[np.ix_(known, known)] = (left + left.T) / 2
            found.append(Part(share / whole, own, after))
        return tuple(found)


def weigh(network: Network) -> Weighed:
    """Twice where a diagonal makes it curved: first round the pocket as meant, then round the one that is believed."""
    mean, spread = network.unknowns.spreads()
    near, rounds = mean, 2 if any(measure.what is What.DIAGONAL for measure in network.kept) else 1
    for _ in range(rounds):
        explanations, fit = _weigh_round(network, near, mean, spread)
        near = fit.mean
    return Weighed(network, explanations, fit)


def _weigh_round(network: Network, near: Array, mean: Array, spread: Array) -> tuple[tuple[Explanation, ...], Fit]:
    h, jacobian = network.model(near)
    parts = jacobian @ spread @ jacobian.T
    usual = np.array([_framed(parts, t) for t in range(len(FRAMED))])
    belief = Belief(
        misclosure=network.value - h - jacobian @ (mean - near),
        spread=usual + np.diag(network.u**2),
        before=np.diagonal(usual, axis1=1, axis2=2).max(axis=0),
        u=network.u,
        share=np.array([framed.share for framed in FRAMED]),
    )
    found = explain(belief, network.causes(jacobian), max(len(network.kept) // _MOST_WRONG, 1))
    best = found[0]
    return found, network.fit(FRAMED[int(best.share.argmax())], sorted(best.causes))


def _framed(spread: Array, t: int) -> Array:
    return np.asarray(spread[0] + FRAMED[t].stud ** 2 * spread[1] + FRAMED[t].plane ** 2 * spread[2])


def _square(off: Array) -> Array:
    return np.outer(off, off)
