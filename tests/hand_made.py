"""A unit, readings and a draft made by hand, for the tests of what is drawn and printed: no engine needed."""

from __future__ import annotations

import numpy as np

from drainward.finding import Finding, Verdict
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
from drainward.job.model import Drain, Flange, Floor, NamedHeight, Reading, ReadingKind, UnitModel

INCH = 0.0254
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
