"""Outside checks: our numbers against numbers that were not ours.

Check, Outcome, run_check   one check, and what it came to
CHECKS                      all of them, by topic
project_checks              those that need a folder of scheduling instances
validation_markdown         docs/validation.md

To add one: write it in the file of its topic below; the registry, the test, the command and the page find it.
"""

from __future__ import annotations

from drainward.validation.check import Check, Outcome, run_check
from drainward.validation.markdown import validation_markdown
from drainward.validation.projects import project_checks
from drainward.validation.registry import CHECKS

__all__ = ["CHECKS", "Check", "Outcome", "project_checks", "run_check", "validation_markdown"]
