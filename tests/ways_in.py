"""The way in of one room made by hand: no engine needed."""

from __future__ import annotations

import numpy as np

from drainward.finding import Finding, Verdict
from drainward.wayin.result import Carry, Change, Lifting, Step, WayIn


def way_in(room: str = "1", open_by: float = 0.02) -> WayIn:
    """Upright through door D1 by so much, m; where it is negative a door that would have to be wider."""
    opens = open_by > 0
    verdict = Verdict.MEETS if opens else Verdict.FAILS
    poses = np.array([[0.0, 0.0, 0.0], [1.0, 2.0, 1.57]])
    upright = Carry("upright", 1.6, 1.0, 2.1, open_by, open_by + 1e-4, 0.003, poses, 1.0, 2.0, ("door D1",), None)
    tilt = (1.0, 3.0, 0.0, 2.3, 1.6)
    lying = Carry("on its back", 2.1, 1.6, 1.1, -0.2, -0.19, 0.003, poses, 1.0, 2.0, ("wall A", "door D1"), tilt)
    return WayIn(
        room=room,
        stage="way in",
        verdict=verdict,
        findings=(
            Finding("way-in/clearance", "Clearance at the tightest place of the way in, upright", open_by, 0.003, "m",
                    "more than 0", 0.99 if opens else 0.001, verdict, "geometry of the plan",
                    "Carry it upright; tightest at door D1."),
        ),
        carries=(upright, lying),
        steps=(Step(0.0, 0.0, "through door D1"), Step(1.0, 2.0, "turn left by 90°")),
        changes=() if opens else (Change("take the leaf off door D1", "upright", 0.015),),
        mass=75.0,
        people=4,
        cautions=("Lift on one word.",),
        liftings=(Lifting("carry it clear of the floor", 75.0, 20.0, 4),),
    )  # fmt: skip
