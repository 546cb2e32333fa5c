"""What must be in before what, by what would close it off: `Before`, `before`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drainward.pocket.backing import Backing
from drainward.pocket.screws import LBF
from drainward.pocket.setout import Layout
from drainward.pocket.shape import Wall
from drainward.pocket.zones import Zone

__all__ = ["Before", "before"]


@dataclass(frozen=True, slots=True)
class Before:
    """What must be in, before what, because that would close it off."""

    what: str
    before: str
    why: str


def before(
    layouts: Iterable[Layout], backings: Iterable[Backing], zones: Iterable[Zone], behind: Iterable[Wall] = ()
) -> tuple[Before, ...]:
    """What must be in before what, in the order of the work.

    behind : walls that stay open from their far side, so that work in them may go on once the unit stands
    """
    layouts, backings, open_walls = tuple(layouts), tuple(backings), frozenset(behind)
    valves = {zone.wall for zone in zones if zone.kind == "controls"}
    found = [Before("drain, trap and the pipe cut to height", "the unit is set", "the unit's floor closes the recess")]
    for wall in Wall:
        name = f"{wall.name.lower()} wall"
        then = "the far side is closed" if wall in open_walls else "the unit is set"
        why = "the boards close the bays" if wall in open_walls else "the moulded wall closes the bays"
        backed = [backing for backing in backings if backing.zone.wall is wall and backing.add]
        if wall in valves:
            if backed:
                first = f"the pipes of the valve in the {name}, behind the blocking or let into it"
                found.append(Before(first, "the blocking is nailed up", "a board across the bay stands before them"))
            found.append(Before(f"valve, its pipes and the riser in the {name}, tested", then, why))
        for backing in backed:
            carries = f"{_pieces(len(backing.add))} for the {backing.zone.kind} on the {name}, to carry"
            found.append(Before(f"{carries} {backing.zone.force / LBF:.0f} lbf", then, why))
        flange = sum(len(layout.add) for layout in layouts if layout.run.wall is wall)
        if flange:
            # The unit itself closes these, whatever stays open behind.
            screws = "its screws find nothing else"
            found.append(Before(f"{_pieces(flange)} for the flange on the {name}", "the unit is fastened", screws))
    return tuple(found)


def _pieces(count: int) -> str:
    return "1 piece of blocking" if count == 1 else f"{count} pieces of blocking"
