"""Screwing the flanges on: in which order, how tight, and never before the draft check.

Turn, order       one screw after the other, from the floor up, left and right in turn
STEPS             what to do, in sentences
passed            the draft check; raises where the unit may not be fastened yet
fasten_findings   the draft check, thread in the wood, braces directly after
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import NormalDist

from drainward.errors import StageError
from drainward.finding import Certainty, Finding, Source, Verdict, conformance, decide
from drainward.job.fittings import Framing
from drainward.pocket.screws import DIAMETERS
from drainward.pocket.setout import Layout
from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length

__all__ = ["STEPS", "Turn", "fasten_findings", "order", "passed"]

_ROW = 4 * INCH
"""Holes nearer to one height than this are one row, m."""
_SOON = 30 * 60.0
"""From the last screw until the braces stand, s: common practice, no source."""
_U_NOTED = 5 * 60.0
"""Of a time that somebody notes, s."""
_U_SHIM = INCH / 16
_PRACTICE = str(Source("", "", "", Certainty.PRACTICE))
_NDS = str(Source("NDS", "2018", "12.1.5.6", Certainty.MEMORY))

STEPS = tuple(
    """\
Lay the level on the floor, bubble at its mark, before the first screw, and leave it there.
Shim behind every hole where the flange stands off the wood: a screw never draws the flange to the stud.
Drill the flange with clearance for the shank, clear of its edge; the wood takes the thread.
Clutch on its lowest, the last turn by hand: stop when the head lies flat on the flange.
A head that dents the flange or goes into it has broken it: leave that screw, drill beside it.
From the floor up, left and right in turn. After each row look at the bubble: where it moved, back the last screw off.
Brace at once, while the bed is wet, and write down when.
""".splitlines()
)
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One screw: its number, its run, along the wall and height, m, and the wood that it hits."""

    number: int
    run: str
    at: float
    z: float
    wood: str


def order(layouts: Iterable[Layout]) -> tuple[Turn, ...]:
    """All holes, row by row from the floor up; in a row the back wall from its middle outward, then the sides in turn.

    From below, so that no screw draws the unit up off its bed; in turn, so that none draws it aside (common practice).
    """
    keyed = []
    for layout in layouts:
        run = layout.run
        middle = (run.start + run.end) / 2
        for hole in layout.holes:
            back = run.wall is Wall.BACK
            out = abs(hole.at - middle) if back else hole.at
            keyed.append(((round(hole.z / _ROW), not back, round(out, 6), run.wall.value), run.name, hole))
    keyed.sort(key=lambda row: row[0])
    return tuple(Turn(k, name, hole.at, hole.z, hole.wood) for k, (_, name, hole) in enumerate(keyed, start=1))


def passed(room: str, draft: Verdict | None, placed: datetime | None, bedded: bool) -> Verdict:
    """The verdict of the draft check, which passed or is not proven.

    draft : on the wet bed, None where nobody read the floor;  placed : the bed;  bedded : whether the unit has one
    Raises StageError, with the reason, where the bed was not placed, or the draft check was not made or fails.
    """
    if bedded and placed is None:
        raise StageError(f"room {room} is not fastened yet: nobody wrote down that its bed was placed")
    if draft is None:
        raise StageError(f"room {room} is not fastened yet: read its floor first, while the unit can still be moved")
    if draft is Verdict.FAILS:
        move = "move the unit in its wet bed" if bedded else "shim the unit"
        raise StageError(
            f"room {room} is not fastened yet: its draft check fails, and screws would hold the floor as it lies; "
            f"{move} and read it again"
        )
    return draft


def fasten_findings(
    draft: Verdict, framing: Framing, through: float, times: Sequence[datetime | None], risk: float
) -> tuple[Finding, ...]:
    """The draft check before, the thread in the wood, and the braces after.

    through : flange and shim before the wood, m;  times : fastened, braces on; UTC, None where nobody wrote it down
    """
    fastened, braced = times
    return (
        _draft(draft),
        _thread(framing, through, risk),
        *(() if fastened is None else (_braced(fastened, braced, risk),)),
    )


def _draft(draft: Verdict) -> Finding:
    proven = draft is Verdict.MEETS
    ask = (
        "The draft check is not proven: take the reading that it asks for before the first screw. Where the bed "
        "stiffens first, who leads the crew decides."
    )
    return Finding(
        id="fasten/draft",
        what="Draft check on the wet bed before the first screw",
        value=None,
        u=None,
        unit="1",
        limit="meets",
        probability=None,
        verdict=draft,
        source=_PRACTICE,
        advice="" if proven else ask,
    )


def _thread(framing: Framing, through: float, risk: float) -> Finding:
    """Six diameters of wood at least; only remembered, so it proves nothing where it is met."""
    least = 6 * DIAMETERS[framing.screw_size]
    finds = min(framing.screw_length - through, framing.depth)
    chance = conformance(finds, _U_SHIM, least, None)
    met = chance >= 1 - risk
    lacks = least - finds + NormalDist().inv_cdf(1 - risk) * _U_SHIM
    return Finding(
        id="fasten/thread",
        what="Wood that a screw finds behind flange and shim",
        value=finds,
        u=_U_SHIM,
        unit="m",
        limit=f"at least {least / INCH:.2f} in, six diameters",
        probability=chance,
        verdict=decide(chance, Certainty.MEMORY, risk),
        source=_NDS,
        advice="" if met else f"Take screws {format_length(lacks)} longer, or thicker wood.",
        decides=not met,
    )


def _braced(fastened: datetime, braced: datetime | None, risk: float) -> Finding:
    what, limit = "From the last screw until the braces stood", f"at most {_SOON / 60:.0f} min"
    if braced is None:
        ask = "Brace at once, and write down when."
        return Finding("fasten/braced", what, None, None, "s", limit, None, Verdict.NOT_PROVEN, _PRACTICE, ask)
    gap = (braced - fastened).total_seconds()
    chance = conformance(gap, _U_NOTED, None, _SOON)
    verdict = decide(chance, Certainty.PRACTICE, risk)
    again = "Read the floor again under its braces: it may have risen before they stood."
    mend = "" if verdict is Verdict.MEETS else again
    return Finding("fasten/braced", what, gap, _U_NOTED, "s", limit, chance, verdict, _PRACTICE, mend)
