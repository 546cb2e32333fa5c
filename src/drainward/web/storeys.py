"""The plan of a job's storeys as the page has it: `Storeys`, plan.csv read, drawn and written.

Storeys      reads it anew whenever it changed, gives a storey to be drawn, and takes one that was
read_drawing what the page sends, to a `Drawing`
PlanRefused  why a drawing cannot be taken, each with the row that was sent
"""

from __future__ import annotations

import hashlib
import json
import tempfile
import threading
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drainward.errors import InputError, Problem
from drainward.job.model import Job, Room
from drainward.job.names import name_key
from drainward.job.text import shown
from drainward.quantity import parse_length
from drainward.wayin.plan import Plan, plan_of, read_plan
from drainward.wayin.plan_text import FILE, PlanRow, floors_of, plan_text, write_plan

__all__ = ["Drawing", "PlanRefused", "Storeys", "read_drawing"]

MOST_ROWS, LONGEST = 4000, 500
CHANGED = "was changed by somebody else since this page was loaded; load it again, your drawing stays on this phone"


class PlanRefused(InputError):  # noqa: N818 a refusal, like its base
    """rows : of each problem, which of the rows that were sent; None where it is none of them."""

    def __init__(self, problems: tuple[Problem, ...], rows: tuple[int | None, ...]) -> None:
        super().__init__(problems)
        self.rows = rows


@dataclass(frozen=True, slots=True)
class Drawing:
    """A storey as it was drawn: id of the sending, the digest of the file that it was drawn on, and its rows."""

    id: str
    floor: str
    digest: str
    rows: tuple[PlanRow, ...]
    who: str


@dataclass(frozen=True, slots=True)
class _File:
    digest: str
    plans: Mapping[str, Plan]
    problems: tuple[Problem, ...]


class Storeys:
    """plan.csv of one job folder. Methods may be called from any thread."""

    def __init__(self, folder: Path, job: Job) -> None:
        self._path, self._job = folder / FILE, job
        self._lock = threading.Lock()
        self._file: _File | None = None

    def plan(self, room: Room) -> Plan | None:
        """The plan of the room's storey as it stands now; None where none leads to its pocket."""
        plan = plan_of(self._read().plans, room.room, room.floor)
        return plan if plan is not None and plan.goal(room.room) is not None else None

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What in the file is not understood."""
        return self._read().problems

    def floors(self) -> tuple[str, ...]:
        """The job's storeys, then those that only the plan has."""
        named = [room.floor for room in self._job.rooms] + list(floors_of(plan_text(self._path)))
        return tuple({name_key(floor): floor for floor in reversed(named)}.values())[::-1]

    def drawing(self, floor: str) -> dict[str, Any]:
        """A storey for the page's script: its rows in file order, its rooms, and what is not understood, by line."""
        file, text = self._read(), plan_text(self._path)
        rows = text.storey(floor)
        own = {row.line for row in rows}
        return {
            "floor": floor,
            "digest": file.digest,
            "rows": [
                {"line": row.line, "cells": dict(row.cells or {}), "point": row.point,
                 "thickness": _size((row.cells or {}).get("thickness", ""))}
                for row in rows
            ],
            "rooms": [
                {"room": room.room, "width": self._job.units[room.unit].outside_width}
                for room in self._job.rooms
                if name_key(room.floor) == name_key(floor)
            ],
            "problems": [{"line": p.line, "says": str(p)} for p in file.problems if p.line is None or p.line in own],
            "closed": [str(problem) for problem in text.problems],
        }  # fmt: skip

    def write(self, drawing: Drawing) -> str:
        """Put a storey into the file; gives the whole text.

        Raises PlanRefused where something of it is not understood, or the file is another than it was drawn on.
        """
        with self._lock:
            text, before = plan_text(self._path), self._read()
            if text.problems:
                raise PlanRefused(text.problems, (None,) * len(text.problems))
            if drawing.digest != before.digest:
                raise PlanRefused((Problem("page", None, "digest", FILE, CHANGED),), (None,))
            try:
                written = write_plan(text, drawing.floor, drawing.rows)
            except ValueError as error:
                raise PlanRefused((Problem("page", None, "rows", FILE, str(error)),), (None,)) from None
            known = {(p.field, p.got, p.expected) for p in before.problems}
            fresh = [p for p in _problems(written.text) if (p.field, p.got, p.expected) not in known]
            if fresh:
                row = {line: n for n, line in enumerate(written.lines)}
                raise PlanRefused(tuple(fresh), tuple(row.get(p.line or 0) for p in fresh))
            # Written beside it and moved: whoever reads meanwhile has the old file or the new one, whole.
            beside = self._path.with_name(f".{FILE}.{drawing.id}")
            beside.write_bytes(written.text.encode())
            beside.replace(self._path)
            return written.text

    def _read(self) -> _File:
        raw = self._path.read_bytes() if self._path.exists() else b""
        digest = hashlib.sha256(raw).hexdigest()
        if self._file is None or self._file.digest != digest:
            self._file = _File(digest, *read_plan(self._path)) if raw else _File(digest, {}, ())
        return self._file


def read_drawing(form: Mapping[str, str]) -> Drawing:
    """What the page sends: id, floor, digest, who, and rows as JSON, each {"line": n or null, "cells": {} or null}.

    Raises InputError where it is none of that.
    """
    try:
        own_id = str(uuid.UUID(form.get("id", "")))
        read = _rows(json.loads(form.get("rows", "")), form.get("floor", ""))
    except (ValueError, TypeError, KeyError, RecursionError):
        says = f"is no drawing of a storey, of {MOST_ROWS} points at most; load the page again"
        raise InputError((Problem("page", None, "rows", shown(form.get("rows", "")), says),)) from None
    who = " ".join(form.get("who", "").split())[:80]
    return Drawing(own_id, form.get("floor", ""), form.get("digest", ""), read, who)


def _rows(rows: Any, floor: str) -> tuple[PlanRow, ...]:
    if not isinstance(rows, list) or len(rows) > MOST_ROWS:
        raise ValueError
    return tuple(_row(row, floor) for row in rows)


def _row(row: Any, floor: str) -> PlanRow:
    line, cells = row["line"], row["cells"]
    if not (line is None or type(line) is int) or (cells is None and line is None):
        raise TypeError
    if cells is None:
        return PlanRow(line, None)
    kept = {}
    for name, cell in cells.items():
        if not isinstance(cell, str) or len(cell) > LONGEST or (not cell.isprintable() and line is None):
            raise ValueError
        kept[name] = cell
    return PlanRow(line, kept if line is not None or not floor else {"floor": floor, **kept})


def _problems(text: str) -> tuple[Problem, ...]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / FILE
        path.write_bytes(text.encode())
        return read_plan(path)[1]


def _size(written: str) -> float | None:
    try:
        return parse_length(written).value
    except ValueError:
        return None
