"""The stream into the drain against time: `stream_svg`, STREAM_HEIGHT mm high."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from drainward.quantity import format_duration, format_flow, parse_flow
from drainward.report.ink import ASK, GREY, INK, line, text
from drainward.report.labels import Labels
from drainward.report.labels import Spot as Place
from drainward.report.plan_svg import label
from drainward.report.water_still import Stream
from drainward.report.water_words import spread

__all__ = ["STREAM_HEIGHT", "stream_svg"]

_ABOVE, _PLOT, _BELOW, _SIDE = 8.5, 22.0, 5.0, 14.0
"""Words above, the plot, words below it, and on each side, mm."""
STREAM_HEIGHT = _ABOVE + _PLOT + _BELOW
_ROOM = 0.92  # of the plot's height up to the greatest flow
_GPM = parse_flow("1 gpm").value
_TICKS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800)
_STEPS = (0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 25.0)


class _Axes:
    """Seconds and m3/s to mm."""

    def __init__(self, stream: Stream, left: float, top: float, width: float) -> None:
        self.left, self.right = left + _SIDE, left + width - _SIDE
        self.top, self.bottom = top + _ABOVE, top + _ABOVE + _PLOT
        self.peak = max(stream.pour, *stream.flow)
        self._end = stream.end

    def x(self, seconds: float) -> float:
        """What lies beyond the end of the axis stands at its end."""
        return self.left + min(seconds / self._end, 1.0) * (self.right - self.left)

    def y(self, flow: float) -> float:
        return self.bottom - _ROOM * _PLOT * flow / self.peak


def stream_svg(stream: Stream, left: float, top: float, width: float) -> list[str]:
    """The graph with its words: the pour dashed, the stream filled, when it ends over the drawn floors as a bracket.

    left, top, width : of the whole, mm
    """
    axes = _Axes(stream, left, top, width)
    labels = Labels((left, top, left + width, axes.bottom))
    curve = "L".join(f"{axes.x(t):.2f} {axes.y(q):.2f}" for t, q in zip(stream.t, stream.flow, strict=True))
    filled = f"M{axes.left:.2f} {axes.bottom:.2f}L{curve}L{axes.x(stream.t[-1]):.2f} {axes.bottom:.2f}Z"
    pour = f"M{axes.left:.2f} {axes.y(stream.pour):.2f}H{axes.x(stream.over):.2f}V{axes.bottom:.2f}"
    frame = f"M{axes.left:.2f} {axes.top:.2f}V{axes.bottom:.2f}H{axes.right:.2f}"
    return [
        _band(stream, axes),
        f'<path d="{filled}" fill="#bcd7e8"/>',
        f'<path d="{pour}" fill="none" stroke="{INK}" stroke-width="0.35" stroke-dasharray="1.4 0.9"/>',
        f'<path d="M{curve}" fill="none" stroke="{INK}" stroke-width="0.6" stroke-linejoin="round"/>',
        f'<path d="{frame}" fill="none" stroke="{INK}" stroke-width="0.3"/>',
        *_flows(axes),
        *_times(stream, axes),
        *_ends(stream, axes, labels),
        *_watches(stream, axes, labels),
        _words(labels, "poured", axes.x(stream.over) + 0.8, axes.y(stream.pour) + 2.6, INK),
        _words(labels, "into the drain", axes.left + 1.0, axes.bottom - 1.4, INK),
    ]


def _band(stream: Stream, axes: _Axes) -> str:
    low, high = axes.x(stream.drained.low), axes.x(stream.drained.high)
    return f'<rect x="{low:.2f}" y="{axes.top}" width="{high - low:.2f}" height="{_PLOT}" fill="#eeeeee"/>'


def _ends(stream: Stream, axes: _Axes, labels: Labels) -> Iterator[str]:
    """A bracket from the early to the late end of the band, open where it has none, with the likeliest time in it."""
    drained = stream.drained
    low, likely, high = (axes.x(time) for time in (drained.low, drained.likely, drained.high))
    y = axes.top - 1.6
    yield line(low, y, high, y, INK, 0.5) + line(low, y - 0.9, low, y + 0.9, INK, 0.5)
    if math.isfinite(drained.high):
        yield line(high, y - 0.9, high, y + 0.9, INK, 0.5)
    else:
        yield line(high, y, high - 1.6, y - 0.9, INK, 0.5) + line(high, y, high - 1.6, y + 0.9, INK, 0.5)
    if math.isfinite(drained.likely):
        yield line(likely, y - 1.2, likely, axes.bottom, INK, 0.5)
    anchor = "end" if likely > (axes.left + axes.right) / 2 else "start"
    words = f"drained {spread(drained, 's')}"
    yield label(labels, words, 2.5, INK, ((axes.right if anchor == "end" else low, y - 2.4, anchor),), bold=True)


def _watches(stream: Stream, axes: _Axes, labels: Labels) -> Iterator[str]:
    """A triangle on the axis where a watch was stopped."""
    y = axes.bottom
    for watch in stream.timed:
        x = axes.x(watch.seconds)
        labels.block((x - 1.3, y - 2.4, x + 1.3, y))
        yield f'<path d="M{x:.2f} {y:.2f}l1.3 -2.4h-2.6Z" fill="{ASK}" stroke="#fff" stroke-width="0.3"/>'
    for watch in stream.timed:
        x = axes.x(watch.seconds)
        spots: tuple[Place, ...] = tuple(
            (x + side * 1.8, y - up, "start" if side > 0 else "end") for side in (1, -1) for up in (1.0, 4.0, 7.0)
        )
        yield label(labels, watch.label, 2.4, ASK, spots, bold=True)


def _words(labels: Labels, words: str, x: float, y: float, colour: str) -> str:
    spots: tuple[Place, ...] = ((x, y, "start"), (x, y - 3.5, "start"), (x, y + 3.5, "start"))
    return label(labels, words, 2.4, colour, spots)


def _flows(axes: _Axes) -> Iterator[str]:
    """Four flows at most, in trade units on the left and SI on the right."""
    step = next((step for step in _STEPS if axes.peak / _GPM / step <= 4), _STEPS[-1])
    for k in range(int(axes.peak / _GPM / step + 1e-9) + 1):
        flow = k * step * _GPM
        y = axes.y(flow)
        yield line(axes.left - 1, y, axes.left, y, INK, 0.2)
        yield text(axes.left - 1.5, y + 0.7, format_flow(flow) if k else "0", 2.0, GREY, 'text-anchor="end"')
        if k:
            yield text(axes.right + 1.0, y + 0.7, format_flow(flow, "L/min"), 2.0, GREY)


def _times(stream: Stream, axes: _Axes) -> Iterator[str]:
    step = next((step for step in _TICKS if stream.end / step <= 8), _TICKS[-1])
    for time in np.arange(0.0, stream.end, step):
        x = axes.x(time)
        yield line(x, axes.bottom, x, axes.bottom + 1, INK, 0.2)
        words = format_duration(float(time)) if time else "0"
        yield text(x, axes.bottom + 3.4, words, 2.0, GREY, 'text-anchor="middle"')
