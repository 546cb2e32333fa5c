"""The closed list of quantities that a rule can limit.

Kind         what sort of number a quantity is, and its SI unit
QUANTITIES   every quantity by name: its kind and a sentence that says exactly what is measured
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["QUANTITIES", "Kind", "Measured"]


class Kind(StrEnum):
    """The sort of number; the value is its SI unit as a Finding shows it."""

    LENGTH = "m"
    SLOPE = "ratio"
    AREA = "m2"
    TEMPERATURE = "degC"
    FORCE = "N"
    VOLUME = "m3"
    FLOW = "m3/s"


@dataclass(frozen=True, slots=True)
class Measured:
    """A quantity: its kind, and what is measured, in one sentence."""

    kind: Kind
    says: str


_BY_KIND: dict[Kind, dict[str, str]] = {
    Kind.SLOPE: {
        "floor.fall.least": "least fall of the shower floor toward the drain",
        "floor.fall.greatest": "greatest fall of the shower floor toward the drain",
        "clear_space.slope": "slope of the shower floor where a required clear or turning space lies on it",
        "outside.slope": "slope of the floor outside the shower within a required clear space",
        "outside.fall.least": "least fall of the wet-room floor outside the shower",
        "outside.fall.greatest": "greatest fall of the wet-room floor outside the shower",
        "threshold.bevel": "slope of the bevelled part of a threshold",
    },
    Kind.LENGTH: {
        "floor.pond.depth": "depth of water left standing on the shower floor",
        "floor.puddle.depth": "depth in the middle of a puddle seen to stay when the drain has taken the rest",
        "floor.straightedge.gap": "gap between a straightedge and the shower floor's intended plane over the base",
        "floor.straightedge.rock": "lift of the free end of a straightedge that rocks on a high spot",
        "floor.step_down": "drop from the floor outside to the shower floor",
        "threshold.rise": "rise of the threshold above the finished floor",
        "threshold.lip": "height of the threshold over the shower floor beside it, which holds water in",
        "threshold.flush": "step, up or down, between the finished floor and a threshold meant to be flush with it",
        "threshold.vertical": "part of the threshold's rise that is vertical",
        "curb.height": "height from the top of the drain to the top of the curb",
        "curb.below_sides": "height of the sides and back above the curb",
        "inside.width": "clear inside width along the back wall, between centre points of opposing sides",
        "inside.depth": "clear inside depth from back wall to opening, between centre points of opposing sides",
        "inside.least": "least inside dimension of the shower floor",
        "inside.circle": "diameter of the largest circle that fits on the shower floor",
        "entry.width": "clear width of the entry on the face of the compartment",
        "door.clear_width": "clear width of a door opening",
        "door.pull_depth": "clear depth before the door on the side where it is pulled open",
        "door.pull_latch": "clear width beside the latch on the side where the door is pulled open",
        "door.push_depth": "clear depth before the door on the side where it is pushed open",
        "door.push_latch": "clear width beside the latch on the push side of a door with a closer and a latch",
        "door.threshold": "rise of the threshold at the room's door",
        "clearance.width": "width of the clear space in front of the shower, across its face",
        "clearance.length": "length of the clear space in front of the shower, along its face",
        "clear_space.width": "width of a clear floor space",
        "clear_space.length": "length of a clear floor space",
        "turning.diameter": "diameter of the turning circle",
        "turning.t_square": "side of the square that a T-shaped turning space fills",
        "turning.t_arm": "width of the arms and the base of a T-shaped turning space",
        "movement.width": "width of the movement area in or before the shower",
        "movement.depth": "depth of the movement area in or before the shower",
        "drain.from_mixer_wall": "distance of the drain's centre from the wall with the mixer",
        "drain.from_seat_wall": "distance of the drain's centre from the wall with the seat",
        "drain.pipe": "nominal size of the pipe at the drain's outlet",
        "flange.spacing.along": "spacing on centre of the holes on a level wall flange",
        "flange.spacing.up": "spacing on centre of the holes on a standing wall flange",
        "pocket.shim": "largest shim or furring between flange and stud face",
        "pocket.drain_clearance": "clearance round the drain's body in the core hole",
        "pocket.core": "diameter of the core hole for the drain",
        "pocket.diagonals": "difference of the framed pocket's two diagonals at the floor",
        "pocket.plumb": "how far a wall's stud faces stand in or out over its foot, within the unit's height",
        "recess.width": "width of the recess in the slab round the core, left to right",
        "recess.depth": "depth of the recess in the slab round the core, back to front",
        "recess.deep": "how far the bottom of the recess lies under the slab",
        "slab.opening": "highest less lowest measured spot of the slab before the opening",
        "slab.under_bed": "highest less lowest measured spot of the slab under a bedded unit, clear of the recess",
        "slab.under_base": "highest less lowest measured spot of the slab under a unit on its own base",
        "pocket.line_off": "distance of the threshold's outer edge from its line, either end",
        "bed.least": "least thickness of the mortar between slab and panel, clear of the recess at the drain",
        "bed.greatest": "greatest thickness of the mortar between slab and panel, clear of the recess at the drain",
        "grab_bar.height": "height of the top of the gripping surface above the finished floor",
        "grab_bar.diameter": "outside diameter of a round grab bar",
        "grab_bar.section": "greatest cross-section dimension of a grab bar that is not round",
        "grab_bar.perimeter": "perimeter of a grab bar that is not round",
        "grab_bar.wall_gap": "clear gap between the grab bar and the wall",
        "grab_bar.gap_below": "clear gap below and at the ends of a grab bar",
        "grab_bar.gap_above": "clear gap above a grab bar",
        "grab_bar.from_wall": "distance from the grab bar's end to the adjacent wall",
        "grab_bar.reach": "distance of the back-wall bar's far end from the control wall",
        "seat.height": "height of the top of the seat above the bathroom floor",
        "seat.depth": "depth of the seat",
        "seat.rear": "distance of the seat's rear edge from the seat wall",
        "seat.front": "distance of the seat's front edge from the seat wall",
        "seat.side": "distance of the seat's side edge from the adjacent wall",
        "seat.l_front": "distance of the L part's front edge from the seat wall",
        "seat.l_end": "distance of the L part's end from the adjacent wall",
        "controls.height": "height of the controls above the shower floor",
        "controls.from_seat_centre": "distance of the controls from the seat's centreline, along their wall",
        "controls.from_seat_wall": "distance of the controls from the seat wall",
        "spray.hose": "length of the spray unit's hose",
        "spray.height": "height of a fixed shower head above the shower floor",
    },
    Kind.AREA: {"inside.area": "inside area of the shower floor"},
    Kind.TEMPERATURE: {"spray.temperature": "highest temperature of the water delivered"},
    Kind.FORCE: {
        "grab_bar.force": "force that the bar, its fasteners, mounting and structure carry at any point",
        "seat.force": "force that the seat, its fasteners, mounting and structure carry at any point",
    },
    Kind.VOLUME: {"floor.water.spilled": "water lost over the threshold in the water test"},
    Kind.FLOW: {
        "shower.flow": "flow of one shower head as caught",
        "drain.capacity": "flow that the drain takes with water at the threshold's lip",
    },
}

QUANTITIES: dict[str, Measured] = {
    name: Measured(kind, says) for kind, group in _BY_KIND.items() for name, says in group.items()
}
"""Every quantity by name."""
