"""`drainward card`: the crew's card of one room, as PDF; `run`, the command."""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from drainward.cli.answer import complain, emit
from drainward.cli.compute import find_room
from drainward.cli.exits import ExitCode, Finished, bad_use
from drainward.cli.handover import file_name
from drainward.errors import StageError
from drainward.floor.stage import unit_of
from drainward.job import load
from drainward.pocket.stage import dry_set_stage, set_stage
from drainward.report.card import card_of, card_pdf
from drainward.report.language import LANGUAGES

__all__ = ["run"]

T = TypeVar("T")


def run(folder: Path, name: str, language: str, output: Path | None, as_json: bool) -> None:
    """Write the card and say where; it judges nothing, so it leaves with 0 unless the input had problems.

    What the room's survey does not tell yet stands on it as not known.
    """
    if language not in LANGUAGES:
        bad_use(f'no card in "{language}"; there are {", ".join(LANGUAGES)}')
    loaded = load(folder)
    job, room = loaded.job, find_room(loaded.job, name)
    unit = unit_of(job, room.room)
    surveyed = any(measure.room == room.room for measure in job.survey)
    dry = _known(lambda: dry_set_stage(job, room.room)) if surveyed else None
    out = _known(lambda: set_stage(job, room.room)) if surveyed else None
    pdf = card_pdf(card_of(job, room, unit, dry, out), language)
    path = output or Path(f"card-{file_name(room.room)}.pdf")
    path.write_bytes(pdf)
    if as_json:
        sheet = {"file": str(path), "sha256": hashlib.sha256(pdf).hexdigest(), "language": language}
        told = {"schema": 1, "room": room.room, "stage": "card", "verdict": None, "findings": [], "card": sheet}
        emit(told, loaded.problems)
    else:
        sys.stdout.write(f"{path}\n")
        complain(loaded.problems)
    raise Finished(ExitCode.BAD_INPUT if loaded.problems else ExitCode.MEETS)


def _known(compute: Callable[[], T]) -> T | None:
    """What the stage answers; None where it cannot yet."""
    try:
        return compute()
    except StageError:
        return None
