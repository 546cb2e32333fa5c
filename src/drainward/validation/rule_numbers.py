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


_SI = {"°C": 1.0, "gpm": 231 * INCH**3 / 60, "L/min": 1e-3 / 60, "in": INCH}
_HOT, _FLOW, _PIPE = "hottest water at the shower", "flow of a shower head", "pipe at the drain's outlet"
_UPC, _IPC = "Uniform Plumbing Code, 2015, ", "International Plumbing Code, 2003 to 2021, "
_NCC_3, _EN = NCC + ", volume 3, ", "DIN EN 806-2, 2005, "


def _water(name: str, what: str, source: str, row: str, expected: float, unit: str, certainty: Certainty) -> Check:
    """A limit on the shower's water or its waste outlet, in the unit that the source states (49 °C for 120 °F)."""
    side = "low" if what is _PIPE else "high"
    tolerance = 0.5 if expected == 49 else 1e-9
    compute = partial(_limit, row, side, _SI[unit])
    return Check(f"plumbing/{name}", what, source, certainty, expected, tolerance, unit, compute)


CHECKS: tuple[Check, ...] = (
    _inches("303.2", "vertical change in level", "303.2", "high", 0.25, MEMORY),
    _inches("303.3, 303.4", "change in level without a ramp", "303.4", "high", 0.5, SEEN),
    _inches("304.3.1", "turning circle", "304.3.1", "low", 60, RETOLD),
    _inches("305.3", "clear floor space, width", "305.3-width", "low", 30, SEEN),
    _inches("305.3", "clear floor space, length", "305.3-length", "low", 48, SEEN),
    _inches("404.2.3", "clear width of a door", "404.2.3", "low", 32, RETOLD),
    _inches("304.3.2", "T-shaped turning space, square", "304.3.2-square", "low", 60, RETOLD),
    _inches("304.3.2", "T-shaped turning space, arms and base", "304.3.2-arm", "low", 36, RETOLD),
    _inches("table 404.2.4.1", "door pulled, depth", "404.2.4.1-pull-depth", "low", 60, RETOLD),
    _inches("table 404.2.4.1", "door pulled, beside the latch", "404.2.4.1-pull-latch", "low", 18, RETOLD),
    _inches("table 404.2.4.1", "door pushed, depth", "404.2.4.1-push-depth", "low", 48, RETOLD),
    _inches("table 404.2.4.1", "door pushed, beside the latch", "404.2.4.1-push-latch", "low", 12, RETOLD),
    _inches("404.2.5", "threshold at the door", "404.2.5", "high", 0.5, MEMORY),
    _inches("608.2.1", "transfer compartment, entry", "608.2.1-entry", "low", 36, SEEN),
    _inches("608.2.1", "transfer, clearance depth", "608.2.1-clearance-width", "low", 36, SEEN),
    _inches("608.2.2.1", "standard roll-in, clearance along the face", "608.2.2.1-length", "low", 60, SEEN),
    _inches("608.2.3", "alternate roll-in, entry", "608.2.3-entry", "low", 36, MEMORY),
    _inches("608.3.1", "transfer, bar on the back wall", "608.3.1", "low", 18, MEMORY),
    _inches("608.3.2", "standard roll-in, bar from the adjacent wall", "608.3.2", "high", 6, SEEN),
    _inches("608.3.3", "alternate roll-in, bar from the adjacent wall", "608.3.3", "high", 6, RETOLD),
    _inches("608.5.1", "transfer, controls, lowest", "608.5.1-height", "low", 38, SEEN),
    _inches("608.5.1", "transfer, controls, highest", "608.5.1-height", "high", 48, SEEN),
    _inches("608.5.1", "transfer, controls from the seat's centreline", "608.5.1-place", "high", 15, SEEN),
    _inches("608.5.2", "standard roll-in, controls, highest", "608.5.2-height", "high", 48, SEEN),
    _inches("608.5.2", "standard roll-in, controls from the seat wall", "608.5.2-place", "high", 27, SEEN),
    _inches("608.5.3", "alternate roll-in, controls, highest", "608.5.3-height", "high", 48, MEMORY),
    _inches("608.5.3", "alternate roll-in, controls from the seat wall", "608.5.3-seat-wall", "high", 27, MEMORY),
    _inches("608.5.3", "alternate roll-in, controls beside the seat's middle", "608.5.3-back-wall", "high", 15, MEMORY),
    _inches("608.6 exception", "fixed head, highest", "608.6-fixed", "high", 48, MEMORY),
    _inches("609.2.1", "round bar, thinnest", "609.2.1", "low", 1.25, SEEN),
    _inches("609.2.1", "round bar, thickest", "609.2.1", "high", 2, SEEN),
    _inches("609.2.2", "other bar, section", "609.2.2-section", "high", 2, SEEN),
    _inches("609.2.2", "other bar, least perimeter", "609.2.2-perimeter", "low", 4, SEEN),
    _inches("609.2.2", "other bar, greatest perimeter", "609.2.2-perimeter", "high", 4.8, SEEN),
    _inches("609.3", "gap below a bar", "609.3-below", "low", 1.5, SEEN),
    _inches("609.3", "gap above a bar", "609.3-above", "low", 12, SEEN),
    _inches("610.3", "seat, lowest", "610.3-height", "low", 17, RETOLD),
    _inches("610.3", "seat, highest", "610.3-height", "high", 19, RETOLD),
    _inches("610.3.1", "rectangular seat, rear edge", "610.3.1-rear", "high", 2.5, SEEN),
    _inches("610.3.1", "rectangular seat, front edge, least", "610.3.1-front", "low", 15, SEEN),
    _inches("610.3.1", "rectangular seat, front edge, greatest", "610.3.1-front", "high", 16, SEEN),
    _inches("610.3.1", "rectangular seat, side edge", "610.3.1-side", "high", 1.5, SEEN),
    _inches("610.3.2", "L-shaped seat, front, least", "610.3.2-front", "low", 14, MEMORY),
    _inches("610.3.2", "L-shaped seat, front, greatest", "610.3.2-front", "high", 15, MEMORY),
    _inches("610.3.2", "L-shaped seat, end, least", "610.3.2-end", "low", 22, MEMORY),
    _inches("610.3.2", "L-shaped seat, end, greatest", "610.3.2-end", "high", 23, MEMORY),
    Check("ada/610.4", "force on a seat", ADA + "610.4 (1112 N)", RETOLD, 1112, 0.5, "N",
          partial(_limit, "us-ada-2010/610.4", "low", 1.0)),
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
    _water("irc-2021-hottest", _HOT, IRC + "P2708.4 (49 °C)", "us-plumbing-irc-2021/P2708.4-temperature", 49, "°C",
           RETOLD),
    _water("irc-2009-hottest", _HOT, "International Residential Code, 2009, P2708.3 (49 °C)",
           "us-plumbing-irc-2009/P2708.3-temperature", 49, "°C", RETOLD),
    _water("ipc-hottest", _HOT, _IPC + "412.3 (49 °C)", "us-plumbing-ipc/412.3-temperature", 49, "°C", RETOLD),
    _water("upc-hottest", _HOT, _UPC + "408.3 (49 °C)", "us-plumbing-upc/408.3-temperature", 49, "°C", SEEN),
    _water("upc-2024-hottest", _HOT, _UPC + "408.3 (49 °C)", "us-plumbing-upc-2024/408.3-temperature", 49, "°C",
           RETOLD),
    _water("ncc-hottest", _HOT, _NCC_3 + "B2D5 (b)", "au-ncc-2022/B2D5-other", 50, "°C", RETOLD),
    _water("ncc-hottest-care", _HOT, _NCC_3 + "B2D5 (a)", "au-ncc-2022/B2D5-care", 45, "°C", RETOLD),
    _water("hse-hottest", _HOT, "HSE Health Services Information Sheet 6", "uk-care-hot-water/hse", 44, "°C", SEEN),
    _water("nhs-hottest", _HOT, "NHS Estates, Safe hot water and surface temperatures, 1998",
           "uk-care-hot-water/nhs", 41, "°C", RETOLD),
    _water("en-806-hottest", _HOT, _EN + "9.3.2", "de-hot-water/9.3.2-43", 43, "°C", RETOLD),
    _water("en-806-hottest-care", _HOT, _EN + "9.3.2", "de-hot-water/9.3.2-38", 38, "°C", RETOLD),
    _water("cfr-flow", _FLOW, "10 CFR 430.32(p)", "us-showerhead-federal/430.32p", 2.5, "gpm", RETOLD),
    _water("epa-flow", _FLOW, "EPA specification for showerheads, 2010", "us-showerhead-label/flow", 2.0, "gpm", SEEN),
    _water("ccr-flow", _FLOW, "20 CCR 1605.3", "us-showerhead-california/1605.3", 1.8, "gpm", RETOLD),
    _water("cpc-flow", "flow of all heads on one valve", "California Plumbing Code 408.2.2",
           "us-showerhead-california/408.2.2", 1.8, "gpm", RETOLD),
    _water("irc-2021-flow", _FLOW, IRC + "P2903.2", "us-plumbing-irc-2021/P2903.2-flow", 2.5, "gpm", RETOLD),
    _water("irc-2009-flow", _FLOW, "International Residential Code, 2009, P2903.2", "us-plumbing-irc-2009/P2903.2-flow",
           2.5, "gpm", RETOLD),
    _water("ipc-flow", _FLOW, _IPC + "604.4", "us-plumbing-ipc/604.4-flow", 2.5, "gpm", RETOLD),
    _water("upc-flow", _FLOW, _UPC + "408.2", "us-plumbing-upc/408.2-flow", 2.5, "gpm", MEMORY),
    _water("upc-2024-flow", _FLOW, "Uniform Plumbing Code, 2024, 408.2", "us-plumbing-upc-2024/408.2-flow", 2.5, "gpm",
           MEMORY),
    _water("as-3500-flow", _FLOW, "AS/NZS 3500.1 and 3500.4", "au-ncc-2022/flow", 9, "L/min", RETOLD),
    _water("adg-flow", _FLOW, "Approved Document G, 2015, table 2.1", "uk-adg/2.1-flow", 10, "L/min", MEMORY),
    _water("adg-flow-optional", _FLOW, "Approved Document G, 2015, table 2.2", "uk-adg/2.2-flow", 8, "L/min", MEMORY),
    _water("irc-2021-pipe", _PIPE, IRC + "P3201.7", "us-plumbing-irc-2021/P3201.7-pipe", 1.5, "in", RETOLD),
    _water("irc-2009-pipe", _PIPE, "International Residential Code, 2009, P3201.7",
           "us-plumbing-irc-2009/P3201.7-pipe", 1.5, "in", RETOLD),
    _water("ipc-pipe", _PIPE, _IPC + "421.3", "us-plumbing-ipc/421.3-pipe", 1.5, "in", RETOLD),
    _water("upc-pipe", _PIPE, _UPC + "408.4", "us-plumbing-upc/408.4-pipe", 2, "in", MEMORY),
    _water("upc-2024-pipe", _PIPE, "Uniform Plumbing Code, 2024, 408.4", "us-plumbing-upc-2024/408.4-pipe", 2, "in",
           MEMORY),
)  # fmt: skip
