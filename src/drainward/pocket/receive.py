"""The unit as it arrived: what was measured takes the place of its cut sheet, and a difference is a finding.

received_unit      the unit model with the measured sizes, and their uncertainties
unsure             a pocket with the doubt on the unit's own sizes in it
receive_findings   each measured size against the sheet, and the damage seen
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from pydantic import ValidationError

from drainward.errors import InputError, Problem
from drainward.finding import RISK, Certainty, Finding, Requirement, Source, Verdict
from drainward.job.model import Received, Size, UnitModel
from drainward.job.received_file import sheet_size
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH, format_length
from drainward.rules import evaluate_normal

__all__ = ["ALLOWANCE", "receive_findings", "received_unit", "unsure"]

ALLOWANCE = INCH / 8
"""How far a size may be off a sheet that tells no tolerance, m: common practice, no source."""

_DRAIN = {Size.DRAIN_X: "x", Size.DRAIN_Y: "y"}


def received_unit(unit: UnitModel, rows: Iterable[Received]) -> tuple[UnitModel, dict[Size, float]]:
    """The unit with what was measured in place of the sheet, and the standard uncertainty of each such size, m.

    Heights of the floor keep their share of the way along its edges. Raises InputError, naming the lines, where the
    sizes together are no unit: an inside larger than the outside, a drain outside the floor.
    """
    rows = tuple(rows)
    sizes = _means(rows)
    values = unit.model_dump()
    for what, (value, _) in sizes.items():
        if what in _DRAIN:
            values["drain"][_DRAIN[what]] = value
        elif what is Size.FLANGE_WIDTH:
            values["flange"]["width"] = value
        else:
            values[what.replace(" ", "_")] = value
    wide, deep = values["inside_width"] / unit.inside_width, values["inside_depth"] / unit.inside_depth
    for point in values["floor"]["heights"]:
        point["x"], point["y"] = point["x"] * wide, point["y"] * deep
    try:
        measured = UnitModel.model_validate(values)
    except ValidationError as error:
        says = f"makes no unit with the rest of its sizes ({error.errors()[0]['msg'].removeprefix('Value error, ')})"
        measures = [row for row in rows if row.what is not Size.DAMAGE]
        problems = (Problem(row.file, row.line, "value", row.written, f"{says}; measure again") for row in measures)
        raise InputError(tuple(problems)) from None
    return measured, {what: u for what, (_, u) in sizes.items()}


def unsure(pocket: Pocket, sizes: Mapping[Size, float]) -> Pocket:
    """The pocket as doubtful as if the unit were exact: what a size of the unit is off by moves what it meets.

    sizes : standard uncertainties, m. A unit wider by w is met w / 2 sooner at either hand, one deeper sooner at the
    back; a drain that stands farther off is met as a core that stands nearer.
    """
    n = len(pocket)
    covariance = np.zeros_like(pocket.covariance)
    for size, u in sizes.items():
        moves = np.zeros(len(pocket.mean))
        if size is Size.OUTSIDE_WIDTH:
            moves[:n] = np.where(pocket.wall == Wall.LEFT, 0.5, np.where(pocket.wall == Wall.RIGHT, -0.5, 0.0))
        elif size is Size.OUTSIDE_DEPTH:
            moves[:n] = np.where(pocket.wall == Wall.BACK, 1.0, 0.0)
        elif size in _DRAIN:
            moves[n + (size is Size.DRAIN_Y)] = -1.0
        covariance += u**2 * np.outer(moves, moves)
    return pocket.less_sure(covariance)


def receive_findings(unit: UnitModel, rows: Sequence[Received], risk: float = RISK) -> tuple[Finding, ...]:
    """One finding for each size that was measured, and one for damage where somebody looked.

    unit : as its sheet has it. A size meets or fails when it is within or beyond the sheet's tolerance with the chance
    1 - risk (JCGM 106:2012, 8.3).
    """
    within = ALLOWANCE if unit.tolerance is None else unit.tolerance
    told = [_compared(unit, what, value, u, within, risk) for what, (value, u) in _means(rows).items()]
    seen = [row for row in rows if row.what is Size.DAMAGE]
    return (*told, *([_damage(seen)] if seen else []))


def _means(rows: Iterable[Received]) -> Mapping[Size, tuple[float, float]]:
    """Weighted mean of each size, with its standard uncertainty, widened where the rows disagree (Birge ratio).

    Source: Birge, The calculation of errors by the method of least squares, 1932 (from memory).
    """
    found: dict[Size, tuple[float, float]] = {}
    taken = [row for row in rows if row.u is not None]
    for what in Size:
        mine = [(row.value, row.u) for row in taken if row.what is what and row.u is not None]
        if not mine:
            continue
        weight = math.fsum(1 / u**2 for _, u in mine)
        mean = math.fsum(value / u**2 for value, u in mine) / weight
        scatter = math.fsum((value - mean) ** 2 / u**2 for value, u in mine) / max(len(mine) - 1, 1)
        found[what] = mean, math.sqrt(max(scatter, 1.0) / weight)
    return found


def _compared(unit: UnitModel, what: Size, value: float, u: float, within: float, risk: float) -> Finding:
    sheet = sheet_size(unit, what)
    told = unit.tolerance is not None
    source = (
        Source(f"cut sheet of {unit.name}", "", "", Certainty.LOCAL) if told else Source("", "", "", Certainty.PRACTICE)
    )
    off = value - sheet
    requirement = Requirement(
        id=f"receive/{what.replace(' ', '-')}",
        what=f"{str(what).capitalize()} as measured, over the cut sheet's {format_length(sheet)}",
        quantity=f"receive.{what.replace(' ', '_')}",
        low=-within,
        high=within,
        unit="m",
        source=source,
        binds="the unit as it arrived",
        decided_by="the unit's maker",
        written=f"within {format_length(within)} of the sheet",
    )
    leans = abs(off) > within
    way = "larger" if off > 0 else "smaller"
    advice = (
        f"It is {format_length(abs(off), denominator=32)} {way} than the sheet. What was measured is used from here "
        "on: look at the dry set before the unit is set, and tell the maker."
        if leans
        else ""
    )
    return evaluate_normal(requirement, off, u, risk, advice)


def _damage(seen: Sequence[Received]) -> Finding:
    words = [row.written or "not described" for row in seen if row.value]
    return Finding(
        id="receive/damage",
        what="Damage seen on the unit as it arrived",
        value=float(len(words)),
        u=None,
        unit="1",
        limit="none",
        probability=0.0 if words else 1.0,
        verdict=Verdict.FAILS if words else Verdict.MEETS,
        source=str(Source("", "", "", Certainty.PRACTICE)),
        advice=f"Seen: {'; '.join(words)}. Ask the maker before it is set: mend, or send back." if words else "",
    )
