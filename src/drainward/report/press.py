"""From a layout beside this file and its data to PDF.

print_pdf   one document
printable   whether the press takes a photograph

Identical inputs give identical bytes: no clock, one font shipped beside this file.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    import typst

__all__ = ["print_pdf", "printable"]

HERE = Path(__file__).parent


def print_pdf(layout: str, data: Mapping[str, Any], files: Mapping[str, bytes] | None = None) -> bytes:
    """The layout of that name with its data, as PDF; files : pictures that the layout shows, by name."""
    return _print(_layouts()[layout], {**(files or {}), **_layouts()}, json.dumps(data, ensure_ascii=False))


def printable(file: str, data: bytes) -> bool:
    """Whether the press takes the picture."""
    import typst

    try:
        _print(f'#image("{file}")'.encode(), {file: data}, "")
    except typst.TypstError:
        return False
    return True


@cache
def _layouts() -> Mapping[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(HERE.glob("*.typ"))}


def _print(layout: bytes, files: Mapping[str, bytes], data: str) -> bytes:
    compiler, turn = _press()
    with turn, TemporaryDirectory() as folder:
        for name, content in files.items():
            (Path(folder) / name).write_bytes(content)
        pdf = compiler.compile(input=layout, root=folder, sys_inputs={"data": data})
    return cast("bytes", pdf)  # a PDF is one file; only pages as pictures come as a list


@cache
def _press() -> tuple[typst.Compiler, Lock]:
    """One compiler for the process, since it reads its font but once; it prints for one thread at a time."""
    import typst

    return typst.Compiler(font_paths=[HERE / "fonts"], ignore_system_fonts=True), Lock()
