"""The revised lifting equation: its worked examples, its limits, and people who share a load."""

from __future__ import annotations

import math

import pytest

from drainward.wayin.lift import (
    Coupling,
    Lift,
    duration_hours,
    lifting_index,
    lifting_words,
    liftings,
    people_needed,
    weight_limit,
)


def test_the_best_lift_is_the_load_constant() -> None:
    assert weight_limit(Lift(0.25, 0.75, 0.25, coupling=Coupling.GOOD)).mass == pytest.approx(23)


@pytest.mark.parametrize(
    "lift", [Lift(0.64, 0.75, 0.3), Lift(0.3, 1.76, 0.3), Lift(0.3, 0.75, 1.76), Lift(0.3, 0.75, 0.3, turn=136)]
)
def test_beyond_a_limit_no_load_is_left(lift: Lift) -> None:
    assert weight_limit(lift).mass == 0
    assert lifting_index(1.0, weight_limit(lift)) == math.inf
    assert people_needed(10.0, weight_limit(lift)) is None


def test_people_share_within_the_index() -> None:
    limit = weight_limit(Lift(0.4, 0.4, 0.4))
    people = people_needed(75.0, limit)
    assert people is not None
    assert lifting_index(75.0 / people, limit) <= 1 < lifting_index(75.0 / (people - 1), limit)


def test_work_counts_by_the_rest_after_it() -> None:
    assert [duration_hours(75 * 60, 30 * 60), duration_hours(7200, 36 * 60), duration_hours(7200, 35 * 60)] == [2, 2, 8]
    assert duration_hours(45 * 60, 45 * 60) == 1


def test_a_negative_size_is_refused() -> None:
    with pytest.raises(ValueError, match="not negative"):
        weight_limit(Lift(-0.1, 0.4, 0.4))


def test_one_end_takes_fewer_people_than_the_whole_and_standing_it_up_more_than_raising_it() -> None:
    raised, stood, carried = liftings(66.0, lying=True)
    assert (raised.mass, stood.mass, carried.mass) == (33, 33, 66)
    assert raised.limit > stood.limit
    assert [one.people for one in (raised, stood, carried)] == [4, 4, 6]
    assert liftings(66.0, lying=False) == (raised, carried)
    assert lifting_words((raised, carried)) == "4 people raise one end onto pipes; 6 people carry it clear of the floor"
