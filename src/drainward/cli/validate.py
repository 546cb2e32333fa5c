"""`drainward validate`: every outside check beside its source."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from rich.table import Table
from rich.text import Text

from drainward.cli.answer import emit
from drainward.cli.exits import end
from drainward.cli.show import console
from drainward.finding import Verdict
from drainward.validation import CHECKS, Check, Outcome, project_checks, run_check

__all__ = ["run"]


def run(psplib: Path | None, as_json: bool) -> None:
    """Run all checks; leave with 0 when none failed, with 1 when one did. A skipped check is named, never counted.

    psplib : folder of scheduling instances to check too
    """
    checks = (*CHECKS, *(() if psplib is None else project_checks(psplib)))
    outcomes = [run_check(check) for check in _watched(checks)]
    failed = sum(outcome.passed is False for outcome in outcomes)
    verdict = Verdict.FAILS if failed else Verdict.MEETS
    if as_json:
        rows = [_json(outcome) for outcome in outcomes]
        head: dict[str, Any] = {"schema": 1, "room": None, "stage": "validate", "verdict": str(verdict), "findings": []}
        emit({**head, "checks": rows}, ())
    else:
        _print(outcomes, failed)
    end(verdict)


def _print(outcomes: Sequence[Outcome], failed: int) -> None:
    out = console()
    skipped = sum(outcome.passed is None for outcome in outcomes)
    passed = len(outcomes) - failed - skipped
    said = f"{passed} of {len(outcomes)} outside checks pass, {failed} fail, {skipped} skipped."
    out.print(Text(said, "bold red" if failed else "green"))
    out.print()
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name in ("check", "ours", "expected", "against", ""):
        table.add_column(name, overflow="fold")
    for outcome in outcomes:
        check = outcome.check
        against = Text(check.source).append(f" ({check.certainty})", "dim")
        ours = Text(outcome.reason, "dim") if outcome.got is None else Text(f"{outcome.got:.6g} {check.unit}")
        expected = Text(f"{check.expected:.6g} ± {check.tolerance:.1g}")
        table.add_row(Text(check.id).append(f"\n{check.what}", "dim"), ours, expected, against, _word(outcome))
    out.print(table)


def _word(outcome: Outcome) -> Text:
    if outcome.passed is None:
        return Text("skipped", "yellow")
    return Text("pass", "green") if outcome.passed else Text("FAIL", "bold red")


def _json(outcome: Outcome) -> dict[str, Any]:
    check = outcome.check
    return {
        "id": check.id,
        "what": check.what,
        "source": check.source,
        "certainty": str(check.certainty),
        "expected": check.expected,
        "tolerance": check.tolerance,
        "unit": check.unit,
        "got": outcome.got,
        "passed": outcome.passed,
        "reason": outcome.reason,
    }


def _watched(checks: Sequence[Check]) -> Iterable[Check]:
    if not sys.stderr.isatty():
        return checks
    from rich.console import Console
    from rich.progress import track

    return track(checks, "checking", console=Console(stderr=True), transient=True)
