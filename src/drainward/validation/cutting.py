"""Cutting lists against instances of cutting stock with a published optimum."""

from __future__ import annotations

from drainward.finding import Certainty
from drainward.plan.cutting import Stock, plan_cuts
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_WIDTHS = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
_ROLLS = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)
_TEXTBOOK = ((45, 36, 31, 14), (97, 610, 395, 211))


def _rolls() -> float:
    return float(plan_cuts(Stock((5600,), (1,)), _WIDTHS, _ROLLS).cost)


def _textbook() -> float:
    return float(plan_cuts(Stock((100,), (1,)), *_TEXTBOOK).cost)


CHECKS: tuple[Check, ...] = (
    Check("cutting/rolls-5600", "rolls of 5600 sawn into 13 widths",
          "textbook instance of paper rolls, widths, demand and optimum from memory", Certainty.MEMORY, 73, 0,
          "rolls", _rolls),
    Check("cutting/gilmore-gomory", "rolls of 100 sawn into 45, 36, 31 and 14",
          "Chvatal, Linear Programming (1983), chapter 13, after Gilmore and Gomory; from memory", Certainty.MEMORY,
          453, 0, "rolls", _textbook),
)  # fmt: skip
