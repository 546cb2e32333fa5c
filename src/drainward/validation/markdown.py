"""The outside checks as a page: docs/validation.md, written from the registry.

validation_markdown   the whole page, with the expected values; a run's own values are `drainward validate`'s to print
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from drainward.validation.check import Check

__all__ = ["validation_markdown"]

_HEAD = """# Outside checks

Written by `python -m drainward.validation > docs/validation.md`; do not edit by hand. A test fails when it is stale.

Each row holds a value of ours against one that is not. `drainward validate` computes them all and prints what came
out; a test runs every row and shows that it can fail. The last column says how the expected value reached us:
*seen* in the source, *secondary* in another's retelling, *computed* from a stated formula, from *memory*, or *common
practice*, which has no source.
A row that needs a library of the development extras is skipped, with that reason, where it is not installed.

`drainward validate --psplib FOLDER` also runs the constraint solver, 30 s at most each, on instances of PSPLIB (Kolisch
and Sprecher, European Journal of Operational Research 96 (1996) 205-216): single-mode `.sm` files beside `optimum.csv`
(`problem,optimum`) with their published makespans. They are not carried here, for no licence stands beside them where
they are to be had.
"""


def validation_markdown(checks: Sequence[Check]) -> str:
    """The page, in Markdown, ending with a newline. checks : grouped by topic."""
    parts = [_HEAD]
    for topic, rows in groupby(checks, key=lambda check: check.topic):
        parts.append(
            f"## {topic}\n\n| check | what | expected | within | against | how sure |\n|---|---|---|---|---|---|"
        )
        parts.append("\n".join(_row(check) for check in rows) + "\n")
    return "\n".join(parts)


def _row(check: Check) -> str:
    name = check.id.split("/", 1)[1]
    unit = f" {check.unit}" if check.unit else ""
    needs = f"; needs {check.needs}" if check.needs else ""
    cells = (
        name,
        check.what,
        f"{check.expected:.10g}{unit}",
        f"{check.tolerance:.3g}",
        check.source + needs,
        check.certainty,
    )
    return "| " + " | ".join(str(cell).replace("|", "\\|") for cell in cells) + " |"
