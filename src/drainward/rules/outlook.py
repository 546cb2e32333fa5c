"""What is known of a job before anything is set.

Question     one thing to ask, of whom, and why
JobOutlook   the findings and the questions, for the first page of the job
"""

from __future__ import annotations

from dataclasses import dataclass

from drainward.finding import Finding

__all__ = ["JobOutlook", "Question"]


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask before setting: the words, whom to ask, and what hangs on the answer."""

    text: str
    to: str
    why: str


@dataclass(frozen=True, slots=True)
class JobOutlook:
    """Findings on the rules and the unit models, and the questions that they raise."""

    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]
