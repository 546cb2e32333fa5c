"""The support of one room's floor: whether its bed carries it, from taps and presses.

Supported, support_stage   the answer, and all of it for one room of a job
Hollow                     a place that is hollow more likely than not
tap_places                 where a floor is to be tapped
place_words, width_words   a place and a void's width as they are told
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label

from drainward.errors import NoBedError
from drainward.finding import Certainty, Finding, Source, Verdict, decide, overall, stage_json
from drainward.floor.doubt import band, middle, prudent
from drainward.floor.stage import algebra_threads, unit_of
from drainward.hold.carried import Belief, Heard, NextTap, believe, heard, next_tap
from drainward.hold.pressed import Pressed, panel_of, pressed
from drainward.hold.stay import Stay, may_stay
from drainward.job.model import Job, UnitModel
from drainward.job.support import Support
from drainward.pocket.receive import received_unit
from drainward.quantity import INCH, format_length, format_mass

__all__ = ["Hollow", "Supported", "place_words", "support_stage", "tap_places", "width_words"]

Progress = Callable[[str, float], None]

_PITCH, _LEAST_PITCH = 6 * INCH, 3 * INCH
"""From tap to tap at most, common practice, no source; and where a void as wide may not stay, at least."""
_ENOUGH = 0.5
"""Of the places of such a grid, at least: fewer taps prove nothing, however sound."""


@dataclass(frozen=True, slots=True)
class Hollow:
    """x, y : its middle, m;  across : diameter of a disc of its area, m;  chance : of a void at its middle
    stays : whether a round void of that width keeps the limits
    """

    x: float
    y: float
    across: float
    chance: float
    stays: bool


@dataclass(frozen=True, slots=True, eq=False)
class Supported:
    """belief : drawn beds;  pressed : the load on some of them;  stay : the largest void that may stay
    hollows : widest first;  tap : where to tap next, None where nothing is open or another tap tells little
    do : tap, accept, inject, or lift and bed again;  steps : how, in sentences;  assumed : what nobody measured
    """

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    heard: Heard
    belief: Belief
    pressed: Pressed
    stay: Stay
    hollows: tuple[Hollow, ...]
    tap: NextTap | None
    do: str
    steps: tuple[str, ...]
    assumed: tuple[str, ...]
    stage: str = "support"

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the support (docs/json.md); SI throughout."""
        stay, found = self.stay, self.pressed
        return {
            **stage_json(self),
            "do": self.do,
            "steps": list(self.steps),
            "taps": {
                "count": len(self.heard.tx),
                "hollow": int(self.heard.hollow.sum()),
                "presses": len(self.heard.px),
            },
            "hollow": {
                "x": self.belief.x.tolist(),
                "y": self.belief.y.tolist(),
                "chance": self.belief.hollow.T.round(4).tolist(),
            },
            "hollows": [
                {"x": h.x, "y": h.y, "across": h.across, "chance": h.chance, "stays": h.stays} for h in self.hollows
            ],
            "bonded": {"movement": float(np.median(found.bonded)), "strain": float(np.median(found.bonded_strain))},
            "may_stay": {
                "movement": _known(stay.movement),
                "strain": _known(stay.strain),
                "bonded_movement": _known(stay.bonded_movement),
                "bonded_strain": _known(stay.bonded_strain),
            },
            "next_tap": None if self.tap is None else {"x": self.tap.x, "y": self.tap.y, "settles": self.tap.settles},
            "assumed": list(self.assumed),
        }


def _known(length: float) -> float | None:
    return length if math.isfinite(length) else None


def place_words(x: float, y: float) -> str:
    """A place of the floor, m, to the inch: no void is known better."""
    return f"{format_length(x, denominator=1)} from the left, {format_length(y, denominator=1)} from the back"


def width_words(length: float) -> str:
    """How wide a void may be, m, down to the half inch."""
    half = INCH / 2
    return format_length(math.floor(length / half) * half) if math.isfinite(length) else "any width under this floor"


