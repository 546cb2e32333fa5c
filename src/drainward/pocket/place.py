"""Whether a rigid unit goes into a framed pocket, where it stands best, and what to plane where it does not.

Shim, Bind, Change   what is needed at a stud face; what holds the unit; a change of the pocket
Placement            the answer
place                compute it
Surveyed, surveyed   the survey as the compiled programs take it
at_words             a stud face in words

The unit stays level in both directions: its place is two shifts and a turn. First the room to all that it must clear is
made as large as it can be: below nought it does not go in. Then the largest shim is made small, then the sum of all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.job.model import UnitModel
from drainward.pocket import fit
from drainward.pocket.fit import FITS_FROM, LINE_ROWS, SIDES, best, rows_at
from drainward.pocket.heights import Heights, heights
from drainward.pocket.limits import Limits, Outline, outline
from drainward.pocket.shape import Pocket, Wall
from drainward.pocket.simplex import OPTIMAL, least
from drainward.quantity import INCH, format_length

__all__ = ["Bind", "Change", "Placement", "Shim", "Surveyed", "at_words", "place", "surveyed"]

Array = NDArray[np.float64]
_LITTLE = 1e-9
_ALIKE = INCH / 32
"""Nobody planes more finely than this."""


@dataclass(frozen=True, slots=True)
class Shim:
    """Shim or furring between flange and stud face at one surveyed place.

    index : of the pocket;  thickness, u : m, its standard uncertainty while the same faces hold the unit
    """

    index: int
    thickness: float
    u: float


@dataclass(frozen=True, slots=True)
class Bind:
    """Something that holds the unit where it stands.

    what  : "stud", "core" or "line";  index : of the pocket for a stud, else -1
    touches : False at a far face, where the largest shim is
    gain  : by how much the largest shim (or, where the unit does not go in, the lack of room) shrinks for each unit
            that a touching face is planed, a far one is brought forward, a core widened or a line let off
    up_to : so far the gain holds, m; nan where the unit does not go in
    """

    what: str
    index: int
    touches: bool
    gain: float
    up_to: float


@dataclass(frozen=True, slots=True)
class Change:
    """A change that lets the unit in.

    what  : "stud" or "wall" (plane or move its faces back), "core" (widen it all round, or move it by as much the right
            way), "line" (let the threshold off by as much more);  wall, stud : where it is one, else -1
    most  : the most that is to go, m;  faces : (index of the pocket, how much) for every face that must give way
    """

    what: str
    wall: int
    stud: int
    most: float
    faces: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """Where the unit stands best; m and rad.

    goes_in : whether there is a place;  room : the least room to stud faces, core and line where it is made largest
    shift, turn : (x, y) along the unit's own axes from the pocket's corner, and the turn from x to y
    shims   : at every stud face that the flange meets, negative where it is in the way;  largest, u_largest : of them
    binding : what holds it, the most gain first
    drain_off, u_drain_off : (2,) of the drain from the core's centre in the pocket's frame, nan where not measured
    clearance, u_clearance : left round the drain's body in the core
    line_off, u_line_off : (2,) of the threshold's outer edge beyond its line at the left and the right
    planing : where it does not go in, every face, the core and the line that stands in its way at the best place
    change  : where it does not go in, the one smallest change that lets it in; None where no single one does
    """

    goes_in: bool
    room: float
    shift: tuple[float, float]
    turn: float
    shims: tuple[Shim, ...]
    largest: float
    u_largest: float
    binding: tuple[Bind, ...]
    drain_off: tuple[float, float]
    u_drain_off: tuple[float, float]
    clearance: float
    u_clearance: float
    line_off: tuple[float, float]
    u_line_off: tuple[float, float]
    heights: Heights
    planing: tuple[Change, ...]
    change: Change | None


@dataclass(frozen=True, slots=True, eq=False)
class Surveyed:
    """The survey as `fit` takes it.

    used : (n,) indices of the faces that the unit meets;  body : radius of the drain's body, m
    wall, at, off, core, front, ends, out : the arguments of `fit.rows_at`
    """

    used: NDArray[np.intp]
    wall: NDArray[np.int64]
    at: Array
    off: Array
    core: Array
    front: Array
    ends: Array
    out: Array
    body: float

    def args(self) -> tuple[NDArray[np.int64], Array, Array, Array, Array, Array, Array]:
        """In the order of `fit.rows_at`."""
        return self.wall, self.at, self.off, self.core, self.front, self.ends, self.out


def place(unit: UnitModel, pocket: Pocket, limits: Limits | None = None) -> Placement:
    """Where the unit stands best in the pocket.

    Raises StageError where the survey leaves it free to move: no face of a wall, or nothing that tells its turn.
    """
    limits = limits or Limits()
    shape = outline(unit)
    survey = surveyed(pocket, shape, limits)
    state, room, largest, where = best(*survey.args())
    if state != OPTIMAL:
        raise StageError("the survey is no pocket that a place can be computed in: are its sizes in one unit?")
    k, g = rows_at(*survey.args(), where[2])
    left = k + g[:, :2] @ where[:2]
    goes_in = bool(room >= FITS_FROM)
    n = len(survey.used)
    moves, binding = _held(survey, k, g, where, largest) if goes_in else _stuck(survey, k, g, where)
    cause = _causes(survey, pocket, where[2])
    follow = cause + g @ moves @ cause
    u_rows = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", follow, pocket.covariance, follow), 0.0))
    widest = int(left[:n].argmax())
    off, u_off, clearance, u_clearance = _drain(survey, pocket, where, moves @ cause)
    line = tuple(
        float(survey.out[7] - left[n + SIDES + 2 * e]) if np.isfinite(survey.front[e]) else np.nan for e in (0, 1)
    )
    u_line = tuple(float(u_rows[n + SIDES + 2 * e]) if np.isfinite(survey.front[e]) else np.nan for e in (0, 1))
    return Placement(
        goes_in=goes_in,
        room=float(room),
        shift=(float(where[0]), float(where[1])),
        turn=float(where[2]),
        shims=tuple(Shim(int(i), float(left[j]), float(u_rows[j])) for j, i in enumerate(survey.used)),
        largest=float(largest),
        u_largest=float(u_rows[widest]),
        binding=binding,
        drain_off=off,
        u_drain_off=u_off,
        clearance=clearance,
        u_clearance=u_clearance,
        line_off=(line[0], line[1]),
        u_line_off=(u_line[0], u_line[1]),
        heights=heights(unit, pocket, where, limits),
        planing=() if goes_in else _planing(survey, pocket, left),
        change=None if goes_in else _smallest(survey, pocket, where[2], binding),
    )


def surveyed(pocket: Pocket, shape: Outline, limits: Limits) -> Surveyed:
    """The faces that the unit meets, and the rest of the survey. Raises StageError as `place` does."""
    side = pocket.wall != Wall.BACK
    used = np.flatnonzero((pocket.z <= shape.top) & (~side | (pocket.at <= shape.front - shape.back)))
    wall, at = pocket.wall[used], pocket.at[used]
    for one in Wall:
        if not (wall == one).any():
            raise StageError(
                f"no stud face of the {one.name.lower()} wall is surveyed where the unit meets it: measure one"
            )
    if all(np.ptp(at[wall == one]) < 1e-6 for one in Wall) and not np.isfinite(pocket.front).all():
        raise StageError("one stud a wall does not tell how the unit is turned: measure a second stud of a wall")
    right = pocket.off[used][wall == Wall.RIGHT]
    ends = np.array([pocket.off[used][wall == Wall.LEFT].mean(), right.mean()])
    out = [shape.left, shape.right, shape.back, shape.front, shape.drain_x, shape.drain_y]
    out += [shape.drain + limits.drain_clearance, limits.line_off]
    core = np.array([*pocket.core, pocket.core_radius], dtype=np.float64)
    return Surveyed(
        used, wall.astype(np.int64), at.astype(np.float64), pocket.off[used].astype(np.float64), core,
        pocket.front.astype(np.float64), ends, np.array(out), shape.drain,
    )  # fmt: skip


def at_words(pocket: Pocket, index: int) -> str:
    """Such as: left wall, stud 2 (16" from the back), 6" up."""
    wall = Wall(int(pocket.wall[index]))
    start = "left" if wall is Wall.BACK else "back"
    at, up = format_length(float(pocket.at[index])), format_length(float(pocket.z[index]))
    return f"{wall.name.lower()} wall, stud {int(pocket.stud[index]) + 1} ({at} from the {start}), {up} up"


def _held(survey: Surveyed, k: Array, g: Array, where: Array, largest: float) -> tuple[Array, tuple[Bind, ...]]:
    """How shift and turn follow the rows' k while the same rows hold the unit, (3, m); and what holds it, going in."""
    n, m = len(survey.used), len(k)
    state, v, basis, weight, inverse = fit.tightest(k, g, n, fit.TURN)
    again, _w, second, _weight, turned = fit.fewest(k, g, n, v[3] if state == OPTIMAL else largest, fit.TURN)
    if state != OPTIMAL or again != OPTIMAL:
        return np.zeros((3, m)), ()
    rise = np.zeros(m)  # of the largest shim, with each k
    for r, w in zip(basis, weight, strict=True):
        if r < m:
            rise[r] -= w
        elif r < m + n:
            rise[r - m] += w
    follow = np.zeros((3, m))
    for p, r in enumerate(second):
        if r < m:
            follow[:, r] += turned[:, p]
        elif r < m + n:
            follow[:, r - m] -= turned[:, p]
            follow += np.outer(turned[:, p], rise)
    binds: list[Bind] = []
    for what, index, rows in _named(survey, m):
        change = float(rise[rows].sum())
        if abs(change) > _LITTLE:
            up_to = _range(k, g, n, v, basis, inverse, rows, touches=change < 0)
            binds.append(Bind(what, index, change < 0, abs(change), up_to))
    return follow, tuple(sorted(binds, key=lambda bind: -bind.gain))


def _range(
    k: Array, g: Array, n: int, v: Array, basis: NDArray[np.int64], inverse: Array, rows: list[int], touches: bool
) -> float:
    """How far these rows' k may grow (touching) or shrink (far) until another row takes hold, m."""
    m = len(k)
    sign = 1.0 if touches else -1.0
    step = np.zeros(4)
    own = np.zeros(m)
    own[rows] = sign
    for p, r in enumerate(basis):
        if r < m:
            step += inverse[:, p] * own[r]
        elif r < m + n:
            step -= inverse[:, p] * own[r - m]
    room = np.concatenate([k + g @ v[:3] - FITS_FROM, v[3] - (k + g @ v[:3])[:n]])
    rate = np.concatenate([own + g @ step[:3], step[3] - (own + g @ step[:3])[:n]])
    closing = rate < -_LITTLE
    return float((np.maximum(room[closing], 0.0) / -rate[closing]).min(initial=np.inf))


def _stuck(survey: Surveyed, k: Array, g: Array, where: Array) -> tuple[Array, tuple[Bind, ...]]:
    """The same where the unit does not go in, at the place with the most room."""
    m = len(k)
    _state, _v, basis, weight, inverse = fit.widest(k, g, fit.TURN)
    follow, share = np.zeros((3, m)), np.zeros(m)
    for p, (r, w) in enumerate(zip(basis, weight, strict=True)):
        if r < m:
            follow[:, r] += inverse[:3, p]
            share[r] += w
    binds = [
        Bind(what, index, True, float(share[rows].sum()), float("nan"))
        for what, index, rows in _named(survey, m)
        if share[rows].sum() > _LITTLE
    ]
    return follow, tuple(sorted(binds, key=lambda bind: -bind.gain))


def _named(survey: Surveyed, m: int) -> list[tuple[str, int, list[int]]]:
    n = len(survey.used)
    studs = [("stud", int(i), [j]) for j, i in enumerate(survey.used)]
    return [*studs, ("core", -1, list(range(n, n + SIDES))), ("line", -1, list(range(m - LINE_ROWS, m)))]


def _causes(survey: Surveyed, pocket: Pocket, turn: float) -> Array:
    """How each row's k follows the survey's unknowns in the order of `Pocket.mean`, (m, N)."""
    n, k = len(survey.used), len(pocket.slab)
    cause = np.zeros((n + SIDES + LINE_ROWS, len(pocket.mean)))
    c, s = np.cos(turn), np.sin(turn)
    cause[np.arange(n), survey.used] = np.where(survey.wall == Wall.RIGHT, c, -c)
    first = len(pocket)
    if np.isfinite(survey.core).all():
        a = 2 * np.pi * np.arange(SIDES) / SIDES
        cause[n : n + SIDES, first] = np.cos(a) * c - np.sin(a) * s
        cause[n : n + SIDES, first + 1] = np.cos(a) * s + np.sin(a) * c
        cause[n : n + SIDES, first + 2] = 1.0
    for e in np.flatnonzero(np.isfinite(survey.front)):
        cause[n + SIDES + 2 * e, first + 3 + k + e] = c
        cause[n + SIDES + 2 * e + 1, first + 3 + k + e] = -c
    return cause


def _drain(
    survey: Surveyed, pocket: Pocket, where: Array, moved: Array
) -> tuple[tuple[float, float], tuple[float, float], float, float]:
    """Offset of the drain from the core's centre, in the pocket's frame, and its clearance, with uncertainties."""
    nan = float("nan")
    if not np.isfinite(survey.core[:2]).all():
        return (nan, nan), (nan, nan), nan, nan
    c, s = np.cos(where[2]), np.sin(where[2])
    turned = np.array([[c, -s], [s, c]])
    own = survey.out[4:6] + where[:2]
    off = turned @ own - survey.core[:2]
    follow = turned @ moved[:2] + np.outer(np.array([[-s, -c], [c, -s]]) @ own, moved[2])
    first = len(pocket)
    follow[0, first] -= 1.0
    follow[1, first + 1] -= 1.0
    u = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", follow, pocket.covariance, follow), 0.0))
    away = float(np.hypot(*off))
    # Dead centre, every way is outward: the clearance then shrinks with the offset itself.
    grad = -(off / away) @ follow if away > 1e-9 else -np.abs(follow).max(axis=0)
    grad[first + 2] += 1.0
    u_clear = float(np.sqrt(max(grad @ pocket.covariance @ grad, 0.0)))
    return (
        (float(off[0]), float(off[1])),
        (float(u[0]), float(u[1])),
        float(survey.core[2] - survey.body - away),
        u_clear,
    )


def _planing(survey: Surveyed, pocket: Pocket, left: Array) -> tuple[Change, ...]:
    """All that stands in the way at the best place, the worst first."""
    found = []
    for what, index, rows in _named(survey, len(left)):
        lack = float(-left[rows].min())
        if lack > _LITTLE:
            stud = what == "stud"
            wall, number = (int(pocket.wall[index]), int(pocket.stud[index])) if stud else (-1, -1)
            found.append(Change(what, wall, number, lack, ((index, lack),) if stud else ()))
    return tuple(sorted(found, key=lambda change: -change.most))


def _smallest(survey: Surveyed, pocket: Pocket, turn: float, binding: tuple[Bind, ...]) -> Change | None:
    """The least single change: of a stud, the core or the line; of a whole wall only where none of them will do.

    A change helps only where it touches something that keeps the unit out. Of changes as small, that of the stud which
    stands farthest out of its wall's plane, as the pocket is believed.
    """
    n = len(survey.used)
    m = n + SIDES + LINE_ROWS
    studs, walls = {}, {}
    for bind in binding:
        if bind.what == "stud":
            wall, stud = int(pocket.wall[bind.index]), int(pocket.stud[bind.index])
            same = survey.wall == wall
            walls["wall", wall, -1] = np.flatnonzero(same)
            studs["stud", wall, stud] = np.flatnonzero(same & (pocket.stud[survey.used] == stud))
        else:
            start = n if bind.what == "core" else n + SIDES
            studs[bind.what, -1, -1] = np.arange(start, n + SIDES if bind.what == "core" else m)
    for group in (studs, walls):
        found = [
            change
            for (what, wall, stud), rows in group.items()
            if (change := _alone(survey, turn, what, wall, stud, rows)) is not None
        ]
        if found:
            least_most = min(change.most for change in found)
            alike = [change for change in found if change.most <= least_most + _ALIKE]
            return max(alike, key=lambda change: (_out_of_plane(survey, pocket, change), -change.most))
    return None


def _out_of_plane(survey: Surveyed, pocket: Pocket, change: Change) -> float:
    """By how much what is to be changed stands into the pocket before the plane of its wall's other studs, m.

    Of two opposite studs either would do; the one that stands out of line is the one to plane. 0 for all but a stud.
    """
    if change.what != "stud":
        return 0.0
    wall = survey.wall == change.wall
    own = wall & (pocket.stud[survey.used] == change.stud)
    rest = wall & ~own
    at, z = survey.at, pocket.z[survey.used]
    if len(np.unique(at[rest])) < 2:
        return 0.0
    basis = np.column_stack([np.ones(len(at)), at, z])
    plane, *_ = np.linalg.lstsq(basis[rest], survey.off[rest], rcond=None)
    beyond = survey.off[own] - basis[own] @ plane
    inward = -1.0 if change.wall == Wall.RIGHT else 1.0
    return inward * float(beyond.mean())


def _alone(survey: Surveyed, turn: float, what: str, wall: int, stud: int, rows: NDArray[np.intp]) -> Change | None:
    """How far these rows alone must give way; None where that does not let the unit in."""
    gives = np.zeros(len(survey.used) + SIDES + LINE_ROWS)
    gives[rows] = 1.0
    step = fit.TURN
    for _ in range(8):
        k, g = rows_at(*survey.args(), turn)
        a = -np.column_stack([g, gives])
        state, v, *_ = least(np.array([0.0, 0.0, 0.0, 1.0]), a, k, np.array([0.5, 0.5, step, 2.0]))
        if state != OPTIMAL:
            return None
        turn, step = turn + float(v[2]), abs(float(v[2])) / 2
        if step < 1e-7:
            break
    k, g = rows_at(*survey.args(), turn)
    lack = -(k + g[:, :2] @ v[:2])[rows]
    faces: tuple[tuple[int, float], ...] = ()
    if what in ("stud", "wall"):
        faces = tuple((int(survey.used[r]), float(d)) for r, d in zip(rows, lack, strict=True) if d > _LITTLE)
    return Change(what, wall, stud, float(max(lack.max(), 0.0)), faces)
