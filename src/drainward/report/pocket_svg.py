"""A unit in its pocket as SVG for paper: `placement_svg`.

Plans at up to three heights with the gaps drawn wider than they are, then the three walls as they unfold, seen from
inside. Readable in grey: what holds the unit is filled or crossed, not only coloured.
"""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length
from drainward.report.ink import ASK, FONT, GREY, INK, WARN, Sheet, circle, line, text
from drainward.report.key import SWATCH, Item, Swatch, rows_height, rows_svg
from drainward.report.labels import Labels, Spot, around
from drainward.report.plan_svg import label
from drainward.report.pocket_picture import Face, Mark, PlacementPicture

__all__ = ["placement_svg"]

_EDGE, _SIDE, _HEAD, _NAME, _BETWEEN = 3.0, 15.0, 11.0, 6.0, 7.0
"""Margins of the sheet and beside a plan, the title's and a drawing's name's height, space between walls; mm."""

_GAP = 5.0  # the largest gap as drawn, mm
_HIGH = 75.0  # the walls at most, mm
_STUD = 1.5 * INCH
_SMALL = 2.1
_LETTER = 1.6  # width of a bold letter of 2.4, mm


def placement_svg(picture: PlacementPicture, width_mm: float) -> str:
    """One SVG document `width_mm` wide, opening side down. Raises ValueError when the width leaves no room."""
    if width_mm < 80:
        raise ValueError(f"a picture of a pocket is at least 80 mm wide, got {width_mm!r}")
    across = width_mm - 2 * _EDGE
    columns = len(picture.levels) if across >= 55 * len(picture.levels) else 1
    column = across / columns
    scale = min((column - 2 * _SIDE) / picture.width, 60.0)
    times = _times(picture, scale)
    cell = 2 * _SIDE - 6 + picture.depth * scale + _NAME
    parts: list[str] = []
    for k, height in enumerate(picture.levels):
        row, place = divmod(k, columns)
        left = _EDGE + place * column + (column - picture.width * scale) / 2
        sheet = Sheet(left, _HEAD + row * cell + _SIDE - 3, scale)
        parts += _plan(sheet, picture, k, height, times)
    top = _HEAD + cell * -(-len(picture.levels) // columns)
    walls, bottom = _walls(picture, top, across)
    items = _items(picture, times)
    total = bottom + 2 + rows_height(items, across)
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" height="{total:.2f}mm" '
        f'viewBox="0 0 {width_mm:.2f} {total:.2f}" {FONT} role="img" aria-label="the unit in its pocket">'
    )
    head = [text(_EDGE, 4.6, f"The unit {picture.title}.", 3.2, INK, 'font-weight="bold"')]
    if picture.change:
        letters = int((width_mm - 2 * _EDGE) / _LETTER)
        for line, words in enumerate(wrap(f"To let it in: {picture.change}.", letters)[:2]):
            head.append(text(_EDGE, 8.2 + 3.0 * line, words, 2.4, WARN, 'font-weight="bold"'))
    return "\n".join([opening, *head, *parts, *walls, *rows_svg(items, _EDGE, bottom + 2, across), "</svg>"])


def _times(picture: PlacementPicture, scale: float) -> int:
    """How many times wider than they are gaps are drawn."""
    largest = max((abs(face.gap) for face in picture.faces), default=0.0)
    return max(1, int(_GAP / (largest * scale))) if largest * scale > 0.1 else 40


def _plan(sheet: Sheet, picture: PlacementPicture, level: int, height: float, times: int) -> list[str]:
    x0, y0 = sheet.at(0, 0)
    x1, y1 = sheet.at(picture.width, picture.depth)
    labels = Labels((x0 - _SIDE, y0 - _SIDE + 3, x1 + _SIDE, y1 + _NAME))
    labels.block((x0, y0, x1, y1))
    faces = _nearest(face for face in picture.faces if face.level == level)
    drawn = [
        f'<rect x="{x0:.2f}" y="{y0:.2f}" width="{x1 - x0:.2f}" height="{y1 - y0:.2f}" fill="#eeeeee"/>',
        f'<path d="M{x0:.2f} {y1:.2f}V{y0:.2f}H{x1:.2f}V{y1:.2f}" fill="none" stroke="{INK}" stroke-width="0.5"/>',
        line(x0, y1, x1, y1, INK, 0.25, 'stroke-dasharray="2 1.2"'),
        *_drain(sheet, picture),
        *_line(sheet, picture, times),
    ]
    spots = [_stud(sheet, picture, face, times) for face in faces]
    drawn += [stud for stud, _ in spots]
    # What holds the unit is worded first: what comes later gives way.
    order = sorted(range(len(faces)), key=lambda k: (faces[k].mark == "", -abs(faces[k].gap)))
    drawn += [_word(labels, faces[k], spots[k][1]) for k in order]
    name = f"plan, {format_length(height)} up" if height > 1e-3 else "plan, at the floor"
    drawn.append(text((x0 + x1) / 2, y1 + 8.2, name, 2.5, INK, 'text-anchor="middle"'))
    return drawn


