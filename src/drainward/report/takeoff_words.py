"""What to buy and cut, in sentences and short cells: for the terminal, the page and paper alike.

week_words, week_short   a delivery's week
rooms_words              rooms of a delivery, a few by name
needed_words             packs that are used, with their uncertainty
delivery_rooms           all rooms that a delivery is for
mortar_words             the sentence that stands first
notes                    what was guessed, learned, assumed, and what is left over
uses_words, cut_words    what a piece becomes; a length as a saw is set
LETTERS                  how to read the saw list's letters
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from drainward.plan.cutting import STEP
from drainward.plan.sawing import Cut
from drainward.plan.takeoff import Bought, Takeoff
from drainward.quantity import format_length, format_volume

__all__ = [
    "LETTERS",
    "cut_words",
    "delivery_rooms",
    "mortar_words",
    "needed_words",
    "notes",
    "rooms_words",
    "uses_words",
    "week_short",
    "week_words",
]

_NAMED = 6
_BRACES = (
    "Braces come off when the bed has cured and serve the next room: only as many are made as stand at once.",
    "Posts are sawn to the half inch, and their wedges take up the rest.",
)
_MANY = {"board": "boards", "head plate": "head plates", "post": "posts", "foot": "feet"}
LETTERS = (
    "Each letter is one length. Saw from the left in the order shown, longest first, and write the letter on the piece."
)


def week_words(week: date | None) -> str:
    """Such as: by Monday 2 March 2026."""
    return "no date known" if week is None else f"by Monday {week.day} {week:%B %Y}"


def week_short(week: date | None) -> str:
    """Such as: 2 Mar."""
    return "no date" if week is None else f"{week.day} {week:%b}"


def rooms_words(rooms: Sequence[str], most: int = _NAMED) -> str:
    """Rooms by name, and how many more."""
    if len(rooms) <= most + 1:
        return ", ".join(rooms)
    return f"{', '.join(rooms[:most])} and {len(rooms) - most} more"


def needed_words(thing: Bought) -> str:
    """Such as: 55.7 ± 3.0."""
    return f"{thing.needed:.1f} ± {thing.u:.1f}" if thing.u else f"{thing.needed:.3g}"


def delivery_rooms(found: Takeoff, week: date | None) -> str:
    """Such as: for rooms 101, 102."""
    rooms = {room for thing in found.things for d in thing.deliveries if d.week == week for room in d.rooms}
    if not rooms:
        return "for braces"
    return f"for {'room' if len(rooms) == 1 else 'rooms'} {rooms_words(sorted(rooms), 12)}"


def cut_words(steps: int) -> str:
    """A length in 1/32 in as a tape has it."""
    return format_length(steps * STEP, "in", 32)


def uses_words(cut: Cut, most: int = _NAMED) -> str:
    """Such as: 9 boards, 9 head plates. Blocking with its rooms."""
    what = ", ".join(f"{count} {use if count == 1 else _MANY.get(use, use)}" for use, count in cut.uses)
    rooms = rooms_words([room if count == 1 else f"{room} ×{count}" for room, count in cut.rooms], most)
    return f"{what} (room {rooms})" if rooms else what


def mortar_words(found: Takeoff) -> str:
    """How many bags are still to come, and how sure they are enough; "" where no unit stands in mortar."""
    if not found.mortar:
        return ""
    bought = found.things[0]
    first = f"{bought.packs} bags of mortar still to come" if bought.came else f"{bought.packs} bags of mortar"
    took = f"all beds together take {bought.needed:.0f} ± {bought.u:.0f} (standard uncertainty)"
    return f"{first}: {took}, and these are enough {_chances(found.level)}."


def notes(found: Takeoff) -> tuple[str, ...]:
    """In sentences, what a purchaser must know beside the table."""
    told = [*_mortar_notes(found), *_guess_notes(found), *_lumber_notes(found)]
    return tuple(told)


def _chances(level: float) -> str:
    return f"in {100 * level:.3g} of 100 such buildings"


def _mortar_notes(found: Takeoff) -> list[str]:
    if not found.mortar:
        return []
    last, told = found.mortar[-1], []
    if found.things[0].came:
        told.append(f"{found.things[0].came:g} bags came already.")
    packs = found.things[0].packs + found.things[0].came
    if found.alone > packs:
        told.append(
            f"Weigh parts of bags on a scale and carry them on to the next room: rounded up room by room it would be "
            f"{found.alone} bags."
        )
    if found.measured:
        more = 100 * (found.factor.factor - 1)
        beds = "1 bed" if found.measured == 1 else f"{found.measured} beds"
        word = "more" if more >= 0 else "less"
        told.append(
            f"{beds} took {abs(more):.1f} % {word} mortar than was computed, give or take "
            f"{100 * found.factor.u:.1f} %: all others are bought for as much."
        )
    else:
        told.append("Nobody wrote down yet what a bed really took: once setting.csv says it, the rest is surer.")
    stale = f", and {last.lost:g} more go stale in opened bags" if last.lost else ""
    water = format_volume(sum(week.water for week in found.mortar))
    told.append(f"All of it takes {water} of water. About {max(last.left, 0):.0f} bags are left over{stale}.")
    return told


def _guess_notes(found: Takeoff) -> list[str]:
    told = []
    if found.guessed:
        told.append(
            f"{_rooms(found.guessed)}: the bed is not known yet, so each counts as the others of its model do, "
            "with their spread. Survey them before the last delivery is ordered."
        )
    if found.uncounted:
        told.append(
            f"{_rooms(found.uncounted)}: screws, shims and blocking are guessed the same way, and their blocking "
            "stands in no saw list until the studs are measured."
        )
    if found.ceilings:
        told.append(
            f"{_rooms(found.ceilings)}: nobody measured up to the ceiling, 8 ft is taken. Measure from the unit before "
            "a post is sawn."
        )
    return told


def _lumber_notes(found: Takeoff) -> list[str]:
    if not found.days:
        return []
    over = found.feet - found.least_feet
    deliveries = "1 delivery" if len(found.days) == 1 else f"{len(found.days)} deliveries"
    proof = "no list needs less" if not over else f"{over} ft over the least, since each delivery is sawn by itself"
    return [f"{found.feet} ft of lumber in {deliveries}: {proof}.", *_BRACES]


def _rooms(rooms: Sequence[str]) -> str:
    return f"Room {rooms[0]}" if len(rooms) == 1 else f"Rooms {rooms_words(rooms)}"
