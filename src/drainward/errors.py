"""The one tree of errors.

DrainwardError
├── QuantityError (ValueError)   a written length, slope or mass that is not wholly understood
├── InputError (ValueError)      a job folder, table or form that cannot be used at all
└── StageError (ValueError)      a stage asked for what the record does not allow
    └── NoBedError               a stage of the bed asked of a unit that stands on its own base

A bad row among good ones is no exception: it is a `Problem`, reported while the rest is kept.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DrainwardError", "InputError", "NoBedError", "Problem", "QuantityError", "StageError"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing in the input that could not be read: where it stands, what stood there, what was expected."""

    file: str
    line: int | None
    field: str
    got: str
    expected: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        if self.field:
            place += f', column "{self.field}"' if self.file.endswith((".csv", ".xlsx")) else f', field "{self.field}"'
        return f'{place}: "{self.got}" {self.expected}'


class DrainwardError(Exception):
    """Root of all that this package raises on purpose."""


class QuantityError(DrainwardError, ValueError):
    """A written quantity was refused."""

    def __init__(self, text: str, expected: str) -> None:
        super().__init__(text, expected)
        self.text = text
        self.expected = expected

    def __str__(self) -> str:
        return f'"{self.text}" {self.expected}'


class InputError(DrainwardError, ValueError):
    """Nothing usable could be read; carries every problem found."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class StageError(DrainwardError, ValueError):
    """A stage was asked for what the record does not allow."""


class NoBedError(StageError):
    """A stage of the bed was asked of a unit that stands on its own base: nothing is to be done there."""
