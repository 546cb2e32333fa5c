"""Hypothesis strategies: what the job folder holds, and job folders that something has mangled.

jobs              a job that `write_job` writes and `load` must read back
mangled_folders   a good folder after some accidents, and what they touched
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, get_args

import job_texts
from hypothesis import strategies as st

from drainward.job import (
    Crew,
    Drain,
    Fittings,
    Flange,
    Floor,
    Framing,
    Instrument,
    Job,
    Measure,
    NamedHeight,
    Panel,
    Pattern,
    Puddle,
    Reading,
    ReadingKind,
    Received,
    Room,
    RuleChoice,
    SettingEvent,
    Size,
    UnitModel,
    Water,
    WaterTest,
    What,
    Work,
)
from drainward.job.fittings import ScrewSize, Species
from drainward.job.materials import Braces, Costs, Lumber, Materials, Mortar, Screws, Section, Shims, Site
from drainward.job.planning import Calendar, Inspector, Kits, Weekday
from drainward.job.readings_file import STAGES, setup_of
from drainward.job.received_file import sheet_size
from drainward.job.setting_file import VALUED
from drainward.job.setting_out import setting_cells
from drainward.job.support import Support
from drainward.job.survey_file import PLACES
from drainward.job.unit_in import EDGE_POINTS
from drainward.job.water_out import water_cells
from drainward.job.written import length_text, slope_text
from drainward.quantity import parse_length, parse_slope, parse_volume

__all__ = ["Mangled", "good_folder", "jobs", "lengths", "mangled_folders"]

UNIT_FILES = {"alcove": "units/alcove.toml", "open": "units/open.toml"}
TABLES = ("rooms.csv", "readings.csv", "water.csv")
JUNK = st.binary(min_size=1, max_size=60)
WRONG_CELLS = st.sampled_from(
    [
        *("16-Mar", "2026-03-16", "3/16/2026", "46097", "3/4/2026", "01/16", "Mar-16", "2026-03-16 00:00:00"),
        *("19", "36.5", "3 kg", "2 %", "1/4 in/ft", "12 m", "19 furlong", "-", "#REF!", "1e9 m", "nan m", "inf"),
        *("", " ", '"', "'", "\t", "=1+1", "٣ in", "½", "1/0 in", "x" * 200_000, "9" * 400, "36-1/2", "1:0", "90°"),
    ]
)


@dataclass
class Line:
    """One line of a file, and the row that it carries: a room's name, or the id of a reading or a water test."""

    data: bytes
    owner: str = ""


@dataclass(repr=False)
class Mangled:
    """A folder as lines by file, and what was touched: rows by owner, files by name, and the text of accidents."""

    files: dict[str, list[Line]]
    rows: set[str] = field(default_factory=set)
    touched: set[str] = field(default_factory=set)
    line_end: bytes = b"\n"
    mark: bytes = b""
    story: list[str] = field(default_factory=list)

    def write(self, folder: Path) -> None:
        """Put the files in an empty folder."""
        (folder / "units").mkdir()
        (folder / "photos").mkdir()
        (folder / "photos/wet.jpg").write_bytes(job_texts.JPEG)
        for name, lines in self.files.items():
            (folder / name).write_bytes(self.mark + self.line_end.join(line.data for line in lines) + self.line_end)

    def __repr__(self) -> str:
        """What happened, short enough to read in a failure."""
        lines = [
            (name, number, line.data)
            for name, lines in self.files.items()
            for number, line in enumerate(lines, start=1)
            if line.owner in self.rows
        ]
        return f"{' then '.join(self.story)}; files {sorted(self.touched)}; lines {lines}"

    def _repr_pretty_(self, printer: Any, _cycle: bool) -> None:
        printer.text(repr(self))

    def survivors(self) -> tuple[set[str], set[str]]:
        """The rooms, and the ids of readings and water tests, that must be loaded exactly as from the good folder."""
        if "job.toml" in self.touched:
            return set(), set()
        rooms = set()
        strange = b"\n".join(line.data for line in self.files.get("rooms.csv", []) if line.owner in self.rows)
        for number, name in enumerate(job_texts.ROOM_NAMES):
            unit = UNIT_FILES["alcove" if number % 2 else "open"]
            claimed = name.encode() in strange
            if not ({unit, "rooms.csv"} & self.touched or name in self.rows or claimed):
                rooms.add(name)
        entries = set()
        for file, rows in (("readings.csv", job_texts.readings()), ("water.csv", job_texts.water_tests())):
            for row in rows:
                room, *_, id = row.split(",")
                if room in rooms and id not in self.rows and file not in self.touched:
                    entries.add(id)
        return rooms, entries


