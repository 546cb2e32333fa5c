"""A unit, readings, a draft and a water test made by hand, for tests of what is drawn and printed: no engine needed."""

from __future__ import annotations

import struct
import zlib

import numpy as np

from drainward.finding import Finding, Verdict
from drainward.floor.film.result import Cause, Hang, Play, Pour, Range, Seen, Water
from drainward.floor.result import (
    Ask,
    Draft,
    Edge,
    Extreme,
    FloorMap,
    HighSpot,
    Mend,
    Mortar,
    Pond,
    Rejected,
    Shim,
)
from drainward.job.model import (
    Drain,
    Flange,
    Floor,
    NamedHeight,
    Pattern,
    Puddle,
    Reading,
    ReadingKind,
    UnitModel,
    WaterTest,
)

INCH = 0.0254
GALLON, OUNCE = 3.785411784e-3, 2.95735295625e-5
WIDTH, DEPTH = 60 * INCH, 36 * INCH


def unit() -> UnitModel:
    """A 60 by 36 in unit of planes with its drain in the middle of the back half."""
    return UnitModel(
        id="U60",
        name="60 x 36 roll-in",
        style="bedded",
        outside_width=WIDTH + 0.05,
        outside_depth=DEPTH + 0.05,
        outside_height=2.0,
        inside_width=WIDTH,
        inside_depth=DEPTH,
        threshold_height=0.0127,
        mass=60.0,
        drain=Drain(x=WIDTH / 2, y=DEPTH / 2, radius=0.05, body_diameter=0.11, body_depth=0.1),
        floor=Floor(
            form="planes",
            thickness=0.005,
            heights=tuple(
                NamedHeight(x=x, y=y, height=0.016) for x, y in ((0, 0), (WIDTH, 0), (WIDTH, DEPTH), (0, DEPTH))
            ),
        ),
        flange=Flange(width=0.03, thickness=0.003),
        minimum_cure=86400.0,
    )


def readings() -> tuple[Reading, ...]:
    """One reading of each kind, the second a wedge that will be rejected."""
    common = {"room": "101", "instrument": "level-24", "stage": "draft", "file": "readings.csv"}
    return (
        Reading(id="a", kind=ReadingKind.WEDGE, x=0.1, y=0.1, x2=0.7, y2=0.1, value=0.0127, u=0.0004,
                written='1/2"', line=2, **common),
        Reading(id="b", kind=ReadingKind.WEDGE, x=1.4, y=0.2, x2=0.9, y2=0.4, value=-0.009, u=0.0004,
                written='-3/8"', line=3, **common),
        Reading(id="c", kind=ReadingKind.SLOPE, x=0.2, y=0.8, x2=0.6, y2=0.6, value=-0.021, u=0.0017,
                written="-2.1 %", line=4, **common),
        Reading(id="d", kind=ReadingKind.CHORD, x=0.9, y=0.7, x2=1.4, y2=0.7, value=0.0016, u=0.0004,
                written='1/16"', line=5, **common),
        Reading(id="e", kind=ReadingKind.HEIGHT, x=1.3, y=0.5, value=0.012, u=0.0008,
                written='15/32"', setup="s1", line=6, **common),
        Reading(id="f", kind=ReadingKind.TAP, x=0.3, y=0.4, value=0.0, u=0.1, written="hollow", line=7, **common),
    )  # fmt: skip


def floor_map() -> FloorMap:
    """A fall of 2 % to the drain, a birdbath in the front right and a bulge on the left."""
    x, y = np.linspace(0, WIDTH, 121), np.linspace(0, DEPTH, 73)
    gx, gy = np.meshgrid(x, y)
    away = np.hypot(gx - WIDTH / 2, gy - DEPTH / 2)
    bath = np.exp(-((gx - 1.15) ** 2 + (gy - 0.68) ** 2) / 0.012)
    bulge = np.exp(-((gx - 0.35) ** 2 + (gy - 0.35) ** 2) / 0.02)
    mean = 0.02 * away - 0.007 * bath + 0.004 * bulge
    k = np.array([(px, py) for px in np.arange(0.1, WIDTH, 0.19) for py in np.arange(0.1, DEPTH, 0.18)])
    to_drain = np.array([WIDTH / 2, DEPTH / 2]) - k
    arrows = np.hstack([k, to_drain / np.linalg.norm(to_drain, axis=1, keepdims=True)])
    return FloorMap(x, y, mean, np.full_like(mean, 0.0006), np.clip(1.3 * bath - 0.1, 0, 1),
                    0.004 * bulge - 0.007 * bath, arrows)  # fmt: skip


