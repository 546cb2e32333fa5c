"""Braces over the drain and the threshold: boards on short padded feet, posted and wedged to the ceiling or to framing.

Foot, Brace, braces  the lightest braces that hold the floor down
SECTIONS             dressed sizes of lumber
Piece, cut_list      what to cut
brace_findings       movement, bending, buckling, pressure on the gelcoat, length of the posts

Both boards together take all of the uplift: what the flanges' screws hold is not counted.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from drainward.finding import Certainty, Finding, Source, Verdict, conformance, decide
from drainward.floor.shape import moulded
from drainward.hold.beam import bend, euler
from drainward.hold.head import Head, Place
from drainward.hold.uplift import Uplift
from drainward.job.materials import Materials, Section
from drainward.job.model import UnitModel
from drainward.quantity import INCH, format_length

__all__ = ["SECTIONS", "Brace", "Foot", "Piece", "brace_findings", "braces", "cut_list"]

SECTIONS: Mapping[Section, tuple[float, float]] = {
    "2x4": (1.5 * INCH, 3.5 * INCH),
    "2x6": (1.5 * INCH, 5.5 * INCH),
    "4x4": (3.5 * INCH, 3.5 * INCH),
}
"""Thickness and width of dry lumber, m (PS 20-20, from memory)."""
SAFETY = 3.0
"""Load at which a post buckles over what it holds, at least; common practice, no source."""
SLENDER = 75.0
"""Length of a post over its thickness while one builds, at most (NDS 3.7.1.4, from memory)."""
_MOST_POSTS = 6
_CLEAR = INCH
"""Of walls and of the drain's rim, m."""
PRACTICE = str(Source("", "", "", Certainty.PRACTICE))


@dataclass(frozen=True, slots=True)
class Foot:
    """Where a padded foot stands, from the left, and how high it is cut, m."""

    x: float
    height: float


