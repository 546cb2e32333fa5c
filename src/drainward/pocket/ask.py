"""The measure that would lessen most the doubt whether a unit goes into its pocket.

Asked          what to measure next, where, and why
next_measure   find it
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.job.model import Measure, UnitModel, What
from drainward.pocket.limits import Limits
from drainward.pocket.sampled import sampled
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH, format_length

__all__ = ["Asked", "next_measure", "place_words"]

Array = NDArray[np.float64]

_TAPE = INCH / 32
_BINS = 8
_WORTH = 0.03
"""A measure that settles less of the doubt than this is not worth the climb."""
_NEVER_MEASURED = (What.CORE_FROM_LEFT, What.CORE_FROM_BACK, What.CORE, What.DEPTH)


@dataclass(frozen=True, slots=True)
class Asked:
    """The next measure, with the columns of survey.csv that say where.

    goes_in : chance that the unit goes in by what is known, as in its finding
    settles : share of that doubt which the measure takes away
    """

    what: What
    wall: str
    x: float | None
    y: float | None
    z: float | None
    goes_in: float
    settles: float
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    """shares : index of the pocket's unknowns and what a change of it changes."""

    what: What
    wall: str
    x: float | None
    y: float | None
    z: float | None
    shares: tuple[tuple[int, float], ...]


def next_measure(
    unit: UnitModel,
    pocket: Pocket,
    doubted: Sequence[tuple[Measure, str]] = (),
    limits: Limits | None = None,
    u: float = _TAPE,
    risk: float = 0.05,
    samples: int = 1000,
    seed: int = 0,
) -> Asked | None:
    """The measure with the most information on whether the unit goes in; None where nothing is left to ask.

    doubted : measures to take once more, and why; the first is asked before all else
    u : standard uncertainty of a tape, m;  limits, samples, seed : as for `sampled.sampled`, whose chance this one is
    An optimal-design step over what a tape can take: the variance of "it goes in" over drawn pockets that each
    candidate, taken alone, explains.
    """
    try:
        placed = sampled(unit, pocket, limits, samples, seed)
    except StageError:
        return None
    fits, chance = placed.fits, placed.goes_in
    if doubted:
        first, why = doubted[0]
        return Asked(first.what, first.wall, first.x, first.y, first.z, chance, 1.0, why)
    if risk < chance < 1 - risk:
        drawn = pocket.draw(samples, seed)
        error = u * np.random.default_rng([seed, 1]).standard_normal(samples)
        found = [(_explained(drawn, fits, candidate, error), candidate) for candidate in _candidates(pocket)]
        settles, best = max(found, key=lambda one: one[0], default=(0.0, None))
        if best is not None and settles >= _WORTH:
            why = f"The unit goes in with {100 * chance:.0f} % chance; this settles most of what is in doubt."
            return Asked(best.what, best.wall, best.x, best.y, best.z, chance, settles, why)
    if chance <= risk:
        return None
    return _not_yet(pocket, chance)


def _explained(drawn: Array, fits: NDArray[np.bool_], candidate: _Candidate, error: Array) -> float:
    """Share of the variance of "it goes in" that the candidate, read with `error` (c,), takes away.

    The correlation ratio over bins of equal counts, less what chance alone gives: a wall may lean either way.
    """
    index, share = (np.array(column) for column in zip(*candidate.shares, strict=True))
    read = drawn[:, index.astype(np.intp)] @ share + error
    if not np.isfinite(read).all():
        return 0.0
    groups = np.array_split(fits[np.argsort(read)], _BINS)
    mean = fits.mean()
    between = sum(len(group) * (group.mean() - mean) ** 2 for group in groups)
    total = len(fits) * mean * (1 - mean)
    return float(between / total - (_BINS - 1) / (len(fits) - 1)) if total > 0 else 0.0