def support_stage(job: Job, room: str, *, seed: int = 0, progress: Progress | None = None) -> Supported:
    """Whether the bed carries one room's floor, from what was tapped and pressed on it.

    Raises StageError where the job has no such room or the room no unit model, NoBedError where it has its own base.
    """
    tell = progress or (lambda what, share: None)
    unit, _ = received_unit(unit_of(job, room), [row for row in job.received if row.room == room])
    if unit.style != "bedded":
        raise NoBedError(f"the unit of room {room} stands on its own base: no bed of mortar carries its floor")
    limits = job.support
    with algebra_threads().limit(limits=1):
        told = heard(unit, [reading for reading in job.readings if reading.room == room], limits)
        tell("drawing beds", 0.05)
        belief = believe(unit, told, limits, seed)
        tell("pressing everywhere", 0.35)
        found = pressed(unit, belief, told, limits, seed, tell)
        stay = may_stay(panel_of(unit), limits)
    hollows = _hollows(belief, stay.widest(limits.bonded))
    deep = limits.deepest
    stands = bool(np.median(found.movement) > deep)
    found = replace(found, movement=np.minimum(found.movement, deep), bonded=np.minimum(found.bonded, deep))
    movement, strain = (found.bonded, found.bonded_strain) if limits.bonded else (found.movement, found.strain)
    conforms = (movement <= limits.movement) & (strain <= limits.strain)
    findings = _findings(limits, belief, found, (movement, strain), stay, job.risk)
    short = _short(unit, limits, told)
    if short:
        findings = tuple(_open(finding, short) for finding in findings)
    verdict = overall(finding.verdict for finding in findings)
    tap = next_tap(belief, found.which, conforms, limits) if verdict is Verdict.NOT_PROVEN else None
    do = _do(verdict, told)
    return Supported(
        room, verdict, findings, told, belief, found, stay, hollows, tap, do, _steps(do, hollows, tap, short),
        _assumed(limits, told, found, stands),
    )  # fmt: skip


