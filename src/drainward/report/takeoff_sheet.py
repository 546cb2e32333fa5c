"""What to buy and the saw list as PDF, for the purchaser and the sawyer: `takeoff_pdf`. Layout stands in takeoff.typ.

Black on white, letter size. The first pages say what to buy by week, each saw list starts a page of its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from drainward.plan.cutting import FOOT, STEP, Stick
from drainward.plan.sawing import SawDay
from drainward.plan.takeoff import Takeoff
from drainward.report.press import print_pdf
from drainward.report.takeoff_svg import mortar_svg, stick_svg
from drainward.report.takeoff_words import (
    LETTERS,
    cut_words,
    delivery_rooms,
    mortar_words,
    needed_words,
    notes,
    uses_words,
    week_words,
)

__all__ = ["saw_view", "takeoff_pdf"]

_WIDE = 190.0
_STICK = 132.0


def takeoff_pdf(found: Takeoff, job: str) -> bytes:
    """job : its name."""
    weeks = sorted(
        {d.week for thing in found.things for d in thing.deliveries if d.packs},
        key=lambda week: (week is None, week),
    )
    data = {
        "job": job,
        "says": mortar_words(found) or "No unit of this job stands in mortar.",
        "notes": list(notes(found)),
        "picture": mortar_svg(found, _WIDE),
        "all": [
            [thing.what, thing.pack, needed_words(thing), f"{thing.came:g}" if thing.came else "", str(thing.packs)]
            for thing in found.things
        ],
        "weeks": [
            {"title": week_words(week), "rooms": delivery_rooms(found, week), "rows": [
                [str(d.packs), thing.pack, thing.what]
                for thing in found.things for d in thing.deliveries if d.week == week and d.packs
            ]}
            for week in weeks
        ],
        "saws": [saw_view(day, _STICK) for day in found.days],
        "letters": LETTERS,
    }  # fmt: skip
    return print_pdf("takeoff.typ", data)


def saw_view(day: SawDay, width: float) -> dict[str, Any]:
    """One delivery's saw lists for a layout: sticks with their pictures, `width` mm for the longest, and the pieces."""
    longest = max((stick.stock for saw in day.saws for stick in saw.plan.sticks), default=1)
    return {
        "title": week_words(day.week),
        "sections": [
            {
                "section": saw.section,
                "says": saw.says(),
                "sticks": [_stick(stick, saw.section, day, width, longest) for stick in saw.plan.sticks],
                "pieces": _pieces(day, saw.section),
            }
            for saw in day.saws
        ],
    }


def _stick(stick: Stick, section: str, day: SawDay, width: float, longest: int) -> dict[str, Any]:
    return {
        "count": stick.count,
        "feet": round(stick.stock * STEP / FOOT),
        "picture": stick_svg(stick, section, day, width, longest),
        "cuts": _letters(stick, section, day),
        "left": cut_words(stick.offcut),
    }


def _letters(stick: Stick, section: str, day: SawDay) -> str:
    """The cuts by their letters, such as A ×2, D, E ×3."""
    counted = Counter(day.mark(section, piece) for piece in stick.pieces)
    return ", ".join(mark if count == 1 else f"{mark} ×{count}" for mark, count in counted.items())


def _pieces(day: SawDay, section: str) -> Sequence[Sequence[str]]:
    return [
        [cut.mark, cut_words(cut.steps), str(cut.count), uses_words(cut, 12)]
        for cut in day.cuts
        if cut.section == section
    ]