def _candidates(pocket: Pocket) -> Iterator[_Candidate]:
    """Widths, depths and diagonals between surveyed places, and how far walls lean."""
    places: dict[tuple[int, float], list[int]] = {}
    for i, (wall, z) in enumerate(zip(pocket.wall, pocket.z, strict=True)):
        places.setdefault((int(wall), float(z)), []).append(i)
    levels = sorted({z for _, z in places})
    first = len(pocket) + 3 + len(pocket.slab)
    for z in levels:
        left, back, right = (places.get((int(wall), z), []) for wall in Wall)
        if not (left and back and right):
            continue
        for i in left:
            at = float(pocket.at[i])
            j = min(right, key=lambda other: abs(pocket.at[other] - at))
            yield _Candidate(What.WIDTH, "", None, at, z, ((j, 1.0), (i, -1.0)))
        wide = float(pocket.off[right].mean() - pocket.off[left].mean())
        for i in back:
            at = float(pocket.at[i])
            ends = ((first, 1 - at / wide), (first + 1, at / wide))
            yield _Candidate(What.DEPTH, "", at, None, z, (*ends, (i, -1.0)))
        yield from _diagonals(pocket, left, back, right, z, first)
    low = levels[0]
    for (number, z), row in places.items():
        if z > low and (number, low) in places:
            for i in row:
                foot = min(places[number, low], key=lambda other: abs(pocket.at[other] - pocket.at[i]))
                at = float(pocket.at[i])
                x, y = (at, None) if number == Wall.BACK else (None, at)
                yield _Candidate(What.PLUMB, Wall(number).name.lower(), x, y, z, ((i, 1.0), (foot, -1.0)))


def _diagonals(
    pocket: Pocket, left: Sequence[int], back: Sequence[int], right: Sequence[int], z: float, first: int
) -> Iterator[_Candidate]:
    """Both diagonals, linear round the pocket as it is believed; the corners are the studs nearest to them."""
    for wall, near, far, end in (("left", left, right, first + 1), ("right", right, left, first)):
        here = min(near, key=lambda i: pocket.at[i])
        there = max(far, key=lambda i: pocket.at[i])
        corner = (min if wall == "left" else max)(back, key=lambda i: pocket.at[i])
        dx = abs(float(pocket.off[there] - pocket.off[here]))
        dy = float(pocket.mean[end] - pocket.off[corner])
        sign = 1.0 if wall == "left" else -1.0
        length = float(np.hypot(dx, dy))
        shares = ((there, sign * dx / length), (here, -sign * dx / length), (end, dy / length), (corner, -dy / length))
        yield _Candidate(What.DIAGONAL, wall, None, None, z, shares)


def _not_yet(pocket: Pocket, chance: float) -> Asked | None:
    """What nobody measured though it decides as well: the core's place and size, and the front line."""
    missing = np.isnan([*pocket.core, pocket.core_radius, pocket.front.min(initial=np.inf)])
    for what, nobody in zip(_NEVER_MEASURED, missing, strict=True):
        if nobody:
            depth = what is What.DEPTH
            x, z = (float(pocket.at[pocket.wall == Wall.BACK].min()), float(pocket.z.min())) if depth else (None, None)
            why = "Nobody measured it yet, and the unit must keep to it."
            return Asked(what, "", x, None, z, chance, 0.0, why)
    return None


def place_words(measure: Measure | Asked) -> str:
    """Such as: width, 34" from the back, 78" up."""
    parts = [f"{measure.what} of the {measure.wall} wall" if measure.what is What.PLUMB else _named(measure)]
    ways = ((measure.x, "from the left"), (measure.y, "from the back"), (measure.z, "up"))
    return ", ".join([*parts, *(f"{format_length(at)} {way}" for at, way in ways if at is not None)])


def _named(measure: Measure | Asked) -> str:
    if measure.what is What.DIAGONAL:
        return f"{measure.what} from the back {measure.wall}"
    return f"{measure.what} at the back {measure.wall}" if measure.what is What.SQUARE else str(measure.what)
