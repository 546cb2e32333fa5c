"""The constraint solver against scheduling instances with a published makespan: `project_checks`.

The instances are PSPLIB's. Where they are to be had no licence stands beside them, so none is carried here: the checks
read a folder of `.sm` files with `optimum.csv` (problem, optimum).
"""

from __future__ import annotations

import csv
from functools import partial
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.finding import Certainty
from drainward.plan.psplib import Project, read_sm, shortest
from drainward.validation.check import Check

__all__ = ["project_checks"]

SECONDS = 30.0
_TABLE = "optimum.csv"
_SOURCE = "Kolisch and Sprecher, European Journal of Operational Research 96 (1996) 205-216, PSPLIB"


def project_checks(folder: Path, seconds: float = SECONDS) -> tuple[Check, ...]:
    """One check for each row of the folder's optimum.csv; seconds : how long each is looked at, at most.

    Raises InputError where a file is missing or not understood.
    """
    try:
        with (folder / _TABLE).open(newline="", encoding="utf-8") as table:
            rows = list(csv.DictReader(table))
    except OSError as error:
        raise _refused(_TABLE, None, "", "", f"{error.strerror}; expected a table of problem and optimum") from None
    found = []
    for line, row in enumerate(rows, 2):
        name, optimum = (row.get("problem") or "").strip(), (row.get("optimum") or "").strip()
        if not name or not optimum.isdigit():
            raise _refused(_TABLE, line, "optimum", optimum, "expected the name of a file and a whole number")
        try:
            project = read_sm((folder / name).read_text(encoding="utf-8"), name)
        except OSError as error:
            raise _refused(name, None, "", "", f"{error.strerror}; {_TABLE}, line {line}, names it") from None
        what = f"shortest makespan of {Path(name).stem}, {len(project.durations) - 2} jobs"
        found.append(
            Check(f"psplib/{Path(name).stem}", what, _SOURCE, Certainty.SEEN, float(optimum), 0.0, "periods",
                  partial(_shortest, project, seconds))
        )  # fmt: skip
    return tuple(found)


def _shortest(project: Project, seconds: float) -> float:
    """NaN, which no check lets pass, where no plan was found."""
    found = shortest(project, seconds).makespan
    return float("nan") if found is None else float(found)


def _refused(file: str, line: int | None, field: str, got: str, expected: str) -> InputError:
    return InputError((Problem(file, line, field, got, expected),))
