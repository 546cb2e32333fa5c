"""Slope windows as rules leave them, and what geometry forbids, against what is published or plain arithmetic."""

from __future__ import annotations

from functools import partial

from drainward.finding import Certainty
from drainward.job.model import RuleChoice
from drainward.quantity import INCH
from drainward.rules import load_rules
from drainward.rules.runs import run_ratio
from drainward.rules.window import QUANTITIES, slope_window
from drainward.validation.check import Check

__all__ = ["CHECKS"]
_IRC_AND_ADA = "International Residential Code, 2021, P2709.1, with 2010 ADA Standards, 2010, 304.2 and 305.2"
_LEVEL_RIM = "geometry: with a level rim, falls stand in inverse proportion to the runs to the drain"


def _width(other_reading: bool) -> float:
    """Width of the window of the model code's least fall and the accessible greatest one, ratio."""
    choice = RuleChoice(use=("us-plumbing-irc-2021", "us-ada-2010"), clear_space_in_shower=True)
    window = slope_window(load_rules(choice).select(QUANTITIES, choice.shower), other_reading)
    if window is None:
        raise ValueError("the picked rules leave one side open")
    return window.width


def _greatest_over_least(*sets: str) -> float:
    """Greatest over least fall that these sets allow: a level rim needs no more of longest over shortest run."""
    choice = RuleChoice(use=sets, shower="standard roll-in")
    window = slope_window(load_rules(choice).select(QUANTITIES[:2], choice.shower))
    if window is None:
        raise ValueError("the picked rules leave one side open")
    return window.high / window.low


CHECKS: tuple[Check, ...] = (
    Check("window/ratio", '1/4" in 12" and 1:48: width of the window', _IRC_AND_ADA, Certainty.COMPUTED,
          0.0, 1e-12, "ratio", partial(_width, other_reading=False)),
    Check("window/percent", "2 % and 1:48: width of the window", _IRC_AND_ADA, Certainty.COMPUTED,
          0.0833, 0.0001, "%", lambda: 100 * _width(other_reading=True)),
    Check("window/percent-30", '2 % and 1:48: room over 30"', _IRC_AND_ADA, Certainty.COMPUTED,
          0.635, 0.0005, "mm", lambda: 1000 * 30 * INCH * _width(other_reading=True)),
    Check("window/percent-60", '2 % and 1:48: room over 60"', _IRC_AND_ADA, Certainty.COMPUTED,
          1.27, 0.001, "mm", lambda: 1000 * 60 * INCH * _width(other_reading=True)),
    Check("window/level-rim-irc", "1/4 to 1/2 in/ft: greatest over least fall", _LEVEL_RIM, Certainty.COMPUTED,
          2.0, 1e-9, "", partial(_greatest_over_least, "us-plumbing-irc-2021")),
    Check("window/level-rim-ncc", "1:80 to 1:50: greatest over least fall", _LEVEL_RIM, Certainty.COMPUTED,
          1.6, 1e-9, "", partial(_greatest_over_least, "au-ncc-2022")),
    Check("window/level-rim-as1428", "1:80 to 1:60: greatest over least fall", _LEVEL_RIM, Certainty.COMPUTED,
          1.3333, 0.0001, "", partial(_greatest_over_least, "au-as1428-2009")),
    Check("window/run-ratio", "1800 x 900 mm, drain in the middle: longest over shortest run",
          "a trade paper on the National Construction Code of Australia, 2022: such a floor cannot do with one waste",
          Certainty.SECONDARY, 2.0, 1e-9, "", partial(run_ratio, 1.8, 0.9, 0.9, 0.45)),
)  # fmt: skip
