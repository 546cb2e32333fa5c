"""What holds a unit in plain words, for page and paper: screws in their order, braces, the clock of the bed.

Clock, clock_words   the clock of one bed by the clock on the wall
clock_line           the same in a line, while it runs
turn_rows            the screws in their order, a line for each row of holes
brace_lines          each brace in a sentence;  piece_rows : what to cut
support_lines        taps and presses, hollow places, what may stay
still_open           what stands in the way of a stage that answered, in sentences
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from drainward.finding import Verdict
from drainward.hold import clock as bed_clock
from drainward.hold.fasten import Turn
from drainward.hold.stage import BracePlan, Cure, FastenPlan
from drainward.hold.support import Supported, place_words, width_words
from drainward.job.materials import Site
from drainward.quantity import format_length

__all__ = [
    "Clock",
    "brace_lines",
    "clock_line",
    "clock_words",
    "piece_rows",
    "still_open",
    "support_lines",
    "turn_rows",
]

_HOUR = 3600.0
_UNKNOWN = "nobody wrote it down"
_NEVER = "never, as cold as it is"


@dataclass(frozen=True, slots=True)
class Clock:
    """left : the large figure;  under : what it counts;  says : what may be done, and when;  share : cured, 0 to 1
    rows : (what, when);  laws : (law, age, when ready);  warnings : too cold, too hot, braces off too early, not read
    """

    cured: bool
    left: str
    under: str
    says: str
    share: float
    rows: tuple[tuple[str, str], ...]
    laws: tuple[tuple[str, str, str], ...]
    warnings: tuple[str, ...]


def clock_words(cure: Cure, site: Site) -> Clock:
    """The clock as it stands at `cure.clock.now`; times by the clock on the wall of the site."""
    at = cure.clock

    def when(time: datetime | None, else_: str) -> str:
        return else_ if time is None else _wall(time, site)

    cured = at.may is not None and at.now >= at.may
    if at.may is None:
        left, under = "–", "not sure enough within 60 days, as the slab is"
        says = "Braces stay on and no water is poured: warm the room and read the slab."
    elif cured:
        left, under = "Cured", f"sure enough since {_wall(at.may, site)}"
        says = "Braces may come off and water may be poured."
    else:
        left, under = _hours((at.may - at.now).total_seconds()), f"to go, until {_wall(at.may, site)}"
        says = "Until then braces stay on, nobody stands in it and no water is poured."
    return Clock(
        cured=cured,
        left=left,
        under=under,
        says=says,
        share=min(at.age / at.needed, 1.0),
        rows=(
            ("Bed placed", _wall(at.placed, site)),
            ("Fastened", when(at.fastened, _UNKNOWN)),
            ("Braces on", when(at.braces_on, _UNKNOWN)),
            ("Braces off", when(at.braces_off, "not yet" if not cured else _UNKNOWN)),
            (
                "Age now, as if kept at 70 °F",
                f"{at.age / _HOUR:.1f} h ± {at.u / _HOUR:.1f} h of {at.needed / _HOUR:.0f} h ({at.law}, the slowest)",
            ),
            ("Cured, if the slab stays as it was read", when(at.ready, _NEVER)),
            ("Cured, if it gets warmer", when(at.earliest, _NEVER)),
            ("Cured, if it gets colder", when(at.latest, _NEVER)),
            ("Braces may come off from", when(at.may, _NEVER)),
            ("Water may be poured from", when(at.may, _NEVER)),
        ),
        laws=tuple((row.law, f"{row.age / _HOUR:.1f} h", when(row.ready, _NEVER)) for row in at.by_law),
        # what nobody read since a bed was old enough tells nothing any more
        warnings=(*still_open(cure, leave=("cure/age",)), *(() if cured else at.assumed)),
    )


def clock_line(clock: bed_clock.Clock, now: datetime, site: Site) -> str:
    """What the bed waits for, in a line: `clock` may be older than `now` where nothing was written down since.

    "" where the braces are off: nothing runs any more.
    """
    if clock.braces_off is not None:
        return ""
    if clock.may is None:
        return "Bed: braces stay on, too cold to cure"
    if now >= clock.may:
        return f"Bed: braces may come off since {_wall(clock.may, site)}"
    return f"Bed: {_hours((clock.may - now).total_seconds())} to go, until {_wall(clock.may, site)}"


def still_open(stage: FastenPlan | BracePlan | Cure, leave: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The advice of findings that do not meet their limits; leave : ids that are told elsewhere."""
    told = (f for f in stage.findings if f.verdict is not Verdict.MEETS and f.advice and f.id not in leave)
    return tuple(dict.fromkeys(f"{finding.what}: {finding.verdict}. {finding.advice}" for finding in told))