def good_folder(separator: str = ",", encoding: str = "utf-8") -> Mangled:
    """Nothing touched."""

    def table(header: str, rows: list[str], column: int) -> list[Line]:
        lines = [Line(_joined(next(csv.reader([header])), separator, encoding))]
        for row in rows:
            cells = next(csv.reader([row]))
            lines.append(Line(_joined(cells, separator, encoding), cells[column]))
        return lines

    texts = {"job.toml": job_texts.JOB, "units/alcove.toml": job_texts.BEDDED, "units/open.toml": job_texts.OWN_BASE}
    files = {name: [Line(line.encode()) for line in text.splitlines()] for name, text in texts.items()}
    files["rooms.csv"] = table(job_texts.ROOMS_HEADER, job_texts.rooms(), 0)
    files["readings.csv"] = table(job_texts.READINGS_HEADER, job_texts.readings(), -1)
    files["water.csv"] = table(job_texts.WATER_HEADER, job_texts.water_tests(), -1)
    return Mangled(files)


def _joined(cells: list[str], separator: str, encoding: str) -> bytes:
    """Cells in quotation marks only where they must be, so that inch marks stand bare as people type them."""
    quoted = ['"' + cell.replace('"', '""') + '"' if separator in cell or ' "' in cell else cell for cell in cells]
    return separator.join(quoted).encode(encoding)


@st.composite
def mangled_folders(draw: st.DrawFn) -> Mangled:
    """Up to four accidents to rows and one to a file; any separator, line end, mark and 8-bit encoding."""
    separator = draw(st.sampled_from([",", ";", "\t"]))
    folder = good_folder(separator, draw(st.sampled_from(["utf-8", "cp1252"])))
    folder.line_end = draw(st.sampled_from([b"\n", b"\r\n", b"\r"]))
    folder.mark = draw(st.sampled_from([b"", b"\xef\xbb\xbf"]))
    accidents = draw(st.lists(st.sampled_from(TO_ROWS), max_size=4))
    accidents += draw(st.lists(st.sampled_from(TO_FILES), min_size=not accidents, max_size=1))
    for accident in accidents:
        accident(draw, folder, separator)
        folder.story.append(accident.__name__)
    return folder


def _some_table(draw: st.DrawFn, folder: Mangled) -> tuple[str, list[Line]]:
    name = draw(st.sampled_from([name for name in TABLES if folder.files.get(name)] or ["rooms.csv"]))
    return name, folder.files.setdefault(name, [Line(b"")])


def _some_line(draw: st.DrawFn, folder: Mangled) -> tuple[str, list[Line], int]:
    """A row of a table; its header is spoiled by an accident of its own."""
    name, lines = _some_table(draw, folder)
    return name, lines, draw(st.integers(min(1, len(lines) - 1), len(lines) - 1))


def _touch(folder: Mangled, name: str, line: Line) -> None:
    """Note what an accident to this line spoils: its row, or the whole file where it carries none."""
    if line.owner:
        folder.rows.add(line.owner)
    else:
        folder.touched.add(name)


