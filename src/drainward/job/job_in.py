"""The job's own file, job.toml: everything but units, rooms and what was read, poured or measured.

FILE         its name
LOCAL_KEYS   what a row of [[rules.local]] may hold; LOCAL_LISTS: those that hold a list
read_job     the job without what has files of its own, and what is wrong with the file
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from drainward.errors import InputError, Problem
from drainward.job.fittings import Fittings, Framing
from drainward.job.materials import Materials, Site
from drainward.job.model import Crew, Instrument, Job, RuleChoice, Water
from drainward.job.names import clean, name_key, nearest
from drainward.job.planning import Calendar, Inspector, Kits
from drainward.job.support import Support
from drainward.job.toml_in import Parsers, Refusals, build, convert, dotted, read_toml
from drainward.job.toml_lines import Path as KeyPath
from drainward.job.unit_in import FITTINGS
from drainward.quantity import (
    parse_density,
    parse_duration,
    parse_flow,
    parse_length,
    parse_mass,
    parse_molar_energy,
    parse_pressure,
    parse_slope,
    parse_temperature,
    parse_temperature_step,
    parse_volume,
)

__all__ = ["FILE", "LOCAL_KEYS", "LOCAL_LISTS", "read_job"]

FILE = "job.toml"
LOCAL_LISTS = ("exceptions", "shower", "conflicts", "replaces")
LOCAL_KEYS = (
    *("id", "what", "quantity", "low", "high", "other_reading", "allowance", "base", "binds", "only_where"),
    *("standard", "edition", "section", "certainty", "seen_in", "decided_by", "note", "disputed", *LOCAL_LISTS),
)

_LENGTHS = {"fall_base": parse_length, "pond_counts": parse_length}
_INSTRUMENT = {"length": parse_length, "u": parse_length, "u_slope": parse_slope}
_WATER = {"poured": parse_volume, "over": parse_duration, "flow": parse_flow, "temperature": parse_temperature}
_FRAMING = {"depth": parse_length, "screw_length": parse_length}
_SUPPORT = {
    **dict.fromkeys(("load", "presser"), parse_mass),
    **dict.fromkeys(("disc", "movement", "heel"), parse_length),
}
_SITE = {"temperature": parse_temperature, "spread": parse_temperature_step}
_MATERIALS: Mapping[str, Parsers] = {
    "mortar": {
        **dict.fromkeys(("bag_mass", "u_bag_mass"), parse_mass),
        **dict.fromkeys(("density", "u_density"), parse_density),
        **dict.fromkeys(("water_per_bag", "u_water_per_bag"), parse_volume),
        **dict.fromkeys(("pot_life", "u_pot_life", "mixing_time", "shelf_life"), parse_duration),
        **dict.fromkeys(("thinnest", "thickest"), parse_length),
        "reference_temperature": parse_temperature,
        "activation_energy": parse_molar_energy,
        "placing_rate": parse_flow,
    },
    "adhesive": {"tube_volume": parse_volume, "bead_diameter": parse_length},
    "lumber": {
        **dict.fromkeys(("longest", "kerf"), parse_length),
        **dict.fromkeys(("modulus", "u_modulus", "strength"), parse_pressure),
    },
    "braces": {
        **dict.fromkeys(("pad", "foot", "apart", "wedge", "reach", "movement"), parse_length),
        "pressure": parse_pressure,
    },
}
"""How the quantities of [materials] are written, by table; what is not here is a bare number or a list of words."""
_CALENDAR = dict.fromkeys(
    ("lunch", "floor_change", "survey", "correction", "block", "dry_set", "brace", "test", "look"), parse_duration
)
_TABLES = (
    *("water", "fittings", "framing", "materials", "support", "site", "rules", "crews", "instruments"),
    *("calendar", "kits", "inspectors", "corrections"),
)
_KEYS = ("name", "risk", *_LENGTHS, *_TABLES)
_LONGEST = 10 * 3600.0
_RULE_KEYS = ("use", "shower", "clear_space_in_shower", "confirmed", "local")

Named = TypeVar("Named", bound=BaseModel)
Whole = TypeVar("Whole", bound=BaseModel)


def read_job(folder: Path) -> tuple[Job, tuple[Problem, ...]]:
    """The job as its file alone gives it; a refused key leaves its default standing.

    Raises InputError when the file is missing or is no TOML.
    """
    file = read_toml(folder / FILE, FILE)
    if isinstance(file, Problem):
        raise InputError((file,))
    refusals = Refusals(file)
    _known_keys(file.data, _KEYS, (), refusals)
    values = _good(Job, file.data, ("name", "risk", *_LENGTHS), _LENGTHS, (), refusals)
    if not clean(values.get("name", "")):
        if ("name",) not in refusals.paths:
            refusals.add(("name",), "", 'is missing; expected such as name = "Maple Court"')
        values["name"] = _folder_name(folder)
    values["water"] = _all_of(Water, "water", _WATER, refusals)
    values["fittings"] = _all_of(Fittings, "fittings", FITTINGS, refusals)
    values["framing"] = _all_of(Framing, "framing", _FRAMING, refusals)
    values["materials"] = _materials(refusals)
    values["support"] = _all_of(Support, "support", _SUPPORT, refusals)
    values["site"] = _all_of(Site, "site", _SITE, refusals)
    values["rules"] = _rules(refusals)
    values["crews"] = tuple(_named(Crew, "crews", {}, refusals).values())
    values["instruments"] = _named(Instrument, "instruments", _INSTRUMENT, refusals)
    values["calendar"] = _calendar(refusals)
    values["kits"] = _all_of(Kits, "kits", {}, refusals)
    values["inspectors"] = tuple(_named(Inspector, "inspectors", {}, refusals).values())
    values["corrections"] = _corrections(refusals)
    return Job(**values), tuple(refusals.problems)


def _folder_name(folder: Path) -> str:
    return folder.resolve().name.encode("utf-8", errors="replace").decode("utf-8") or "job"


def _known_keys(table: Mapping[str, Any], known: tuple[str, ...], path: KeyPath, refusals: Refusals) -> None:
    for key in table:
        if key not in known:
            refusals.add((*path, key), key, f"is no key here{nearest(key, known)}; expected {', '.join(known)}")


def _good(
    model: type[BaseModel],
    table: Mapping[str, Any],
    keys: tuple[str, ...],
    parsers: Parsers,
    path: KeyPath,
    refusals: Refusals,
) -> dict[str, Any]:
    """The keys whose values the model takes, each judged alone."""
    values: dict[str, Any] = {}
    for key in keys:
        if key not in table:
            continue
        own = Refusals(refusals.file)
        value = convert({key: table[key]}, parsers, path, own)
        built = build(model, {"name": "", **value} if model is Job else value, path, own)
        if built is not None:
            values[key] = getattr(built, key)
        for refused, problem in zip(own.paths, own.problems, strict=True):
            refusals.paths.append(refused)
            stands = "; until it is mended the default stands" if key != "name" else ""
            refusals.problems.append(replace(problem, expected=problem.expected + stands))
    return values


def _table(key: str, refusals: Refusals) -> dict[str, Any]:
    value = refusals.file.data.get(key, {})
    if isinstance(value, dict):
        return value
    refusals.add((key,), value, f"is no table; expected [{key}]")
    return {}


def _named(model: type[Named], section: str, parsers: Parsers, refusals: Refusals) -> dict[str, Named]:
    """The tables [section.ID], each judged alone; the id is the table's name."""
    found: dict[str, Named] = {}
    for name, row in _table(section, refusals).items():
        path = (section, name)
        if not isinstance(row, dict):
            refusals.add(path, row, f"is no table; expected [{section}.{name}]")
        elif name_key(name) in {"", *map(name_key, found)}:
            refusals.add(path, name, "is no id of its own; expected one that differs by more than capitals")
        elif "id" in row:
            refusals.add((*path, "id"), row["id"], f"is no key here; the id is the table's name, {name}")
        else:
            values = {"name": name, **convert(row, parsers, path, refusals), "id": name}
            built = build(model, values, path, refusals)
            if built is not None:
                found[name] = built
    return found


