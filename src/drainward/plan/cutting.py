"""Which sticks of lumber to buy and how to saw them: cutting stock with the kerf of the saw, proved from below.

Stock         lengths that are sold, and what the saw takes, in whole steps
Stick         one way to saw one stick, and how many are sawn so
CutPlan       sticks, what they cost, the bound that no plan can beat
plan_cuts     the plan, by column generation
Piece, Saw    lumber by section, in metres, and its saw list
saw_lumber    pieces to a saw list, section by section

Method: P. C. Gilmore, R. E. Gomory, A linear programming approach to the cutting-stock problem, Operations Research 9
(1961). The bound of the linear master is A. A. Farley, A note on bounding a class of linear programming problems,
Operations Research 38 (1990): it holds whether or not the columns are complete.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import LinearConstraint, linprog, milp

from drainward.plan.knapsack import best_loads
from drainward.quantity import INCH, format_length

__all__ = ["FOOT", "STEP", "CutPlan", "Piece", "Saw", "Stick", "Stock", "plan_cuts", "saw_lumber"]

FOOT = 12 * INCH
STEP = INCH / 32
"""A saw follows a pencil line no finer than this: common practice, no source."""
KERF = INCH / 8
STOCK_FEET = (8, 10, 12, 16)
_TINY = 1e-9
_AGAIN, _NEAR, _OFF = 3, 40, 0.03
"""Rounds of more columns, loads in each for every stock, and how far off they take the worth of a length."""
_NODES = 300
"""Of one integer master: what is not found by then, more columns find sooner; and it stops alike on every machine."""

_Columns = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Stock:
    """Lengths sold, in steps, each with its price in whole units; kerf : what one cut takes, steps."""

    lengths: tuple[int, ...]
    prices: tuple[int, ...]
    kerf: int = 0


@dataclass(frozen=True, slots=True)
class Stick:
    """One stick of `stock` steps sawn into `pieces` steps, longest first, `count` times; what is left is `offcut`."""

    stock: int
    pieces: tuple[int, ...]
    offcut: int
    count: int


@dataclass(frozen=True, slots=True)
class CutPlan:
    """cost : of all sticks;  linear : the bound of the linear master;  bound : that, rounded up to what can be paid."""

    sticks: tuple[Stick, ...]
    cost: int
    linear: float
    bound: int

    @property
    def proven(self) -> bool:
        """Whether no plan costs less."""
        return self.cost == self.bound


def plan_cuts(stock: Stock, lengths: Sequence[int], demand: Sequence[int], seconds: float = 20.0) -> CutPlan:
    """The cheapest sticks from which all pieces can be sawn.

    lengths, demand : (n,) different lengths in steps, and how many of each; seconds : for one integer master.
    Raises ValueError where a length is not positive, stands twice, or is longer than the longest stock.
    """
    _refuse(stock, lengths, demand)
    if not lengths:
        return CutPlan((), 0, 0.0, 0)
    sizes = np.asarray(lengths, dtype=np.int64) + stock.kerf
    room = np.asarray(stock.lengths, dtype=np.int64) + stock.kerf
    price = np.asarray(stock.prices, dtype=float)
    wanted = np.asarray(demand, dtype=np.int64)
    columns, linear, usage, worth = _generate(sizes, room, price, wanted, _first_columns(sizes, room, price))
    pool = columns
    step = math.gcd(*stock.prices)
    bound = step * math.ceil(linear / step - 1e-6)
    chosen = _integer(pool, price, wanted, bound, seconds)
    for turn in range(_AGAIN):
        if _cost(pool, price, chosen) <= bound:
            break
        if turn == 0:
            # What the linear answer leaves after rounding down has columns of its own, which close most gaps.
            left = np.maximum(wanted - columns[:, 1:].T @ np.floor(usage + _TINY).astype(np.int64), 0)
            pool = _generate(sizes, room, price, left, pool)[0]
        pool = _with_near(pool, sizes, room, worth, wanted, turn)
        rivals = _padded(chosen, pool), _integer(pool, price, wanted, bound, seconds)
        chosen = min(rivals, key=partial(_cost, pool, price))
    sticks = _sticks(stock, np.asarray(lengths), pool, chosen, wanted)
    cost = sum(stock.prices[stock.lengths.index(stick.stock)] * stick.count for stick in sticks)
    return CutPlan(sticks, cost, linear, bound)


def _refuse(stock: Stock, lengths: Sequence[int], demand: Sequence[int]) -> None:
    if len(set(lengths)) != len(lengths) or len(lengths) != len(demand):
        raise ValueError("expected different lengths, and one number wanted for each")
    if min(lengths, default=1) <= 0 or min(demand, default=1) <= 0:
        raise ValueError("expected lengths and numbers above zero")
    if max(lengths, default=0) > max(stock.lengths):
        raise ValueError(f"a piece of {max(lengths)} steps is longer than the longest stock, {max(stock.lengths)}")


def _first_columns(sizes: _Columns, room: _Columns, price: NDArray[np.float64]) -> _Columns:
    """For each length the stock that is cheapest a piece, full of it: (n, 1 + n), which stock first, then counts."""
    columns = np.zeros((len(sizes), 1 + len(sizes)), dtype=np.int64)
    for k, size in enumerate(sizes):
        fits = np.flatnonzero(room >= size)
        best = fits[np.argmin(price[fits] / (room[fits] // size))]
        columns[k, 0], columns[k, 1 + k] = best, room[best] // size
    return columns


def _generate(
    sizes: _Columns, room: _Columns, price: NDArray[np.float64], wanted: _Columns, columns: _Columns
) -> tuple[_Columns, float, NDArray[np.float64], NDArray[np.float64]]:
    """Columns until none helps: they, the bound from below, how often each is used, what each length is worth."""
    bound = 0.0
    while True:
        cost = price[columns[:, 0]]
        solved: Any = linprog(cost, A_ub=-columns[:, 1:].T, b_ub=-wanted, method="highs")
        worth = np.maximum(-solved.ineqlin.marginals, 0.0)
        loads, values = best_loads(sizes, worth, wanted, room)
        # Farley: worth divided by how far the best column overpays is feasible for the dual program.
        bound = max(bound, float(worth @ wanted) / max(1.0, float((values / price).max())))
        better = np.flatnonzero(values > price * (1 + _TINY))
        new = np.column_stack([better, loads[better]])
        fresh = [row for row in new if not (columns == row).all(axis=1).any()]
        if not fresh:
            return columns, bound, np.asarray(solved.x), worth
        columns = np.vstack([columns, *fresh])


def _with_near(
    columns: _Columns, sizes: _Columns, room: _Columns, worth: NDArray[np.float64], wanted: _Columns, seed: int
) -> _Columns:
    """And the best loads where what a length is worth is a little off."""
    rng = np.random.default_rng(seed)
    new = [columns]
    for _ in range(_NEAR):
        loads, _ = best_loads(sizes, worth * rng.uniform(1 - _OFF, 1 + _OFF, len(worth)), wanted, room)
        new.append(np.column_stack([np.arange(len(room)), loads]))
    _, first = np.unique(np.vstack(new), axis=0, return_index=True)
    return np.vstack(new)[np.sort(first)]


def _padded(chosen: _Columns, pool: _Columns) -> _Columns:
    """How often each column is sawn, nought for those added behind."""
    return np.concatenate([chosen, np.zeros(len(pool) - len(chosen), dtype=np.int64)])


def _integer(
    columns: _Columns, price: NDArray[np.float64], wanted: _Columns, bound: int, seconds: float
) -> NDArray[np.int64]:
    """How often each column is sawn, whole; the bound as a row lets the solver stop when it is reached."""
    cost = price[columns[:, 0]]
    rows = np.vstack([columns[:, 1:].T, cost])
    low = np.append(wanted, bound)
    solved: Any = milp(
        cost,
        constraints=LinearConstraint(rows, low, np.inf),
        integrality=np.ones(len(cost)),
        options={"time_limit": seconds, "node_limit": _NODES},
    )
    if solved.x is None:  # out of time: each length from full sticks of its own, which the first columns are
        chosen = np.zeros(len(columns), dtype=np.int64)
        first = len(wanted)
        chosen[:first] = -(-wanted // columns[np.arange(first), 1 + np.arange(first)])
        return chosen
    whole: NDArray[np.int64] = np.rint(solved.x).astype(np.int64)
    return whole


def _cost(columns: _Columns, price: NDArray[np.float64], chosen: _Columns) -> float:
    return float(price[columns[:, 0]] @ chosen)


def _sticks(
    stock: Stock, lengths: _Columns, columns: _Columns, chosen: _Columns, wanted: _Columns
) -> tuple[Stick, ...]:
    """The sticks, longest stock first; pieces beyond the demand are not sawn, nor sticks bought for them."""
    spare = columns[:, 1:].T @ chosen - wanted
    order = np.argsort(-lengths)
    sawn: Counter[tuple[int, tuple[int, ...]]] = Counter()
    for column, times in zip(columns, chosen, strict=True):
        for _ in range(times):
            counts = column[1:].copy()
            drop = np.minimum(counts, spare)
            spare -= drop
            counts -= drop
            if counts.any():
                pieces = tuple(int(lengths[k]) for k in order for _ in range(counts[k]))
                sawn[_shortest(stock, pieces), pieces] += 1
    return tuple(
        Stick(size, pieces, max(size - sum(pieces) - stock.kerf * len(pieces), 0), count)
        for (size, pieces), count in sorted(sawn.items(), reverse=True)
    )


def _shortest(stock: Stock, pieces: tuple[int, ...]) -> int:
    """The cheapest stock that holds the pieces."""
    need = sum(pieces) + stock.kerf * (len(pieces) - 1)
    return min((price, length) for length, price in zip(stock.lengths, stock.prices, strict=True) if length >= need)[1]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of lumber. section : such as 2x4;  length : m;  count : how many;  use : brace, blocking."""

    section: str
    length: float
    count: int = 1
    use: str = ""


