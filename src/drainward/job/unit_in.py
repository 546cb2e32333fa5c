"""A unit model from its file, units/NAME.toml.

FITTINGS      how the lengths of the table [fittings] are written, here and in job.toml
EDGE_POINTS   the names of the eight points of the floor's edge, as shares of the inside width and depth
read_unit     the unit model of one file, and what is wrong with it
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drainward.errors import Problem
from drainward.job.model import UnitModel
from drainward.job.names import clean, name_key
from drainward.job.toml_in import Refusals, TomlFile, build, convert, read_toml
from drainward.quantity import parse_area, parse_duration, parse_length, parse_mass, parse_pressure, parse_slope

__all__ = ["EDGE_POINTS", "FITTINGS", "read_unit"]

FITTINGS = dict.fromkeys(("grab_bar_height", "seat_height", "controls_height"), parse_length)

EDGE_POINTS: Mapping[str, tuple[float, float]] = {
    "back left": (0.0, 0.0),
    "back": (0.5, 0.0),
    "back right": (1.0, 0.0),
    "right": (1.0, 0.5),
    "front right": (1.0, 1.0),
    "front": (0.5, 1.0),
    "front left": (0.0, 1.0),
    "left": (0.0, 0.5),
}

_EDGE = 0.0254
"""How far off the edge a height of the cut sheet may stand, m."""

_PLACES = {
    "the outside is smaller than the inside": ("outside_width",),
    "the drain lies outside the floor": ("drain",),
}
_OUTER = {
    **dict.fromkeys(("outside_width", "outside_depth", "outside_height", "inside_width", "inside_depth"), parse_length),
    **dict.fromkeys(("threshold_height", "threshold_width", "threshold_lip", "tolerance"), parse_length),
    "mass": parse_mass,
    "minimum_cure": parse_duration,
}
_DRAIN = {
    **dict.fromkeys(("x", "y", "radius", "body_diameter", "body_depth", "pipe"), parse_length),
    "open_area": parse_area,
}
_FLOOR = {"thickness": parse_length, "fall": parse_slope}
_FLANGE = dict.fromkeys(("width", "thickness"), parse_length)
_PANEL = dict.fromkeys(("modulus", "modulus_across", "u_modulus"), parse_pressure)
_HEIGHT = dict.fromkeys(("x", "y", "height"), parse_length)
_INNER = {"drain": _DRAIN, "flange": _FLANGE, "floor": _FLOOR, "fittings": FITTINGS, "panel": _PANEL}


def read_unit(path: Path, name: str) -> tuple[UnitModel | None, tuple[Problem, ...]]:
    """The unit model; None when anything in its file was refused. name : the file as problems show it."""
    file = read_toml(path, name)
    if isinstance(file, Problem):
        return None, (file,)
    refusals = Refusals(file)
    values = convert(file.data, _OUTER, (), refusals)
    values["id"] = clean(str(values.get("id", path.stem)))
    values.setdefault("name", values["id"])
    for key, parsers in _INNER.items():
        if isinstance(values.get(key), dict):
            values[key] = convert(values[key], parsers, (key,), refusals)
    if isinstance(values.get("floor"), dict) and "heights" in values["floor"]:
        values["floor"]["heights"] = _heights(values, file, refusals)
    unit = build(UnitModel, values, (), refusals, _PLACES)
    return (None if refusals.problems else unit), tuple(refusals.problems)


def _heights(values: Mapping[str, Any], file: TomlFile, refusals: Refusals) -> list[Any]:
    rows = values["floor"]["heights"]
    path = ("floor", "heights")
    if not isinstance(rows, list):
        refusals.add(path, rows, 'is no list; expected such as [{at = "back left", height = "5/8 in"}, ...]')
        return []
    width, depth = values.get("inside_width"), values.get("inside_depth")
    heights: list[Any] = []
    for number, row in enumerate(rows):
        at = (*path, number)
        if not isinstance(row, dict):
            refusals.add(at, row, 'is no table; expected such as {at = "back left", height = "5/8 in"}')
            continue
        height = convert(row, _HEIGHT, at, refusals)
        if "at" in height:
            _place(height, width, depth, at, refusals)
        heights.append(height)
        if _complete(height, width, depth):
            _check_edge(heights, float(width or 0), float(depth or 0), at, file, refusals)
    return heights


def _place(height: dict[str, Any], width: Any, depth: Any, path: tuple[str | int, ...], refusals: Refusals) -> None:
    """Put x and y in the place of a name; zeros where it is refused, for the unit is then not used."""
    name = height.pop("at")
    shares = EDGE_POINTS.get(name_key(name)) if isinstance(name, str) else None
    if shares is None:
        refusals.add((*path, "at"), name, f"is no point of the edge; expected {', '.join(EDGE_POINTS)}")
    elif "x" in height or "y" in height:
        refusals.add((*path, "at"), name, "stands beside x or y; expected the name or the place, not both")
    share_x, share_y = shares or (0.0, 0.0)
    height["x"] = share_x * width if isinstance(width, float) else 0.0
    height["y"] = share_y * depth if isinstance(depth, float) else 0.0


def _complete(height: Mapping[str, Any], width: Any, depth: Any) -> bool:
    return all(isinstance(value, float) for value in (height.get("x"), height.get("y"), width, depth))


def _check_edge(
    heights: list[Any], width: float, depth: float, path: tuple[str | int, ...], file: TomlFile, refusals: Refusals
) -> None:
    x, y = heights[-1]["x"], heights[-1]["y"]
    inside = -_EDGE <= x <= width + _EDGE and -_EDGE <= y <= depth + _EDGE
    if not inside or min(abs(x), abs(x - width), abs(y), abs(y - depth)) > _EDGE:
        refusals.add(path, file.value(path), "does not lie on the edge of the floor; heights are given along its edge")
    if any((x, y) == (other.get("x"), other.get("y")) for other in heights[:-1]):
        refusals.add(path, file.value(path), "gives a second height for one point; expected one")
