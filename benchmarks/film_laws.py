"""How close the film of water comes to the laws of thin films, and at which order it converges.

Run alone: python benchmarks/film_laws.py
Water of 20 degC on grids of 1/2, 1/4 and 1/8 in, as the tool steps it unless a finer tolerance stands beside it:
- a cup let go on a level floor of 36 in spreads as Huppert's disc (J. Fluid Mech. 121 (1982) 43): its radius by least
  squares of h^3 against r^2, by the depth in its middle, and where the eye sees its edge;
- water let go at the top of a slope runs down as Huppert's sheet (Nature 300 (1982) 427), which leaves out dh/dx: that
  holds the front back by the length of its nose and matters ever less;
- a steady inflow runs as Nusselt's film (1916), with two examples from Bird, Stewart and Lightfoot (2002), 2.2;
- a wet slope drains as Jeffreys' plate (1930), which leaves out dh/dx too;
- on a smooth film that is nowhere dry, steps and grids are halved: both orders ought to be 2.
Over all runs: the balance of volume, and the least depth.
Figure: relative error of the disc's radius after a minute on the 1/4 in grid.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from drainward.floor.film.flow import TOLERANCE, Basin, _Stepper
from drainward.floor.film.fluid import Fluid
from drainward.quantity import INCH
from drainward.validation.film_laws import WATER, Beside, disc, draining, front, off_balance, sheet

Array = NDArray[np.float64]

GRIDS = (INCH / 2, INCH / 4, INCH / 8)
CUP, ON_SLOPE, SHOWER = 3.785411784e-3 / 16, 2e-4, 2.5 * 3.785411784e-3 / 60 / (36 * INCH)
FALL, STEEPER = 0.0156, 1 / 48
FINE = 1e-7
SEEN = 1e-4
"""Depth from which a film's edge is seen, m (no source)."""
SIZE, LASTS = 0.4, 0.25
"""Of the smooth film, m and s."""

runs: list[Beside] = []


def main() -> None:
    """Run every case, print it beside its law."""
    radius = spreading()
    running()
    steady()
    drying()
    orders()
    print(
        f"over {len(runs)} runs: balance within {max(off_balance(r.ran) for r in runs):.1e} of the water, "
        f"least depth {min(float(r.ran.depth.min()) for r in runs):.1e} m"
    )
    print(f"film_laws: {abs(radius):.5f}")


def spreading() -> float:
    """The disc on each grid, and with finer steps: relative error of its radius, as the tool steps it, on 1/4 in."""
    print("a cup on a level floor, after 60 s      law m    profile    middle   visible edge   steps")
    offs = {}
    for step, tolerance in (*((step, TOLERANCE) for step in GRIDS), (INCH / 4, TOLERANCE / 5)):
        r = kept(disc(CUP, step, 18 * INCH, 60.0, tolerance))
        edge = step * (np.count_nonzero(r.ran.depth[0] > SEEN) - 0.5)
        offs[step, tolerance] = r.off
        print(
            f"  {step / INCH:.3f} in, tolerance {1e6 * tolerance:.1f} um    {r.law:.4f}   {r.off:+.3%}   "
            f"{r.second / r.law - 1:+.3%}     {edge / r.law - 1:+.1%}     {len(r.ran.t) - 1:6d}"
        )
    return offs[INCH / 4, TOLERANCE]


def running() -> None:
    """The front down a slope of 60 in."""
    print(f"0.2 L a metre on {FALL:.2%}: front at          20 s      60 s     200 s")
    for step in GRIDS:
        offs = [kept(front(ON_SLOPE, FALL, step, 60 * INCH, until)).off for until in (20.0, 60.0, 200.0)]
        print(f"  {step / INCH:.3f} in                            " + "   ".join(f"{off:+.2%}" for off in offs))


def steady() -> None:
    """Films fed from above: two from the textbook on a wall, a shower's on a slope."""
    print("steady inflow, after a minute: thickness           law mm       off")
    oil, shower = Fluid(density=800.0, viscosity=2e-4, tension=0.03), "2.5 gpm over 36 in on 1:48"
    for name, flow, fall, step, length, fluid, tolerance in (
        ("oil on a wall (example 2.2-1: 2.5 mm)", 0.204 / oil.density, 1.0, 0.001, 0.1, oil, 1e-6),
        ("water on a wall (2A.1: 0.0917 mm)", 2.5 * WATER.viscosity, 1.0, 0.001, 0.1, WATER, FINE),
        (shower, SHOWER, STEEPER, INCH / 4, 30 * INCH, WATER, TOLERANCE / 5),
        (shower, SHOWER, STEEPER, INCH / 4, 30 * INCH, WATER, TOLERANCE),
    ):
        r = kept(sheet(flow, fall, step, length, 60.0, fluid, tolerance=tolerance))
        print(f"  {name:37s} {1e6 * tolerance:3.1f} um   {1000 * r.law:.5f}   {r.off:+.1e}")


def drying() -> None:
    """Slopes left wet."""
    print(f"1:48 left under 2 mm: thickness 45 in down, {1e6 * FINE:.1f} um  law mm       off")
    for until in (60.0, 300.0, 1200.0):
        r = kept(draining(0.002, STEEPER, INCH / 4, 60 * INCH, until, tolerance=FINE))
        print(f"  after {until:4.0f} s                                       {1000 * r.law:.5f}   {r.off:+.2%}")


def orders() -> None:
    """Halvings of the step and of the grid on a smooth film."""
    print("smooth film, nowhere dry: root mean square error, um, and order")
    true = smooth(33, 4096)
    print(f"  depth {1000 * true.min():.2f} to {1000 * true.max():.2f} mm")
    halvings("steps", {str(n): rms(smooth(33, n) - true) for n in (16, 32, 64, 128, 256, 512)})
    nodes = (17, 33, 65, 129)
    films = [smooth(n, 16 * (n - 1))[:: (n - 1) // 16, :: (n - 1) // 16] for n in nodes]
    coarse = zip(nodes, films, films[1:], strict=False)
    halvings("nodes, against half the grid", {f"{n} x {n}": rms(a - b) for n, a, b in coarse})


def smooth(nodes: int, steps: int) -> Array:
    """Depth after LASTS seconds of equal steps on a square floor of waves, (nodes, nodes), m."""
    x = np.linspace(0.0, SIZE, nodes) * math.pi / SIZE
    along, across = x[None, :], x[:, None]
    z = 0.0025 * np.cos(along) + 0.0004 * np.cos(2 * along) * np.cos(across)
    h = 0.0015 + 0.0005 * np.cos(along) * np.cos(2 * across)
    spacing = SIZE / (nodes - 1)
    stepper, dry = _Stepper(Basin(z, spacing, spacing, np.zeros(z.shape, np.bool_), None), WATER), np.zeros(z.shape)
    for _ in range(steps):
        h, _, _ = stepper.step(h, dry, LASTS / steps)
    return h


def halvings(what: str, errors: dict[str, float]) -> None:
    """Print errors, each beside the order that it and the one before it show."""
    print(f"  {what}")
    before = None
    for name, error in errors.items():
        order = "" if before is None else f"   {math.log2(before / error):.2f}"
        print(f"    {name:>9}   {1e6 * error:9.5f}{order}")
        before = error


def rms(values: Array) -> float:
    """Root mean square."""
    return float(np.sqrt((values**2).mean()))


def kept(beside: Beside) -> Beside:
    """The same, kept for the balance over all runs."""
    runs.append(beside)
    return beside


if __name__ == "__main__":
    main()
