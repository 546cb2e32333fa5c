"""Rows that name something unknown or refused: told once for each name, with all its lines, not once a row.

Waiting     collects them
in_order    problems of one file by line
spelled     line numbers in words: 4, 7-9
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from drainward.errors import Problem
from drainward.job.text import shown

__all__ = ["Waiting", "in_order", "spelled"]


@dataclass(slots=True)
class Waiting:
    """Rows of one file by the name in one of its columns."""

    file: str
    column: str
    lines: dict[str, list[int]] = field(default_factory=dict)
    expected: dict[str, str] = field(default_factory=dict)

    def add(self, name: str, line: int, expected: str) -> None:
        """The row in `line` waits for `name`; expected : what the name should have been."""
        self.lines.setdefault(name, []).append(line)
        self.expected[name] = expected

    def problems(self) -> list[Problem]:
        """One problem for each name, at its first line."""
        return [
            Problem(self.file, lines[0], self.column, shown(name), self.expected[name] + _also(lines))
            for name, lines in self.lines.items()
        ]


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """By line, those without one first."""
    return tuple(sorted(problems, key=lambda problem: problem.line or 0))


def _also(lines: list[int]) -> str:
    return "" if len(lines) == 1 else f"; {len(lines)} rows name it (lines {spelled(lines)})"


def spelled(lines: Iterable[int]) -> str:
    """Ascending line numbers, runs drawn together."""
    runs: list[list[int]] = []
    for line in lines:
        if runs and line == runs[-1][1] + 1:
            runs[-1][1] = line
        else:
            runs.append([line, line])
    return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs)
