"""Pictures of the takeoff, black on white: `mortar_svg` (bags by week), `stick_svg` (how one stick is sawn)."""

from __future__ import annotations

import math
from itertools import pairwise

from drainward.plan.cutting import Stick
from drainward.plan.sawing import SawDay
from drainward.plan.takeoff import MortarWeek, Takeoff
from drainward.report.ink import FONT, GREY, INK, line, text
from drainward.report.takeoff_words import cut_words, week_short

__all__ = ["mortar_svg", "stick_svg"]

_HIGH, _LEFT, _RIGHT, _TOP, _FOOT = 46.0, 13.0, 6.0, 11.0, 9.0
_WIDEST = 22.0
_BAND = 1.96
"""Of a normal, 95 % either way."""


def mortar_svg(found: Takeoff, width: float) -> str:
    """Bags by week, `width` mm wide: a bar for what its rooms take with its 95 % band, a line for what comes; or ""."""
    weeks = found.mortar
    if not weeks:
        return ""
    each = min((width - _LEFT - _RIGHT) / len(weeks), _WIDEST)
    most = max(max(week.bags + _BAND * week.u, week.come) for week in weeks)
    step = _step(most)
    top = max(math.ceil(most / step - 1e-9), 1) * step
    scale = (_HIGH - _TOP) / top
    parts = [text(1.5, 3.6, "bags of mortar", 2.8)]
    for k in range(round(top / step) + 1):
        y = _HIGH - k * step * scale
        parts.append(
            line(_LEFT, y, _LEFT + each * len(weeks), y, INK if k == 0 else "#c4c4c4", 0.3 if k == 0 else 0.15)
        )
        parts.append(text(_LEFT - 1.2, y + 1.0, f"{k * step:g}", 2.6, GREY, 'text-anchor="end"'))
    parts += _key()
    # Labels that would run into each other are left out, the first and every so manieth stays.
    every = math.ceil(11.0 / each)
    for k, week in enumerate(weeks):
        parts += _bar(_LEFT + k * each, each, week, scale, k % every == 0)
    height = _HIGH + _FOOT
    told = "; ".join(f"{week_short(w.week)}: {w.bags:.1f} ± {w.u:.1f}, {w.come} come" for w in weeks)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" {FONT} role="img" aria-label="bags of mortar by week: {told}">'
    )
    return "\n".join([head, *parts, "</svg>"])


def _step(most: float) -> float:
    """A round step that gives three to six lines."""
    rough = max(most, 1.0) / 4
    ten = 10.0 ** math.floor(math.log10(rough))
    return max(next(k * ten for k in (1, 2, 5, 10) if k * ten >= rough), 1.0)


def _key() -> list[str]:
    x, y = 34.0, 2.8
    return [
        _grey(x, y - 1.6, 4.0, 2.4),
        text(x + 5.2, y + 0.6, "its rooms take, 95 % band", 2.6),
        line(x + 50, y - 0.4, x + 56, y - 0.4, INK, 0.9),
        text(x + 57.4, y + 0.6, "comes for it", 2.6),
    ]


def _grey(x: float, y: float, wide: float, high: float) -> str:
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="#b9b9b9" stroke="{INK}" '
        'stroke-width="0.25"/>'
    )


def _bar(left: float, wide: float, week: MortarWeek, scale: float, named: bool) -> list[str]:
    middle, gap = left + wide / 2, wide * 0.18
    high = week.bags * scale
    low, up = (_HIGH - max(week.bags + sign * _BAND * week.u, 0.0) * scale for sign in (-1, 1))
    come = _HIGH - week.come * scale
    tick = min(1.2, wide / 6)
    parts = [
        _grey(left + gap, _HIGH - high, wide - 2 * gap, high),
        line(middle, low, middle, up, INK, 0.35),
        line(middle - tick, low, middle + tick, low, INK, 0.35),
        line(middle - tick, up, middle + tick, up, INK, 0.35),
        line(left + gap / 2, come, left + wide - gap / 2, come, INK, 0.9),
    ]
    if named:
        parts.append(text(middle, _HIGH + 3.6, week_short(week.week), 2.6, INK, 'text-anchor="middle"'))
        parts.append(text(middle, _HIGH + 7.0, f"{week.come} come", 2.4, GREY, 'text-anchor="middle"'))
    return parts


def stick_svg(stick: Stick, section: str, day: SawDay, width: float, longest: int) -> str:
    """One stick with its cuts, `width` mm for a stick of `longest` steps: letters and lengths, what is left hatched."""
    scale = (width - 0.6) / longest
    kerf = (stick.stock - sum(stick.pieces) - stick.offcut) / max(len(stick.pieces), 1)
    ends, at = [0.0], 0.0
    for piece in stick.pieces:
        at += piece + kerf
        ends.append(min(at, stick.stock))
    high, top = 5.4, 0.3
    parts = []
    for (a, b), piece in zip(pairwise(ends), stick.pieces, strict=True):
        x, wide = 0.3 + a * scale, (b - a) * scale
        parts.append(_box(x, top, wide, high, "#fff"))
        mark, length = day.mark(section, piece), cut_words(piece)
        words = f"{mark}  {length}" if wide > 2.0 * len(mark + length) else mark
        if wide > 2.4:
            parts.append(text(x + wide / 2, top + 3.8, words, 2.9, INK, 'text-anchor="middle" font-weight="bold"'))
    if ends[-1] < stick.stock:
        x = 0.3 + ends[-1] * scale
        parts.append(_box(x, top, (stick.stock - ends[-1]) * scale, high, "url(#left)"))
    hatch = (
        '<defs><pattern id="left" width="1.2" height="1.2" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<rect width="1.2" height="1.2" fill="#fff"/><path d="M0 .6H1.2" stroke="{INK}" stroke-width=".25"/>'
        "</pattern></defs>"
    )
    cuts = ", ".join(f"{day.mark(section, piece)} {cut_words(piece)}" for piece in stick.pieces).replace('"', " in")
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="6mm" viewBox="0 0 {width:.2f} 6" '
        f'{FONT} role="img" aria-label="cuts from the left: {cuts}">'
    )
    return "".join([head, hatch, *parts, "</svg>"])


def _box(x: float, y: float, wide: float, high: float, fill: str) -> str:
    return (
        f'<rect x="{x:.2f}" y="{y}" width="{max(wide, 0.1):.2f}" height="{high}" fill="{fill}" stroke="{INK}" '
        'stroke-width="0.4"/>'
    )
