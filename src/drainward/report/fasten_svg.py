"""The screws of a unit's flanges, each with its number, on the walls side by side as seen from inside: `fasten_svg`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from drainward.hold.fasten import Turn
from drainward.report.ink import FONT, GREY, INK, WARN, circle, line, patterns, text
from drainward.report.setout_svg import SIDE, WIDTH, Elevation, Face, faces, studs

__all__ = ["fasten_svg"]

_HEAD, _FOOT = 3.5, 11.0
"""Over the walls and under them, mm."""
_TO_ADD = "blocking to add"


def fasten_svg(elevations: Sequence[Elevation], turns: Iterable[Turn]) -> str:
    """The picture as SVG, 190 mm wide; walls in the order left, back, right. Raises ValueError when there is none.

    elevations : as `setout_svg.elevations` of the room's set-out;  turns : of the same holes
    """
    if not elevations:
        raise ValueError("expected one wall or more to draw")
    walls, floor = faces(elevations)
    top = min(face.top for _, face in walls) - _HEAD
    height = floor + _FOOT - top
    numbers = {(turn.run, turn.at, turn.z): turn for turn in turns}
    drawn = [part for elevation, face in walls for part in _wall(elevation, face, numbers)]
    parts = (f'<rect y="{top:.1f}" width="100%" height="100%" fill="#fff"/>', patterns(), *drawn, *_key(floor + 8.0))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {top:.1f} {WIDTH:g} {height:.1f}" width="{WIDTH:g}mm" '
        f'height="{height:.1f}mm" role="img" aria-label="{len(numbers)} screws, numbered in their order" {FONT}>'
        f"{''.join(parts)}</svg>"
    )


def _wall(elevation: Elevation, face: Face, numbers: Mapping[tuple[str, float, float], Turn]) -> Iterable[str]:
    yield from studs(elevation, face)
    yield line(face.x(0.0), face.floor, face.x(elevation.length), face.floor, INK, 0.9)
    middle = face.x(elevation.length / 2)
    yield text(middle, face.floor + 3.6, f"{elevation.wall.wall.name.lower()} wall", 2.5, INK, 'text-anchor="middle"')
    for layout in elevation.layouts:
        for hole in layout.holes:
            turn = numbers.get((layout.run.name, hole.at, hole.z))
            if turn is not None:
                yield _numbered(turn, face)


def _numbered(turn: Turn, face: Face) -> str:
    x, y = face.x(turn.at), face.y(turn.z)
    edge, weight = (WARN, 0.7) if turn.wood == _TO_ADD else (INK, 0.3)
    words = (
        f'<text x="{x:.2f}" y="{y + 0.85:.2f}" font-size="2.4" fill="{INK}" text-anchor="middle">{turn.number}</text>'
    )
    return circle(x, y, 2.1, "#fff", edge, weight) + words


def _key(y: float) -> Iterable[str]:
    yield circle(SIDE + 1.5, y, 1.5, "#fff", INK, 0.3) + text(SIDE + 4.2, y + 0.8, "a screw, in this order", 2.1)
    x = SIDE + 44
    yield circle(x, y, 1.5, "#fff", WARN, 0.7) + text(x + 2.7, y + 0.8, "needs blocking that is to be added first", 2.1)
    yield text(x + 56, y + 0.8, "walls as seen from inside", 2.1, GREY)
