"""TOML files with the line of every key, and their tables turned into the job's types.

TomlFile     the data of one file, and where each key stands
read_toml    a file, or the one problem that makes it unreadable
Refusals     collects problems at keys
convert      written quantities of a table to SI, refusals noted
build        a table to a frozen type, every refusal noted at its key
dotted       a key as a person would point at it
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from drainward.errors import Problem, QuantityError
from drainward.job.names import nearest
from drainward.job.text import join, read_lines, shown
from drainward.job.toml_lines import Path as KeyPath
from drainward.job.toml_lines import key_lines
from drainward.quantity import Quantity

__all__ = ["Parsers", "Refusals", "TomlFile", "build", "convert", "dotted", "read_toml"]

Model = TypeVar("Model", bound=BaseModel)
Parsers = Mapping[str, Callable[[str], Quantity]]

_PLACE = re.compile(r" ?\(at (?:line (\d+), column \d+|end of document)\)")

_BOUNDS = {
    "greater_than": "is too little; expected more than {gt:g} in SI units",
    "greater_than_equal": "is too little; expected {ge:g} in SI units or more",
    "less_than": "is too much; expected less than {lt:g} in SI units",
    "less_than_equal": "is too much; expected {le:g} in SI units or less",
}


@dataclass(frozen=True, slots=True)
class TomlFile:
    """name as problems show it; lines by key path."""

    name: str
    data: dict[str, Any]
    lines: Mapping[KeyPath, int]

    def line(self, path: KeyPath) -> int | None:
        """Line of the key, or of the nearest table around it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)

    def value(self, path: KeyPath) -> object:
        """What is written at the key; blank where nothing is."""
        value: Any = self.data
        for part in path:
            try:
                value = value[part]
            except (KeyError, IndexError, TypeError):
                return ""
        return value


def read_toml(path: Path, name: str) -> TomlFile | Problem:
    """The file's data; where it cannot be opened or is no TOML, the one problem. Nothing is raised."""
    try:
        lines = read_lines(path)
    except OSError as error:
        return Problem(name, None, "", error.strerror or "error", "while opening the file")
    text = join(lines)
    try:
        return TomlFile(name, tomllib.loads(text), key_lines(text))
    except RecursionError:
        return _no_toml(name, lines, "nested too deeply")
    except ValueError as error:
        return _no_toml(name, lines, str(error))


def _no_toml(name: str, lines: list[str], message: str) -> Problem:
    place = _PLACE.search(message)
    line = int(place[1]) if place and place[1] else len(lines) if place else None
    got = lines[line - 1].strip() if line and line <= len(lines) else ""
    return Problem(
        name, line, "", shown(got), f"is not TOML ({_PLACE.sub('', message)}); nothing of this file was used"
    )


@dataclass(slots=True)
class Refusals:
    """Problems of one file, each at its key."""

    file: TomlFile
    problems: list[Problem] = field(default_factory=list)
    paths: list[KeyPath] = field(default_factory=list)

    def add(self, path: KeyPath, got: object, expected: str) -> None:
        """Refuse the key at `path`."""
        self.paths.append(path)
        self.problems.append(Problem(self.file.name, self.file.line(path), dotted(path), shown(got), expected))


def dotted(path: KeyPath) -> str:
    """The key as a person would point at it: floor.heights[2].height, elements counted from 1."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def convert(table: Mapping[str, Any], parsers: Parsers, path: KeyPath, refusals: Refusals) -> dict[str, Any]:
    """The table with every key of `parsers` in SI; keys that were refused are absent, others unchanged."""
    values: dict[str, Any] = {}
    for key, value in table.items():
        if key not in parsers:
            values[key] = value
            continue
        try:
            values[key] = _quantity(parsers[key], value).value
        except QuantityError as error:
            refusals.add((*path, key), error.text, error.expected)
    return values


def _quantity(parse: Callable[[str], Quantity], value: object) -> Quantity:
    """What is written in quotation marks; a bare number is told which units there are."""
    if isinstance(value, str):
        return parse(value)
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise QuantityError(shown(value), "is not a written quantity; expected one in quotation marks, with its unit")
    try:
        return parse("0" if value == 0 else str(value))
    except QuantityError as error:
        hint = f'is a bare number; write it with its unit, in quotation marks; "{value}" alone {error.expected}'
        raise QuantityError(str(value), hint) from None


def build(
    model: type[Model],
    values: Mapping[str, Any],
    path: KeyPath,
    refusals: Refusals,
    places: Mapping[str, KeyPath] = MappingProxyType({}),
) -> Model | None:
    """The model from SI values; None when anything of it was refused, now or by `convert` before.

    places : for complaints about the whole, the key at which to show them, by their words
    """
    before = tuple(refusals.paths)
    try:
        built = model.model_validate(dict(values))
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            loc = (*path, *detail["loc"]) or places.get(str(detail.get("ctx", {}).get("error")), ())
            if not any(refused[: len(loc)] == loc for refused in before):
                refusals.add(loc, *_said(model, loc, detail, refusals.file))
        return None
    return None if any(refused[: len(path)] == path for refused in before) else built


def _said(model: type[BaseModel], loc: KeyPath, detail: Any, file: TomlFile) -> tuple[object, str]:
    """What stood there and what was expected, for one complaint of the validator."""
    key, context = str(loc[-1]) if loc else "", detail.get("ctx", {})
    got = file.value(loc)
    if detail["type"] in _BOUNDS:
        return got, _BOUNDS[detail["type"]].format(**context)
    match detail["type"]:
        case "missing":
            return "", "is missing; every key is in docs/job-folder.md"
        case "extra_forbidden":
            known = _fields(model, detail["loc"][:-1])
            return key, f"is no key here{nearest(key, known)}; expected {', '.join(known)}"
        case "literal_error" | "enum":
            return got, f"is not understood; expected {context['expected']}"
        case "value_error":
            return dotted(loc), f"is not usable: {context['error']}"
    message = detail["msg"]
    return got, f"is not understood: {message[0].lower()}{message[1:]}"


def _fields(model: type[BaseModel], loc: KeyPath) -> list[str]:
    """Keys of the model at a place inside it."""
    for part in loc:
        if isinstance(part, str):
            annotation = model.model_fields[part].annotation
            inner = [a for a in (annotation, *getattr(annotation, "__args__", ())) if isinstance(a, type)]
            models = [a for a in inner if issubclass(a, BaseModel)]
            if not models:
                return []
            model = models[0]
    return list(model.model_fields)
