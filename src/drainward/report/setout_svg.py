"""The walls of a pocket in elevation, for whoever drills and blocks them: `setout_svg`.

Elevation   one wall: its wood, its flanges with their holes, its zones, the blocking to add, what stands in the way
elevations  those of a set-out;  Face, faces : where each lies on the paper;  studs : the wood of one
setout_svg  the three walls side by side, unfolded as seen from inside: left, back, right

Readable in grey: wood that stands is plain, wood to add is hatched under a heavy dashed line, a hole without wood as
the wall stands is a ring and any other a dot. Running measures of the holes are from the corner, as a tape is hooked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drainward.pocket.backing import Conflict
from drainward.pocket.limits import outline
from drainward.pocket.setout import Blocking, FramedWall, Hole, Layout
from drainward.pocket.shape import Wall
from drainward.pocket.stage import SetOut
from drainward.pocket.zones import Zone
from drainward.quantity import format_length
from drainward.report.ink import FONT, GREY, INK, WARN, WATER, circle, line, patterns, text
from drainward.report.labels import Labels, around

__all__ = ["Elevation", "Face", "elevations", "faces", "setout_svg", "studs"]

WIDTH = 190.0
"""Of the drawing, mm on paper."""
SIDE, GAP, TOP, FOOT = 6.0, 9.0, 15.0, 15.0
"""Margins, mm: at the sides, between walls, above for the running measures, below for the floor's name and the key."""
WOOD = "#efe6d2"


@dataclass(frozen=True, slots=True)
class Elevation:
    """One wall to draw.

    length, height : of the wall that is drawn, m;  offset : from where its studs are measured to the unit's inside, m
    """

    wall: FramedWall
    length: float
    height: float
    layouts: tuple[Layout, ...] = ()
    zones: tuple[Zone, ...] = ()
    add: tuple[Blocking, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    offset: float = 0.0


def elevations(answer: SetOut) -> tuple[Elevation, ...]:
    """The walls of a set-out as high and as long as its unit; none where no wood of a wall was measured."""
    unit, shape = answer.unit, outline(answer.unit)
    return tuple(
        Elevation(
            wall=wood,
            length=unit.outside_width if wall is Wall.BACK else unit.outside_depth,
            height=unit.outside_height,
            layouts=tuple(layout for layout in answer.layouts if layout.run.wall is wall),
            zones=tuple(zone for zone in answer.zones if zone.wall is wall),
            add=tuple(piece for backing in answer.backings if backing.zone.wall is wall for piece in backing.add),
            conflicts=tuple(conflict for conflict in answer.conflicts if conflict.zone.wall is wall),
            offset=-shape.left if wall is Wall.BACK else -shape.back,
        )
        for wall, wood in answer.walls.items()
    )


@dataclass(frozen=True, slots=True)
class Face:
    """Where a wall lies on the paper; the left wall is seen from inside, so its back corner is at its right."""

    left: float
    floor: float
    scale: float
    length: float
    height: float
    turned: bool

    @property
    def top(self) -> float:
        """Of the drawn wall, mm."""
        return self.y(self.height)

    def x(self, at: float) -> float:
        return self.left + (self.length - at if self.turned else at) * self.scale

    def y(self, z: float) -> float:
        return self.floor - z * self.scale

    def box(self, start: float, end: float, low: float, high: float) -> str:
        """The attributes of a rectangle from place to place along the wall, and height to height."""
        a, b = sorted((self.x(start), self.x(end)))
        top, bottom = self.y(high), self.y(low)
        return f'x="{a:.2f}" y="{top:.2f}" width="{b - a:.2f}" height="{bottom - top:.2f}"'


def setout_svg(elevations: Sequence[Elevation]) -> str:
    """The picture as SVG, 190 mm wide; walls in the order left, back, right. Raises ValueError when there is none."""
    if not elevations:
        raise ValueError("expected one wall or more to draw")
    walls, floor = faces(elevations)
    height = floor + FOOT
    labels = Labels((0.0, 0.0, WIDTH, floor))
    drawn: list[str] = []
    words: list[str] = []
    for elevation, face in walls:
        drawn.extend(_wall(elevation, face))
        words.extend(_words(elevation, face, labels))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {height:.1f}" width="{WIDTH:g}mm" '
        f'height="{height:.1f}mm" role="img" aria-label="{_spoken([elevation for elevation, _ in walls])}" {FONT}>'
        f'<rect width="100%" height="100%" fill="#fff"/>{patterns()}'
        + "".join([*drawn, *words, *_key(floor + 9.0)])
        + "</svg>"
    )