def turn_rows(turns: Iterable[Turn]) -> tuple[tuple[str, str, str, str], ...]:
    """(numbers, height, holes, wood), in the order they are driven: a row of the back wall, or a pair of the sides."""
    rows = []
    for _, grouped in groupby(turns, _row_of):
        row = list(grouped)
        numbers = str(row[0].number) if len(row) == 1 else f"{row[0].number}–{row[-1].number}"
        walls, flange = [turn.run.split(" ")[0] for turn in row], row[0].run.split(", ")[-1]
        at = ", ".join(dict.fromkeys(format_length(turn.at) for turn in row))
        holes = f"{', then '.join(dict.fromkeys(walls))} wall, {flange}: {at}"
        rows.append((numbers, format_length(row[0].z), holes, ", ".join(dict.fromkeys(t.wood for t in row if t.wood))))
    return tuple(rows)


def _row_of(turn: Turn) -> tuple[float, str, float]:
    """The same for holes that stand in one line: a row of the back wall, or the same place of both sides."""
    back = turn.run.startswith("back")
    return round(turn.z, 3), ("back " if back else "") + turn.run.split(", ")[-1], 0.0 if back else round(turn.at, 3)


def brace_lines(plan: BracePlan) -> tuple[str, ...]:
    """Where each board lies, what stands on it and under it."""
    return tuple(
        f"Over the {brace.place}: board {brace.section}, {format_length(brace.length)} long, laid flat "
        f"{format_length(brace.left)} from the left wall, its middle {format_length(brace.y)} from the back wall, on "
        f"{len(brace.feet)} padded feet; {len(brace.posts)} posts {brace.post_section}, "
        f"{format_length(brace.post_length)}, wedged under a head plate. It holds down "
        f"{brace.load / 4.4482216152605:,.0f} lb."
        for brace in plan.braces
    )


def piece_rows(plan: BracePlan) -> tuple[tuple[str, str, str, str], ...]:
    """(count, what, section, length) of each kind of piece."""
    return tuple((str(p.count), p.what, p.section, format_length(p.length)) for p in plan.pieces)


def support_lines(found: Supported) -> tuple[str, ...]:
    """What was heard, where it is hollow, and how wide a void may stay."""
    taps, hollow, presses = len(found.heard.tx), int(found.heard.hollow.sum()), len(found.heard.px)
    pressed = "1 press" if presses == 1 else f"{presses} presses"
    lines = [f"{taps} taps, {hollow} hollow; {pressed}."]
    for place in found.hollows:
        stays = "may stay" if place.stays else "may not stay"
        lines.append(
            f"Hollow near {place_words(place.x, place.y)}, about {format_length(place.across, denominator=1)} across "
            f"({100 * place.chance:.0f} % likely): {stays}."
        )
    free, stuck = found.stay.widest(bonded=False), found.stay.widest(bonded=True)
    wide = f"{width_words(free)} where the panel can lift off, {width_words(stuck)} where it sticks"
    lines.append(f"A round void may stay up to {wide}.")
    return tuple(lines)


def _hours(seconds: float) -> str:
    if seconds > 5 * 24 * _HOUR:
        return f"{seconds / 24 / _HOUR:.0f} days"
    return f"{seconds / _HOUR:.0f} h" if seconds >= 2 * _HOUR else f"{max(seconds / 60, 1):.0f} min"


def _wall(time: datetime, site: Site) -> str:
    return f"{site.wall(time):%Y-%m-%d %H:%M %Z}"
