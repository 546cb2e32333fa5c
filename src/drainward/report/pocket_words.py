"""What page, paper and terminal say of a room before its unit is set.

before_headline     the verdict in words and what to do first, of any of the four stages
why                 the same in one line, for a list of rooms
measure_words       how to take a measure: where, and where the tape goes
mend_sentence       what to plane, move or widen so that the unit goes in
Shims, shims        what goes behind the flange, stud by stud and height by height
place_lines         drain, threshold and pipe of a placement
blunder_lines       measures that contradict the others; refused_lines: those that cannot belong to the pocket
zone_place          where a thing may hang; board_place: where a piece of blocking goes
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from drainward.bed.result import BedPlan
from drainward.finding import Verdict
from drainward.job.model import Measure
from drainward.pocket.adjust import Adjusted, Blunder
from drainward.pocket.ask import Asked, place_words
from drainward.pocket.mend import mend_words
from drainward.pocket.place import Placement
from drainward.pocket.sampled import cut_words, drain_words
from drainward.pocket.setout import Blocking
from drainward.pocket.shape import Pocket, Wall
from drainward.pocket.stage import DrySet, SetOut, Survey
from drainward.pocket.zones import Zone
from drainward.quantity import INCH, format_length
from drainward.report.survey_steps import Side, Step
from drainward.report.words import Headline, of_findings, sentence
from drainward.wayin.result import WayIn

__all__ = [
    "Shims",
    "before_headline",
    "blunder_lines",
    "board_place",
    "measure_words",
    "mend_sentence",
    "place_lines",
    "refused_lines",
    "shims",
    "why",
    "zone_place",
]

_SIXTEENTH = INCH / 16

Before = Survey | DrySet | BedPlan | SetOut | WayIn


def before_headline(answer: Before) -> Headline:
    """The verdict with the names of those findings that make it, and what to do first.

    A survey begins with whether the pocket takes the unit; never more than the findings say.
    """
    said = of_findings(answer.verdict, answer.findings)
    if isinstance(answer, WayIn | BedPlan):
        return said
    todo = _add_first(answer) if isinstance(answer, SetOut) else _first(answer)
    return replace(said, todo=todo or said.todo)


def why(answer: Before) -> str:
    """What stands behind the verdict of a room, in a line without the verdict itself."""
    if isinstance(answer, Survey):
        return answer.says
    return of_findings(answer.verdict, answer.findings).says.split(": ", 1)[-1]


def _first(answer: Survey | DrySet) -> str:
    """Mend what keeps the unit out, else measure what is asked; "" where the findings themselves say what to do."""
    if answer.verdict is Verdict.FAILS:
        return mend_sentence(answer)
    asked = answer.adjusted.asked
    return "" if asked is None or answer.verdict is Verdict.MEETS else f"Measure next: {measure_words(asked)}"


def _add_first(answer: SetOut) -> str:
    count = sum(len(layout.add) for layout in answer.layouts) + sum(len(backing.add) for backing in answer.backings)
    pieces = "a piece" if count == 1 else f"{count} pieces"
    return f"Add {pieces} of blocking before the unit is set." if count else ""


def measure_words(measure: Measure | Asked) -> str:
    """What to measure next, where the tape goes, and where: the words of the round of a pocket."""
    wall: Side = next((side for side in ("left", "back", "right") if side == measure.wall), "")
    step = Step("pocket", measure.what, wall, measure.x, measure.y, measure.z)
    return f"{step.title}: {step.how}"


def mend_sentence(answer: Survey | DrySet) -> str:
    """What lets the unit in, as a sentence; "" where it goes in as the pocket is believed."""
    words = sentence(mend_words(answer.adjusted.pocket, answer.placed))
    alone = " That alone lets it in where the pocket is as believed."
    return words + alone if words and answer.placed.change is not None else words


@dataclass(frozen=True, slots=True)
class Shims:
    """heights : of the columns, from the floor;  rows : of a stud, its wall, name and one thickness for each height

    A thickness is in 1/16 in, "" where the flange meets no face there, and says `plane` where the face is in the way.
    """

    heights: tuple[str, ...]
    rows: tuple[tuple[str, str, tuple[str, ...]], ...]


def shims(pocket: Pocket, placed: Placement) -> Shims:
    """What goes between the flange and the studs where the unit stands best."""
    levels = sorted({round(float(pocket.z[shim.index]), 3) for shim in placed.shims})
    found: dict[tuple[int, int], dict[float, str]] = {}
    at: dict[tuple[int, int], float] = {}
    for shim in placed.shims:
        key = int(pocket.wall[shim.index]), int(pocket.stud[shim.index])
        at.setdefault(key, float(pocket.at[shim.index]))
        found.setdefault(key, {})[round(float(pocket.z[shim.index]), 3)] = _thickness(shim.thickness)
    rows = tuple(
        (
            Wall(wall).name.lower(),
            f"stud {stud + 1}, {format_length(at[wall, stud])} from the {'left' if wall == Wall.BACK else 'back'}",
            tuple(found[wall, stud].get(z, "") for z in levels),
        )
        for wall, stud in sorted(found)
    )
    return Shims(tuple(f"{format_length(z)} up" for z in levels), rows)


def _thickness(metres: float) -> str:
    """To 1/16 in; what is in the way to the next one up, since planing less does not do."""
    if metres >= -_SIXTEENTH / 100:
        return format_length(max(metres, 0.0))
    return f"plane {format_length(float(np.ceil(-metres / _SIXTEENTH - 1e-3)) * _SIXTEENTH)}"


def place_lines(placed: Placement) -> tuple[str, ...]:
    """Where the drain, the threshold and the pipe's end come to lie; what nobody measured is left out."""
    told = placed.heights
    lines = [drain_words(placed)]
    if np.isfinite(placed.clearance):
        lines.append(f"Round the drain's body {format_length(max(placed.clearance, 0.0))} are left in the core.")
    ends = [
        f"{format_length(abs(off))} {'out' if off > 0 else 'in'} at the {side}"
        for off, side in zip(placed.line_off, ("left", "right"), strict=True)
        if np.isfinite(off) and abs(off) >= _SIXTEENTH / 2
    ]
    if np.isfinite(placed.line_off).any():
        lines.append(
            f"The threshold lies {' and '.join(ends)} of its line." if ends else "The threshold lies on its line."
        )
    if len(told.spot):
        asked = (
            ""
            if abs(told.rise - told.rise_asked) < _SIXTEENTH / 2
            else f"; by its sheet {format_length(told.rise_asked)}"
        )
        lines.append(f"The threshold rises {format_length(told.rise)} over the finished floor{asked}.")
    lines.append(cut_words(placed))
    return tuple(line for line in lines if line)