def flip_bytes(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name, lines, at = _some_line(draw, folder)
    _touch(folder, name, lines[at])
    data = bytearray(lines[at].data or b" ")
    for _count in range(draw(st.integers(1, 4))):
        data[draw(st.integers(0, len(data) - 1))] = draw(
            st.sampled_from(b"\",;\t\n\r\0\xff\xc3 '-/1i") | st.integers(0, 255)
        )
    lines[at].data = bytes(data)


def spoil_header(draw: st.DrawFn, folder: Mangled, separator: str) -> None:
    name, lines = _some_table(draw, folder)
    folder.touched.add(name)
    cells = lines[0].data.split(separator.encode())
    cells[draw(st.integers(0, len(cells) - 1))] = draw(st.sampled_from([b"", b"x", b"room", b"Rm #", b'"']) | JUNK)
    lines[0].data = separator.encode().join(cells)


def flip_toml(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name = draw(st.sampled_from([name for name in folder.files if name.endswith(".toml")] or ["job.toml"]))
    lines = folder.files.setdefault(name, [Line(b"")])
    folder.touched.add(name)
    line = lines[draw(st.integers(0, len(lines) - 1))]
    data = bytearray(line.data or b" ")
    data[draw(st.integers(0, len(data) - 1))] = draw(st.sampled_from(b"\"'[]{}=.\n\0\xff1") | st.integers(0, 255))
    line.data = bytes(data)


def swap_cells(draw: st.DrawFn, folder: Mangled, separator: str) -> None:
    name, lines, at = _some_line(draw, folder)
    other = draw(st.integers(min(1, len(lines) - 1), len(lines) - 1))
    mark = separator.encode()
    first, second = lines[at].data.split(mark), lines[other].data.split(mark)
    i, j = draw(st.integers(0, len(first) - 1)), draw(st.integers(0, len(second) - 1))
    _touch(folder, name, lines[at])
    _touch(folder, name, lines[other])
    first[i], second[j] = second[j], first[i]
    lines[other].data = mark.join(second)
    lines[at].data = mark.join(first)


def wrong_cell(draw: st.DrawFn, folder: Mangled, separator: str) -> None:
    name, lines, at = _some_line(draw, folder)
    cells = lines[at].data.split(separator.encode())
    cells[draw(st.integers(0, len(cells) - 1))] = draw(WRONG_CELLS).encode()
    _touch(folder, name, lines[at])
    lines[at].data = separator.encode().join(cells)


def wrong_toml_value(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name = draw(st.sampled_from([name for name in folder.files if name.endswith(".toml")] or ["job.toml"]))
    lines = folder.files.setdefault(name, [Line(b"a = 1")])
    line = lines[draw(st.integers(0, len(lines) - 1))]
    values = [
        "",
        "5",
        "-1",
        "true",
        '"x"',
        '"19"',
        '"3 kg"',
        "[]",
        "{}",
        "[[1], {a = 1}]",
        "nan",
        "1e400",
        "2026-03-16",
    ]
    key = line.data.partition(b"=")[0] or b"a"
    line.data = key + b"= " + draw(st.sampled_from(values)).encode()
    folder.touched.add(name)


def drop_column(draw: st.DrawFn, folder: Mangled, separator: str) -> None:
    name, lines = _some_table(draw, folder)
    at = draw(st.integers(0, 14))
    for line in lines:
        cells = line.data.split(separator.encode())
        line.data = separator.encode().join(cells[:at] + cells[at + 1 :])
    folder.touched.add(name)


def open_quote(draw: st.DrawFn, folder: Mangled, separator: str) -> None:
    """A quotation mark before a cell, as in "3/16 in: what follows is swallowed unless the reader takes care."""
    name, lines, at = _some_line(draw, folder)
    cells = lines[at].data.split(separator.encode())
    place = draw(st.integers(0, len(cells) - 1))
    cells[place] = b'"' + cells[place]
    _touch(folder, name, lines[at])
    lines[at].data = separator.encode().join(cells)


def truncate_rows(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    for _count in range(draw(st.integers(1, 3))):
        name, lines, at = _some_line(draw, folder)
        _touch(folder, name, lines[at])
        lines[at].data = lines[at].data[: draw(st.integers(0, len(lines[at].data)))]


def lengthen_row(draw: st.DrawFn, folder: Mangled, separator: str) -> None:
    name, lines, at = _some_line(draw, folder)
    _touch(folder, name, lines[at])
    lines[at].data += separator.encode() * draw(st.integers(1, 5)) + draw(JUNK).replace(b"\n", b"").replace(b"\r", b"")


def join_rows(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name, lines = _some_table(draw, folder)
    at = draw(st.integers(0, len(lines) - 1))
    if at + 1 < len(lines):
        _touch(folder, name, lines[at])
        _touch(folder, name, lines[at + 1])
        lines[at].data += lines.pop(at + 1).data


def move_row(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    """Nothing is spoiled: rows may stand in any order."""
    _, lines, at = _some_line(draw, folder)
    if 0 < at:
        line = lines.pop(at)
        lines.insert(draw(st.integers(1, len(lines))), line)


def repeat_row(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    """Nothing is spoiled: the first counts. A repeated header is passed over."""
    _, lines, at = _some_line(draw, folder)
    lines.insert(draw(st.integers(at + 1, len(lines))), Line(lines[at].data, lines[at].owner))


def junk_row(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    """A line of rubbish among good rows spoils none of them."""
    _, lines, _ = _some_line(draw, folder)
    junk = draw(JUNK | st.text('",;\t 1aé\n', min_size=1).map(str.encode))
    lines.insert(draw(st.integers(1, len(lines))), Line(junk, "junk"))
    folder.rows.add("junk")


def junk_file(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name = draw(st.sampled_from(list(folder.files) or ["job.toml"]))
    folder.files[name] = [Line(draw(st.binary(max_size=300)))]
    folder.touched.add(name)


def extra_file(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    """Files that nobody asked for spoil nothing."""
    name = draw(st.sampled_from(["rooms.xlsx", "units/junk.toml", "units/notes.txt", "photo.jpg"]))
    folder.files.setdefault(name, [Line(draw(st.binary(max_size=300)))])


def missing_file(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name = draw(st.sampled_from(list(folder.files) or ["job.toml"]))
    folder.files.pop(name, None)
    folder.touched.add(name)


def repeat_key(draw: st.DrawFn, folder: Mangled, _: str) -> None:
    name = draw(st.sampled_from([name for name in folder.files if name.endswith(".toml")] or ["job.toml"]))
    lines = folder.files.setdefault(name, [Line(b"a = 1")])
    lines.insert(draw(st.integers(0, len(lines))), Line(draw(st.sampled_from(lines)).data))
    folder.touched.add(name)


Accident = Callable[[st.DrawFn, Mangled, str], None]
TO_ROWS: tuple[Accident, ...] = (
    *(flip_bytes, flip_bytes, swap_cells, wrong_cell, wrong_cell, truncate_rows, lengthen_row, join_rows),
    *(move_row, repeat_row, junk_row, junk_row, extra_file, open_quote, open_quote),
)
TO_FILES: tuple[Accident, ...] = (
    *(spoil_header, flip_toml, wrong_toml_value, drop_column, junk_file, missing_file, repeat_key),
)


NAMES = st.text("abcXYZ019 -_./'\"#=;,é", min_size=1, max_size=8).map(lambda text: " ".join(text.split())).filter(bool)
NOTES = st.text("ab 1,;\"'\té=#½\\", max_size=20).map(lambda text: " ".join(text.split()))


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths in metres: on a tape's marks, on whole millimetres, or anywhere."""
    inches = st.integers(round(low / 0.0254 * 64), round(high / 0.0254 * 64))
    marks = inches.map(lambda n: parse_length(f"{'-' if n < 0 else ''}{abs(n) // 64} {abs(n) % 64}/64 in").value)
    metric = st.integers(round(low * 1000), round(high * 1000)).map(lambda n: n / 1000)
    return (marks | metric | st.floats(low, high).filter(_plain)).filter(lambda value: low <= value <= high)


def slopes(low: float, high: float) -> st.SearchStrategy[float]:
    """Ratios: sixteenths in a foot, percents, or anywhere."""
    feet = st.integers(round(low * 192), round(high * 192)).map(lambda n: n / 192)
    percents = st.integers(round(low * 1000), round(high * 1000)).map(lambda n: n / 1000)
    return (feet | percents | st.floats(low, high).filter(_plain)).filter(lambda value: low <= value <= high)


def _plain(value: float) -> bool:
    """Far enough from zero that seventeen decimals hold the number."""
    return value == 0 or abs(value) > 1e-4


@st.composite
def units(draw: st.DrawFn, id: str) -> UnitModel:
    width, depth = draw(lengths(0.7, 2)), draw(lengths(0.7, 2))
    form = draw(st.sampled_from(["planes", "cone"]))
    places = draw(st.lists(st.sampled_from(list(EDGE_POINTS.values())), min_size=3, max_size=8, unique=True))
    heights = [NamedHeight(x=x * width, y=y * depth, height=draw(lengths(0, 0.03))) for x, y in places]
    heights.append(NamedHeight(x=draw(lengths(0.31, 0.34)), y=0.0, height=draw(lengths(-0.01, 0.03))))
    return UnitModel(
        id=id,
        name=draw(NAMES),
        style=draw(st.sampled_from(["bedded", "own base"])),
        outside_width=width + draw(lengths(0, 0.1)),
        outside_depth=depth + draw(lengths(0, 0.1)),
        outside_height=draw(lengths(1.8, 2.4)),
        inside_width=width,
        inside_depth=depth,
        threshold_height=draw(lengths(0, 0.05)),
        threshold_width=draw(lengths(0.02, 0.1)),
        threshold_lip=draw(st.none() | lengths(0, 0.05)),
        mass=draw(st.integers(20, 200).map(float) | st.floats(20, 200)),
        drain=Drain(
            x=width / 2,
            y=depth / 3,
            radius=draw(lengths(0.02, 0.08)),
            body_diameter=draw(lengths(0.05, 0.15)),
            body_depth=draw(lengths(0.02, 0.15)),
            open_area=draw(st.none() | st.floats(1e-4, 1e-2)),
            pipe=draw(st.just(0.0508) | lengths(0.03, 0.15)),
        ),
        floor=Floor(
            form=form,
            thickness=draw(lengths(0.002, 0.01)),
            heights=tuple(heights) if form == "planes" else (),
            fall=draw(slopes(0.001, 0.1)) if form == "cone" else None,
        ),
        flange=Flange(width=draw(lengths(0.01, 0.05)), thickness=draw(lengths(0.001, 0.01))),
        minimum_cure=draw(st.integers(1, 72).map(lambda h: h * 3600.0) | st.floats(60, 1e6)),
        tolerance=draw(st.none() | lengths(0.001, 0.01)),
        fittings=draw(st.just(Fittings()) | fittings()),
        panel=Panel(
            modulus=draw(st.floats(1e9, 1e11)),
            modulus_across=draw(st.none() | st.floats(1e9, 1e11)),
            poisson=draw(st.floats(0, 0.49)),
        ),
    )


def fittings() -> st.SearchStrategy[Fittings]:
    """What hangs on the walls, any of it untold."""
    sides = st.sampled_from(["left", "back", "right"])
    heights = st.none() | lengths(0.3, 2.0)
    walls = st.none() | st.lists(sides, max_size=3).map(tuple)
    return st.builds(
        Fittings,
        seat=st.sampled_from([None, "none", "left", "right", "front"]),
        controls=st.none() | sides,
        entry=st.sampled_from([None, "left", "right"]),
        grab_bars=walls,
        grab_bar_height=heights,
        seat_height=heights,
        controls_height=heights,
        open_behind=walls,
    )


@st.composite
def materials(draw: st.DrawFn) -> Materials:
    """Every kind of quantity that a material is written in."""
    thin = draw(lengths(0.001, 0.02))
    return Materials(
        mortar=Mortar(
            bag_mass=draw(st.floats(10, 50)),
            density=draw(st.integers(1500, 3500).map(float) | st.floats(1500, 3500)),
            water_per_bag=draw(st.floats(0.001, 0.04)),
            air=draw(st.floats(0.001, 0.2)),
            pot_life=draw(st.integers(1, 300).map(lambda n: n * 60.0)),
            reference_temperature=draw(st.floats(1, 40)),
            activation_energy=draw(st.integers(1, 90).map(lambda n: n * 1e3) | st.floats(1, 9e4)),
            thinnest=thin,
            thickest=draw(lengths(thin + 0.001, 0.2)),
            placing_rate=draw(st.floats(1e-6, 1e-3)),
        ),
        lumber=Lumber(
            sections=tuple(draw(st.lists(st.sampled_from(get_args(Section)), min_size=1, unique=True))),
            longest=draw(lengths(1, 8)),
            modulus=draw(st.floats(2e9, 2e10)),
        ),
        braces=Braces(pad=draw(lengths(0.02, 0.3)), pressure=draw(st.floats(2e3, 1e6))),
        screws=Screws(box=draw(st.integers(1, 999)), spare=draw(st.floats(0, 0.9))),
        shims=Shims(bundle=draw(st.integers(1, 99))),
        costs=Costs(bag=draw(st.floats(0.1, 99))),
    )


HOURS = st.sampled_from([(time(7), time(15, 30)), (time(6, 45), time(17)), (time(13), time(21, 15))])
WEEK = st.lists(st.sampled_from(get_args(Weekday)), min_size=1, unique=True).map(tuple)
DAYS = st.lists(st.dates(date(2026, 1, 1), date(2027, 12, 31)), max_size=2, unique=True).map(tuple)


def calendars() -> st.SearchStrategy[Calendar]:
    return st.builds(
        Calendar,
        start=st.none() | st.dates(date(2026, 1, 1), date(2027, 12, 31)),
        works=WEEK,
        hours=HOURS,
        lunch=st.sampled_from([0.0, 1800.0, 2700.0]),
        holidays=DAYS,
        floor_change=st.sampled_from([0.0, 600.0]),
        correction=st.sampled_from([3600.0, 5400.0]),
        correction_skill=NAMES | st.just(""),
        saturday=st.floats(1, 3),
    )


def inspectors(id: str) -> st.SearchStrategy[Inspector]:
    return st.builds(Inspector, id=st.just(id), name=NAMES, works=WEEK, hours=HOURS)


def crews(id: str) -> st.SearchStrategy[Crew]:
    return st.builds(
        Crew,
        id=st.just(id),
        name=NAMES,
        people=st.integers(1, 9),
        skills=st.lists(NAMES, max_size=2).map(tuple),
        hours=st.none() | HOURS,
        off=DAYS,
        day=st.none() | st.floats(0, 5000),
    )


def supports() -> st.SearchStrategy[Support]:
    return st.builds(
        Support,
        load=st.sampled_from([100.0, 0.45359237 * 250]),
        movement=lengths(0.001, 0.005),
        carried=st.sampled_from([0.8, 0.95]),
        source=NAMES | st.just(""),
        bonded=st.booleans(),
        bed=st.sampled_from([1e10, 2.714e11]),
    )


def sites() -> st.SearchStrategy[Site]:
    """As far as the tz database is everywhere the same."""
    return st.builds(
        Site,
        temperature=st.integers(-30, 50).map(float) | st.floats(-30, 50).filter(_plain),
        spread=st.integers(1, 30).map(float) | st.floats(0.1, 30),
        time_zone=st.sampled_from(["UTC", "America/Chicago", "Europe/Berlin"]),
    )


@st.composite
def readings(draw: st.DrawFn, id: str, line: int, room: str, instruments: dict[str, Instrument]) -> Reading:
    kind = draw(st.sampled_from(list(ReadingKind)))
    instrument, who = draw(st.sampled_from([*instruments, "", "borrowed"])), draw(NAMES | st.just(""))
    when = draw(st.none() | st.datetimes(datetime(2020, 1, 1), timezones=st.none() | st.just(UTC)))  # noqa: DTZ001
    two = kind in (ReadingKind.WEDGE, ReadingKind.SLOPE, ReadingKind.CHORD)
    slope = kind is ReadingKind.SLOPE
    written, value = "", draw(slopes(-0.3, 0.3) if slope else lengths(0 if kind is ReadingKind.PRESS else -0.05, 0.05))
    if kind is ReadingKind.TAP:
        value = draw(st.sampled_from([0.0, 1.0]))
        written = draw(st.sampled_from(["sound", "Sound"] if value else ["hollow", "HOLLOW"]))
    elif draw(st.booleans()):
        written = draw(
            st.sampled_from(["1.2°", "1 : 48", "+2 %"] if slope else ['3/16"', "0,5 mm".replace(",", "."), "½ in"])
        )
        value = (parse_slope if slope else parse_length)(written).value
    written = written or (slope_text if slope else length_text)(value)
    own = getattr(instruments.get(instrument), "u_slope" if slope else "u", None)
    u = 0.5 if kind is ReadingKind.TAP else draw(slopes(0.0002, 0.01) | st.just(own or 0.001))
    return Reading(
        id=id,
        room=room,
        kind=kind,
        x=draw(lengths(-0.5, 0.5)),
        y=draw(lengths(-0.5, 0.5)),
        x2=draw(lengths(0.6, 1)) if two else None,
        y2=draw(lengths(0.6, 1)) if two else None,
        value=value,
        u=u,
        written=written,
        weight=draw(st.none() | st.sampled_from([80.0, 0.45359237 * 180])) if kind is ReadingKind.PRESS else None,
        setup=draw(NAMES | st.just(setup_of(instrument, who, when))),
        stage=draw(st.sampled_from(STAGES)),
        instrument=instrument,
        who=who,
        when=when,
        note=draw(NOTES),
        file="readings.csv",
        line=line,
    )


@st.composite
def waters(draw: st.DrawFn) -> Water:
    receding = draw(st.floats(1, 90))
    return Water(
        poured=draw(st.sampled_from([3.785411784e-3, 0.004]) | st.floats(1e-5, 0.19)),
        over=draw(st.integers(1, 3600).map(float) | st.floats(0.1, 3600)),
        how=draw(st.sampled_from(Pattern)),
        flow=draw(st.sampled_from([2.5 * 3.785411784e-3 / 60]) | st.floats(1e-6, 0.0099)),
        temperature=draw(st.integers(1, 60).map(float) | st.floats(1, 60)),
        contact_angle=(receding, draw(st.floats(receding, 150))),
    )


@st.composite
def water_tests(draw: st.DrawFn, id: str, line: int, room: str) -> WaterTest:
    """As `load` gives it from what `write_job` writes, with the photograph photos/wet.jpg."""
    how = draw(st.sampled_from(Pattern))
    placed = how is not Pattern.OVER_THE_FLOOR and draw(st.booleans())
    poured, over = draw(st.floats(1e-4, 0.2)), draw(st.integers(1, 3600).map(float) | st.floats(0.1, 3600))
    written = draw(st.sampled_from(["1 gal", "1/2 gal", "3.8 L"]) | st.just(""))
    poured = parse_volume(written).value if written else poured
    drained = draw(st.none() | st.floats(3600, 86_400))
    puddle = st.builds(
        Puddle,
        x=lengths(0, 0.5),
        y=lengths(-0.01, 0.5),
        across=st.none() | lengths(0.001, 0.5),
        depth=st.none() | lengths(0.001, 0.01),
    )
    puddles = draw(st.none() | st.lists(puddle, max_size=3).map(tuple))
    test = WaterTest(
        id=id,
        room=room,
        poured=poured,
        over=over,
        how=how,
        x=draw(lengths(0, 0.5)) if placed else None,
        y=draw(lengths(0, 0.5)) if placed else None,
        drained=drained,
        puddles=puddles,
        soap=draw(st.booleans()),
        hottest=draw(st.none() | st.floats(1, 99)),
        flow=draw(st.none() | st.floats(1e-6, 0.0099)),
        photo=draw(st.sampled_from(["", "wet.jpg"])),
        who=draw(NAMES | st.just("")),
        when=draw(st.none() | st.datetimes(datetime(2020, 1, 1), timezones=st.none() | st.just(UTC))),  # noqa: DTZ001
        note=draw(NOTES),
        written=f"{written} |  | ",
        file="water.csv",
        line=line,
    )
    cells = water_cells(test)
    return test.model_copy(update={"written": " | ".join(cells[key] for key in ("poured", "drained", "puddles"))})


@st.composite
def _measured(draw: st.DrawFn, instruments: dict[str, Instrument]) -> dict[str, Any]:
    """By whom, when and with what a length was measured, and how well."""
    instrument = draw(st.sampled_from([*instruments, "", "borrowed"]))
    own = getattr(instruments.get(instrument), "u", None)
    return {
        "instrument": instrument,
        "who": draw(NAMES | st.just("")),
        "when": draw(st.none() | st.datetimes(datetime(2020, 1, 1), timezones=st.none() | st.just(UTC))),  # noqa: DTZ001
        "u": draw(lengths(0.0005, 0.01) | st.just(own or 0.001)),
        "note": draw(NOTES),
    }


@st.composite
def measures(draw: st.DrawFn, id: str, line: int, room: str, instruments: dict[str, Instrument]) -> Measure:
    """As `load` gives it from what `write_job` writes."""
    what = draw(st.sampled_from(What))
    asked = PLACES[what]
    wall = draw(st.sampled_from(asked.walls)) if asked.walls else ""
    along = "x" if wall == "back" else "y"
    names = [name.replace("along 2", f"{along}2").replace("along", along) for name in (*asked.needed, *asked.may)]
    places = {name: draw(lengths(1, 1.5) if name.endswith("2") else lengths(0.2, 0.6)) for name in names}
    by = draw(_measured(instruments))
    value = draw(lengths(asked.low, asked.high))
    derived = setup_of(by["instrument"], by["who"], by["when"])
    setup = draw(NAMES | st.just(derived)) if what is What.SLAB else draw(NAMES | st.just(""))
    written = length_text(value)
    return Measure(
        id=id,
        room=room,
        what=what,
        wall=wall,
        **places,
        value=value,
        written=written,
        setup=setup,
        file="survey.csv",
        line=line,
        **by,
    )


@st.composite
def work(
    draw: st.DrawFn, id: str, line: int, room: str, instruments: dict[str, Instrument], bag: float
) -> SettingEvent:
    """As `load` gives it from what `write_job` writes."""
    what, by = draw(st.sampled_from(Work)), draw(_measured(instruments))
    asked = VALUED.get(what)
    by["when"] = draw(
        st.datetimes(datetime(2020, 1, 1), timezones=st.none() | st.just(UTC)).filter(lambda t: t.time() != time())  # noqa: DTZ001
    )
    by["u"] = None if asked is None else draw(st.floats(0.01 * asked.most_u, asked.most_u))
    value = None if asked is None else draw(st.floats(max(asked.low, 0.01), asked.high))
    event = SettingEvent(id=id, room=room, what=what, value=value, file="setting.csv", line=line, **by)
    return event.model_copy(update={"written": setting_cells(event, instruments, bag)["value"]})


@st.composite
def sizes(
    draw: st.DrawFn, id: str, line: int, room: str, unit: UnitModel, instruments: dict[str, Instrument]
) -> Received:
    """As `load` gives it from what `write_job` writes, with the photograph photos/wet.jpg."""
    what, by = draw(st.sampled_from(Size)), draw(_measured(instruments))
    if what is Size.DAMAGE:
        written = draw(st.sampled_from(["none", "NONE", 'crack, 2" long; left flange']))
        value, by["u"] = float(written.lower() != "none"), None
    else:
        value = max(sheet_size(unit, what) + draw(lengths(-0.01, 0.01)), 0.0)
        written = length_text(value)
    photo = draw(st.sampled_from(["", "wet.jpg"]))
    return Received(
        id=id, room=room, what=what, value=value, written=written, photo=photo, file="received.csv", line=line, **by
    )


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """A job as `load` gives it: names in plain form, each reading with its file and line."""
    ids = draw(st.lists(st.sampled_from(["alcove", "Alcove.2", "a/b", "é"]), min_size=1, max_size=3, unique=True))
    models = {id: draw(units(id)) for id in ids}
    instruments = {
        id: Instrument(
            id=id,
            name=draw(NAMES),
            length=draw(st.none() | lengths(0.1, 2)),
            u=draw(st.none() | lengths(0.0002, 0.002)),
            u_slope=draw(st.none() | slopes(0.0005, 0.01)),
        )
        for id in draw(st.lists(st.sampled_from(["L24", "a b", 'q"']), max_size=2, unique=True))
    }
    names = draw(st.lists(st.sampled_from(["101", "1.10", "North 2", "é;3", '4"', "5,6"]), max_size=4, unique=True))
    rooms = tuple(
        Room(
            room=name,
            floor=draw(st.sampled_from(["", "2", "Level 2"])),
            unit=draw(st.sampled_from(ids)),
            ready=draw(st.none() | st.dates(date(2020, 1, 1), date(2040, 1, 1))),
            due=draw(st.none() | st.dates(date(2020, 1, 1), date(2040, 1, 1))),
            surveyed=draw(st.dictionaries(st.sampled_from(["width", "head height"]), lengths(0.5, 3))),
            note=draw(NOTES),
        )
        for name in names
    )
    count = draw(st.integers(0, 4)) if rooms else 0
    bought = draw(st.just(Materials()) | materials())
    return Job(
        name=draw(NAMES),
        risk=draw(st.floats(0.001, 0.4)),
        rules=RuleChoice(
            shower=draw(st.sampled_from(["transfer", "not accessible"])),
            clear_space_in_shower=draw(st.booleans()),
            confirmed=tuple(draw(st.lists(NAMES, max_size=2))),
            local=({"id": "l", "what": draw(NAMES), "quantity": "q", "low": "1:48", "replaces": ["a/b"]},),
        ),
        fall_base=draw(lengths(0.1, 1)),
        pond_counts=draw(lengths(0.0002, 0.01)),
        water=draw(st.just(Water()) | waters()),
        fittings=draw(st.just(Fittings()) | fittings()),
        framing=Framing(
            species=draw(st.sampled_from(get_args(Species))),
            depth=draw(lengths(0.02, 0.1)),
            screw_size=draw(st.sampled_from(get_args(ScrewSize))),
            screw_length=draw(lengths(0.02, 0.1)),
        ),
        units=models,
        rooms=rooms,
        crews=tuple(draw(crews(id)) for id in ["B", "A"]),
        inspectors=tuple(draw(inspectors(id)) for id in draw(st.sampled_from([[], ["town"]]))),
        corrections={name: draw(st.sampled_from([0.0, 5400.0])) for name in names[: draw(st.integers(0, 1))]},
        instruments=instruments,
        readings=tuple(
            draw(readings(f"id-{n}", n + 2, draw(st.sampled_from(names)), instruments)) for n in range(count)
        ),
        water_tests=tuple(
            draw(water_tests(f"test-{n}", n + 2, draw(st.sampled_from(names)))) for n in range(min(count, 2))
        ),
        survey=tuple(
            draw(measures(f"measure-{n}", n + 2, draw(st.sampled_from(names)), instruments)) for n in range(count)
        ),
        received=tuple(
            draw(sizes(f"size-{n}", n + 2, room.room, models[room.unit], instruments))
            for n, room in enumerate(rooms[:count])
        ),
        setting=tuple(
            draw(work(f"work-{n}", n + 2, draw(st.sampled_from(names)), instruments, bought.mortar.bag_mass))
            for n in range(count)
        ),
        calendar=draw(calendars()),
        kits=Kits(braces=draw(st.none() | st.integers(1, 99)), week=draw(st.floats(0, 99))),
        materials=bought,
        support=draw(st.just(Support()) | supports()),
        site=draw(st.just(Site()) | sites()),
    )