@dataclass(frozen=True, slots=True)
class Saw:
    """The saw list of one section; lengths in steps of 1/32 in, cost in feet."""

    section: str
    plan: CutPlan

    @property
    def bought(self) -> dict[int, int]:
        """Sticks to buy, by length in feet."""
        count: Counter[int] = Counter()
        for stick in self.plan.sticks:
            count[round(stick.stock * STEP / FOOT)] += stick.count
        return dict(sorted(count.items()))

    def lines(self) -> tuple[str, ...]:
        """A line for each way to saw: how many sticks of which length, the cuts in their order, what is left."""
        return tuple(
            f"{stick.count} × {self.section} {round(stick.stock * STEP / FOOT)} ft: "
            f"{', '.join(_grouped(stick.pieces))}; left {format_length(stick.offcut * STEP, 'in', 32)}"
            for stick in self.plan.sticks
        )

    def says(self) -> str:
        """What is bought, and how near to the least that could be."""
        sticks = ", ".join(f"{count} of {feet} ft" for feet, count in self.bought.items())
        over = self.plan.cost - self.plan.bound
        proof = "no list needs less" if over == 0 else f"at most {over} ft more than the least"
        return f"{self.section}: {sticks}; {self.plan.cost} ft, {proof}"

    def as_json(self) -> dict[str, Any]:
        """SI throughout; cost and bound in metres."""
        return {
            "section": self.section,
            "cost": self.plan.cost * FOOT,
            "bound": self.plan.bound * FOOT,
            "proven": self.plan.proven,
            "sticks": [
                {
                    "count": stick.count,
                    "stock": stick.stock * STEP,
                    "pieces": [piece * STEP for piece in stick.pieces],
                    "offcut": stick.offcut * STEP,
                }
                for stick in self.plan.sticks
            ],
        }


def saw_lumber(
    pieces: Iterable[Piece], stock_feet: Sequence[int] = STOCK_FEET, kerf: float = KERF, seconds: float = 20.0
) -> tuple[Saw, ...]:
    """Saw lists by section, in the order of their names; a length is rounded up to 1/32 in.

    stock_feet : lengths sold;  kerf : m. Raises ValueError where a piece is longer than the longest stock.
    """
    wanted: dict[str, Counter[int]] = defaultdict(Counter)
    for piece in pieces:
        wanted[piece.section][math.ceil(piece.length / STEP - 1e-6)] += piece.count
    lengths = tuple(round(feet * FOOT / STEP) for feet in stock_feet)
    stock = Stock(lengths, tuple(stock_feet), math.ceil(kerf / STEP - 1e-6))
    return tuple(
        Saw(section, plan_cuts(stock, tuple(counts), tuple(counts.values()), seconds))
        for section, counts in sorted(wanted.items())
    )


def _grouped(pieces: Sequence[int]) -> list[str]:
    """Equal cuts together, in the order of sawing."""
    return [
        format_length(length * STEP, "in", 32) + (f" ×{count}" if count > 1 else "")
        for length, count in Counter(pieces).items()
    ]
