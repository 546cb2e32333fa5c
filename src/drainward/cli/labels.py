"""`drainward labels`: a label for each room's door, with a code that opens its page; `run`, the command."""

from __future__ import annotations

import hashlib
import re
import sys
from pathlib import Path
from typing import Any

from drainward.cli.answer import complain, emit
from drainward.cli.compute import find_room
from drainward.cli.exits import ExitCode, Finished, bad_use
from drainward.job import load
from drainward.report.room_labels import room_labels_pdf

__all__ = ["run"]

_ADDRESS = re.compile(r"https?://[^\s/?#]+(?:/[^\s?#]*)?")


def run(folder: Path, address: str, rooms: list[str], output: Path, as_json: bool) -> None:
    """Write the sheet and say where; it judges nothing, so it leaves with 0 unless the input had problems.

    rooms : which; none for all of them
    """
    if not _ADDRESS.fullmatch(address):
        bad_use(f'"{address}" is no address of a page; expected such as https://trailer.local:8080')
    loaded = load(folder)
    chosen = [find_room(loaded.job, name) for name in rooms] or list(loaded.job.rooms)
    if not chosen:
        bad_use("the job has no rooms to label; rooms.csv names them")
    pdf = room_labels_pdf(loaded.job, chosen, address)
    output.write_bytes(pdf)
    if as_json:
        sheet = {"file": str(output), "sha256": hashlib.sha256(pdf).hexdigest(), "rooms": [r.room for r in chosen]}
        told: dict[str, Any] = {
            "schema": 1,
            "room": None,
            "stage": "labels",
            "verdict": None,
            "findings": [],
            "labels": sheet,
        }
        emit(told, loaded.problems)
    else:
        sys.stdout.write(f"{output}\n")
        complain(loaded.problems)
    raise Finished(ExitCode.BAD_INPUT if loaded.problems else ExitCode.MEETS)
