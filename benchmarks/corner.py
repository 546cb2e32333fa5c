"""How far the clearance that is searched for round a right-angled corner is from its closed form.

Run alone: python benchmarks/corner.py
Random corridors and boxes, turning and sliding, going round or not. The closed form's own least value is found a second
time by golden section, and the pose with three contacts is measured against the walls with the general gap: what is
printed last is the largest of these differences and of what the closed form lies outside the proved bounds, inches.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import minimize_scalar

from drainward.quantity import INCH
from drainward.wayin.clearance import gap
from drainward.wayin.corner import corner, sliding
from drainward.wayin.route import find_route

MANY, SEARCHED, ARM = 2000, 12, 120.0


def main() -> None:
    """Draw, compare, print."""
    rng = np.random.default_rng(94110)
    worst, outside, yes, slid = 0.0, 0.0, 0, 0
    for k in range(MANY):
        length, width = sorted(rng.uniform(30, 85, 2))[::-1]
        a, b = rng.uniform(width - 2, length + 6, 2)
        found = corner(a, b, length, width)
        yes, slid = yes + (found.clearance > 0), slid + (found.turn is None)
        worst = max(worst, abs(found.clearance - measured(a, b, length, width)))
        if k < SEARCHED:
            route = searched(a, b, length, width)
            outside = max(outside, route[0] - found.clearance, found.clearance - route[1])
    print(f"{MANY} corners, {yes} pass, {slid} by sliding; largest difference {worst:.1e} in")
    print(
        f"{SEARCHED} of them searched for: the closed form lies outside the proved bounds by {max(outside, 0.0):.1e} in"
    )
    print(f"corner: {max(worst, outside):.2e}")


def measured(a: float, b: float, length: float, width: float) -> float:
    """The same clearance from gaps to the walls: the pose with three equal gaps at every turn, the least of them."""

    def three(turn: float) -> float:
        c, s = math.cos(turn), math.sin(turn)
        reach_x, reach_y = (length * c + width * s) / 2, (length * s + width * c) / 2
        # gaps to the outer walls x = 0 and y = 0, and of the inner corner (b, a) over the far long side, all equal
        rest = (b - reach_x) * s + (a - reach_y) * c - width / 2
        d = rest / (1 + c + s)
        x, y = reach_x + d, reach_y + d
        walls = ((0.0, -ARM, 0.0, 3 * ARM), (-ARM, 0.0, 3 * ARM, 0.0))
        found = [gap(length / 2, width / 2, x, y, c, -s, np.array(wall)) for wall in walls]
        inner = (b - x) * s + (a - y) * c - width / 2
        return min(*found, inner)

    grid = np.linspace(0, math.pi / 2, 241)
    values = [three(float(turn)) for turn in grid]
    best = min(values)
    for k in np.argsort(values)[:4]:
        low, high = grid[max(k - 1, 0)], grid[min(k + 1, len(grid) - 1)]
        best = min(
            best, float(minimize_scalar(three, bounds=(low, high), method="bounded", options={"xatol": 1e-12}).fun)
        )
    return max(best, sliding(a, b, length, width))


def searched(a: float, b: float, length: float, width: float) -> tuple[float, float]:
    """The bounds of the general search, in."""
    arm = max(a, b) + 2.5 * length
    walls = [(0, 0, arm, 0), (0, 0, 0, arm), (b, a, arm, a), (b, a, b, arm), (arm, 0, arm, a), (0, arm, b, arm)]
    ends = [(arm - 0.8 * length, a / 2, None), (b / 2, arm - 0.8 * length, None)]
    start, goal = ((x * INCH, y * INCH, turn) for x, y, turn in ends)
    best = find_route(np.array(walls) * INCH, length * INCH, width * INCH, start, goal)
    return best.low / INCH, best.high / INCH


if __name__ == "__main__":
    main()
