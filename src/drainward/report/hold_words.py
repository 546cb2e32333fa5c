"""Screws, braces, clock and support of one room in a crew's words, for terminal, page and paper.

turn_rows, TURN_HEAD      each screw in its order
brace_rows, BRACE_HEAD    each brace;  piece_rows, PIECE_HEAD : what to cut
clock_lines               how old the bed is, and from when braces may come off and water may be poured
law_rows, LAW_HEAD        the same by each law
support_lines             taps and presses, hollow places, what may stay
"""

from __future__ import annotations

import math
from datetime import datetime
from zoneinfo import ZoneInfo

from drainward.hold.clock import Clock
from drainward.hold.stage import BracePlan, FastenPlan
from drainward.hold.support import Supported
from drainward.quantity import format_duration, format_length, format_mass

__all__ = [
    "BRACE_HEAD",
    "LAW_HEAD",
    "PIECE_HEAD",
    "TURN_HEAD",
    "brace_rows",
    "clock_lines",
    "law_rows",
    "piece_rows",
    "support_lines",
    "turn_rows",
]

TURN_HEAD = ("screw", "flange", "along the wall", "up", "into")
BRACE_HEAD = ("brace over the", "board", "feet at, from the left", "posts", "holds down")
PIECE_HEAD = ("piece", "section", "length", "count")
LAW_HEAD = ("law", "age at 70 °F", "old enough")

_GRAVITY = 9.80665


def turn_rows(plan: FastenPlan) -> tuple[tuple[str, ...], ...]:
    """A row a screw."""
    return tuple((str(t.number), t.run, format_length(t.at), format_length(t.z), t.wood) for t in plan.turns)


def brace_rows(plan: BracePlan) -> tuple[tuple[str, ...], ...]:
    """A row a brace."""
    rows = []
    for brace in plan.braces:
        board = f"{brace.section}, {format_length(brace.length)}, {format_length(brace.y)} from the back"
        feet = ", ".join(format_length(foot.x) for foot in brace.feet)
        long = f"{format_length(brace.post_length)} ± {format_length(brace.u_post)}"
        posts = f"{len(brace.posts)} of {brace.post_section}, {long}"
        held = f"{format_mass(brace.load / _GRAVITY)} ± {format_mass(brace.u_load / _GRAVITY)}"
        rows.append((brace.place, board, feet, posts, held))
    return tuple(rows)


def piece_rows(plan: BracePlan) -> tuple[tuple[str, ...], ...]:
    """A row for pieces alike."""
    return tuple((p.what, p.section, format_length(p.length), str(p.count)) for p in plan.pieces)


def clock_lines(clock: Clock, zone: str) -> tuple[str, ...]:
    """Sentences; zone : of the clock on the wall, a name of the tz database."""
    age, needed = f"{format_duration(clock.age)} ± {format_duration(clock.u)}", format_duration(clock.needed)
    now = f"Placed {_at(clock.placed, zone)}; by {_at(clock.now, zone)} it is as old as {age} at 70 °F"
    lines = [f"{now} by the slowest law ({clock.law}); it needs {needed}."]
    if clock.may is None:
        lines.append("As cold as it may get it never gets old enough: warm the slab.")
    elif clock.may <= clock.now:
        lines.append(f"Braces may come off and water may be poured since {_at(clock.may, zone)}.")
    else:
        left = format_duration((clock.may - clock.now).total_seconds())
        lines.append(f"Braces stay, and no water, until {_at(clock.may, zone)}: {left} from now.")
    if clock.ready is not None and clock.earliest is not None:
        latest = "never" if clock.latest is None else _at(clock.latest, zone)
        lines.append(
            f"If the slab stays as it was last read: {_at(clock.ready, zone)}; warmer {_at(clock.earliest, zone)}, "
            f"colder {latest}."
        )
    return (*lines, *clock.assumed)


def law_rows(clock: Clock, zone: str) -> tuple[tuple[str, ...], ...]:
    """A row a law of equivalent age."""
    return tuple(
        (row.law, format_duration(row.age), "never" if row.ready is None else _at(row.ready, zone))
        for row in clock.by_law
    )


def support_lines(found: Supported) -> tuple[str, ...]:
    """Sentences."""
    taps, hollow, presses = len(found.heard.tx), int(found.heard.hollow.sum()), len(found.heard.px)
    lines = [f"{taps} taps, {hollow} hollow; {presses} presses."]
    for place in found.hollows:
        stays = "may stay" if place.stays else "may not stay"
        lines.append(
            f"Hollow near {format_length(place.x)} from the left, {format_length(place.y)} from the back, about "
            f"{format_length(place.across)} across ({100 * place.chance:.0f} % likely): {stays}."
        )
    stay = found.stay
    lines.append(
        f"A round void may stay up to {_wide(stay.widest(False))} where the panel can lift off its bed, up to "
        f"{_wide(stay.widest(True))} where it sticks."
    )
    return tuple(lines)


def _wide(length: float) -> str:
    return format_length(length) if math.isfinite(length) else "any width under this floor"


def _at(when: datetime, zone: str) -> str:
    return when.astimezone(ZoneInfo(zone)).strftime("%a %b %d, %H:%M")
