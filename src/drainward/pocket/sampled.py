"""The placement over all that the survey leaves possible.

Sampled        the drawn pockets' answers
sampled        draw pockets and place the unit in each
ROOM           that the unit goes in at all
findings       the answers against that and the rules of the job
drain_words, cut_words   where the drain stands over its core; where to cut its pipe
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Certainty, Finding, Requirement, Source
from drainward.floor.doubt import prudent
from drainward.floor.judge import judged_on
from drainward.job.model import Job, UnitModel
from drainward.pocket.fit import FITS_FROM, best_of_many
from drainward.pocket.heights import heights, lift
from drainward.pocket.limits import Limits, outline
from drainward.pocket.mend import mend_words
from drainward.pocket.place import Placement, Surveyed, at_words, surveyed
from drainward.pocket.shape import Pocket
from drainward.quantity import format_length
from drainward.rules import RuleBook

__all__ = ["ROOM", "Sampled", "cut_words", "drain_words", "findings", "sampled"]

Array = NDArray[np.float64]

ROOM = Requirement(
    id="pocket/goes-in",
    what="Room for the unit in its pocket",
    quantity="pocket.room",
    low=0.0,
    high=None,
    unit="m",
    source=Source("geometry: a rigid unit goes in where nothing is in its way", "", "", Certainty.COMPUTED),
    binds="framed pocket, where the unit has the most room to stud faces, core and threshold line",
    decided_by="whoever surveyed the room",
    written='at least 0"',
)
"""No rule but geometry, so no job can set another."""

_ROUNDING = 10 * FITS_FROM
_SIXTEENTH = 0.0254 / 16
_SEEN = 0.0254 / 32  # less is written as 0"
_A_GO = 0.00635  # 1/4 in: as much as anybody planes or furs at one go


@dataclass(frozen=True, slots=True, eq=False)
class Sampled:
    """What c drawn pockets answer, (c,), m and rad.

    room : least room to stud faces, core and line at the best place; below nought the unit does not go in
    shim : largest shim;  clearance : round the drain's body in the core, nan where that is not measured
    line : how far an end of the threshold's outer edge lies off its line, the worse end; nan where no line is set
    rise : of the threshold over the finished floor;  thin, thick : least and greatest from slab to underside, nan where
           no spot of the slab under the floor is measured
    turn : of the unit
    """

    room: Array
    shim: Array
    clearance: Array
    line: Array
    rise: Array
    thin: Array
    thick: Array
    turn: Array

    @property
    def fits(self) -> NDArray[np.bool_]:
        """Whether the unit goes in, rounding apart."""
        return np.asarray(self.room > _ROUNDING)

    @property
    def goes_in(self) -> float:
        """Chance that the unit goes in, as in its finding."""
        return prudent(self.fits)


def sampled(
    unit: UnitModel, pocket: Pocket, limits: Limits | None = None, samples: int = 1000, seed: int = 0
) -> Sampled:
    """Place the unit in `samples` pockets drawn from the survey's mean and covariance.

    What nobody measured (nan) stays unknown in all of them. Raises StageError as `place.place` does.
    """
    limits = limits or Limits()
    survey = surveyed(pocket, outline(unit), limits)
    n, k = len(pocket), len(pocket.slab)
    drawn = pocket.draw(samples, seed)
    off, core, slab, front = drawn[:, :n], drawn[:, n : n + 3], drawn[:, n + 3 : n + 3 + k], drawn[:, n + 3 + k :]
    off, core, front = (np.ascontiguousarray(part) for part in (off[:, survey.used], core, front))
    room, shim, place = best_of_many(survey.wall, survey.at, off, core, front, survey.ends, survey.out)
    clearance = core[:, 2] - survey.body - _drain_away(survey, core, place)
    at_mean = heights(unit, pocket, place.mean(axis=0), limits)
    over = at_mean.under - (at_mean.rise - at_mean.rise_asked) + pocket.slab[at_mean.spot] - slab[:, at_mean.spot]
    allowed = (limits.bed_least, limits.bed_most) if unit.style == "bedded" else (0.0, limits.base_most)
    move = lift(over, allowed, limits.rise_off)
    under = over + move[:, None] if over.shape[1] else np.full((samples, 1), np.nan)
    return Sampled(
        room=room,
        shim=shim,
        clearance=clearance,
        line=_line_off(survey, front, place),
        rise=unit.threshold_height + move,
        thin=under.min(axis=1),
        thick=under.max(axis=1),
        turn=place[:, 2],
    )


def _drain_away(survey: Surveyed, core: Array, place: Array) -> Array:
    c, s = np.cos(place[:, 2]), np.sin(place[:, 2])
    x = survey.out[4] + place[:, 0] - c * core[:, 0] - s * core[:, 1]
    y = survey.out[5] + place[:, 1] + s * core[:, 0] - c * core[:, 1]
    away: Array = np.hypot(x, y)
    return away


def _line_off(survey: Surveyed, front: Array, place: Array) -> Array:
    c, s = np.cos(place[:, 2]), np.sin(place[:, 2])
    ends = [
        np.abs(-s * survey.ends[e] + c * front[:, e] - place[:, 1] - survey.out[3])
        for e in (0, 1)
        if np.isfinite(survey.front[e])
    ]
    off: Array = np.max(ends, axis=0) if ends else np.full(len(front), np.nan)
    return off


def findings(
    unit: UnitModel, pocket: Pocket, placed: Placement, drawn: Sampled, job: Job, book: RuleBook
) -> tuple[Finding, ...]:
    """Whether it goes in, and what the book asks of shims, drain, line, heights and bed, in order."""
    asked = {
        "pocket.shim": (drawn.shim, _shim_advice(pocket, placed)),
        "pocket.drain_clearance": (drawn.clearance, drain_words(placed)),
        "pocket.line_off": (drawn.line, ""),
        "threshold.rise": (np.where(np.isfinite(drawn.thin), drawn.rise, np.nan), _rise_advice(placed)),
        "bed.least": (drawn.thin if unit.style == "bedded" else np.array([np.nan]), _slab_advice(pocket, placed)),
        "bed.greatest": (drawn.thick if unit.style == "bedded" else np.array([np.nan]), _slab_advice(pocket, placed)),
    }
    answers = [_told(ROOM, drawn.room, _room_advice(pocket, placed), job.risk)]
    for quantity, (values, advice) in asked.items():
        if np.isfinite(values).all():
            rows = book.requirements(quantity, job.rules.shower)
            answers.extend(_told(row, values, advice, job.risk) for row in rows)
    return tuple(answers)


def _told(row: Requirement, values: Array, advice: str, risk: float) -> Finding:
    """A value at a limit that the placement keeps by construction is met there, rounding apart."""
    if row.low is not None:
        values = np.where(np.abs(values - row.low) < -_ROUNDING, row.low, values)
    if row.high is not None:
        values = np.where(np.abs(values - row.high) < -_ROUNDING, row.high, values)
    return judged_on(row, values, advice, risk).finding


def _room_advice(pocket: Pocket, placed: Placement) -> str:
    words = mend_words(pocket, placed)
    if not words:
        return ""
    return f"{'No single' if placed.change is None else 'One'} change lets it in: {words}."


def _shim_advice(pocket: Pocket, placed: Placement) -> str:
    if not placed.goes_in or not placed.binding:
        return ""
    first = max(placed.binding, key=lambda bind: bind.gain * min(bind.up_to, _A_GO))
    much = min(first.up_to, _A_GO)
    if first.gain * much < _A_GO / 16:
        return ""
    gain = f"takes {format_length(first.gain * much, denominator=64)} off the largest shim"
    by = format_length(much, denominator=64)
    if first.what == "core":
        return f"The core holds the unit: {by} more all round {gain}."
    if first.what == "line":
        return f"The threshold's line holds the unit: {by} more off it {gain}."
    face = at_words(pocket, first.index)
    if first.touches:
        return f"The unit touches {face}: planing {by} off it {gain}."
    return f"The largest shim is at {face}: furring that stud out by {by} {gain}."


def drain_words(placed: Placement) -> str:
    """Where the drain stands over its core; "" where nobody measured it."""
    x, y = placed.drain_off
    if not (np.isfinite(x) and np.isfinite(y)):
        return ""
    ways = [(x, "the right", "the left"), (y, "the opening", "the back")]
    parts = [
        f"{format_length(abs(v))} toward {more if v > 0 else less}"
        for v, more, less in ways
        if abs(v) >= _SIXTEENTH / 2
    ]
    return (
        f"The drain stands {' and '.join(parts)} of the core's middle."
        if parts
        else "The drain is centred in the core."
    )


def cut_words(placed: Placement) -> str:
    """Where to cut the drain pipe so that it seats and never lifts the floor; "" where the survey does not tell."""
    told = placed.heights
    if not (np.isfinite(told.cut) and told.cut_within > 0):
        return ""
    side = "below" if told.cut < 0 else "above"
    cut, within = format_length(abs(told.cut)), format_length(told.cut_within)
    return f"Cut the drain pipe {cut} {side} the finished floor, {within} either way."


def _rise_advice(placed: Placement) -> str:
    return " ".join(words for words in ("As the bed lets it stand.", cut_words(placed)) if words)


def _slab_advice(pocket: Pocket, placed: Placement) -> str:
    told = []
    for j, spot in enumerate(placed.heights.spot):
        for much, verb in ((placed.heights.grind[j], "grind"), (placed.heights.fill[j], "fill")):
            if much > _SEEN:
                x, y = format_length(float(pocket.slab_x[spot])), format_length(float(pocket.slab_y[spot]))
                told.append((much, f"{verb} {format_length(float(much))} at {x} from the left and {y} from the back"))
    return "; ".join(words for _, words in sorted(told, reverse=True)[:3]).capitalize() + "." if told else ""
