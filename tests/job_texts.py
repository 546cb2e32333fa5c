"""A good job folder as text: two unit models, eight rooms, 48 readings of every kind, eight water tests."""

from __future__ import annotations

import tempfile
import uuid
from pathlib import Path

from drainward.job import UnitModel
from drainward.job.unit_in import read_unit

JOB = """\
name = "Maple Court"
risk = 0.05
fall_base = "12 in"
pond_counts = "1/16 in"

[rules]
use = ["us-plumbing-irc-2021", "us-ada-2010", "practice"]
shower = "standard roll-in"

[[rules.local]]
id = "local/pond"
what = "Standing water that counts as a pond"
quantity = "floor.pond.depth"
high = "1/32 in"

[crews.A]
name = "Ground floor"
people = 3

[instruments.L24]
name = "Digital level, 24 in"
length = "24 in"
u = "1/64 in"
u_slope = "0.05 %"

[instruments.G1]
name = "Dial gauge"
u = "0.05 mm"

[calendar]
start = 2026-03-02
holidays = [2026-04-03]

[kits]
braces = 3

[materials]
mortar = { bag_mass = "60 lb", pot_life = "45 min" }
"""

BEDDED = """\
name = "Alcove 60 x 36"
style = "bedded"
outside_width = "61-1/2 in"
outside_depth = "37-1/2 in"
outside_height = "6'-8 in"
inside_width = "60 in"
inside_depth = "36 in"
threshold_height = "1/2 in"
mass = "165 lb"
minimum_cure = "24 h"

[drain]
x = "30 in"
y = "18 in"
radius = "2 in"
body_diameter = "4-1/4 in"
body_depth = "3 in"

[floor]
form = "planes"
thickness = "1/4 in"
heights = [
    {at = "back left", height = "5/8 in"},
    {at = "back right", height = "5/8 in"},
    {at = "front right", height = "1/2 in"},
    {x = "30 in", y = "36 in", height = "3/8 in"},
    {at = "front left", height = "1/2 in"},
]

[flange]
width = "1 in"
thickness = "1/8 in"
"""

OWN_BASE = """\
name = "Open 48 x 36"
style = "own base"
outside_width = "1250 mm"
outside_depth = "950 mm"
outside_height = "2100 mm"
inside_width = "48 in"
inside_depth = "36 in"
threshold_height = "0"
threshold_width = "2 in"
mass = "70 kg"
minimum_cure = "2 h"
drain = {x = "24 in", y = "18 in", radius = "50 mm", body_diameter = "110 mm", body_depth = "75 mm"}
floor = {form = "cone", thickness = "6 mm", fall = "1:60"}
flange = {width = "25 mm", thickness = "3 mm"}
"""

JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000") + b"a picture" + bytes.fromhex("ffd9")
PNG = bytes.fromhex("89504e470d0a1a0a") + b"a picture"
"""Their first bytes are all that is asked of them."""

ROOM_NAMES = tuple(f"{floor}-{number}{side}" for floor in ("North", "South") for number in (11, 12) for side in "AB")
ROOMS_HEADER = "room,floor,unit,ready,due,surveyed width,note"
READINGS_HEADER = "room,when,who,instrument,stage,kind,x,y,x2,y2,value,u,note,setup,id"
WATER_HEADER = "room,when,who,poured,over,how,x,y,drained,puddles,soap,hottest,flow,photo,note,id"

_KINDS = (
    'wedge,6 in,6 in,30 in,6 in,3/16 in,,"a note, with a comma"',
    "slope,6 in,6 in,30 in,6 in,-1/4 in/ft,,",
    'slope,30 in,6 in,6 in,6½ in,1.2°,0.1 %,"the crew said ""good"""',
    'height,6 in,-2 in,,,-1/16",1/32 in,café',
    "chord,6 in,6 in,30 in,20 in,1/16,,",
    "tap,6 in,7-1/2 in,,,hollow,,",
)


def rooms() -> list[str]:
    """The rows of rooms.csv without their header."""
    rows = []
    for number, name in enumerate(ROOM_NAMES):
        unit = "alcove" if number % 2 else "open"
        rows.append(f'{name},{1 + number // 4},{unit},2026-03-{number + 2:02},14 Apr 2026,61-{number + 1}/16",')
    return rows


def readings() -> list[str]:
    """The rows of readings.csv without their header, each with an id of its own."""
    rows = []
    for number, name in enumerate(ROOM_NAMES * 6):
        kind = _KINDS[number // 8]
        start = f"{name},2026-03-{10 + number // 8} {8 + number // 8:02}:{number:02},MB,L24,draft"
        setup = f"S{number % 8}" if number % 3 else ""
        rows.append(f"{start},{kind},{setup},{uuid.UUID(int=number * 2**90 + 7)}")
    return rows


_POURED = (
    '1 gal,60 s,over the floor,,,1 min 50 s,"12 in / 30 in, 3 in across, 1/8"" deep",no,,,wet.jpg,"a, comma"',
    "1 gal,,,,,,none,yes,,,,",
    "3.8 L,10 s,at a point,6 in,30 in,1:55,6½ in/7 in,,,,,café",
    '5 gal,2 min,shower,,,,,,118 °F,2.4 gpm,,"the crew said ""hot"""',
)


def water_tests() -> list[str]:
    """The rows of water.csv without their header, each with an id of its own."""
    return [
        f"{name},2026-04-{10 + number} 08:{number:02},MB,{_POURED[number % 4]},{uuid.UUID(int=number * 2**90 + 11)}"
        for number, name in enumerate(ROOM_NAMES)
    ]


def unit_models() -> dict[str, UnitModel]:
    """The two models of the folder, by id."""
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, text in (("alcove", BEDDED), ("open", OWN_BASE)):
            path = Path(folder) / f"{name}.toml"
            path.write_text(text)
            unit, problems = read_unit(path, path.name)
            assert unit is not None, problems
            found[name] = unit
    return found


def write(folder: Path) -> Path:
    """Put the good folder into an empty one."""
    (folder / "units").mkdir()
    (folder / "photos").mkdir()
    (folder / "photos/wet.jpg").write_bytes(JPEG)
    texts = {
        "job.toml": JOB,
        "units/alcove.toml": BEDDED,
        "units/open.toml": OWN_BASE,
        "rooms.csv": "\n".join([ROOMS_HEADER, *rooms(), ""]),
        "readings.csv": "\n".join([READINGS_HEADER, *readings(), ""]),
        "water.csv": "\n".join([WATER_HEADER, *water_tests(), ""]),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
