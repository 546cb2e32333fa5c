"""The one JSON object that a command prints with `--json`, and the problems of the input on stderr.

emit        print an object, with the problems of the input beside its own keys
complain    problems in words
refusing    where nothing can be answered, say so in the form that was asked for
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from typing import Any

from drainward.cli.exits import ExitCode, Finished
from drainward.errors import InputError, Problem
from drainward.finding import Verdict

__all__ = ["complain", "emit", "refusing"]


def emit(answer: Mapping[str, Any], problems: Sequence[Problem]) -> None:
    """One object on one line of stdout; a number that is not finite is null, since JSON has no word for it."""
    whole = _finite({**answer, "problems": [asdict(problem) for problem in problems]})
    sys.stdout.write(json.dumps(whole, allow_nan=False) + "\n")


def complain(problems: Sequence[Problem]) -> None:
    """Each problem on a line of stderr."""
    for problem in problems:
        sys.stderr.write(f"{problem}\n")


@contextmanager
def refusing(room: str | None, stage: str, as_json: bool) -> Iterator[None]:
    """Turn an InputError into its problems and the exit code 65; with `--json` still one object."""
    try:
        yield
    except InputError as error:
        if as_json:
            nothing: dict[str, Any] = {
                "schema": 1,
                "room": room,
                "stage": stage,
                "verdict": str(Verdict.NOT_PROVEN),
                "findings": [],
            }
            emit(nothing, error.problems)
        else:
            complain(error.problems)
        raise Finished(ExitCode.BAD_INPUT) from None


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in value]
    return value
