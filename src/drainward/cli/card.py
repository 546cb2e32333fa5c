"""`drainward card`: the crew's card of one room, as PDF; `run`, the command."""

from __future__ import annotations

import hashlib
import sys
from datetime import UTC, datetime
from pathlib import Path

from drainward.cli.answer import complain, emit
from drainward.cli.compute import find_room
from drainward.cli.exits import ExitCode, Finished, bad_use
from drainward.cli.handover import file_name
from drainward.job import load
from drainward.plan.stored import FILE
from drainward.report.card import card_pdf
from drainward.report.card_numbers import room_card
from drainward.report.language import LANGUAGES

__all__ = ["run"]


def run(folder: Path, name: str, language: str, output: Path | None, as_json: bool) -> None:
    """Write the card and say where; it judges nothing, so it leaves with 0 unless the input had problems.

    What the room's survey does not tell yet stands on it as not known; its times are those of the plan.
    """
    if language not in LANGUAGES:
        bad_use(f'no card in "{language}"; there are {", ".join(LANGUAGES)}')
    loaded = load(folder)
    job, room = loaded.job, find_room(loaded.job, name)
    pdf = card_pdf(room_card(job, room, folder / FILE, datetime.now(UTC)), language)
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