def _all_of(model: type[Whole], section: str, parsers: Parsers, refusals: Refusals) -> Whole:
    """A table of its own, each key judged alone; a refused one leaves its default standing."""
    return _part(model, _table(section, refusals), (section,), parsers, refusals)


def _part(model: type[Whole], table: Mapping[str, Any], path: KeyPath, parsers: Parsers, refusals: Refusals) -> Whole:
    keys = tuple(model.model_fields)
    _known_keys(table, keys, path, refusals)
    values = _good(model, table, keys, parsers, path, refusals)
    try:
        return model(**values)
    except ValidationError as error:
        said = error.errors(include_url=False)[0]["msg"].removeprefix("Value error, ")
        refusals.add(path, dotted(path), f"is not usable: {said}; until it is mended its defaults stand")
        return model()


def _materials(refusals: Refusals) -> Materials:
    table = _table("materials", refusals)
    kinds = {name: type(part) for name, part in Materials()}
    _known_keys(table, tuple(kinds), ("materials",), refusals)
    parts: dict[str, BaseModel] = {}
    for name, kind in kinds.items():
        row = table.get(name, {})
        if isinstance(row, dict):
            parts[name] = _part(kind, row, ("materials", name), _MATERIALS.get(name, {}), refusals)
        else:
            refusals.add(("materials", name), row, f"is no table; expected [materials.{name}]")
    return Materials(**parts)