def _nearest(faces: Iterator[Face]) -> list[Face]:
    """One face a stud: that with the least gap."""
    found: dict[tuple[Wall, int], Face] = {}
    for face in faces:
        key = (face.wall, face.stud)
        if key not in found or face.gap < found[key].gap:
            found[key] = face
    return list(found.values())


def _stud(sheet: Sheet, picture: PlacementPicture, face: Face, times: int) -> tuple[str, tuple[Spot, ...]]:
    """The stud's face at its gap, a thin line across the gap, and where its word may stand."""
    gap, half = face.gap * times * sheet.scale, max(_STUD * sheet.scale / 2, 0.9)
    colour = _colour(face)
    weight = 1.1 if face.mark else 0.7
    if face.wall is Wall.BACK:
        x, y = sheet.at(face.along, 0)
        drawn = line(x, y, x, y - gap, GREY, 0.2) + line(x - half, y - gap, x + half, y - gap, colour, weight)
        drawn += _cross(x, y - gap, face)
        over = min(y, y - gap) - 1.0
        return drawn, ((x, over, "middle"), (x + 1.5, over, "start"), (x - 1.5, over, "end"), (x, over - 2.4, "middle"))
    left = face.wall is Wall.LEFT
    x, y = sheet.at(0 if left else picture.width, face.along)
    end = x - gap if left else x + gap
    drawn = line(x, y, end, y, GREY, 0.2) + line(end, y - half, end, y + half, colour, weight) + _cross(end, y, face)
    beyond = min(x, end) - 1.0 if left else max(x, end) + 1.0
    anchor = "end" if left else "start"
    return drawn, tuple((beyond, y + 0.75 + down, anchor) for down in (0.0, -2.2, 2.2, 4.0))


def _cross(x: float, y: float, face: Face) -> str:
    """In the way: a cross, so that it reads in grey."""
    if face.mark != "in the way":
        return ""
    return line(x - 0.9, y - 0.9, x + 0.9, y + 0.9, WARN, 0.4) + line(x - 0.9, y + 0.9, x + 0.9, y - 0.9, WARN, 0.4)


def _colour(face: Face) -> str:
    return {"": INK, "largest": ASK, "touches": WARN, "in the way": WARN}[face.mark]


def _word(labels: Labels, face: Face, spots: tuple[Spot, ...]) -> str:
    return label(labels, face.label, _SMALL, _colour(face), spots, bold=bool(face.mark))


def _drain(sheet: Sheet, picture: PlacementPicture) -> list[str]:
    """The drain's body in its core, both at their size and place."""
    drawn = []
    if picture.core is not None:
        x, y = sheet.at(*picture.core[:2])
        r = picture.core[2] * sheet.scale
        drawn.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" fill="#fff" stroke="{GREY}" stroke-width="0.3" '
            'stroke-dasharray="0.9 0.6"/>'
        )
    x, y = sheet.at(*picture.drain[:2])
    return [*drawn, circle(x, y, picture.drain[2] * sheet.scale, "#fff", INK, 0.35), circle(x, y, 0.35, INK)]


def _line(sheet: Sheet, picture: PlacementPicture, times: int) -> list[str]:
    """The line of the threshold's edge, as far off as gaps are drawn."""
    if picture.line is None:
        return []
    ends = [-off * times for off in picture.line]
    x0, y0 = sheet.at(0, picture.depth)
    x1, _ = sheet.at(picture.width, picture.depth)
    left, right = (y0 + off * sheet.scale for off in ends)
    return [line(x0 - 3, left, x1 + 3, right, INK, 0.35, 'stroke-dasharray="3 0.8 0.6 0.8"')]


