"""Units, readings and floors known exactly, shared by the tests of the floor.

cone_unit, planes_unit, level_unit   unit models
reading                         one reading
functionals, mixed_functionals, spots   functionals without a job
dense_covariance                of readings and places, by a general-purpose library
certain                         a prior with one way and no defects
still                           drawn floors that are all one known floor
surface, dip                    analytic heights as fine surfaces; floors with one Gaussian dish or rise
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shower_units import cone

from drainward.floor.abreast.lanes import pack
from drainward.floor.belief import Floors
from drainward.floor.belief.defects import SPOT, Shapes
from drainward.floor.belief.field import lattice
from drainward.floor.belief.ways import Prior
from drainward.floor.functionals import Functionals
from drainward.floor.surface import Surfaces, surfaces
from drainward.job.model import Floor, NamedHeight, Reading, ReadingKind, UnitModel

Array = NDArray[np.float64]
Field = Callable[[Array, Array], Array]

INCH = 0.0254
WIDTH, DEPTH = 60 * INCH, 36 * INCH


def cone_unit(fall: float = 0.03) -> UnitModel:
    """A 60 x 36 in floor with its drain in the middle and one fall all round."""
    return cone(60, 36, (30, 18), fall)


def planes_unit(
    width: float, depth: float, drain: tuple[float, float], named: Sequence[tuple[float, float, float]]
) -> UnitModel:
    """Sizes, the drain's place and (x, y, height) of named edge points, all m; the drain's radius is 20 mm."""
    like = cone(width / INCH, depth / INCH, (drain[0] / INCH, drain[1] / INCH), 0.02)
    heights = tuple(NamedHeight(x=x, y=y, height=h) for x, y, h in named)
    return like.model_copy(
        update={
            "floor": Floor(form="planes", thickness=0.005, heights=heights),
            "drain": like.drain.model_copy(update={"radius": 0.02}),
        }
    )


def level_unit(width: float = WIDTH, depth: float = DEPTH) -> UnitModel:
    """A floor moulded without any fall, drain in the middle: all that stands on it comes from the deviation."""
    rim = [(0.0, 0.0, 0.0), (width, 0.0, 0.0), (width, depth, 0.0), (0.0, depth, 0.0)]
    return planes_unit(width, depth, (width / 2, depth / 2), rim)


def reading(kind: ReadingKind, *place: float, value: float, u: float = 0.0004, **more: object) -> Reading:
    """A reading at x, y or x, y, x2, y2 (m) in room 1; its id tells the place."""
    x, y, *end = place
    x2, y2 = end or (None, None)
    parts: dict[str, object] = {"id": f"{kind}-{'-'.join(f'{p:.4f}' for p in place)}", "room": "1"} | more
    return Reading(kind=kind, x=x, y=y, x2=x2, y2=y2, value=value, u=u, **parts)  # type: ignore[arg-type]


def functionals(points: Sequence[Sequence[tuple[float, float, float]]], u: Array, setup: Sequence[int]) -> Functionals:
    """Readings as lists of up to three (x, y, weight), m; values are zero."""
    n = len(points)
    table = np.zeros((n, 3, 3))
    for i, some in enumerate(points):
        table[i, :, :2] = some[0][:2]
        table[i, : len(some)] = some
    x, y, weight = (np.ascontiguousarray(table[:, :, k]) for k in range(3))
    return Functionals(x, y, weight, np.zeros(n), np.asarray(u, dtype=float), np.asarray(setup, dtype=np.intp))


def mixed_functionals(
    rng: np.random.Generator, n: int, u: float = 0.0004, width: float = WIDTH, depth: float = DEPTH
) -> Functionals:
    """n random readings of all four kinds; spot heights hang on two set-ups."""
    points, us, setup = [], [], []
    for i in range(n):
        (x, x2), (y, y2) = rng.uniform(0, width, 2), rng.uniform(0, depth, 2)
        run = float(np.hypot(x2 - x, y2 - y)) + 1e-3
        kind = i % 4
        some = {
            0: [(x, y, 1.0)],
            1: [(x, y, 1.0), (x2, y2, -1.0)],
            2: [(x, y, -1 / run), (x2, y2, 1 / run)],
            3: [(x, y, 0.5), (x2, y2, 0.5), ((x + x2) / 2, (y + y2) / 2, -1.0)],
        }[kind]
        points.append(some)
        us.append(u / run if kind == 2 else u)
        setup.append(i // 4 % 2 if kind == 0 else -1)
    return functionals(points, np.array(us), setup)


def spots(at: Array, u: float) -> Functionals:
    """Spot heights of one set-up at places (n, 2), m."""
    return functionals([[(x, y, 1.0)] for x, y in at], np.full(len(at), u), [0] * len(at))


def dense_covariance(
    f: Functionals, length: float, size: float, tilt: float, datum: float, at: Array | None = None
) -> tuple[Array, Array, Array]:
    """Of n readings (n, n), of k places (k, 2) with them (k, n), and of the places (k, k), m2.

    From a library's covariance between all their points; nothing of ours but the weights. Imported here, because only
    some tests pay for the library.
    """
    from sklearn.gaussian_process.kernels import Matern

    at = np.zeros((0, 2)) if at is None else at
    points = np.concatenate([np.stack([f.x.ravel(), f.y.ravel()], axis=1), at])
    centred = points - (WIDTH / 2, DEPTH / 2)
    field = size**2 * Matern(length, nu=2.5)(points) + tilt**2 * centred @ centred.T
    pick = np.zeros((len(f), len(points)))
    for i in range(len(f)):
        pick[i, 3 * i : 3 * i + 3] = f.weight[i]
    same = np.array([[a == b >= 0 for b in f.setup] for a in f.setup])
    crossed = field @ pick.T
    ours = 3 * len(f)
    return pick @ crossed + np.diag(f.u**2) + datum**2 * same, crossed[ours:], field[ours:, ours:]


def certain(length: float = 11 * INCH, size: float = 0.02 * INCH, tilt: float = 0.004, **more: object) -> Prior:
    """A prior with one length, size and tilt, no defects and no blunders."""
    parts: dict[str, object] = {"defect_odds": 0.0, "blunder_odds": 0.0} | more
    return Prior(
        lengths=(length,), length_odds=(1.0,), sizes=(size,), size_odds=(1.0,), tilts=(tilt,), tilt_odds=(1.0,), **parts
    )  # type: ignore[arg-type]


def no_shapes(count: int, slots: int = 1) -> Shapes:
    return Shapes(np.zeros((count, slots), dtype=np.intp), *(np.ones((count, slots)) for _ in range(5)))


def still(
    width: float = WIDTH,
    depth: float = DEPTH,
    *,
    plane: tuple[float, float] = (0.0, 0.0),
    shapes: Shapes | None = None,
    heights: Array | None = None,
    count: int = 3,
) -> Floors:
    """`count` equal floors: a plane about the floor's middle and the given defects (s,) with their heights (s,), m."""
    nodes = lattice(width, depth, 1.5 * INCH)
    if shapes is None or heights is None:
        shapes, height = no_shapes(count), np.zeros((count, 1))
    else:
        index = np.tile(np.arange(len(heights)), (count, 1))
        shapes, height = shapes[index], np.tile(heights, (count, 1))
    coarse = np.zeros((count, nodes.size), np.float32)
    return Floors(nodes, coarse, np.tile(plane, (count, 1)).astype(float), shapes, height)  # fmt: skip


def surface(unit: UnitModel, *fields: Field, step: float = INCH / 4) -> Surfaces:
    """One floor per field z(x, y), m, on a grid with nodes about `step` apart."""
    like = surfaces(still(unit.inside_width, unit.inside_depth, count=len(fields)), unit, step)
    gx, gy = np.meshgrid(like.x, like.y)
    z = np.stack([np.broadcast_to(field(gx, gy), gx.shape) for field in fields]).astype(np.float32)
    return replace(like, z=pack(z))


def dip(unit: UnitModel, x: float, y: float, half: float, height: float, **more: object) -> Floors:
    """Floors with one round Gaussian of standard deviation `half` (m) and the given height (m, negative for a dish)."""
    shapes = Shapes(np.array([SPOT]), *(np.array([v]) for v in (x, y, 0.0, half, half)))
    return still(unit.inside_width, unit.inside_depth, shapes=shapes, heights=np.array([height]), **more)  # type: ignore[arg-type]
