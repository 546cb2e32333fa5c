"""Bytes to lines, whatever a spreadsheet or an editor made of them.

read_lines    the lines of a file, decoded one by one so that one broken line leaves the others whole
join          the same lines as one text
file_label    a path's name, safe to print
shown         any text, short and safe to print
"""

from __future__ import annotations

import codecs
import re
from pathlib import Path

__all__ = ["file_label", "join", "read_lines", "shown"]

_LINE_END = re.compile(rb"\r\n|\n|\r")
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def read_lines(path: Path) -> list[str]:
    """Lines of the file without their ends, first line first.

    Each line is UTF-8, or failing that Windows-1252, or failing that Latin-1; a UTF-16 file is known by its mark.
    Raises OSError when the file cannot be opened.
    """
    raw = path.read_bytes()
    if raw.startswith(_UTF16):
        raw = raw.decode("utf-16", errors="replace").encode("utf-8", errors="replace")
    return [_decode(line) for line in _LINE_END.split(raw.removeprefix(codecs.BOM_UTF8))]


def _decode(line: bytes) -> str:
    for encoding in ("utf-8", "cp1252"):
        try:
            return line.decode(encoding)
        except UnicodeDecodeError:
            continue
    return line.decode("latin-1")


def join(lines: list[str]) -> str:
    """One text with plain line feeds."""
    return "\n".join(lines)


def file_label(path: Path, folder: Path | None = None) -> str:
    """The file's name, or its place below the folder, with anything that cannot be printed replaced."""
    name = path.name if folder is None else path.relative_to(folder).as_posix()
    return name.encode("utf-8", errors="replace").decode("utf-8")


def shown(text: object) -> str:
    """The text for a message: on one line, at most 60 characters, nothing that would steer a terminal."""
    plain = "".join(character if character.isprintable() else "\ufffd" for character in str(text)[:200])
    return plain if len(plain) <= 60 else plain[:57] + "..."