def findings() -> tuple[Finding, ...]:
    return (
        Finding("fall.min", "Least fall toward the drain over 12 in", 0.0131, 0.0021, "ratio", "at least 1/4 in/ft",
                0.01, Verdict.FAILS, "IRC 2021 P2709.1 (secondary)", "Lower the front right of the floor.",
                (0.009, 0.017)),
        Finding("fall.max", "Greatest fall toward the drain over 12 in", 0.0312, 0.0025, "ratio",
                "at most 1/2 in/ft", 0.999, Verdict.MEETS, "IRC 2021 P2709.1 (secondary)", "", None),
        Finding("pond.depth", "Deepest standing water", 0.0042, 0.0009, "m", 'at most 1/16"', 0.004, Verdict.FAILS,
                "job (local)", "Fill under the low place while the bed is wet.", (0.0025, 0.006)),
        Finding("threshold", "Threshold over the finished floor", 0.0121, 0.0006, "m", 'at most 1/2"', 0.84,
                Verdict.NOT_PROVEN, "2010 ADA Standards 608.7 (seen)", "Read the threshold once more.", None),
    )  # fmt: skip


def draft(**changes: object) -> Draft:
    """A floor that fails by a birdbath, with a reading to take next and a way to mend it."""
    parts: dict[str, object] = {
        "room": "101",
        "stage": "draft",
        "verdict": Verdict.FAILS,
        "findings": findings(),
        "fall_min": Extreme(0.0131, 0.0021, (0.009, 0.017), 0.0135, 1.3, 0.75),
        "fall_max": Extreme(0.0312, 0.0025, (0.027, 0.036), 0.0308, 0.45, 0.4),
        "base": 0.3048,
        "ponds": (Pond(1.15, 0.68, 0.0042, 0.006, 0.02, 3.1e-5, 0.97),),
        "high_spots": (HighSpot(0.1, 0.35, 0.6, 0.35, 0.0035, 0.0005, 0.98),),
        "next_reading": Ask("wedge", 1.35, 0.3, 1.0, 0.8, "level-24", "It crosses the deepest place of the pond."),
        "mend": Mend(
            edges=(Edge("front", 0.0032), Edge("left", -0.0016)),
            shims=(Shim("front right", WIDTH, DEPTH, 2), Shim("back left", 0.0, 0.0, -1)),
            probability_before=0.01,
            probability=0.62,
            mortar=(
                Mortar(0.35, 0.35, 0.004, 0.03, 6e-5, "take out"),
                Mortar(1.15, 0.68, 0.007, 0.02, 9e-5, "put in"),
            ),
            says="Raise the front right, then fill under the low place.",
        ),
        "used": 5,
        "rejected": (Rejected("b", 3, "disagrees with readings 1 and 4 by 5 standard uncertainties"),),
        "map": floor_map(),
        "samples": 1000,
    }
    parts.update(changes)
    return Draft(**parts)  # type: ignore[arg-type]


def water_test(**changes: object) -> WaterTest:
    """A gallon over a minute, timed, with a puddle in the front right and another that the readings do not know."""
    parts: dict[str, object] = {
        "id": "w1",
        "room": "101",
        "poured": GALLON,
        "over": 62.0,
        "drained": 135.0,
        "puddles": (Puddle(x=1.15, y=0.68, across=0.1, depth=0.004), Puddle(x=0.3, y=0.7)),
        "who": "Ana B.",
        "written": "1 gal; 2 min 15 s; 45-1/4 in / 26-3/4 in, 4 in across, 5/32 in deep; 11-3/4 in / 27-1/2 in",
    }
    parts.update(changes)
    return WaterTest(**parts)


