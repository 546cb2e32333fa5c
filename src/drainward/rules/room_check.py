"""The rules of the room: door, turning and clear floor space, edges and sizes, from what was surveyed there.

room_sizes      surveyed sizes of a room by quantity, each with its standard uncertainty
room_findings   one finding for each requirement on the room, its door, its floor space and its unit's sizes
Choice          one unit model of the job's catalogue in a room: whether it goes in, and whether it meets the rules
which_units     the what-if: every unit model of the job in this room, those that would do first
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from drainward.finding import Finding, Verdict, overall
from drainward.job.model import Job, Measure, Room, UnitModel, What
from drainward.quantity import INCH
from drainward.rules.book import RuleBook
from drainward.rules.evaluate import evaluate_normal, not_measured
from drainward.rules.quantities import QUANTITIES
from drainward.rules.unit_check import (
    SIZE_U,
    fall_findings,
    lip_height,
    pipe_findings,
    size_findings,
    threshold_findings,
)

__all__ = ["Choice", "Sizes", "room_findings", "room_sizes", "which_units"]

Sizes = Mapping[str, tuple[float, float]]
"""quantity -> (value, standard uncertainty), SI."""

TAPED_U = 0.0015875 / math.sqrt(3)
"""Standard uncertainty of a size in the room list, m: within ±1/16 in, evenly (common practice, no source)."""
WIDE_TRANSFER = 58 * INCH
"""From this inside width, m, a transfer unit counts as one on the footprint of a bath."""

_ASK: dict[str, str] = {
    "door.clear_width": "Open the door square and measure from its face to the stop of the frame on the latch side.",
    "door.pull_depth": "On the side where the door is pulled, measure square off it to the first thing in the way.",
    "door.pull_latch": "On the side where the door is pulled, measure from the latch edge of the opening to the wall "
    "or the first thing beside it.",
    "door.push_depth": "On the side where the door is pushed, measure square off it to the first thing in the way.",
    "door.threshold": "Lay a straightedge on the door's threshold and measure down to the finished floor; none is 0.",
    "turning.diameter": "Lay out the circle outside the shower with a cord, clear of the door's frame and all "
    "fixtures, and measure the largest that fits.",
    "turning.t_square": "Measure the side of the square that the T fills.",
    "turning.t_arm": "Measure the T's arms and base at their narrowest.",
    "clear_space.width": "Measure the clear floor before the shower, its short side.",
    "clear_space.length": "Measure the clear floor before the shower, its long side.",
    "clearance.width": "Measure from the shower's face outward to the first thing in the way.",
    "clearance.length": "Measure the clear floor along the shower's face.",
    "movement.width": "Measure the clear area in or before the shower along its face.",
    "movement.depth": "Measure the clear area in or before the shower square to its face.",
    "outside.slope": "Read the floor outside the shower with a level along and across, over 24 in or more.",
    "outside.fall.least": "Read the wet-room floor's fall where it looks flattest.",
    "outside.fall.greatest": "Read the wet-room floor's fall where it looks steepest.",
    "inside.width": "Measure along the back wall, between the middles of the side walls.",
    "inside.depth": "Measure from the middle of the back wall to the opening.",
    "entry.width": "Measure the clear width of the entry at the shower's face.",
    "threshold.rise": "Measure from the finished floor that will be to the threshold's top.",
    "threshold.vertical": "Measure the part of the threshold's rise that stands upright.",
    "threshold.bevel": "Measure the bevel's rise and its run.",
    "threshold.flush": "Lay a straightedge over threshold and finished floor and measure the step with a feeler.",
    "floor.step_down": "Lay a straightedge from the floor outside over the shower floor and measure down at the edge.",
}
_INSIDE = ("inside.width", "inside.depth", "inside.least", "inside.circle", "inside.area")
_ONLY_MEASURED = {"door.push_latch": "it binds only a door with both a closer and a latch"}


def room_sizes(room: Room, measures: Iterable[Measure] = ()) -> dict[str, tuple[float, float]]:
    """Surveyed sizes by quantity: the room list's columns, over them the survey's own measures of the door.

    A column is named as its quantity with blanks, such as "surveyed door clear width"; "door width" and "threshold
    height" are known too. Names of the pocket's own sizes are left out: they are no rule's.
    """
    names = {quantity.replace(".", " ").replace("_", " "): quantity for quantity in QUANTITIES}
    names |= {"door width": "door.clear_width", "threshold height": "threshold.rise"}
    sizes = {names[name]: (value, TAPED_U) for name, value in room.surveyed.items() if name in names}
    doors = [(m.u, m.value) for m in measures if m.room == room.room and m.what is What.DOOR_WIDTH]
    if doors:
        u, value = min(doors)
        sizes["door.clear_width"] = value, u
    return sizes


def room_findings(job: Job, book: RuleBook, room: Room, unit: UnitModel, sizes: Sizes) -> tuple[Finding, ...]:
    """One finding for each requirement on the room that applies to the job's type of shower.

    sizes : what was measured, over what the room list holds; the unit's inside sizes, its entry and its threshold as
    designed stand in from its cut sheet. What nobody measured is `not proven` and says what to measure. Of circle and
    T, one is enough (2010 ADA 304.3). Decision rule of JCGM 106:2012 at the job's risk. Raises ValueError for a size
    whose quantity no rule can limit or whose uncertainty is not positive.
    """
    if unknown := sorted(set(sizes) - set(QUANTITIES)):
        raise ValueError(f"no rule limits {', '.join(unknown)}: expected quantities such as door.clear_width")
    known = _from_unit(unit) | room_sizes(room) | dict(sizes)
    known |= _derived(known, sizes)
    found: dict[str, list[Finding]] = {}
    for quantity in _asked(known, unit):
        measured = known.get(quantity)
        for requirement in book.requirements(quantity, job.rules.shower):
            if measured is None:
                if quantity not in _ONLY_MEASURED:
                    found.setdefault(quantity, []).append(not_measured(requirement, _ASK[quantity]))
                continue
            finding = evaluate_normal(requirement, *measured, job.risk)
            again = _again(quantity, finding)
            advice = " ".join(part for part in (again, finding.advice) if part)
            found.setdefault(quantity, []).append(replace(finding, advice=advice))
    _either_turn(found)
    return tuple(finding for group in found.values() for finding in group)


def _from_unit(unit: UnitModel) -> dict[str, tuple[float, float]]:
    """Cut-sheet sizes; the entry is as wide as the inside, and the threshold rises as designed."""
    return {
        "inside.width": (unit.inside_width, SIZE_U),
        "inside.depth": (unit.inside_depth, SIZE_U),
        "entry.width": (unit.inside_width, SIZE_U),
        "threshold.rise": (unit.threshold_height, TAPED_U),
    }


def _derived(known: Sizes, measured: Sizes) -> dict[str, tuple[float, float]]:
    """Least side, circle and area of a rectangular floor, where they were not measured themselves."""
    (width, u_width), (depth, u_depth) = known["inside.width"], known["inside.depth"]
    least = min((width, u_width), (depth, u_depth))
    area = width * depth, math.hypot(width * u_depth, depth * u_width)
    derived = {"inside.least": least, "inside.circle": least, "inside.area": area}
    return {quantity: size for quantity, size in derived.items() if quantity not in measured}


def _asked(known: Sizes, unit: UnitModel) -> Iterable[str]:
    for quantity in (*_ASK, *_INSIDE[2:], *_ONLY_MEASURED):
        if quantity == "threshold.bevel" and quantity not in known and not _bevelled(known):
            continue
        if quantity == "threshold.flush" and unit.inside_width < WIDE_TRANSFER:
            continue
        yield quantity


def _bevelled(known: Sizes) -> bool:
    """Whether part of the rise is known not to stand upright."""
    if "threshold.vertical" not in known:
        return False
    return known["threshold.rise"][0] - known["threshold.vertical"][0] > TAPED_U


def _again(quantity: str, finding: Finding) -> str:
    if finding.verdict is Verdict.MEETS or not finding.decides:
        return ""
    if finding.verdict is Verdict.FAILS:
        return "Settle it before the unit is ordered: the walls stand now, and the shower is not in them yet."
    ask = _ASK.get(quantity, "")
    return f"Too near the limit to tell: measure again. {ask}".strip() if finding.probability is not None else ""


def _either_turn(found: dict[str, list[Finding]]) -> None:
    """A circle that meets needs no T, a T that meets no circle; else the circle speaks for both, set by set."""
    tees = [finding for quantity in ("turning.t_square", "turning.t_arm") for finding in found.pop(quantity, [])]
    kept: list[Finding] = []
    for circle in found.get("turning.diameter", []):
        tee = [finding for finding in tees if _set(finding) == _set(circle)]
        if not tee or not _open(circle):
            kept.append(circle)
        elif overall(finding.verdict for finding in tee) is Verdict.MEETS:
            kept.extend(tee)
        else:
            kept.append(_or_tee(circle, tee))
    if kept:
        found["turning.diameter"] = kept


def _or_tee(circle: Finding, tee: list[Finding]) -> Finding:
    """A circle that fails leaves it open while a T may still do."""
    hopeless = any(finding.verdict is Verdict.FAILS for finding in tee)
    verdict = Verdict.NOT_PROVEN if circle.verdict is Verdict.FAILS and not hopeless else circle.verdict
    words = "" if hopeless else f"A T will do instead: its square {tee[0].limit}, its arms and base {tee[-1].limit}."
    return replace(circle, verdict=verdict, advice=" ".join(part for part in (circle.advice, words) if part))


def _set(finding: Finding) -> str:
    return finding.id.partition("/")[0]


def _open(finding: Finding) -> bool:
    return finding.verdict is not Verdict.MEETS


@dataclass(frozen=True, slots=True)
class Choice:
    """A unit model in a room: whether it goes in, whether it meets the rules, the findings that stand against it."""

    unit: UnitModel
    fits: Verdict
    rules: Verdict
    against: tuple[Finding, ...]
    lip: float

    @property
    def verdict(self) -> Verdict:
        """Of both."""
        return overall((self.fits, self.rules))

    def as_json(self) -> dict[str, Any]:
        """One row of the table; m."""
        return {
            "unit": self.unit.id,
            "name": self.unit.name,
            "verdict": str(self.verdict),
            "fits": str(self.fits),
            "rules": str(self.rules),
            "lip": self.lip,
            "against": [finding.as_json() for finding in self.against],
        }


_ORDER = {Verdict.MEETS: 0, Verdict.NOT_PROVEN: 1, Verdict.FAILS: 2}


def which_units(
    job: Job, book: RuleBook, room: Room, fits: Callable[[UnitModel], Verdict], sizes: Sizes | None = None
) -> tuple[Choice, ...]:
    """Every unit model of the job in this room: those that would do first, then those with least against them.

    fits : whether a unit goes into the room's pocket (its way in and its dry set)
    sizes : as in `room_findings`; those of a unit that is there already are left out
    The rules are asked of the room with each unit in it, and of the unit's cut sheet.
    """
    measured = {q: size for q, size in (sizes or {}).items() if not q.startswith(("inside.", "entry.", "threshold."))}
    bare = _without_unit(room)
    choices = []
    for unit in job.units.values():
        here = room_findings(job, book, bare, unit, measured)
        ahead = [
            finding
            for check in (size_findings, threshold_findings, pipe_findings, fall_findings)
            for finding in check(unit, (), book, job.rules.shower, job.risk)
        ]
        names = {finding.id.partition("@")[0] for finding in ahead}
        findings = [*ahead, *(finding for finding in here if finding.id not in names)]
        deciding = [finding for finding in findings if finding.decides]
        against = tuple(sorted((f for f in deciding if _open(f)), key=lambda f: -_ORDER[f.verdict]))
        verdict = overall(finding.verdict for finding in deciding)
        choices.append(Choice(unit, fits(unit), verdict, against, lip_height(unit)))
    return tuple(sorted(choices, key=lambda c: (_ORDER[c.verdict], _fails(c), len(c.against), c.unit.id)))


def _without_unit(room: Room) -> Room:
    """The room without the sizes of the unit that it was surveyed with."""
    kept = {n: v for n, v in room.surveyed.items() if not n.startswith(("inside ", "entry ", "threshold "))}
    return room.model_copy(update={"surveyed": kept})


def _fails(choice: Choice) -> int:
    return sum(finding.verdict is Verdict.FAILS for finding in choice.against) + (choice.fits is Verdict.FAILS)
