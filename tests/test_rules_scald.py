"""The caution beside a hottest temperature: what the published figures say, and never more comfort than they give."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.rules.scald import BURNS, scald_words


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) * 5 / 9


@pytest.mark.parametrize(
    ("fahrenheit", "says"),
    [
        (110, "Below 120 °F (49 °C) a deep burn takes longer than 5 minutes"),
        (119.9, "Below 120 °F (49 °C)"),
        (120, "Water at 120 °F (49 °C) burns skin deeply in 5 to 10 minutes"),
        (134, "Water at 130 °F (54 °C) burns skin deeply in about 30 seconds"),
        (140, "Water at 140 °F (60 °C) burns skin deeply in less than 5 seconds"),
        (200, "Water at 155 °F (68 °C) burns skin deeply in 1 second"),
    ],
)
def test_it_says_what_the_published_table_says(fahrenheit: float, says: str) -> None:
    assert scald_words(celsius(fahrenheit)).startswith(says)


@given(st.floats(-10, 120))
def test_it_always_warns_of_those_who_burn_sooner(temperature: float) -> None:
    assert "children, old people and whoever cannot feel heat or step away burn sooner" in scald_words(temperature)


@given(st.sampled_from(sorted(BURNS)))
def test_every_entry_is_reached_at_its_own_temperature(fahrenheit: int) -> None:
    assert BURNS[fahrenheit] in scald_words(celsius(fahrenheit))
