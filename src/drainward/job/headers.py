"""What the columns of a room list mean, whoever named them.

Column          one column: its header, what it was taken for, and in which unit its bare numbers are
take_columns    a header row to columns
join_headers    two header rows, the upper one over groups of columns, as one
header_score    how many different fields a row names, for finding the header below title lines
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from drainward.job.names import name_key
from drainward.job.records import Cell

__all__ = ["NOTE", "Column", "header_score", "join_headers", "take_columns"]

NOTE = "note"

_ALIASES: dict[str, tuple[str, ...]] = {
    "room": (
        *("room no", "room number", "room id", "rm no", "rm number", "room", "rm", "room name"),
        *("bathroom", "bath", "suite", "apartment", "apt", "unit no", "unit number", "location"),
    ),
    "unit": (
        *("shower model", "unit model", "shower unit type", "shower unit model", "shower unit", "unit type"),
        *("shower type", "model", "shower", "unit id", "model no", "model number", "fixture model", "fixture type"),
        *("fixture", "unit"),
    ),
    "floor": ("floor", "level", "storey", "story", "lvl", "flr", "fl", "floor no", "floor level", "planta", "piso"),
    "ready": (
        *("ready", "ready from", "ready for unit", "rough in passed", "rough in complete", "rough in done"),
        *("rough in inspection", "rough in", "framing passed", "framing complete", "available", "available from"),
    ),
    "due": (
        *("due", "due by", "handover", "hand over", "turnover", "turn over", "complete by", "finish by", "finish"),
        *("needed by", "required by", "deadline", "completion"),
    ),
    NOTE: ("note", "notes", "remark", "remarks", "comment", "comments"),
}
_FILLERS = {"date", "planned", "target", "scheduled", "the"}
_SURVEYED = re.compile(
    r"(?:surveyed|measured|pocket|rough opening|as built|opening|ro) ((?:[a-z]+ )*(?:width|depth|height|length))"
)
_UNIT = re.compile(r"\((in|inch|inches|ft|mm|cm|m)\)\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Column:
    """`taken_for` is a field of a room, "surveyed NAME", or blank where the column goes into the note."""

    header: str
    taken_for: str
    unit: str | None = None

    def __str__(self) -> str:
        name = self.header or "(no name)"
        if not self.taken_for:
            return f'column "{name}": not known; kept in the note'
        unit = f", bare numbers in {self.unit}" if self.unit else ""
        return f'column "{name}": taken for {self.taken_for}{unit}'


def take_columns(cells: Sequence[Cell]) -> tuple[Column, ...]:
    """The columns under a header row; each field is given to the header that names it best, others go into the note."""
    keys = [_key(cell) for cell in cells]
    fields = [""] * len(keys)
    for field, aliases in _ALIASES.items():
        places = [(aliases.index(key), place) for place, key in enumerate(keys) if key in aliases]
        if places:
            fields[min(places)[1]] = field
    if "room" not in fields:
        _unit_as_room(keys, fields)
    columns = []
    for cell, key, field in zip(cells, keys, fields, strict=True):
        surveyed = _SURVEYED.fullmatch(key)
        unit = _UNIT.search(str(cell)) if surveyed else None
        taken_for = f"surveyed {surveyed[1]}" if surveyed and not field else field
        columns.append(Column(" ".join(str(cell).split()), taken_for, unit[1].lower() if unit else None))
    return tuple(columns)


def join_headers(upper: Sequence[Cell], lower: Sequence[Cell]) -> tuple[str, ...]:
    """One name for each column: the lower one where it is known, else both together.

    "Unit" alone is not taken where both together are known, since it may be a dwelling or a shower. The upper name
    alone stands only over a blank: else the first row of rooms would pass for a second header.
    """
    names = []
    for k in range(max(len(upper), len(lower))):
        over, under = (" ".join(str(row[k]).split()) if k < len(row) else "" for row in (upper, lower))
        both = f"{over} {under}".strip()
        first = (both, under) if name_key(under) == "unit" else (under, both)
        known = (name for name in first if name and take_columns([name])[0].taken_for)
        names.append(next(known, both if over != under else under))
    return tuple(names)


def _unit_as_room(keys: list[str], fields: list[str]) -> None:
    """Where a column "unit" stands beside one that names the shower's model, it means the dwelling: the room."""
    if "unit" in keys and "unit" in fields and fields[keys.index("unit")] != "unit":
        fields[keys.index("unit")] = "room"


def header_score(cells: Sequence[Cell]) -> int:
    """How many different fields the row names; 0 where it does not name the room."""
    fields = {column.taken_for for column in take_columns(cells)} - {""}
    return len(fields) if "room" in fields else 0


def _key(cell: Cell) -> str:
    """The header in plain words: "Rm. #" is rm no; units in brackets and filler words are left out."""
    text = _UNIT.sub("", str(cell)).replace("#", " no ").replace("№", " no ")
    words = re.sub(r"[^\w ]|_", " ", name_key(text)).split()
    return " ".join(word for word in words if word not in _FILLERS) or " ".join(words)