def _walls(picture: PlacementPicture, top: float, across: float) -> tuple[list[str], float]:
    """The walls side by side as they unfold, seen from inside; and where they end, mm."""
    wide_all = 2 * picture.depth + picture.width
    scale = min((across - 2 * _BETWEEN) / wide_all, _HIGH / picture.height)
    left = _EDGE + (across - 2 * _BETWEEN - wide_all * scale) / 2
    drawn: list[str] = []
    base = top + 3 + picture.height * scale
    for wall, name in ((Wall.LEFT, "left wall"), (Wall.BACK, "back wall"), (Wall.RIGHT, "right wall")):
        wide = (picture.width if wall is Wall.BACK else picture.depth) * scale
        drawn += _wall(picture, wall, left, base, scale, wide)
        drawn.append(text(left + wide / 2, base + 4.0, name, 2.5, INK, 'text-anchor="middle"'))
        left += wide + _BETWEEN
    return drawn, base + 5.0


def _wall(picture: PlacementPicture, wall: Wall, left: float, base: float, scale: float, wide: float) -> Iterator[str]:
    """The unit's outline, its studs, and the shim at every surveyed face. base : y of the finished floor, mm."""
    high = picture.height * scale
    yield (
        f'<rect x="{left:.2f}" y="{base - high:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="#f4f4f4" '
        f'stroke="{INK}" stroke-width="0.3"/>'
    )
    faces = [face for face in picture.faces if face.wall is wall]

    def at(face: Face) -> tuple[float, float]:
        # The left wall is seen with the opening at the left.
        along = picture.depth - face.along if wall is Wall.LEFT else face.along
        return left + along * scale, base - face.z * scale

    labels = Labels((left - 3, base - high - 3, left + wide + 3, base + 1))
    for stud in sorted({face.stud for face in faces}):
        own = sorted((face for face in faces if face.stud == stud), key=lambda face: face.z)
        x = sum(at(face)[0] for face in own) / len(own)
        half = _STUD * scale / 2
        yield (
            f'<rect x="{x - half:.2f}" y="{base - high:.2f}" width="{2 * half:.2f}" height="{high:.2f}" fill="#fff" '
            f'stroke="{GREY}" stroke-width="0.2"/>'
        )
    for face in faces:
        x, y = at(face)
        labels.block((x - 1, y - 1, x + 1, y + 1))
    for face in sorted(faces, key=lambda face: (face.mark == "", -abs(face.gap))):
        x, y = at(face)
        yield _dot(x, y, face)
        spots = around(x, y, 1.4, _SMALL)
        yield _word(labels, face, spots[2:4] + spots[:2] + spots[4:])


def _dot(x: float, y: float, face: Face) -> str:
    if face.mark == "touches":
        return circle(x, y, 1.0, WARN, INK, 0.3)
    if face.mark == "largest":
        return circle(x, y, 1.0, "#fff", ASK, 0.6)
    if face.mark == "in the way":
        return circle(x, y, 1.0, "#fff", WARN, 0.3) + _cross(x, y, face)
    return circle(x, y, 0.6, INK)


def _items(picture: PlacementPicture, times: int) -> list[Item]:
    marks = {face.mark for face in picture.faces}
    items: list[Item] = [
        (_bar, f"stud face with the shim behind the flange; in the plans gaps are drawn {times} times as wide")
    ]
    named: tuple[tuple[Mark, str], ...] = (
        ("touches", "touches the unit and holds it: planing here lets the largest shim shrink"),
        ("largest", "largest shim, which holds the unit where it is: furring here lets it shrink"),
        ("in the way", "in the way: to be planed or moved back by so much"),
    )
    items += [(_marked(mark), words) for mark, words in named if mark in marks]
    if picture.core is not None:
        items.append((_hole, "core hole with the drain's body in it, at their size and place"))
    if picture.line is not None:
        items.append((_chain, "line of the threshold's edge, as much off as the gaps are"))
    return items


def _marked(mark: Mark) -> Swatch:
    face = Face(Wall.BACK, 0, 0.0, 0.0, 0.0, 0, "", mark)

    def draw(x: float, y: float) -> str:
        return _dot(x + SWATCH / 2, y, face)

    return draw


def _bar(x: float, y: float) -> str:
    middle = x + SWATCH / 2
    across = line(middle - 1.5, y - 1.2, middle + 1.5, y - 1.2, INK, 0.7)
    return line(middle, y - 1.2, middle, y + 1.2, GREY, 0.2) + across


def _hole(x: float, y: float) -> str:
    return circle(x + SWATCH / 2, y, 1.4, "#fff", GREY, 0.3) + circle(x + SWATCH / 2 + 0.2, y, 0.9, "#fff", INK, 0.3)


def _chain(x: float, y: float) -> str:
    return line(x, y, x + SWATCH, y, INK, 0.35, 'stroke-dasharray="3 0.8 0.6 0.8"')
