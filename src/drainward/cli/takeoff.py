"""`drainward takeoff`: what to buy and cut for the whole job; `run`, the command."""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.text import Text

from drainward.cli.answer import complain, emit
from drainward.cli.compute import bar
from drainward.cli.exits import ExitCode, Finished, bad_use
from drainward.cli.show import console, item, table
from drainward.job import load
from drainward.job.model import Job
from drainward.plan.needs import RoomNeeds, room_needs
from drainward.plan.takeoff import Takeoff, takeoff
from drainward.report.takeoff_sheet import takeoff_pdf
from drainward.report.takeoff_table import takeoff_csv, takeoff_workbook
from drainward.report.takeoff_words import delivery_rooms, mortar_words, needed_words, notes, week_words

__all__ = ["run"]


def run(
    folder: Path, certainty: float | None, sets: int | None, files: Mapping[str, Path | None], as_json: bool
) -> None:
    """Print what to buy by delivery and the saw lists; write the files asked for, by kind: xlsx, csv, pdf.

    It judges nothing, so it leaves with 0 unless the input had problems.
    """
    if certainty is not None and not 0.5 <= certainty < 1:
        bad_use(f"--certainty {certainty:g} is none; expected one such as 0.99, from 0.5 up to less than 1")
    loaded = load(folder)
    job = loaded.job
    found = takeoff(job, _needs(job), certainty=certainty, sets=sets)
    problems = (*loaded.problems, *found.problems)
    make: Mapping[str, Callable[[], bytes]] = {
        "xlsx": partial(takeoff_workbook, found),
        "csv": lambda: takeoff_csv(found).encode(),
        "pdf": lambda: takeoff_pdf(found, job.name),
    }
    written: list[dict[str, Any]] = []
    for kind, path in files.items():
        if path is not None:
            data = make[kind]()
            path.write_bytes(data)
            written.append({"file": str(path), "sha256": hashlib.sha256(data).hexdigest()})
    if as_json:
        told = {"schema": 1, "room": None, "stage": "takeoff", "verdict": None, "findings": [], **found.as_json()}
        emit({**told, "files": written}, problems)
    else:
        _show(job, found)
        for file in written:
            sys.stdout.write(f"{file['file']}\n")
        complain(problems)
    raise Finished(ExitCode.BAD_INPUT if problems else ExitCode.MEETS)


def _needs(job: Job) -> tuple[RoomNeeds, ...]:
    """Every room's, with a bar on a terminal's stderr."""
    found = []
    with bar(len(job.rooms)) as watch:
        for number, room in enumerate(job.rooms):
            progress = watch(number, f"room {room.room}")
            if progress is not None:
                progress("its bed, shims, screws, braces", 0.0)
            found.append(room_needs(job, room))
    return tuple(found)


def _show(job: Job, found: Takeoff) -> None:
    out = console()
    out.print(Text(job.name, "bold"))
    out.print(Text(mortar_words(found) or "No unit of this job stands in mortar."))
    out.print()
    for words in notes(found):
        out.print(item(words))
    if not found.things:
        return
    all_of_it = table("what", "pack", "will be used", "came", "to come")
    for thing in found.things:
        came = f"{thing.came:g}" if thing.came else ""
        all_of_it.add_row(thing.what, thing.pack, needed_words(thing), came, str(thing.packs))
    out.print()
    out.print(all_of_it)
    _deliveries(out, found)
    _saws(out, found)


def _deliveries(out: Console, found: Takeoff) -> None:
    weeks = dict.fromkeys(d.week for thing in found.things for d in thing.deliveries)
    for week in sorted(weeks, key=lambda w: (w is None, w)):
        rows = table("packs", "pack", "what")
        for thing in found.things:
            for delivery in thing.deliveries:
                if delivery.week == week and delivery.packs:
                    rows.add_row(str(delivery.packs), thing.pack, thing.what)
        if rows.row_count:
            out.print()
            out.print(Text(f"Delivery {week_words(week)}", "bold").append(f"  {delivery_rooms(found, week)}", "dim"))
            out.print(rows)


def _saws(out: Console, found: Takeoff) -> None:
    for day in found.days:
        out.print()
        out.print(Text(f"Saw list {week_words(day.week)}", "bold"))
        for saw in day.saws:
            out.print(Text(saw.says()))
            for words in saw.lines():
                out.print(item(words))
