"""Saw lists: every piece is sawn, nothing fits less, and the proof holds against full enumeration."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.plan.cutting import FOOT, STEP, CutPlan, Piece, Stock, plan_cuts, saw_lumber
from drainward.plan.knapsack import best_loads
from drainward.quantity import INCH


def check(stock: Stock, lengths: tuple[int, ...], demand: tuple[int, ...], plan: CutPlan) -> None:
    """Sawn anew from the printed list alone."""
    sawn: Counter[int] = Counter()
    for stick in plan.sticks:
        assert stick.stock in stock.lengths
        used = sum(stick.pieces) + stock.kerf * (len(stick.pieces) - 1)
        assert used <= stick.stock
        assert stick.offcut == max(stick.stock - used - stock.kerf, 0)
        for piece in stick.pieces:
            sawn[piece] += stick.count
    assert dict(zip(lengths, demand, strict=True)) == dict(sawn)
    prices = dict(zip(stock.lengths, stock.prices, strict=True))
    assert plan.cost == sum(prices[stick.stock] * stick.count for stick in plan.sticks)
    assert plan.bound <= plan.cost


def cheapest(stock: Stock, pieces: tuple[int, ...]) -> int:
    """Least cost by trying every split of the pieces into sticks."""
    prices = dict(zip(stock.lengths, stock.prices, strict=True))

    def alone(group: tuple[int, ...]) -> int | None:
        need = sum(group) + stock.kerf * (len(group) - 1)
        return min((price for length, price in prices.items() if length >= need), default=None)

    @cache
    def of(mask: int) -> int:
        if mask == 0:
            return 0
        first = mask & -mask
        rest, best = mask ^ first, 10**9
        part = rest
        while True:
            group = tuple(pieces[k] for k in range(len(pieces)) if (part | first) >> k & 1)
            cost = alone(group)
            if cost is not None:
                best = min(best, cost + of(rest ^ part))
            if part == 0:
                return best
            part = (part - 1) & rest

    return of((1 << len(pieces)) - 1)


@settings(max_examples=40, deadline=None)
@given(
    st.dictionaries(st.integers(8, 40), st.integers(1, 3), min_size=1, max_size=4).filter(
        lambda wanted: sum(wanted.values()) <= 9
    ),
    st.sampled_from([Stock((40,), (1,)), Stock((40, 60), (4, 6), 2), Stock((50, 64), (5, 7), 1)]),
)
def test_no_split_of_the_pieces_is_cheaper_than_the_bound(wanted: dict[int, int], stock: Stock) -> None:
    lengths, demand = tuple(wanted), tuple(wanted.values())
    plan = plan_cuts(stock, lengths, demand)
    check(stock, lengths, demand, plan)
    least = cheapest(stock, tuple(length for length, count in wanted.items() for _ in range(count)))
    assert plan.bound <= least <= plan.cost
    assert plan.cost - least <= min(stock.prices)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_sixty_lengths_are_sawn_from_no_more_than_the_bound(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lengths = rng.choice(np.arange(256, 4800), 60, replace=False)
    pieces = [Piece("2x4", float(length) * STEP, int(rng.integers(1, 60))) for length in lengths]
    (saw,) = saw_lumber(pieces)
    stock = Stock(tuple(round(feet * FOOT / STEP) for feet in (8, 10, 12, 16)), (8, 10, 12, 16), 4)
    check(stock, tuple(map(int, lengths)), tuple(piece.count for piece in pieces), saw.plan)
    assert saw.plan.proven


def test_a_load_is_the_best_of_all_loads() -> None:
    rng = np.random.default_rng(1)
    for _ in range(20):
        sizes, most = rng.integers(3, 12, 4), rng.integers(1, 4, 4)
        worth, room = rng.random(4), np.array([7, 19, 31])
        loads, values = best_loads(sizes, worth, most, room)
        assert (loads <= most).all()
        assert (loads @ sizes <= room).all()
        assert loads @ worth == pytest.approx(values)
        every = np.array(np.meshgrid(*(np.arange(m + 1) for m in most))).reshape(4, -1).T
        for space, value in zip(room, values, strict=True):
            assert (every @ worth)[every @ sizes <= space].max() == pytest.approx(value)


def test_the_kerf_is_paid_for_between_pieces_only() -> None:
    two = [Piece("2x4", 4 * FOOT - INCH / 16, 2, "brace")]
    assert saw_lumber(two, kerf=INCH / 8)[0].bought == {8: 1}
    assert saw_lumber([Piece("2x4", 4 * FOOT, 2)], kerf=INCH / 8)[0].bought == {10: 1}


def test_a_saw_list_says_which_stick_which_cuts_and_what_is_left() -> None:
    saws = saw_lumber([Piece("2x6", 22.5 * INCH, 4), Piece("2x4", 60 * INCH), Piece("2x4", 33.25 * INCH)])
    assert [saw.section for saw in saws] == ["2x4", "2x6"]
    assert saws[0].lines() == ('1 × 2x4 8 ft: 60", 33-1/4"; left 2-1/2"',)
    assert saws[1].lines() == ('1 × 2x6 8 ft: 22-1/2" ×4; left 5-1/2"',)
    assert saws[0].says() == "2x4: 1 of 8 ft; 8 ft, no list needs less"
    told = saws[0].as_json()
    assert told["sticks"][0]["pieces"] == pytest.approx([60 * INCH, 33.25 * INCH])
    assert told["proven"] is True


def test_a_length_off_the_grid_is_never_sawn_short() -> None:
    saw = saw_lumber([Piece("2x4", 30.01 * INCH)])[0]
    assert saw.plan.sticks[0].pieces[0] * STEP >= 30.01 * INCH


@pytest.mark.parametrize(
    ("lengths", "demand", "message"),
    [
        ((200,), (1,), "longer than the longest stock"),
        ((5, 5), (1, 1), "different lengths"),
        ((0,), (1,), "above zero"),
    ],
)
def test_what_cannot_be_sawn_is_refused(lengths: tuple[int, ...], demand: tuple[int, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        plan_cuts(Stock((100,), (1,)), lengths, demand)


def test_nothing_wanted_costs_nothing() -> None:
    assert saw_lumber([]) == ()
    assert plan_cuts(Stock((100,), (1,)), (), ()).proven