@dataclass(frozen=True, slots=True)
class Brace:
    """One board with its feet, posts and head plate, which is as long; m, N, Pa.

    y : of the board, from the back;  left, length : of the board;  posts : x of each
    post_length, u_post : of the posts;  load, u_load : that the brace holds down
    moved : largest rise of a foot;  stress : in the board;  held : by the most loaded post;  safety : against buckling
    pressure : under a foot
    """

    place: Place
    y: float
    left: float
    length: float
    section: Section
    feet: tuple[Foot, ...]
    posts: tuple[float, ...]
    post_section: Section
    post_length: float
    u_post: float
    head: Head
    load: float
    u_load: float
    moved: float
    u_moved: float
    stress: float
    held: float
    safety: float
    u_safety: float
    pressure: float

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {
            "place": self.place,
            "y": self.y,
            "board": {"section": self.section, "from": self.left, "length": self.length},
            "feet": [{"x": foot.x, "height": foot.height} for foot in self.feet],
            "posts": {"section": self.post_section, "x": list(self.posts), "length": self.post_length,
                      "u": self.u_post},
            "head": {"value": self.head.length, "u": self.head.u, "measured": self.head.measured,
                     "known": self.head.known},
            "load": {"value": self.load, "u": self.u_load},
            "moved": {"value": self.moved, "u": self.u_moved},
            "stress": self.stress,
            "post_load": self.held,
            "safety": {"value": self.safety, "u": self.u_safety},
            "pressure": self.pressure,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Piece:
    """So many pieces alike: what it is, its section, its length, m."""

    what: str
    section: Section
    length: float
    count: int


def braces(
    unit: UnitModel, lifted: Uplift, over: Mapping[Place, Head], materials: Materials, risk: float
) -> tuple[Brace, ...]:
    """Over the drain and over the threshold, each with the fewest posts and the lightest lumber that hold.

    A board takes the floor up to half way to the next one. Where nothing on site holds, the strongest is given, and
    `brace_findings` say what it lacks.
    """
    half = (unit.drain.y + unit.inside_depth) / 2 / unit.inside_depth
    shares: dict[Place, float] = {"drain": half, "threshold": 1.0 - half}
    found = []
    for place, share in shares.items():
        best: Brace | None = None
        for tried in _choices(unit, place, share, lifted, over[place], materials):
            best = tried if best is None or _chance(tried, materials) > _chance(best, materials) else best
            if _chance(tried, materials) >= 1 - risk:
                best = tried
                break
        assert best is not None
        found.append(best)
    return tuple(found)


def _choices(
    unit: UnitModel, place: Place, share: float, lifted: Uplift, head: Head, materials: Materials
) -> Iterable[Brace]:
    """Fewest posts first, then the lightest lumber."""
    for count in range(2, _MOST_POSTS + 1):
        for section in materials.lumber.sections:
            for post in materials.lumber.sections:
                yield _brace(
                    unit, place, (count, section, post), (share * lifted.force, share * lifted.u), head, materials
                )


def _brace(
    unit: UnitModel,
    place: Place,
    choice: tuple[int, Section, Section],
    load: tuple[float, float],
    head: Head,
    materials: Materials,
) -> Brace:
    count, section, post = choice
    rule, wood = materials.braces, materials.lumber
    left, length = _CLEAR, unit.inside_width - 2 * _CLEAR
    feet = _feet(unit, place, load[0] + 2 * load[1], materials)
    thick, wide = SECTIONS[section]
    thin, broad = SECTIONS[post]
    post_length = (
        head.length - max(_floor_at(unit, place, foot.x) + foot.height for foot in feet) - 2 * thick - rule.wedge
    )
    tall = max(post_length, 0.1)
    posts = tuple(left + (k + 0.5) * length / count for k in range(count))
    each = load[0] / len(feet)
    bent = bend(
        [foot.x for foot in feet], [each] * len(feet), posts, wood.modulus * thin * broad / tall,
        wood.modulus * wide * thick**3 / 12,
    )  # fmt: skip
    off = math.hypot(load[1] / load[0], wood.u_modulus / wood.modulus)
    held = float(bent.held.max())
    buckles = euler(wood.modulus * broad * thin**3 / 12, tall) if tall / thin <= SLENDER else 0.0
    under = rule.pad * (min(rule.pad, unit.threshold_width) if place == "threshold" else rule.pad)
    return Brace(
        place=place,
        y=unit.drain.y if place == "drain" else unit.inside_depth + unit.threshold_width / 2,
        left=left,
        length=length,
        section=section,
        feet=feet,
        posts=posts,
        post_section=post,
        post_length=post_length,
        u_post=head.u,
        head=head,
        load=load[0],
        u_load=load[1],
        moved=float(bent.moved.max()),
        u_moved=float(bent.moved.max()) * off,
        stress=bent.moment / (wide * thick**2 / 6),
        held=held,
        safety=buckles / held,
        u_safety=max(buckles / held * off, 1e-9),
        pressure=each / under,
    )


def _floor_at(unit: UnitModel, place: Place, x: float) -> float:
    """Of the floor over the drain, or of the threshold's top over itself, m."""
    if place == "threshold":
        return 0.0
    return float(moulded(unit, np.array([x]), np.array([unit.drain.y]))[0])


def _feet(unit: UnitModel, place: Place, most: float, materials: Materials) -> tuple[Foot, ...]:
    """Feet along the board, clear of the walls and of the drain, so many that none presses too hard under `most`, N."""
    rule = materials.braces
    first, last = _CLEAR + rule.pad / 2, unit.inside_width - _CLEAR - rule.pad / 2
    spans = [(first, last)]
    under = rule.pad * min(rule.pad, unit.threshold_width)
    if place == "drain":
        keep = unit.drain.radius + _CLEAR + rule.pad / 2
        spans = [(a, b) for a, b in ((first, unit.drain.x - keep), (unit.drain.x + keep, last)) if b >= a]
        under = rule.pad**2
    wanted = math.ceil(most / (rule.pressure * under))
    along = sum(b - a for a, b in spans)
    places: list[float] = []
    for a, b in spans:
        room = math.floor((b - a) / rule.pad) + 1
        asked = max(math.ceil((b - a) / rule.apart) + 1, math.ceil(wanted * (b - a) / along) if along else wanted)
        places += np.linspace(a, b, max(min(asked, room), 1)).tolist()
    top = max(_floor_at(unit, place, x) for x in places)
    return tuple(Foot(x, rule.foot + top - _floor_at(unit, place, x)) for x in places)


def _chances(brace: Brace, materials: Materials) -> dict[str, float]:
    """Chance that each limit is kept."""
    rule, loaded = materials.braces, brace.u_load / brace.load
    return {
        "movement": conformance(brace.moved, brace.u_moved, None, rule.movement),
        "strength": conformance(brace.stress, brace.stress * loaded, None, materials.lumber.strength),
        "posts": conformance(brace.safety, brace.u_safety, SAFETY, None),
        "pressure": conformance(brace.pressure, brace.pressure * loaded, None, rule.pressure),
    }


def _chance(brace: Brace, materials: Materials) -> float:
    return min(_chances(brace, materials).values())


def cut_list(found: Sequence[Brace]) -> tuple[Piece, ...]:
    """Boards, head plates, posts and feet, longest first; lengths to the 1/16 in that a saw keeps."""
    counted: Counter[tuple[str, Section, float]] = Counter()
    for brace in found:
        for what, section, length, count in (
            ("board", brace.section, brace.length, 1),
            ("head plate", brace.section, brace.length, 1),
            ("post", brace.post_section, brace.post_length, len(brace.posts)),
            *(("foot", brace.section, foot.height, 1) for foot in brace.feet),
        ):
            counted[what, section, round(length / INCH * 16) / 16 * INCH] += count
    pieces = (Piece(what, section, length, count) for (what, section, length), count in counted.items())
    return tuple(sorted(pieces, key=lambda piece: (-piece.length, piece.what)))


def brace_findings(found: Sequence[Brace], materials: Materials, risk: float) -> tuple[Finding, ...]:
    """Of both braces the worse: movement, bending, buckling, pressure on the gelcoat, and whether the posts fit."""
    rule = materials.braces
    worst = {
        name: min(found, key=lambda brace: _chances(brace, materials)[name])
        for name in ("movement", "strength", "posts", "pressure")
    }
    m, s, p, g = worst["movement"], worst["strength"], worst["posts"], worst["pressure"]
    stronger = "Bring stronger lumber to the site, or say in job.toml which there is."
    return (
        _limit("movement", m, materials, risk, (m.moved, m.u_moved, "m"),
               ("Rise of the floor under its braces", f"at most {format_length(rule.movement, denominator=64)}"
                if rule.movement >= INCH / 64 else f"at most {rule.movement / INCH:.4f} in"), stronger),
        _limit("strength", s, materials, risk, (s.stress, s.stress * s.u_load / s.load, "Pa"),
               ("Bending of a board", f"at most {_psi(materials.lumber.strength)}"), stronger),
        _limit("posts", p, materials, risk, (p.safety, p.u_safety, "1"),
               ("Load at which a post buckles over what it holds", f"at least {SAFETY:g}"),
               f"Tie the posts to each other at half their height, or use thicker ones. {stronger}"),
        _limit("pressure", g, materials, risk, (g.pressure, g.pressure * g.u_load / g.load, "Pa"),
               ("Pressure of a padded foot on the gelcoat", f"at most {_psi(rule.pressure)}"),
               "Use larger pads."),
        _length(found, materials, risk),
    )  # fmt: skip


def _limit(
    name: str,
    brace: Brace,
    materials: Materials,
    risk: float,
    value: tuple[float, float, str],
    words: tuple[str, str],
    mend: str,
) -> Finding:
    chance = _chances(brace, materials)[name]
    verdict = decide(chance, Certainty.PRACTICE, risk)
    what, limit = words
    return Finding(
        id=f"brace/{name}",
        what=f"{what}, over the {brace.place}",
        value=value[0],
        u=value[1],
        unit=value[2],
        limit=limit,
        probability=chance,
        verdict=verdict,
        source=PRACTICE,
        advice="" if verdict is Verdict.MEETS else mend,
    )


def _length(found: Sequence[Brace], materials: Materials, risk: float) -> Finding:
    """A post that is cut by what is known fits where its wedges take up what is not."""
    reach, longest = materials.braces.reach, materials.lumber.longest
    worst = max(found, key=lambda brace: brace.u_post)
    chance = conformance(0.0, worst.u_post, -reach, reach)
    verdict = decide(chance, Certainty.PRACTICE, risk)
    advice = ""
    if any(brace.post_length <= 0 or brace.post_length > longest for brace in found):
        verdict, advice = (
            Verdict.FAILS,
            "No post of this length can be cut: wedge against framing nearer to the unit.",
        )
    elif verdict is not Verdict.MEETS:
        # A post that may not fit is measured again, never condemned.
        verdict = Verdict.NOT_PROVEN
        advice = f"Measure from the unit up to the ceiling or the framing over the {worst.place} before a post is cut."
    return Finding(
        id="brace/length",
        what=f"Length of the posts over the {worst.place}",
        value=worst.post_length,
        u=worst.u_post,
        unit="m",
        limit=f"within {format_length(reach)} either way of what the wedges fill",
        probability=chance,
        verdict=verdict,
        source=PRACTICE,
        advice=advice,
    )


def _psi(pascals: float) -> str:
    return f"{pascals / 6894.757293168361:.0f} psi"
