"""Dates and times in every order that people write; what reads both ways is refused."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.errors import QuantityError
from drainward.job.dates import day_order, read_date, read_when

MARCH = date(2026, 3, 14)


@pytest.mark.parametrize(
    "text",
    [
        *("2026-03-14", "2026/3/14", "2026.03.14", "14 Mar 2026", "14-Mar-26", "14 March 2026", "Mar 14, 2026"),
        *("March 14th 2026", "14. Mar. 2026", "Sat 14 Mar 2026", "14/3/2026", "3/14/26", "14.03.2026", "3-14-2026"),
        *("14 de marzo de 2026", " 2026-03-14T00:00:00 ", "2026-03-14 00:00"),
    ],
)
def test_read_date(text: str) -> None:
    assert read_date(text) == MARCH


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("3/4/2026", "reads as day/month and as month/day"),
        ("32/1/26", "is not a date; expected day/month/year"),
        ("14/14/2026", "is not a date"),
        ("2026-02-30", "is not a date"),
        ("30 Feb 2026", "is not a date"),
        ("14 Mrz 2026", "is not a date"),
        ("14 Mar", "is not a date"),
        ("46095", "the bare number that a spreadsheet keeps for a date"),
        ("yes", "is not a date"),
        ("0/0/2026", "is not a date"),
        ("2026-03-14 09:30", "is not a date"),
    ],
)
def test_refused_date(text: str, expected: str) -> None:
    with pytest.raises(QuantityError, match=expected) as caught:
        read_date(text)
    assert caught.value.text == text


def test_an_order_that_is_given_binds() -> None:
    assert (read_date("3/4/2026", True), read_date("3/4/2026", False)) == (date(2026, 4, 3), date(2026, 3, 4))
    with pytest.raises(QuantityError, match="expected day/month/year"):
        read_date("3/14/2026", True)


def test_spreadsheet_cells() -> None:
    assert read_date(MARCH) == read_date(datetime.combine(MARCH, time(9))) == MARCH
    assert read_when(MARCH) == datetime.combine(MARCH, time())


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("2026-03-14", time()),
        ("2026-03-14 09:30", time(9, 30)),
        ("2026-03-14T09:30:05", time(9, 30, 5)),
        ("14 Mar 2026, 9:30", time(9, 30)),
        ("3/14/2026 2:05 pm", time(14, 5)),
        ("3/14/2026 12:05 a.m.", time(0, 5)),
        ("2026-03-14 09:30:05.25Z", time(9, 30, 5, 250_000, UTC)),
        ("2026-03-14T09:30-05:00", time(9, 30, tzinfo=timezone(-timedelta(hours=5)))),
    ],
)
def test_read_when(text: str, clock: time) -> None:
    assert read_when(text) == datetime.combine(MARCH, clock)


@pytest.mark.parametrize(
    "text", ["2026-03-14 25:00", "2026-03-14 13:05 pm", "2026-03-14 9:75", "9:30", "3/4/2026 9:30"]
)
def test_refused_time(text: str) -> None:
    with pytest.raises(QuantityError):
        read_when(text)


@pytest.mark.parametrize(
    ("dates", "order"),
    [
        (("14/3/2026", "3/4/2026"), True),
        (("3/14/2026",), False),
        (("3/14/2026", "14/3/2026"), None),
        (("3/4/2026", "2026-03-14", "", MARCH), None),
        (("99/99/2026",), None),
    ],
)
def test_day_order(dates: tuple[str | date, ...], order: bool | None) -> None:
    assert day_order(dates) is order


@given(st.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31), timezones=st.none() | st.just(UTC)))  # noqa: DTZ001
def test_iso_times_come_back(when: datetime) -> None:
    assert read_when(when.isoformat(sep=" ")) == when
    assert read_when(when.isoformat()) == when


@given(st.text(max_size=20) | st.from_regex(r"[0-9]{1,4}[-/. ][0-9a-z]{1,4}[-/. ][0-9]{1,4}", fullmatch=True))
def test_anything_else_is_refused_in_words(text: str) -> None:
    for read in (read_date, read_when):
        with suppress(QuantityError):
            assert isinstance(read(text), date)
