"""The rules' numbers, section by section, as the trade knows them: against slips in the data files.

The expected numbers were typed from the notes on the sources, not from the data files.
"""

from __future__ import annotations

from functools import partial

from drainward.finding import Certainty
from drainward.quantity import INCH
from drainward.rules import read_set
from drainward.validation.check import Check

__all__ = ["CHECKS"]
ADA, IRC = "2010 ADA Standards, 2010, ", "International Residential Code, 2021, "
NCC = "National Construction Code of Australia, 2022"
SEEN, RETOLD, MEMORY = Certainty.SEEN, Certainty.SECONDARY, Certainty.MEMORY


def _limit(row: str, side: str, unit: float) -> float:
    """A limit of one row in a unit of `unit` SI. Raises KeyError when the row is gone or open on that side."""
    rules = {rule.requirement.id: rule.requirement for rule in read_set(row.partition("/")[0]).rules()}
    limit = rules[row].low if side == "low" else rules[row].high
    if limit is None:
        raise KeyError(f"{row} has no {side} limit")
    return limit / unit


def _inches(section: str, what: str, row: str, side: str, expected: float, certainty: Certainty) -> Check:
    name = f"ada/{row}-{side}"
    source = ADA + section
    compute = partial(_limit, f"us-ada-2010/{row}", side, INCH)
    return Check(name, what, source, certainty, expected, 1e-9, "in", compute)


def _slope(id: str, what: str, source: str, row: str, side: str, one_in: float, certainty: Certainty) -> Check:
    return Check(id, what, source, certainty, one_in, 1e-9, "run of 1", lambda: 1 / _limit(row, side, 1.0))


CHECKS: tuple[Check, ...] = (
    _inches("303.2", "vertical change in level", "303.2", "high", 0.25, MEMORY),
    _inches("303.3, 303.4", "change in level without a ramp", "303.4", "high", 0.5, SEEN),
    _inches("304.3.1", "turning circle", "304.3.1", "low", 60, MEMORY),
    _inches("305.3", "clear floor space, width", "305.3-width", "low", 30, SEEN),
    _inches("305.3", "clear floor space, length", "305.3-length", "low", 48, SEEN),
    _inches("404.2.3", "clear width of a door", "404.2.3", "low", 32, MEMORY),
    _inches("608.2.1", "transfer compartment, one side", "608.2.1-width", "low", 36, SEEN),
    _inches("608.2.1", "transfer compartment, the same side, absolute", "608.2.1-width", "high", 36, SEEN),
    _inches("608.2.1", "transfer compartment, other side", "608.2.1-depth", "low", 36, SEEN),
    _inches("608.2.1", "transfer, clearance along the opening", "608.2.1-clearance-length", "low", 48, SEEN),
    _inches("608.2.2", "standard roll-in, along the back wall", "608.2.2-width", "low", 60, SEEN),
    _inches("608.2.2", "standard roll-in, depth", "608.2.2-depth", "low", 30, SEEN),
    _inches("608.2.2", "standard roll-in, entry", "608.2.2-entry", "low", 60, SEEN),
    _inches("608.2.2.1", "standard roll-in, clearance depth", "608.2.2.1-width", "low", 30, SEEN),
    _inches("608.2.3", "alternate roll-in, along the back wall", "608.2.3-width", "low", 60, RETOLD),
    _inches("608.2.3", "alternate roll-in, depth", "608.2.3-depth", "low", 36, RETOLD),
    _inches("608.6", "hose", "608.6-hose", "low", 59, SEEN),
    _inches("608.7", "threshold, roll-in", "608.7-roll-in", "high", 0.5, SEEN),
    _inches("608.7", "threshold, transfer", "608.7-transfer", "high", 0.5, SEEN),
    _inches("609.3", "gap behind a grab bar, absolute", "609.3-wall", "low", 1.5, SEEN),
    _inches("609.4", "grab bar, lowest", "609.4", "low", 33, SEEN),
    _inches("609.4", "grab bar, highest", "609.4", "high", 36, SEEN),
    Check("ada/303.3-bevel", "steepest bevel, run for a rise of 1", ADA + "303.3", SEEN, 2, 1e-9, "",
          lambda: 1 / _limit("us-ada-2010/303.3-bevel", "high", 1.0)),
    Check("ada/609.8", "force on a grab bar", ADA + "609.8 (1112 N)", RETOLD, 1112, 0.5, "N",
          partial(_limit, "us-ada-2010/609.8", "low", 1.0)),
    Check("ada/608.6-temperature", "hottest water", ADA + "608.6 (49 °C)", SEEN, 49, 0.5, "°C",
          partial(_limit, "us-ada-2010/608.6-temperature", "high", 1.0)),
    _slope("ada/304.2", "turning space, slope", ADA + "304.2", "us-ada-2010/304.2", "high", 48, SEEN),
    _slope("ada/305.2", "clear floor space, slope", ADA + "305.2", "us-ada-2010/305.2", "high", 48,
           SEEN),
    _slope("plumbing/irc-2021-least", "shower floor, least fall", IRC + "P2709.1",
           "us-plumbing-irc-2021/P2709.1-least", "low", 48, RETOLD),
    _slope("plumbing/irc-2021-greatest", "shower floor, greatest fall", IRC + "P2709.1",
           "us-plumbing-irc-2021/P2709.1-greatest", "high", 24, RETOLD),
    _slope("plumbing/ncc-2022-least", "shower floor, least fall", NCC,
           "au-ncc-2022/fall-least", "low", 80, RETOLD),
    _slope("plumbing/ncc-2022-greatest", "shower floor, greatest fall", NCC,
           "au-ncc-2022/fall-greatest", "high", 50, RETOLD),
    _slope("plumbing/as1428-least", "shower floor, least fall", "AS 1428.1, 2009, 15.5.2 c",
           "au-as1428-2009/15.5.2c-least", "low", 80, RETOLD),
    _slope("plumbing/as1428-greatest", "shower floor, greatest fall", "AS 1428.1, 2009, 15.5.2 c",
           "au-as1428-2009/15.5.2c-greatest", "high", 60, RETOLD),
    Check("plumbing/irc-2021-area", "least inside area", IRC + "P2708.1 (0.581 m²)",
          RETOLD, 0.581, 0.0005, "m²", partial(_limit, "us-plumbing-irc-2021/P2708.1-area", "low", 1.0)),
    Check("plumbing/upc-2024-area", "least inside area", "Uniform Plumbing Code, 2024, 408.7 (0.6606 m²)",
          RETOLD, 0.6606, 0.00005, "m²", partial(_limit, "us-plumbing-upc-2024/408.7-area", "low", 1.0)),
)  # fmt: skip