def faces(elevations: Sequence[Elevation]) -> tuple[list[tuple[Elevation, Face]], float]:
    """The walls side by side to one scale, left, back, right, and the height of their floor on the paper, mm."""
    walls = sorted(elevations, key=lambda e: e.wall.wall)
    room = WIDTH - 2 * SIDE - GAP * (len(walls) - 1)
    scale = min(room / sum(e.length for e in walls), 120.0 / max(e.height for e in walls))
    floor = TOP + max(e.height for e in walls) * scale
    left = SIDE + (room - scale * sum(e.length for e in walls)) / 2
    found = []
    for elevation in walls:
        turned = elevation.wall.wall is Wall.LEFT
        found.append((elevation, Face(left, floor, scale, elevation.length, elevation.height, turned)))
        left += elevation.length * scale + GAP
    return found, floor


def studs(elevation: Elevation, face: Face) -> Iterable[str]:
    """The wall's wood as it stands."""
    for stud in elevation.wall.studs:
        box = face.box(stud.at - stud.width / 2, stud.at + stud.width / 2, 0.0, elevation.height)
        yield f'<rect {box} fill="{WOOD}" stroke="{GREY}" stroke-width="0.2"/>'
    for piece in elevation.wall.blocking:
        box = face.box(piece.start, piece.end, piece.bottom, piece.top)
        yield f'<rect {box} fill="{WOOD}" stroke="{GREY}" stroke-width="0.35"/>'


def _wall(elevation: Elevation, face: Face) -> Iterable[str]:
    length, height = elevation.length, elevation.height
    yield from studs(elevation, face)
    for piece in _added(elevation):
        box = face.box(piece.start, piece.end, piece.bottom, piece.top)
        yield f'<rect {box} fill="url(#take-out)" stroke="{WARN}" stroke-width="0.5" stroke-dasharray="1.4 0.8"/>'
    for zone in elevation.zones:
        yield _zone(zone, elevation, face)
    for layout in elevation.layouts:
        run = layout.run
        sides = (
            (run.start, run.end, run.low, run.high) if run.way == "along" else (run.low, run.high, run.start, run.end)
        )
        yield f'<rect {face.box(*sides)} fill="none" stroke="{INK}" stroke-width="0.25"/>'
        for hole in layout.holes:
            yield _hole(hole, face)
    yield line(face.x(0.0), face.floor, face.x(length), face.floor, INK, 0.9)
    yield line(face.x(0.0), face.floor, face.x(0.0), face.y(height), INK, 0.5)


def _added(elevation: Elevation) -> list[Blocking]:
    return [*elevation.add, *(piece for layout in elevation.layouts for piece in layout.add)]


def _zone(zone: Zone, elevation: Elevation, face: Face) -> str:
    if not zone.possible:
        return ""
    start, end = zone.start + elevation.offset, zone.end + elevation.offset
    high = max(zone.high, zone.low + 0.006)
    blocked = any(conflict.zone == zone for conflict in elevation.conflicts)
    colour = WARN if blocked else WATER
    fill = {"grab bar": colour, "seat": colour, "controls": "url(#possible)"}[zone.kind]
    opacity = "1" if zone.kind == "controls" else "0.22"
    box = face.box(start, end, zone.low, high)
    dashed = ' stroke-dasharray="1 0.7"' if zone.kind == "controls" else ""
    return f'<rect {box} fill="{fill}" fill-opacity="{opacity}" stroke="{colour}" stroke-width="0.4"{dashed}/>'


def _hole(hole: Hole, face: Face) -> str:
    x, y = face.x(hole.at), face.y(hole.z)
    if hole.wood == "blocking to add":
        return circle(x, y, 0.95, "#fff", WARN, 0.55)
    return circle(x, y, 0.6, INK)


def _words(elevation: Elevation, face: Face, labels: Labels) -> Iterable[str]:
    """The wall's name, the holes' running measures, then zones, what stands in their way, and pieces to add."""
    middle = face.x(elevation.length / 2)
    yield text(middle, face.floor + 3.6, f"{elevation.wall.wall.name.lower()} wall", 2.5, INK, 'text-anchor="middle"')
    corner = face.x(0.0)
    yield text(corner, face.floor + 3.4, "0", 2.0, GREY, 'text-anchor="middle"')
    for layout in elevation.layouts:
        yield from _measures(layout, face, labels)
    for zone in elevation.zones:
        if zone.possible:
            x = face.x((zone.start + zone.end) / 2 + elevation.offset)
            # A height that was chosen is a line: its word stands over it, that of a range within.
            y = face.y(zone.high) - 2.4 if zone.asked is not None else face.y((zone.low + zone.high) / 2)
            blocked = [c for c in elevation.conflicts if c.zone == zone]
            colour = WARN if blocked else "#004a75"
            name = f"{zone.kind.removeprefix('grab ')} {zone.up}"
            yield _at(labels, name, 2.2, colour, x, y, bold=bool(blocked))
            for conflict in blocked:
                yield from _lines(labels, conflict.why, x, min(face.y(zone.high) - 1.6, y - 2.6))
    for zone in (z for z in elevation.zones if not z.possible):
        yield _at(labels, f"{zone.kind}: no height left by the rules", 2.2, WARN, middle, face.y(0.9), bold=True)
    for piece in _added(elevation):
        yield _piece_words(piece, face, labels)