def _calendar(refusals: Refusals) -> Calendar:
    """The calendar; where its parts do not fit into each other, those parts are as by default."""
    found = _all_of(Calendar, "calendar", _CALENDAR, refusals)
    low, high = (clock.hour * 3600.0 + clock.minute * 60.0 for clock in found.lunch_between)
    misfits = (
        (found.dry_set + found.brace >= found.block, ("block", "dry_set", "brace"), "leaves nothing for bed and set"),
        (high - low < found.lunch, ("lunch", "lunch_between"), "is longer than lunch_between"),
    )
    for wrong, keys, expected in misfits:
        if wrong:
            written = _table("calendar", refusals).get(keys[0], "")
            refusals.add(
                ("calendar", keys[0]), written, f"{expected}; until it is mended {', '.join(keys)} are as by default"
            )
            found = found.model_copy(update={key: getattr(Calendar(), key) for key in keys})
    return found


def _corrections(refusals: Refusals) -> dict[str, float]:
    """How long the correction of each room takes, s."""
    table = _table("corrections", refusals)
    found = convert(table, dict.fromkeys(table, parse_duration), ("corrections",), refusals)
    for room, time in tuple(found.items()):
        if time < 0 or time > _LONGEST:
            refusals.add(("corrections", room), table[room], "is out of reach; expected 0 to 10 h: one shift")
            del found[room]
    return found


def _rules(refusals: Refusals) -> RuleChoice:
    table = _table("rules", refusals)
    _known_keys(table, _RULE_KEYS, ("rules",), refusals)
    values = _good(RuleChoice, table, _RULE_KEYS[:-1], {}, ("rules",), refusals)
    rows = table.get("local", [])
    path: KeyPath = ("rules", "local")
    if not isinstance(rows, list):
        refusals.add(path, rows, "is no list; expected [[rules.local]]")
        rows = []
    local: list[dict[str, Any]] = []
    for number, row in enumerate(rows):
        before = len(refusals.problems)
        _check_local(row, [other["id"] for other in local], (*path, number), refusals)
        if len(refusals.problems) == before:
            local.append(
                {key: [value] if key in LOCAL_LISTS and value == str(value) else value for key, value in row.items()}
            )
    return RuleChoice(**values, local=tuple(local))


def _check_local(row: Any, taken: list[Any], path: KeyPath, refusals: Refusals) -> None:
    """A local rule is kept as it is written; what its limits mean is read where rules are evaluated."""
    if not isinstance(row, dict):
        refusals.add(path, row, "is no table; expected [[rules.local]]")
        return
    _known_keys(row, LOCAL_KEYS, path, refusals)
    for key, value in row.items():
        if not isinstance(value, str) and key not in LOCAL_LISTS:
            hint = 'is not in quotation marks; expected text, a limit with its unit such as "1:48" or "1/16 in"'
            refusals.add((*path, key), value, hint)
    for key in ("id", "what", "quantity"):
        if not row.get(key):
            refusals.add((*path, key), row.get(key, ""), "is missing; a local rule has id, what and quantity")
    if "low" not in row and "high" not in row:
        refusals.add(path, row.get("id", ""), "limits nothing; expected low, high or both")
    if row.get("id") in taken:
        refusals.add((*path, "id"), row["id"], "names two local rules; expected one")
