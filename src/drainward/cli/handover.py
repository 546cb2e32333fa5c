"""`drainward handover`: the evidence of one room, as PDF."""

from __future__ import annotations

import hashlib
import re
import sys
from pathlib import Path

from drainward.cli.answer import complain, emit
from drainward.cli.compute import find_room, floor_readings, room_answer
from drainward.cli.exits import bad_use, end
from drainward.job import load
from drainward.report import handover_pdf
from drainward.report.words import headline

__all__ = ["run"]


def run(folder: Path, name: str, output: Path | None, as_json: bool) -> None:
    """Write the PDF, say where, and leave with the verdict's code: a failing floor is handed over as failing."""
    loaded = load(folder)
    job = loaded.job
    room = find_room(job, name)
    answer = room_answer(job, room)
    if answer.draft is None:
        bad_use(f"room {room.room} has nothing to hand over: {answer.says}")
    pdf = handover_pdf(job, room, answer.draft, job.units[room.unit], floor_readings(job, room.room))
    path = output or Path(f"handover-{_file_name(room.room)}.pdf")
    path.write_bytes(pdf)
    if as_json:
        made = {"file": str(path), "sha256": hashlib.sha256(pdf).hexdigest()}
        emit({**answer.as_json(), "handover": made}, loaded.problems)
    else:
        sys.stdout.write(f"{headline(answer.draft).says}\n{path}\n")
        complain(loaded.problems)
    end(answer.verdict, loaded.problems)


def _file_name(room: str) -> str:
    """A room's name with nothing in it that a file system could take for more than a name."""
    return re.sub(r"[^\w-]+", "-", room).strip("-") or "room"
