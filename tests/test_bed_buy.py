"""Buying for many rooms: pooled, by week, with what goes stale and what bags really used say."""

from __future__ import annotations

import math
from datetime import date
from statistics import NormalDist

import numpy as np
import pytest

from drainward.bed.buy import Need, Yield, deliveries, learned, leftovers, pooled, purchase, service_level

ROOMS = [Need(str(k), 1.2 + 0.01 * (k % 50), 0.1, date(2026, 3, 2 + k % 28)) for k in range(60)]


def test_pooled_is_enough_as_often_as_it_says_when_yields_are_off_alike() -> None:
    rng = np.random.default_rng(1)
    packs = pooled(ROOMS, 0.03, 0.95)
    needed = rng.normal([n.mean for n in ROOMS], 0.1, (20_000, 60)).sum(axis=1)
    assert (packs * rng.normal(1.0, 0.03, 20_000) >= needed).mean() == pytest.approx(0.95, abs=0.006)


def test_pooled_takes_less_than_rooms_alone_and_more_than_the_mean() -> None:
    found = purchase(ROOMS, 0.02, 0.99)
    assert found.expected < found.weighed < found.whole <= found.by_room
    assert found.short <= 0.01 + 1e-12
    assert 0.2 < found.saved < 0.5


def test_one_room_alone_is_its_own_quantile() -> None:
    need = Need("1", 1.5, 0.2)
    assert pooled([need], 0.0, 0.9) == pytest.approx(NormalDist(1.5, 0.2).inv_cdf(0.9))


@pytest.mark.parametrize("level", [0.0, 1.0, 1.5])
def test_a_certainty_is_no_promise_of_everything(level: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        pooled(ROOMS, 0.01, level)


def test_packs_that_may_give_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="no number of packs"):
        pooled(ROOMS, 0.6, 0.99)


def test_the_newsvendor_balances_both_costs() -> None:
    level = service_level(400, 18)
    # At that level the expected cost of a pack more is that of a pack less.
    assert (1 - level) * 400 == pytest.approx(level * 18)
    with pytest.raises(ValueError, match="two costs"):
        service_level(0, 18)


def test_deliveries_come_by_monday_and_add_up() -> None:
    found = deliveries([*ROOMS, Need("late", 1.0, 0.1)], 0.02, 0.99)
    assert all(d.week is None or d.week.weekday() == 0 for d in found)
    assert found[-1].week is None and found[-1].rooms == ("late",)
    assert sum(d.packs for d in found) >= math.ceil(pooled([*ROOMS, Need("late", 1.0, 0.1)], 0.02, 0.99)) > 60
    assert [d.week for d in found[:-1]] == sorted(d.week for d in found[:-1] if d.week)


def test_an_opened_bag_goes_stale_only_over_a_long_gap() -> None:
    needs = [Need("a", 1, 0.1, date(2026, 3, 2)), Need("b", 1, 0.1, date(2026, 3, 3))]
    needs.append(Need("c", 1, 0.1, date(2026, 4, 9)))
    assert leftovers(needs, 7 * 86400.0) == 0.5
    assert leftovers(needs, 60 * 86400.0) == 0.0


def test_what_was_used_moves_the_yield_and_sharpens_it() -> None:
    before = Yield(1.0, 0.05)
    after = learned(before, [n.mean * 1.08 for n in ROOMS], ROOMS)
    assert after.factor == pytest.approx(1.08, abs=0.01)
    assert after.u < before.u / 4
    assert learned(before, [], []) == before


def test_as_many_used_as_needed() -> None:
    with pytest.raises(ValueError, match="zip"):
        learned(Yield(1.0, 0.05), [1.0], [])
