"""A reading typed on the page, made into a `Reading`.

read_entry     the form's fields in, a Reading out; every field that cannot be used is named
fits           which instruments of a job can read a kind
KINDS, SENSES  the kinds that the page offers, and how each says up from down without a sign
"""

from __future__ import annotations

import math
import re
import uuid
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from drainward.errors import InputError, Problem, QuantityError
from drainward.job.model import Instrument, Job, Reading, ReadingKind, UnitModel
from drainward.quantity import Quantity, parse_length, parse_slope

__all__ = ["KINDS", "LENGTH_UNITS", "SENSES", "SLOPE_UNITS", "fits", "read_entry"]

KINDS = (ReadingKind.SLOPE, ReadingKind.WEDGE, ReadingKind.CHORD, ReadingKind.HEIGHT)

SENSES: Mapping[ReadingKind, Mapping[str, int]] = MappingProxyType(
    {
        ReadingKind.SLOPE: {"falls": -1, "rises": 1},
        ReadingKind.CHORD: {"gap": 1, "rocks": -1},
    }
)
"""A slope falls or rises from the first end to the second; a straightedge shows a gap or rocks on a high spot."""

LENGTH_UNITS: Mapping[str, str] = MappingProxyType({"in": '"', "mm": " mm"})
SLOPE_UNITS: Mapping[str, str] = MappingProxyType({"%": " %", "deg": "°", "in/ft": " in/ft", "mm/m": " mm/m"})
"""What the page offers for a bare number, and how it is written behind one."""

OUTSIDE = 1.0
"""How far outside the unit a point may lie, m: the threshold and the floor before the opening are read too."""
LARGEST = 0.3
"""No height, gap or rock on one moulded floor is larger, m: a slip of the finger is."""
STEEPEST = 0.2
SHORTEST = 0.02
WHO, NOTE = 80, 500


def fits(instrument: Instrument, kind: ReadingKind) -> bool:
    """Whether the instrument's standard uncertainty for this kind is known."""
    return (instrument.u_slope if kind is ReadingKind.SLOPE else instrument.u) is not None


def read_entry(form: Mapping[str, str], job: Job, room: str, unit: UnitModel, now: datetime) -> Reading:
    """The reading that a form describes.

    form : id, kind, x, y, x2, y2, value, unit, sense, instrument, setup, who, note, as typed
    now  : when it was taken, aware of its time zone
    Raises InputError with one Problem for each field that cannot be used; `field` is the form's name of it.
    """
    fields = _Fields(form)
    kind = fields.kind()
    x, y = fields.point("x", unit.inside_width), fields.point("y", unit.inside_depth)
    x2 = y2 = None
    if kind is not None and kind is not ReadingKind.HEIGHT:
        x2, y2 = fields.point("x2", unit.inside_width), fields.point("y2", unit.inside_depth)
        fields.apart(x, y, x2, y2)
    value = None if kind is None else fields.value(kind)
    instrument, u = (None, None) if kind is None else fields.instrument(job, kind)
    reading_id = fields.id()
    if fields.problems or kind is None or value is None or instrument is None or x is None or y is None:
        raise InputError(tuple(fields.problems))
    return Reading(
        id=reading_id,
        room=room,
        kind=kind,
        x=x,
        y=y,
        x2=x2,
        y2=y2,
        value=value.value,
        u=u,
        written=value.written,
        setup=_setup(fields.text("setup", 200), kind, instrument, reading_id),
        instrument=instrument.id,
        who=fields.text("who", WHO),
        when=now,
        note=fields.text("note", NOTE),
        file="page",
    )


def _with_unit(quantity: Quantity, slope: bool, unit: str) -> str:
    """What was typed, with the unit that was chosen beside it where it has none: it must read the same alone."""
    with_unit = f"{quantity.written}{unit}"
    if not _BARE.fullmatch(quantity.written):
        return quantity.written
    try:
        same = (parse_slope if slope else parse_length)(with_unit).value == quantity.value
    except QuantityError:
        same = False
    return with_unit if same else quantity.written


def _setup(asked: str, kind: ReadingKind, instrument: Instrument, reading_id: str) -> str:
    """Heights share a datum with those of the set-up that was named; a new set-up is named by its first reading."""
    if kind is not ReadingKind.HEIGHT:
        return ""
    return asked or f"{instrument.id} {reading_id[:8]}"


_BARE = re.compile(r"[^A-Za-z%°:\"'′″“”’]*")
"""A number that carries no unit of its own."""


