"""Formulas of a workbook that no program has computed yet: `uncomputed`.

Such a cell has no value to read, and a reader of values finds it empty.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree as Xml
from zipfile import BadZipFile, ZipFile

__all__ = ["Formula", "uncomputed"]

Formula = tuple[int, int, str]
"""Line and column, counted from 1, and the formula with its equals sign."""

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_PLACE = re.compile(r"([A-Z]{1,3})([0-9]+)")


def uncomputed(path: Path) -> dict[str, tuple[Formula, ...]]:
    """Formulas without a stored value, by sheet; empty where the file is no workbook.

    Source: ECMA-376, part 1, 18.3.1.4. A formula whose stored value is an empty text has one.
    """
    try:
        with ZipFile(path) as archive:
            files = {
                relation.get("Id"): relation.get("Target", "") for relation in _xml(archive, "_rels/workbook.xml.rels")
            }
            return {
                sheet.get("name", ""): tuple(_formulas(archive, files[sheet.get(_RELATION)].removeprefix("/xl/")))
                for sheet in _xml(archive, "workbook.xml").iter(f"{_MAIN}sheet")
            }
    except (BadZipFile, KeyError, Xml.ParseError, zlib.error, ValueError, EOFError, NotImplementedError, OSError):
        return {}  # whoever reads the values says what is wrong with the file


def _xml(archive: ZipFile, name: str) -> Xml.Element:
    return Xml.fromstring(archive.read(f"xl/{name}"))


def _formulas(archive: ZipFile, name: str) -> Iterator[Formula]:
    raw = archive.read(f"xl/{name}")
    if b"<f" not in raw:
        return
    sheet = Xml.fromstring(raw)
    for cell in sheet.iter(f"{_MAIN}c"):
        formula, value = cell.find(f"{_MAIN}f"), cell.find(f"{_MAIN}v")
        stored = value is not None and (value.text or cell.get("t") == "str")
        place = _PLACE.fullmatch(cell.get("r", ""))
        if formula is not None and not stored and place is not None:
            yield int(place[2]), _column(place[1]), f"={formula.text or ''}"


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number
