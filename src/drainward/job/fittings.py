"""What hangs on the walls of a shower, and the wood and screws that hold it and the unit's flanges.

Fittings   seat, controls, grab bars: on which walls, how high, and which walls stay open from behind
Framing    species and depth of the studs, and the screws of the flanges
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from drainward.job.frozen import Frozen

__all__ = ["Fittings", "Framing", "ScrewSize", "Side", "Species"]

Side = Literal["left", "back", "right"]
Species = Literal["southern pine", "Douglas fir-larch", "hem-fir", "spruce-pine-fir", "spruce-pine-fir (south)"]
ScrewSize = Literal["#6", "#8", "#9", "#10", "#12", "#14"]


class Fittings(Frozen):
    """None where it is not told; heights over the finished floor, of controls over the shower floor, m.

    seat      : wall that it hangs on; front is beside the entry of an alternate roll-in
    controls  : wall of the valve where the rules leave the choice;  entry : end of an alternate roll-in's opening
    grab_bars : walls that get one; where not told, those that the rules ask
    open_behind : walls in which work may go on from their far side once the unit stands
    """

    seat: Literal["none", "left", "right", "front"] | None = None
    controls: Side | None = None
    entry: Literal["left", "right"] | None = None
    grab_bars: tuple[Side, ...] | None = None
    grab_bar_height: float | None = Field(default=None, gt=0, lt=3)
    seat_height: float | None = Field(default=None, gt=0, lt=3)
    controls_height: float | None = Field(default=None, gt=0, lt=3)
    open_behind: tuple[Side, ...] | None = None

    def over(self, other: Fittings) -> Fittings:
        """What this tells, and what `other` tells where this tells nothing."""
        return other.model_copy(update={key: value for key, value in self if value is not None})


class Framing(Frozen):
    """The wood behind the flanges and what is screwed into it, m; defaults are common practice, no source.

    depth : of the wood that a screw finds behind the face of a stud;  screw_size, screw_length : of the flanges
    """

    species: Species = "spruce-pine-fir"
    depth: float = Field(default=0.0381, gt=0.01, lt=0.3)
    screw_size: ScrewSize = "#10"
    screw_length: float = Field(default=0.0508, gt=0.01, lt=0.3)
