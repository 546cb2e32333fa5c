"""Names as people and spreadsheets write them, made comparable.

clean       one line of text: width forms folded, blanks trimmed and collapsed
room_name   a room's name: a spreadsheet's 101.0 is room 101
name_key    what two spellings of one name share
room_path   where the page shows a room
nearest     the known name that a typist most likely meant
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from urllib.parse import quote

__all__ = ["clean", "name_key", "nearest", "room_name", "room_path"]

_WHOLE_AS_FLOAT = re.compile(r"(\d+)\.0+")


def clean(text: str) -> str:
    """The text on one line, without blanks at its ends or doubled ones inside."""
    return " ".join(unicodedata.normalize("NFKC", text).split())


def room_name(text: str) -> str:
    """The room's name; a whole number that a spreadsheet stored as 101.0 comes back as 101."""
    name = clean(text)
    whole = _WHOLE_AS_FLOAT.fullmatch(name)
    return whole.group(1) if whole else name


def name_key(name: str) -> str:
    """Equal for two spellings that differ in capitals or blanks only."""
    return clean(name).casefold()


def room_path(room: str) -> str:
    """The path of a room's page, below the address of the job's page."""
    return f"/rooms/{quote(room, safe='')}"


def nearest(name: str, known: Iterable[str]) -> str:
    """A hint such as ' (did you mean "due"?)', or nothing when no known name is close."""
    by_key = {name_key(candidate): candidate for candidate in known}
    close = difflib.get_close_matches(name_key(name), by_key, n=1, cutoff=0.6)
    return f' (did you mean "{by_key[close[0]]}"?)' if close else ""
