"""Which measures of a survey are called wrong, and which are only asked again.

Doubt      a measure that is wrong, or may be
doubtful   those of a weighed survey
strange    measures that nothing checks, though they are far from what the unit needs
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drainward.job.model import What
from drainward.pocket.doubt import Explanation
from drainward.pocket.equations import Stud
from drainward.pocket.faces import FRAMED
from drainward.pocket.network import critical_value
from drainward.pocket.weighed import Weighed
from drainward.quantity import INCH

__all__ = ["Doubt", "doubtful", "strange"]

_TOGETHER = 0.5
"""Two measures that are wrong together more often than this, once one is, do not stand for one another."""
_STRANGE = 1.5 * INCH
"""A size that is off the unit's by more was framed for another unit or read wrong (common practice, no source)."""
_UNCHECKED = 0.05


@dataclass(frozen=True, slots=True)
class Doubt:
    """measure, rivals : indices into the network's measures, as in `adjust.Blunder`;  stud : the same
    causes, framed : of the likeliest explanation in which it is wrong, and the index of its framing
    """

    measure: int
    rivals: tuple[int, ...]
    stud: Stud | None
    causes: frozenset[int]
    framed: int


def doubtful(weighed: Weighed, risk: float) -> tuple[Doubt, ...]:
    """The measures of which one is wrong with a chance of 1 - risk at least, or else a stud stands off.

    Of a good survey no more than the share `risk` loses one: the misfit must pass data snooping too (Baarda 1968, from
    memory), each measure tested at risk / n.
    """
    n = len(weighed.network.kept)
    share = {one.causes: float(one.share.sum()) for one in weighed.explanations}
    wrong = [sum(p for causes, p in share.items() if k in causes) for k in range(n)]
    left = [k for k in sorted(range(n), key=lambda k: (-wrong[k], k)) if wrong[k] > risk]
    found: list[Doubt] = []
    while left:
        first = left[0]
        rivals = [
            k
            for k in left[1:]
            if sum(p for causes, p in share.items() if {first, k} <= causes) < _TOGETHER * min(wrong[first], wrong[k])
        ]
        left = [k for k in left[1:] if k not in rivals]
        doubt = _settled(weighed, first, rivals, risk)
        if doubt is not None:
            found.append(doubt)
    return tuple(found)


def _settled(weighed: Weighed, first: int, rivals: Sequence[int], risk: float) -> Doubt | None:
    """None where it may well be that nothing is wrong."""
    network = weighed.network
    group = {first, *rivals}
    worst = next(one for one in weighed.explanations if first in one.causes)
    without = [one for one in weighed.explanations if not one.causes & group]
    # With as many causes something else is odd in its place; with fewer, nothing is.
    instead = [one for one in without if len(one.causes) >= len(worst.causes)]
    if _sum(without) - _sum(instead) > risk:
        return None
    framed = int(worst.share.argmax())
    fit = network.fit(FRAMED[framed], worst.causes - group)
    if float(np.abs(fit.normalised[sorted(group)]).max()) < critical_value(len(network.kept), risk):
        return None
    sole = _sum([one for one in weighed.explanations if first in one.causes])
    if sole >= 1 - risk:
        return Doubt(first, (), None, worst.causes, framed)
    studs = [network.split(one.causes - worst.causes)[1] for one in instead] if _sum(instead) > risk else []
    stud = next((network.studs[some[0]] for some in studs if some), None)
    if not rivals and stud is None:
        return None
    return Doubt(first, tuple(rivals), stud, worst.causes, framed)


def strange(weighed: Weighed) -> tuple[int, ...]:
    """Indices of widths and depths, far from what the unit needs, that no other measure checks."""
    network = weighed.network
    expected, _ = network.model(network.unknowns.spreads()[0])
    off = np.abs(network.value - expected)
    sizes = [measure.what in (What.WIDTH, What.DEPTH) for measure in network.kept]
    alone = weighed.fit.redundancy < _UNCHECKED
    return tuple(int(k) for k in np.flatnonzero(np.array(sizes, dtype=bool) & alone & (off > _STRANGE)))


def _sum(some: Sequence[Explanation]) -> float:
    return float(sum(one.share.sum() for one in some))
