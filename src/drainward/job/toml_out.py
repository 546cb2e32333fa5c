"""Plain data to TOML text that a person can read and edit.

toml_text   one document
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any

__all__ = ["toml_text"]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SHORT = 4
"""Tables in a list with no more keys than this stand in one line each."""


def toml_text(data: Mapping[str, Any]) -> str:
    """TOML 1.0 of strings, numbers, booleans, dates, lists and tables; keys whose value is None are left out."""
    return "\n".join(_table((), data)).lstrip("\n") + "\n"


def _table(path: tuple[str, ...], table: Mapping[str, Any]) -> Iterator[str]:
    present = {key: value for key, value in table.items() if value is not None}
    below = {key: value for key, value in present.items() if isinstance(value, Mapping) or _is_block(value)}
    for key, value in present.items():
        if key not in below:
            yield f"{_key(key)} = {_value(value)}"
    for key, value in below.items():
        inner = (*path, key)
        name = ".".join(_key(part) for part in inner)
        for row in [value] if isinstance(value, Mapping) else value:
            yield f"\n[{name}]" if row is value else f"\n[[{name}]]"
            yield from _table(inner, row)


def _is_block(value: object) -> bool:
    """Whether a list is written as [[...]]."""
    return (
        isinstance(value, list | tuple)
        and bool(value)
        and all(isinstance(row, Mapping) for row in value)
        and any(len(row) > _SHORT for row in value)
    )


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _string(key)


def _string(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _value(value: Any) -> str:
    match value:
        case str():
            return _string(value)
        case bool():
            return str(value).lower()
        case int() | float():
            return repr(value)
        case datetime() | date() | time():
            return value.isoformat()
        case Mapping():
            pairs = (f"{_key(key)} = {_value(inner)}" for key, inner in value.items() if inner is not None)
            return f"{{{', '.join(pairs)}}}"
        case Sequence():
            items = [_value(item) for item in value]
            if any(isinstance(item, Mapping) for item in value):
                return "[\n" + "".join(f"    {item},\n" for item in items) + "]"
            return f"[{', '.join(items)}]"
    raise TypeError(f"TOML has no form for {type(value).__name__}")