def blunder_lines(blunders: Sequence[Blunder]) -> tuple[str, ...]:
    """Each measure that the others contradict: what was written, and what they let expect."""
    return tuple(sentence(_blunder(blunder)) for blunder in blunders)


def _blunder(blunder: Blunder) -> str:
    line = "" if blunder.measure.line is None else f" (line {blunder.measure.line})"
    read, expected = format_length(blunder.measure.value), format_length(blunder.expected)
    rivals = " or ".join(place_words(rival) for rival in blunder.rivals)
    other = f"; it may as well be the other that is wrong: {rivals}" if rivals else ""
    stud = "" if blunder.stud is None else f"; or {blunder.stud} stands out of line"
    return f"{place_words(blunder.measure)}{line}: {read} was read, the others let expect {expected}{other}{stud}"


def refused_lines(adjusted: Adjusted) -> tuple[str, ...]:
    """Each measure that cannot belong to this pocket, and why."""
    return tuple(
        f"{place_words(one.measure)}{'' if one.measure.line is None else f' (line {one.measure.line})'}: it {one.why}."
        for one in adjusted.refused
    )


def zone_place(zone: Zone) -> str:
    """Where a thing may hang, from the unit's inside corner and the finished floor."""
    if not zone.possible:
        return "the picked rules leave no place"
    corner = "left" if zone.wall is Wall.BACK else "back"
    across = f"{format_length(zone.start)} to {format_length(zone.end)} from the unit's {corner} corner"
    return f"{across}, {zone.up} up"


def board_place(wall: Wall, piece: Blocking) -> str:
    """Where a piece of blocking goes, from the stud face in the corner and the finished floor."""
    corner = "left" if wall is Wall.BACK else "back"
    across = f"{format_length(piece.start)} to {format_length(piece.end)} from the {corner} stud face"
    return f"{across}, {format_length(piece.bottom)} to {format_length(piece.top)} up"
