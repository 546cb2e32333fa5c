"""Exit codes, which scripts depend on, and the way a command ends.

0 meets · 1 fails · 2 not proven · 64 bad use · 65 bad input

A row of the input that could not be read gives 65 whatever the verdict on the rest, which is printed all the same:
no script may take `meets` for an answer that left something out.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from enum import IntEnum
from typing import NoReturn

from drainward.errors import Problem
from drainward.finding import Verdict

__all__ = ["ExitCode", "Finished", "bad_use", "end"]


class ExitCode(IntEnum):
    MEETS = 0
    FAILS = 1
    NOT_PROVEN = 2
    BAD_USE = 64
    BAD_INPUT = 65


_CODES = {
    Verdict.MEETS: ExitCode.MEETS,
    Verdict.FAILS: ExitCode.FAILS,
    Verdict.NOT_PROVEN: ExitCode.NOT_PROVEN,
}


class Finished(BaseException):
    """A command is over, with its exit code; no error, so no `except Exception` may swallow it."""

    def __init__(self, code: ExitCode) -> None:
        super().__init__(code)
        self.code = code


def end(verdict: Verdict, problems: Sequence[Problem] = ()) -> NoReturn:
    """Leave with the verdict's code, or with 65 where some of the input could not be read."""
    raise Finished(ExitCode.BAD_INPUT if problems else _CODES[verdict])


def bad_use(message: str) -> NoReturn:
    """Say what was asked wrongly, and leave with 64."""
    sys.stderr.write(f"drainward: {message}\n")
    raise Finished(ExitCode.BAD_USE)