def play() -> Play:
    """A film that is poured for a minute, thins and draws back to the drain; the birdbath stays full."""
    floor = floor_map()
    gx, gy = np.meshgrid(floor.x, floor.y)
    away = np.hypot(gx - WIDTH / 2, gy - DEPTH / 2)
    bath = 0.0042 * np.exp(-((gx - 1.15) ** 2 + (gy - 0.68) ** 2) / 0.006)
    t = np.concatenate([np.linspace(0, 90, 46), np.linspace(94, 300, 54)])
    depth = np.empty((len(t), *away.shape), np.float32)
    for k, now in enumerate(t):
        wet = np.clip((1.0 - max(now - 60, 0) / 90 - 0.55 * away) / 0.15, 0, 1)
        film = 0.0012 * min(now / 25, 1) ** (1 / 3) / np.sqrt(1 + max(now - 60, 0) / 18)
        depth[k] = film * wet + np.maximum(bath * min(now / 40, 1) - 0.0004, 0)
    cell = np.outer(np.gradient(floor.y), np.gradient(floor.x))
    left = np.asarray((depth * cell).sum(axis=(1, 2)), np.float64)
    poured = np.minimum(t, 60) * GALLON / 60
    stream = np.maximum(np.gradient(poured - left, t), 0)
    running = np.where(depth > 3e-4, t[:, None, None], 0).max(axis=0)
    return Play(floor.x, floor.y, t, depth, stream, np.zeros_like(t), left, running, 3e-4)


def water(**changes: object) -> Water:
    """The water test of the floor of `draft`: a puddle in the birdbath, one test that does not agree."""
    test = water_test()
    ask = Ask("chord", 0.15, 0.7, 0.45, 0.7, "edge-48", "It crosses the puddle that no reading tells of.")
    parts: dict[str, object] = {
        "room": "101",
        "stage": "water test",
        "verdict": Verdict.NOT_PROVEN,
        "findings": (
            Finding("water.spilled", "Water lost over the threshold in the test", 0.0, 0.0, "m3", "none", 0.999,
                    Verdict.MEETS, "common practice, no source", "", (0.0, 0.0)),
            Finding("water.freeboard", "Threshold over the water while the shower runs", 0.0061, 0.0012, "m",
                    "more than 0", 0.99, Verdict.MEETS, "common practice, no source", "", (0.0038, 0.0084)),
            Finding("water.test", "Water test as seen beside the water computed from the readings", 0.02, None, "1",
                    "over 5 in 100", 0.02, Verdict.NOT_PROVEN, "common practice, no source",
                    "Lay the straightedge across the puddle in the front left."),
        ),
        "pour": Pour(Pattern.OVER_THE_FLOOR, GALLON, 62.0),
        "drained": Range(81.0, 112.0, 164.0),
        "left": Range(2.1 * OUNCE, 4.0 * OUNCE, 7.5 * OUNCE),
        "standing": Range(0.2 * OUNCE, 1.1 * OUNCE, 2.9 * OUNCE),
        "lip": 0.0127,
        "lip_depth": Range(0.0011, 0.0014, 0.0021),
        "spilled": Range(0.0, 0.0, 0.0),
        "shower": 2.5 * GALLON / 60,
        "shower_depth": Range(0.0051, 0.0066, 0.0089),
        "freeboard": Range(0.0038, 0.0061, 0.0084),
        "overflow": Range(95.0, 128.0, np.inf),
        "reynolds": 160.0,
        "hang": Hang(0.0014, 0.0033, 0.122, 0.0156, 0.0035, (0.4 * OUNCE, 5.0 * OUNCE)),
        "ponds": (Pond(1.15, 0.68, 0.0042, 0.006, 0.02, 3.1e-5, 0.97),),
        "seen": (
            Seen(test, 0.02, Range(80.0, 110.0, 160.0), 0.4, False,
                 (Cause("puddles", "a dip that no reading crosses", 0.81),
                  Cause("puddles", "water that hangs by itself", 0.19)), ask,
                 "The puddle in the front left is not what the readings let expect.", 0.12),
        ),
        "next_reading": ask,
        "play": play(),
        "puddle": floor_map().pond,
        "used": 5,
        "rejected": (Rejected("b", 3, "disagrees with readings 1 and 4 by 5 standard uncertainties"),),
        "samples": 200,
    }  # fmt: skip
    parts.update(changes)
    return Water(**parts)  # type: ignore[arg-type]


def png(width: int = 3, height: int = 2) -> bytes:
    """A picture as ISO/IEC 15948 has it: 8-bit RGB, no filter."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = (b"\0" + bytes(k % 256 for k in range(3 * width))) * height
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
