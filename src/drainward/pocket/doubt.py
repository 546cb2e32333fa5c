"""What may be wrong with a survey or odd in its pocket, weighed: the search for the explanations of its measures.

Cause        one thing that would explain a misfit, with its odds beforehand
Belief       how the measures scatter where nothing is wrong, for each way in which the pocket may be framed
Explanation  causes taken together, with their share of the belief for each framing
explain      find those that count

Every explanation has a likelihood in closed form: a cause is one more independent error of known size, shared by the
measures that it touches. The shares follow by Bayes' rule over all explanations that were looked at, each one cause
away from a likely one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Belief", "Cause", "Explanation", "explain"]

Array = NDArray[np.float64]

_WIDE = 6
"""So many explanations are taken further at a time."""
_FAR = math.log(1e4)
"""One that is less likely than the best by this is not taken further."""
_CHECKED = 0.5
"""A measure is checked where the others leave of its variance beforehand less than this."""


@dataclass(frozen=True, slots=True)
class Cause:
    """touches : (n,) by how much it moves each measure;  size : standard deviation of it, m;  odds : beforehand
    measure : index of the measure that it makes wrong, -1 where it is something in the pocket
    """

    touches: Array
    size: float
    odds: float
    measure: int = -1


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """n measures, t framings.

    misclosure : (n,) measured less expected beforehand;  spread : (t, n, n) its covariance;  before : (n,) the largest
    variance that a measure had beforehand without its own error;  u : (n,) of that error;  share : (t,) of the framings
    """

    misclosure: Array
    spread: Array
    before: Array
    u: Array
    share: Array


@dataclass(frozen=True, slots=True, eq=False)
class Explanation:
    """causes : indices, none where all is well;  share : (t,) of the whole belief, by framing."""

    causes: frozenset[int]
    share: Array


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """inverse : (t, n, n) of the spread with the causes in it;  weight : (t, n) inverse @ misclosure;  log : (t,)"""

    causes: frozenset[int]
    inverse: Array
    weight: Array
    log: Array

    @property
    def total(self) -> float:
        return float(np.logaddexp.reduce(self.log))


def explain(belief: Belief, causes: Sequence[Cause], most: int) -> tuple[Explanation, ...]:
    """Explanations with their shares, the likeliest first. most : measures that may be wrong at once."""
    start = _start(belief)
    looked: dict[frozenset[int], Array] = {start.causes: start.log}
    front, best = [start], start.total
    touches = np.array([cause.touches for cause in causes]).reshape(len(causes), -1).T
    while front:
        grown: list[tuple[float, _State, int]] = []
        for state in front:
            logs = _with_each(belief, state, causes, touches, most)
            totals = np.logaddexp.reduce(logs, axis=0)
            for k in np.flatnonzero(np.isfinite(totals)):
                key = state.causes | {int(k)}
                if key not in looked:
                    looked[key] = logs[:, k]
                    grown.append((float(totals[k]), state, int(k)))
        best = max([best, *(total for total, _, _ in grown)])
        further = sorted(grown, key=lambda one: -one[0])[:_WIDE]
        front = [
            _with(state, looked[state.causes | {k}], causes[k], k) for total, state, k in further if total > best - _FAR
        ]
    whole = np.logaddexp.reduce([np.logaddexp.reduce(log) for log in looked.values()])
    found = [Explanation(key, np.exp(log - whole)) for key, log in looked.items()]
    return tuple(sorted(found, key=lambda one: (-float(one.share.sum()), sorted(one.causes))))


def _start(belief: Belief) -> _State:
    inverse = np.linalg.inv(belief.spread)
    inverse = (inverse + inverse.transpose(0, 2, 1)) / 2
    weight = inverse @ belief.misclosure
    _, size = np.linalg.slogdet(belief.spread)
    return _State(frozenset(), inverse, weight, np.log(belief.share) - (size + weight @ belief.misclosure) / 2)


def _with_each(belief: Belief, state: _State, causes: Sequence[Cause], touches: Array, most: int) -> Array:
    """Log share of the state with each cause more, (t, causes); -inf where it may not be."""
    size = np.array([cause.size**2 for cause in causes])
    odds = np.log([cause.odds for cause in causes])
    own = np.einsum("nk,tnk->tk", touches, state.inverse @ touches)
    pull = state.weight @ touches
    grown = 1 + size * np.maximum(own, 0.0)
    logs = state.log[:, None] + odds - np.log(grown) / 2 + size * pull**2 / grown / 2
    logs[:, sorted(state.causes)] = -np.inf
    if sum(causes[k].measure >= 0 for k in state.causes) >= most:
        logs[:, [cause.measure >= 0 for cause in causes]] = -np.inf
    # Nothing can be called wrong where nothing but what is usual speaks against it.
    likely = int(state.log.argmax())
    inverse = np.diag(state.inverse[likely])
    checked = inverse * (belief.u**2 + _CHECKED * belief.before) > 1
    logs[:, [k for k, cause in enumerate(causes) if cause.measure >= 0 and not checked[cause.measure]]] = -np.inf
    return np.asarray(logs)


def _with(state: _State, log: Array, cause: Cause, k: int) -> _State:
    """The state with one cause more: its error has rank one. A measure that is wrong tells nothing any more."""
    gain = state.inverse @ cause.touches
    own, pull = gain @ cause.touches, state.weight @ cause.touches
    share = 1 / own if cause.measure >= 0 else cause.size**2 / (1 + cause.size**2 * own)
    return _State(
        state.causes | {k},
        state.inverse - share[:, None, None] * gain[:, :, None] * gain[:, None, :],
        state.weight - (share * pull)[:, None] * gain,
        log,
    )