def _piece_words(piece: Blocking, face: Face, labels: Labels) -> str:
    x, tall = face.x((piece.start + piece.end) / 2), piece.top - piece.bottom
    if tall > 4 * piece.length:
        return _at(labels, f"add a stud {format_length(tall)}", 2.0, WARN, x, face.y(piece.bottom + 0.3 * tall))
    return _at(labels, f"add {format_length(piece.length)}", 2.0, WARN, x, face.y(piece.bottom) + 2.0)


def _lines(labels: Labels, words: str, x: float, y: float) -> Iterable[str]:
    """Words over (x, y), broken to lines of at most 28 letters."""
    lines: list[str] = [""]
    for word in words.split():
        joined = f"{lines[-1]} {word}".strip()
        if len(joined) <= 28:
            lines[-1] = joined
        else:
            lines.append(word)
    for k, row in enumerate(reversed(lines)):
        yield _at(labels, row, 2.0, WARN, x, y - 2.6 * k)


def _at(labels: Labels, words: str, size: float, colour: str, x: float, y: float, bold: bool = False) -> str:
    base = y + size / 3
    aside = tuple((x + shift, base, "middle") for shift in (0.0, 4.0, -4.0, 8.0, -8.0))
    x, y, anchor = labels.insist(words, size, (*aside, *around(x, y, 2.4, size)))
    return text(x, y, words, size, colour, f'text-anchor="{anchor}"' + (' font-weight="bold"' if bold else ""))


def _measures(layout: Layout, face: Face, labels: Labels) -> Iterable[str]:
    """Each hole's measure from the corner, or up a standing flange from the floor."""
    for hole in layout.holes:
        x, y = face.x(hole.at), face.y(hole.z)
        if layout.run.way == "along":
            words = format_length(hole.at)
            top = face.top - 1.2
            yield line(x, y, x, top + 0.6, GREY, 0.12)
            yield text(x + 0.8, top, words, 2.1, INK, f'transform="rotate(-90 {x + 0.8:.2f} {top:.2f})"')
        else:
            words = format_length(hole.z)
            inward = 1.6 if face.turned else -1.6
            anchor = "start" if face.turned else "end"
            yield text(x + inward, y + 0.7, words, 2.0, INK, f'text-anchor="{anchor}"')
            width = 1.3 * len(words)
            a, b = sorted((x + inward, x + inward + (width if face.turned else -width)))
            labels.block((a, y - 1.2, b, y + 1.2))


def _key(y: float) -> Iterable[str]:
    x = SIDE
    yield circle(x + 0.8, y, 0.6, INK) + text(x + 2.6, y + 0.8, "hole in wood", 2.1)
    x += 26
    yield circle(x + 0.8, y, 0.95, "#fff", WARN, 0.55) + text(x + 2.8, y + 0.8, "hole in wood to add", 2.1)
    x += 36
    box = f'x="{x:.2f}" y="{y - 1.2:.2f}" width="5" height="2.4"'
    yield f'<rect {box} fill="url(#take-out)" stroke="{WARN}" stroke-width="0.5" stroke-dasharray="1.4 0.8"/>'
    yield text(x + 6.2, y + 0.8, "blocking to add, its length", 2.1)
    x += 48
    box = f'x="{x:.2f}" y="{y - 1.2:.2f}" width="5" height="2.4"'
    yield f'<rect {box} fill="{WATER}" fill-opacity="0.22" stroke="{WATER}" stroke-width="0.4"/>'
    yield text(x + 6.2, y + 0.8, "top of bar or seat within", 2.1)
    x += 42
    box = f'x="{x:.2f}" y="{y - 1.2:.2f}" width="5" height="2.4"'
    yield f'<rect {box} fill="url(#possible)" stroke="{WATER}" stroke-width="0.4" stroke-dasharray="1 0.7"/>'
    yield text(x + 6.2, y + 0.8, "controls within", 2.1)
    yield text(
        SIDE,
        y + 4.6,
        "Measured from the back corner, on the back wall from the left; heights from the floor.",
        2.0,
        GREY,
    )


def _spoken(walls: Sequence[Elevation]) -> str:
    holes = sum(len(layout.holes) for e in walls for layout in e.layouts)
    pieces = sum(len(_added(e)) for e in walls)
    return f"Walls from inside: {holes} holes, {pieces} pieces of blocking to add"