def _findings(
    limits: Support,
    belief: Belief,
    found: Pressed,
    worst: tuple[NDArray[np.float64], NDArray[np.float64]],
    stay: Stay,
    risk: float,
) -> tuple[Finding, ...]:
    way = "sticking to its bed" if limits.bonded else "able to lift off its bed"
    loaded = f"{format_mass(limits.load)} on a disc of {format_length(limits.disc)} anywhere, the panel {way}"
    typical = int(np.argsort(worst[0])[len(worst[0]) // 2])
    place = place_words(float(found.x[typical]), float(found.y[typical]))
    share = 100 * float(np.median(found.bonded / found.movement))
    least = stay.widest(limits.bonded)
    round_void = (
        f"A round void up to {width_words(least)} across may stay."
        if math.isfinite(least)
        else "No round void under this floor is too wide."
    )
    advice = f"Most near {place}; bonded it would be {share:.0f} % of it. {round_void}"
    keeps = (belief.share >= limits.carried, worst[0] <= limits.movement, worst[1] <= limits.strain)
    source = str(Source(limits.source or "this tool's own limit, an input of the job", "", "", Certainty.LOCAL))
    rows = (
        (
            "carried",
            "Share of the floor on mortar",
            "share",
            f"at least {100 * limits.carried:.0f} %",
            belief.share,
            "",
        ),
        ("movement", "Movement under the load", "m", f"at most {format_length(limits.movement)}", worst[0], advice),
        ("strain", "Strain of the panel", "share", f"at most {100 * limits.strain:.2g} %", worst[1], ""),
    )
    told = []
    for (name, what, unit, limit, drawn, words), keep in zip(rows, keeps, strict=True):
        ends, chance = band(drawn), prudent(keep)
        value, u = middle(ends)
        told.append(
            Finding(
                id=f"support/{name}", what=what, value=value, u=u, unit=unit, limit=limit, probability=chance,
                verdict=decide(chance, Certainty.LOCAL, risk), advice=words, interval=ends,
                source=source if name == "carried" else f"{source}, {loaded}", likely=float(np.median(drawn)),
            )
        )  # fmt: skip
    return tuple(told)


def tap_places(unit: UnitModel, limits: Support) -> tuple[tuple[float, float], ...]:
    """x, y, m, row by row from the back and there and back again, the drain's opening left out.

    No farther apart than the widest void that may stay, so that none wider lies between them.
    """
    pitch = _pitch(unit, limits)
    columns, rows = (math.ceil(length / pitch - 0.01) for length in (unit.inside_width, unit.inside_depth))
    found = []
    for j in range(rows):
        across = range(columns) if j % 2 == 0 else reversed(range(columns))
        for i in across:
            x, y = (i + 0.5) * unit.inside_width / columns, (j + 0.5) * unit.inside_depth / rows
            if math.hypot(x - unit.drain.x, y - unit.drain.y) > unit.drain.radius:
                found.append((x, y))
    return tuple(found)


def _pitch(unit: UnitModel, limits: Support) -> float:
    return min(max(may_stay(panel_of(unit), limits).widest(limits.bonded), _LEAST_PITCH), _PITCH)


def _short(unit: UnitModel, limits: Support, told: Heard) -> str:
    """Why the taps are too few to prove anything; "" where they are not."""
    wanted, pitch = len(tap_places(unit, limits)), format_length(_pitch(unit, limits), denominator=2)
    if len(told.tx) >= _ENOUGH * wanted:
        return ""
    made = {0: "Nobody tapped the floor", 1: "The floor was tapped once"}.get(
        len(told.tx), f"The floor was tapped {len(told.tx)} times"
    )
    return f"{made}: tap all of it on a grid of {pitch}, {wanted} places, and write down each."


def _open(finding: Finding, why: str) -> Finding:
    verdict = finding.verdict if finding.verdict is Verdict.FAILS else Verdict.NOT_PROVEN
    return replace(finding, verdict=verdict, advice=" ".join(part for part in (why, finding.advice) if part))


def _hollows(belief: Belief, widest: float) -> tuple[Hollow, ...]:
    """Places that are hollow more likely than not."""
    over = belief.hollow > 0.5
    parts, count = label(over)
    cell = (belief.x[1] - belief.x[0]) * (belief.y[1] - belief.y[0])
    found = []
    for k in range(1, count + 1):
        i, j = np.nonzero(parts == k)
        weight = belief.hollow[i, j]
        across = 2 * math.sqrt(len(i) * cell / math.pi)
        x, y = float(np.average(belief.x[i], weights=weight)), float(np.average(belief.y[j], weights=weight))
        found.append(Hollow(x, y, across, float(weight.max()), across <= widest))
    return tuple(sorted(found, key=lambda hollow: -hollow.across))


def _do(verdict: Verdict, told: Heard) -> str:
    if verdict is Verdict.MEETS:
        return "accept"
    if verdict is Verdict.NOT_PROVEN:
        return "tap"
    return "inject" if told.cured else "lift and bed again"


def _steps(do: str, hollows: tuple[Hollow, ...], tap: NextTap | None, short: str) -> tuple[str, ...]:
    at = [place_words(h.x, h.y) for h in hollows if not h.stays]
    if do == "accept":
        return ("Leave the bed as it is.",)
    if do == "lift and bed again":
        return (
            "Lift the unit now, while the mortar's pot life lasts: off its bed level, enough people, no hand under it.",
            *(f"Hollow near {place}: comb higher ridges there." for place in at),
            "Scrape off what has begun to stiffen, bed it again, press it down and read the floor anew.",
        )
    if do == "inject":
        return (
            "Ask whoever makes the unit first: only they say whether, where and with what a void may be filled.",
            *(f"Hollow near {place}: an entry at its lowest edge, a vent at its highest." for place in at),
            "Fill at a low pressure with a level on the floor, and stop when the vent runs or the bubble moves.",
            "Brace as before, let it cure by its own instructions, then tap and press all of it again.",
        )
    if short:
        return (short,)
    if tap is None:
        return ("Tap between the taps that were made, round each hollow sound first.",)
    return (f"Tap next {place_words(tap.x, tap.y)}: it settles {100 * tap.settles:.0f} % of the doubt.",)


def _assumed(limits: Support, told: Heard, found: Pressed, stands: bool) -> tuple[str, ...]:
    lines = [
        "The edges of the floor are taken to be free, as if the walls moulded to it held nothing: on the safe side.",
        f"The bed is taken to be a soft one, {limits.bed:.1e} Pa/m; stiffer mortar changes little.",
    ]
    if stands:
        lines.append(
            f"A void is taken to be {format_length(limits.deepest)} deep: the panel that sinks so far stands on what "
            "is under it. Its strain is that of a panel which nothing stops: on the safe side."
        )
    if not limits.source:
        lines.append("Load and limits have no source: put those of the unit's instructions into [support] of job.toml.")
    if len(told.px) and not told.told:
        lines.append(f"Presses without a weight are taken to be made by {format_mass(limits.presser)} on one heel.")
    if len(told.px) and found.counted < 10:
        lines.append("The presses fit few of the beds that the taps leave possible: press again, and tap round there.")
    return tuple(lines)