class _Fields:
    """Takes the fields out of a form and gathers what is wrong with them."""

    def __init__(self, form: Mapping[str, str]) -> None:
        self.form = form
        self.problems: list[Problem] = []

    def text(self, name: str, longest: int) -> str:
        written = " ".join(self.form.get(name, "").split())
        return "".join(letter for letter in written if letter.isprintable())[:longest]

    def refuse(self, name: str, expected: str) -> None:
        self.problems.append(Problem("page", None, name, self.form.get(name, "").strip(), expected))

    def id(self) -> str:
        try:
            return str(uuid.UUID(self.form.get("id", "")))
        except ValueError:
            self.refuse("id", "is not a reading's id; load the page again")
            return ""

    def kind(self) -> ReadingKind | None:
        kind = next((kind for kind in KINDS if kind == self.form.get("kind")), None)
        if kind is None:
            self.refuse("kind", f"is not read here; expected {', '.join(KINDS)}")
        return kind

    def point(self, name: str, inside: float) -> float | None:
        quantity = self._quantity(name, parse_length, "in")
        if quantity is None:
            return None
        if not -OUTSIDE <= quantity.value <= inside + OUTSIDE:
            self.refuse(name, f"lies more than {OUTSIDE:.0f} m outside the unit; expected a place on or beside it")
            return None
        return quantity.value

    def apart(self, x: float | None, y: float | None, x2: float | None, y2: float | None) -> None:
        if x is None or y is None or x2 is None or y2 is None:
            return
        if math.hypot(x2 - x, y2 - y) < SHORTEST:
            self.refuse("x2", "is the same place as the first end; expected the other end of the tool")

    def value(self, kind: ReadingKind) -> Quantity | None:
        slope = kind is ReadingKind.SLOPE
        units = SLOPE_UNITS if slope else LENGTH_UNITS
        unit = self.form.get("unit", "")
        quantity = self._quantity("value", parse_slope if slope else parse_length, unit if unit in units else None)
        if quantity is None:
            return None
        quantity = replace(quantity, written=_with_unit(quantity, slope, units.get(unit, "")))
        if abs(quantity.value) > (STEEPEST if slope else LARGEST):
            self.refuse("value", "is more than any moulded floor shows; look at the unit and the fraction again")
            return None
        return self._signed(kind, quantity)

    def _signed(self, kind: ReadingKind, quantity: Quantity) -> Quantity | None:
        """A slope or a chord is typed without a sign; the word beside it says which way."""
        if kind is ReadingKind.HEIGHT:
            return quantity
        if quantity.value < 0:
            self.refuse("value", _NO_SIGN[kind])
            return None
        senses = SENSES.get(kind)
        if senses is None:
            return quantity
        word = self.form.get("sense", "")
        if word not in senses:
            if quantity.value == 0:
                return quantity
            self.refuse("sense", f"does not say which way; choose {' or '.join(senses)}")
            return None
        if senses[word] < 0 and quantity.value:
            return Quantity(-quantity.value, quantity.unit, f"-{quantity.written}")
        return quantity

    def _quantity(
        self, name: str, parse: Callable[[str, str | None], Quantity], default: str | None
    ) -> Quantity | None:
        written = self.form.get(name, "").strip()
        if not written:
            self.refuse(name, "is not filled in")
            return None
        if len(written) > 60:
            self.refuse(name, "is too long for one number with its unit")
            return None
        try:
            return parse(written, default)
        except QuantityError as error:
            self.refuse(name, error.expected)
            return None

    def instrument(self, job: Job, kind: ReadingKind) -> tuple[Instrument | None, float]:
        instrument = job.instruments.get(self.form.get("instrument", ""))
        if instrument is None:
            known = ", ".join(job.instruments) or "none; add one to job.toml with its standard uncertainty"
            self.refuse("instrument", f"is no instrument of this job; the job has {known}")
            return None, 0.0
        u = instrument.u_slope if kind is ReadingKind.SLOPE else instrument.u
        if u is None:
            self.refuse("instrument", f"has no standard uncertainty for a {kind}; add it to job.toml")
            return None, 0.0
        return instrument, u


_NO_SIGN = {
    ReadingKind.SLOPE: 'has a sign; write the slope without one and choose "falls" or "rises"',
    ReadingKind.CHORD: 'has a sign; write the gap without one and choose "gap" or "rocks"',
    ReadingKind.WEDGE: "has a sign; a gap has none: rest the level on the higher end and read under the free end",
}
