"""Where each key of a TOML file stands. The parser of the standard library gives values without their lines.

Path         a key's place in the data: ("floor", "heights", 2, "height")
key_lines    line of every table, key and array element of a text that has already been parsed without error
"""

from __future__ import annotations

import re
from bisect import bisect_left

__all__ = ["Path", "key_lines"]

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\n\r]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}\n#]*")
_STRINGS = (
    re.compile(r'"""(?:[^\\]|\\.)*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:[^"\\]|\\.)*"'),
    re.compile(r"'[^']*'"),
)


def key_lines(text: str) -> dict[Path, int]:
    """Lines counted from 1. `text` must be valid TOML with line feeds only."""
    return _Scanner(text).scan()


class _Scanner:
    """One pass over the text; knows just enough of the grammar to tell keys from values."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.ends = [found.start() for found in re.finditer("\n", text)]
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text.startswith("[[", self.at):
                table = self._header("]]")
            elif self.text.startswith("[", self.at):
                table = self._header("]")
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self.lines

    def _header(self, close: str) -> Path:
        line = self._line()
        self.at += len(close)
        keys = self._key()
        self.at = self.text.index(close, self.at) + len(close)
        path = (*self._resolve(keys[:-1], line), keys[-1])
        if close == "]]":
            self.lines.setdefault(path, line)
            count = self.counts.get(path, 0)
            self.counts[path] = count + 1
            path = (*path, count)
        else:
            path = self._resolve(keys, line)
        self.lines[path] = line
        return path

    def _resolve(self, keys: Path, line: int) -> Path:
        """The keys with the newest index after each array of tables."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            self.lines.setdefault(path, line)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _pair(self, table: Path) -> None:
        line = self._line()
        path = table
        for key in self._key():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.at = self.text.index("=", self.at) + 1
        self._skip(_SPACE)
        self._value(path)

    def _key(self) -> Path:
        keys: list[str] = []
        while True:
            self._skip(_SPACE)
            mark = self.text[self.at]
            part = self._skip(_STRINGS[2] if mark == '"' else _STRINGS[3] if mark == "'" else _BARE_KEY)
            keys.append(_plain(part) if mark in "\"'" else part)
            self._skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return tuple(keys)
            self.at += 1

    def _value(self, path: Path) -> None:
        self.lines.setdefault(path, self._line())
        mark = self.text[self.at]
        if mark == "[":
            self._items(path, "]")
        elif mark == "{":
            self._items(path, "}")
        elif mark in "\"'":
            next(found for string in _STRINGS if (found := self._skip(string)))
        else:
            self._skip(_BARE_VALUE)

    def _items(self, path: Path, close: str) -> None:
        self.at += 1
        count = 0
        while True:
            self._skip(_BLANK)
            if self.text.startswith(close, self.at):
                self.at += 1
                return
            if close == "]":
                self._value((*path, count))
                count += 1
            else:
                self._pair(path)
            self._skip(_BLANK)
            if self.text.startswith(",", self.at):
                self.at += 1

    def _skip(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            return ""
        self.at = found.end()
        return found.group()

    def _line(self) -> int:
        return bisect_left(self.ends, self.at) + 1


def _plain(quoted: str) -> str:
    """The key inside its quotes; the standard library undoes the escapes."""
    import tomllib

    return next(iter(tomllib.loads(f"{quoted} = 0")))
