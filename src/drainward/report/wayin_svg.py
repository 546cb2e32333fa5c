"""The way in, drawn: `wayin_svg`, the plan, the box at every turn, and its tightest place with what is left there."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drainward.quantity import format_length
from drainward.report.ink import ASK, GREY, INK, WARN, WATER, Sheet, area, circle, line, text
from drainward.wayin import Carry, Plan, WayIn, barriers

__all__ = ["wayin_svg"]

_WIDE, _TALL, _EDGE, _WORDS = 180.0, 120.0, 5.0, 14.0


def wayin_svg(answer: WayIn, plan: Plan) -> str:
    """The clearest way of `answer` on its plan, a whole SVG document in mm, at most 190 wide."""
    best = answer.carries[0]
    faces, names = barriers(plan, best.height)
    low, high = (f(faces.reshape(-1, 2), axis=0) for f in (np.min, np.max))
    span = np.maximum(high - low, 0.1)
    scale = min(_WIDE / span[0], _TALL / span[1])
    wide, tall = 2 * _EDGE + span[0] * scale, 2 * _EDGE + _WORDS + span[1] * scale
    # y runs up the plan and down the paper
    sheet = Sheet(_EDGE - low[0] * scale, _EDGE + high[1] * scale, scale)
    parts = [*_swept(sheet, best), *_walls(sheet, faces, names), *_marks(sheet, best), _foot(best, tall)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.1f} {tall:.1f}" width="{wide:.1f}mm" '
        f'height="{tall:.1f}mm">'
    )
    return head + f'<rect width="{wide:.1f}" height="{tall:.1f}" fill="#fff"/>' + "".join(parts) + "</svg>"


def _walls(sheet: Sheet, faces: NDArray[np.float64], names: tuple[str, ...]) -> Iterator[str]:
    for (x, y, x2, y2), name in zip(faces, names, strict=True):
        wall = name.startswith(("wall", "door"))
        ends = (*sheet.at(x, -y), *sheet.at(x2, -y2))
        yield line(*ends, INK if wall else GREY, 0.5 if wall else 0.3, "" if wall else 'stroke-dasharray="1.5 1"')


def _swept(sheet: Sheet, best: Carry) -> Iterator[str]:
    """The box where it has moved on by a third of its length, or turned by a sixth of a right angle."""
    last = None
    for pose in (*best.poses, best.poses[-1]):
        moved = math.inf if last is None else math.dist(pose[:2], last[:2]) / best.length * 3
        turned = 0.0 if last is None else abs(pose[2] - last[2]) / math.radians(15)
        if max(moved, turned) >= 1:
            last = pose
            yield area(sheet, (_ring(pose, best),), WATER, f'fill-opacity="0.12" stroke="{WATER}" stroke-width="0.2"')
    path = "L".join(f"{x:.2f} {y:.2f}" for x, y in (sheet.at(p[0], -p[1]) for p in best.poses))
    yield f'<path d="M{path}" fill="none" stroke="{WATER}" stroke-width="0.5"/>'


def _marks(sheet: Sheet, best: Carry) -> Iterator[str]:
    nearest = int(np.argmin(np.hypot(best.poses[:, 0] - best.x, best.poses[:, 1] - best.y)))
    yield area(sheet, (_ring(best.poses[nearest], best),), "none", f'stroke="{ASK}" stroke-width="0.8"')
    x, y = sheet.at(best.x, -best.y)
    words = f"{format_length(best.low)} left" if best.low > 0 else f"lacks {format_length(-best.low)}"
    yield circle(x, y, 1.0, ASK) + text(x, y - 2, words, 3.2, ASK if best.low > 0 else WARN, 'text-anchor="middle"')
    for name, pose in (("start", best.poses[0]), ("end", best.poses[-1])):
        px, py = sheet.at(pose[0], -pose[1])
        yield circle(px, py, 1.0, "#fff", INK, 0.5) + text(px + 1.8, py + 0.9, name, 2.6)


def _foot(best: Carry, tall: float) -> str:
    bounds = f"proved between {format_length(best.low, 'mm')} and {format_length(best.high, 'mm')}"
    says = f"Unit {best.how}; tightest at {' and '.join(best.touches[:2])}"
    return text(_EDGE, tall - 8.5, says, 3.0) + text(_EDGE, tall - 4.0, bounds, 2.6, GREY)


def _ring(pose: NDArray[np.float64], best: Carry) -> tuple[tuple[float, float], ...]:
    c, s = math.cos(pose[2]), math.sin(pose[2])
    corners = ((1, 1), (-1, 1), (-1, -1), (1, -1))
    halves = [(i * best.length / 2, j * best.width / 2) for i, j in corners]
    return tuple((pose[0] + c * u - s * v, -(pose[1] + s * u + c * v)) for u, v in halves)
