"""The job folder, written: what `load` reads back as the very same job.

write_job            a whole job into a folder that holds none yet
rooms_text           rooms as the text of a rooms.csv
reading_cells        the row of one reading, by column; room_cells: of one room
READING_COLUMNS      its columns in order
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from drainward.errors import InputError, Problem
from drainward.job import rooms_file
from drainward.job.delivered_file import COLUMNS as DELIVERED_COLUMNS
from drainward.job.delivered_file import delivered_cells
from drainward.job.fittings import Fittings
from drainward.job.job_in import FILE
from drainward.job.model import Instrument, Job, Reading, ReadingKind, Room, UnitModel
from drainward.job.planning import hours_text
from drainward.job.readings_file import setup_of
from drainward.job.setting_out import SETTING_COLUMNS, setting_cells
from drainward.job.survey_out import MEASURE_COLUMNS, RECEIVED_COLUMNS, measure_cells, received_cells
from drainward.job.toml_out import toml_text
from drainward.job.unit_in import EDGE_POINTS
from drainward.job.water_out import WATER_COLUMNS, water_cells
from drainward.job.written import (
    area_text,
    density_text,
    duration_text,
    flow_text,
    length_text,
    mass_text,
    molar_energy_text,
    pressure_text,
    slope_text,
    step_text,
    still_says,
    temperature_text,
    volume_text,
    when_text,
)
from drainward.quantity import parse_length, parse_slope

__all__ = ["READING_COLUMNS", "reading_cells", "room_cells", "rooms_text", "write_job"]

READING_COLUMNS = (
    *("room", "when", "who", "instrument", "stage", "kind", "x", "y", "x2", "y2", "value", "u", "weight"),
    *("note", "setup", "id"),
)
_ROOM_COLUMNS = ("room", "floor", "unit", "ready", "due", "note")
_MATERIAL_TEXTS: Mapping[str, Callable[[float], str]] = {
    **dict.fromkeys(("bag_mass", "u_bag_mass"), mass_text),
    **dict.fromkeys(("density", "u_density"), density_text),
    **dict.fromkeys(("water_per_bag", "u_water_per_bag", "tube_volume"), volume_text),
    **dict.fromkeys(("pot_life", "u_pot_life", "mixing_time", "shelf_life"), duration_text),
    **dict.fromkeys(("thinnest", "thickest", "bead_diameter", "longest", "kerf", "pad", "foot", "apart"), length_text),
    **dict.fromkeys(("wedge", "reach", "movement"), length_text),
    **dict.fromkeys(("modulus", "u_modulus", "strength", "pressure"), pressure_text),
    "reference_temperature": temperature_text,
    "activation_energy": molar_energy_text,
    "placing_rate": flow_text,
}
_SUPPORT_TEXTS: Mapping[str, Callable[[float], str]] = {
    **dict.fromkeys(("load", "presser"), mass_text),
    **dict.fromkeys(("disc", "movement", "heel"), length_text),
}
_SITE_TEXTS: Mapping[str, Callable[[float], str]] = {"temperature": temperature_text, "spread": step_text}
_PANEL_TEXTS = dict.fromkeys(("modulus", "modulus_across", "u_modulus"), pressure_text)
_CALENDAR_TEXTS = dict.fromkeys(
    ("lunch", "floor_change", "survey", "correction", "block", "dry_set", "brace", "test", "look"), duration_text
)
_NOT_IN_A_NAME = re.compile(r"[^A-Za-z0-9_-]+")


def write_job(folder: Path, job: Job) -> None:
    """job.toml, units/*.toml, rooms.csv, and the tables of what was read, done and delivered; photographs stay.

    Quantities are written as the trade writes them wherever that is exact; what was read keeps its written value.
    Raises InputError where the folder already holds a job, OSError where it cannot be written.
    """
    if (folder / FILE).exists():
        raise InputError(
            (Problem(str(folder / FILE), None, "", "", "stands already; expected a folder without a job"),)
        )
    (folder / "units").mkdir(parents=True, exist_ok=True)
    stems: set[str] = set()
    for unit in job.units.values():
        stem = _stem(unit.id, stems)
        stems.add(stem)
        _put(folder / "units" / f"{stem}.toml", toml_text(_unit(unit)))
    _put(folder / "rooms.csv", rooms_text(job.rooms))
    rows = (reading_cells(reading, job.instruments) for reading in job.readings)
    _put(folder / "readings.csv", _csv(READING_COLUMNS, rows))
    _put(folder / "water.csv", _csv(WATER_COLUMNS, map(water_cells, job.water_tests)))
    measures = (measure_cells(measure, job.instruments) for measure in job.survey)
    _put(folder / "survey.csv", _csv(MEASURE_COLUMNS, measures))
    sizes = (received_cells(size, job.instruments) for size in job.received)
    _put(folder / "received.csv", _csv(RECEIVED_COLUMNS, sizes))
    bag = job.materials.mortar.bag_mass
    done = (setting_cells(event, job.instruments, bag) for event in job.setting)
    _put(folder / "setting.csv", _csv(SETTING_COLUMNS, done))
    if job.delivered:
        _put(folder / "delivered.csv", _csv(DELIVERED_COLUMNS, map(delivered_cells, job.delivered)))
    _put(folder / FILE, toml_text(_job(job)))


def rooms_text(rooms: Sequence[Room]) -> str:
    """The rooms as the text of a rooms.csv."""
    sizes = sorted({name for room in rooms for name in room.surveyed})
    columns = (*_ROOM_COLUMNS, *(rooms_file.SURVEYED + name for name in sizes))
    return _csv(columns, (room_cells(room) for room in rooms))


def reading_cells(reading: Reading, instruments: Mapping[str, Instrument]) -> dict[str, str]:
    """The row of a reading by column. An uncertainty or a set-up that `load` would find by itself stays blank."""
    kind = reading.kind
    points = {key: getattr(reading, key) for key in ("x", "y", "x2", "y2")}
    instrument = instruments.get(reading.instrument)
    own = getattr(instrument, "u_slope" if kind is ReadingKind.SLOPE else "u", None)
    derived = setup_of(reading.instrument, reading.who, reading.when)
    return {
        "room": reading.room,
        "when": when_text(reading.when),
        "who": reading.who,
        "instrument": reading.instrument,
        "stage": reading.stage,
        "kind": str(kind),
        **{key: "" if value is None else length_text(value) for key, value in points.items()},
        "value": _reading_value(reading),
        "u": "" if kind is ReadingKind.TAP or reading.u == own else _amount(reading.u, kind),
        "weight": "" if reading.weight is None else mass_text(reading.weight),
        "note": " ".join(reading.note.split()),
        "setup": "" if reading.setup == derived else reading.setup,
        "id": reading.id,
    }


def _reading_value(reading: Reading) -> str:
    """The value as it was written, or anew where that would not read back."""
    if reading.kind is ReadingKind.TAP:
        plain = "sound" if reading.value else "hollow"
        return reading.written if reading.written.strip().lower() == plain else plain
    parse = parse_slope if reading.kind is ReadingKind.SLOPE else parse_length
    if still_says(reading.written, reading.value, lambda text: parse(text).value):
        return reading.written
    return _amount(reading.value, reading.kind)


def _amount(value: float, kind: ReadingKind) -> str:
    return slope_text(value) if kind is ReadingKind.SLOPE else length_text(value)


def room_cells(room: Room) -> dict[str, str]:
    """The row of a room by column."""
    return {
        "room": room.room,
        "floor": room.floor,
        "unit": room.unit,
        "ready": room.ready.isoformat() if room.ready else "",
        "due": room.due.isoformat() if room.due else "",
        "note": " ".join(room.note.split()),
        **{rooms_file.SURVEYED + name: length_text(size) for name, size in room.surveyed.items()},
    }


def _job(job: Job) -> dict[str, Any]:
    rules = job.rules
    return {
        "name": job.name,
        "risk": job.risk,
        "fall_base": length_text(job.fall_base),
        "pond_counts": length_text(job.pond_counts),
        "water": {
            "poured": volume_text(job.water.poured),
            "over": duration_text(job.water.over),
            "how": str(job.water.how),
            "flow": flow_text(job.water.flow),
            "temperature": temperature_text(job.water.temperature),
            "contact_angle": list(job.water.contact_angle),
        },
        "fittings": _fittings(job.fittings),
        "framing": {
            "species": job.framing.species,
            "depth": length_text(job.framing.depth),
            "screw_size": job.framing.screw_size,
            "screw_length": length_text(job.framing.screw_length),
        },
        "materials": {name: _part(part, _MATERIAL_TEXTS) for name, part in job.materials},
        "support": _part(job.support, _SUPPORT_TEXTS),
        "site": _part(job.site, _SITE_TEXTS),
        "rules": {
            "use": list(rules.use),
            "shower": rules.shower,
            "clear_space_in_shower": rules.clear_space_in_shower,
            "confirmed": list(rules.confirmed),
            "local": list(rules.local),
        },
        "crews": {crew.id: _table_of(crew) for crew in job.crews},
        "instruments": {id: _instrument(instrument) for id, instrument in job.instruments.items()},
        "calendar": _table_of(job.calendar),
        "kits": _table_of(job.kits),
        "inspectors": {inspector.id: _table_of(inspector) for inspector in job.inspectors},
        "corrections": {room: duration_text(time) for room, time in job.corrections.items()} or None,
    }


def _fittings(fittings: Fittings) -> dict[str, Any] | None:
    told = fittings.model_dump(exclude_none=True)
    return {key: length_text(value) if isinstance(value, float) else value for key, value in told.items()} or None


def _part(part: BaseModel, texts: Mapping[str, Callable[[float], str]]) -> dict[str, Any]:
    """A table with its quantities as the trade writes them; None where it is left out."""
    told = part.model_dump(exclude_none=True)
    return {key: texts[key](value) if key in texts else _plain(value) for key, value in told.items()}


def _table_of(part: BaseModel) -> dict[str, Any]:
    """A table of people, hours and kits without its id: hours as 7:00-15:30, times as the trade writes them."""
    told = _part(part, _CALENDAR_TEXTS)
    hours = {key: hours_text(getattr(part, key)) for key in ("hours", "lunch_between") if told.get(key)}
    return {key: value for key, value in {**told, **hours}.items() if key != "id" and value not in ([], "")}


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _instrument(instrument: Instrument) -> dict[str, str | None]:
    return {
        "name": instrument.name,
        "length": None if instrument.length is None else length_text(instrument.length),
        "u": None if instrument.u is None else length_text(instrument.u),
        "u_slope": None if instrument.u_slope is None else slope_text(instrument.u_slope),
    }


def _unit(unit: UnitModel) -> dict[str, Any]:
    sizes = ("outside_width", "outside_depth", "outside_height", "inside_width", "inside_depth")
    floor = unit.floor
    heights = [{**_place(unit, point.x, point.y), "height": length_text(point.height)} for point in floor.heights]
    return {
        "id": unit.id,
        "name": unit.name,
        "style": unit.style,
        **{key: length_text(getattr(unit, key)) for key in (*sizes, "threshold_height", "threshold_width")},
        "threshold_lip": None if unit.threshold_lip is None else length_text(unit.threshold_lip),
        "tolerance": None if unit.tolerance is None else length_text(unit.tolerance),
        "mass": mass_text(unit.mass),
        "minimum_cure": duration_text(unit.minimum_cure),
        "drain": {
            **_lengths(unit.drain, ("x", "y", "radius", "body_diameter", "body_depth", "pipe")),
            "open_area": None if unit.drain.open_area is None else area_text(unit.drain.open_area),
        },
        "floor": {
            "form": floor.form,
            "thickness": length_text(floor.thickness),
            "fall": None if floor.fall is None else slope_text(floor.fall),
            "heights": heights or None,
        },
        "flange": _lengths(unit.flange, ("width", "thickness")),
        "fittings": _fittings(unit.fittings),
        "panel": _part(unit.panel, _PANEL_TEXTS),
    }


def _lengths(part: object, keys: Sequence[str]) -> dict[str, str]:
    return {key: length_text(getattr(part, key)) for key in keys}


def _place(unit: UnitModel, x: float, y: float) -> dict[str, str]:
    """The point's name where it has one."""
    for name, (share_x, share_y) in EDGE_POINTS.items():
        if (x, y) == (share_x * unit.inside_width, share_y * unit.inside_depth):
            return {"at": name}
    return {"x": length_text(x), "y": length_text(y)}


def _stem(id: str, taken: set[str]) -> str:
    stem = _NOT_IN_A_NAME.sub("-", id).strip("-").lower() or "unit"
    candidates = (stem, *(f"{stem}-{number}" for number in range(2, len(taken) + 3)))
    return next(name for name in candidates if name not in taken)


def _csv(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")
