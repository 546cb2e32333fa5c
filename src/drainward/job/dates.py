"""Dates and times as people and spreadsheets write them. An order of day and month is never guessed.

read_date    2026-03-14, 14 Mar 2026, March 14, 2026, 14/3/2026 where only one order gives a date
read_when    the same with a time of day: 2026-03-14 09:30, 3/14/2026 2:05 pm
day_order    what the dates of a list say together: day first, month first, or neither
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, timezone

from drainward.errors import QuantityError
from drainward.job.names import clean
from drainward.job.records import Cell

__all__ = ["day_order", "read_date", "read_when"]

_EXPECTED = "is not a date; expected year-month-day such as 2026-03-14, or 14 Mar 2026"
_MONTHS = (
    ("jan", "january", "ene", "enero"),
    ("feb", "february", "febrero"),
    ("mar", "march", "marzo"),
    ("apr", "april", "abr", "abril"),
    ("may", "mayo"),
    ("jun", "june", "junio"),
    ("jul", "july", "julio"),
    ("aug", "august", "ago", "agosto"),
    ("sep", "sept", "september", "septiembre"),
    ("oct", "october", "octubre"),
    ("nov", "november", "noviembre"),
    ("dec", "december", "dic", "diciembre"),
)
_MONTH_OF = {name: number for number, names in enumerate(_MONTHS, start=1) for name in names}
_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_NUMBERS = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_DAY_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ -/.]*(?:de )?([a-z]+)[ -/.,]*(?:de )?(\d{4}|\d{2})")
_MONTH_NAMED = re.compile(r"([a-z]+)[ -/.]*(\d{1,2})(?:st|nd|rd|th)?[ ,-/.]+(\d{4}|\d{2})")
_WEEKDAY = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,? ")
_CLOCK = re.compile(
    r"(?P<date>.*?\d)(?:t|[ ,]+)(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:\.(?P<part>\d{1,6}))?)? ?"
    r"(?P<half>[ap]\.?m\.?)?(?P<zone>z|[+-]\d{2}:?\d{2})?"
)
_SERIAL = re.compile(r"[34]\d{4}(\.\d+)?")


def read_date(cell: Cell, day_first: bool | None = None) -> date:
    """The date in a cell.

    day_first : the order of 3/4/2026; None refuses what reads both ways. Raises QuantityError.
    """
    if isinstance(cell, datetime):
        return cell.date()
    if isinstance(cell, date):
        return cell
    text = clean(cell).casefold()
    midnight = re.fullmatch(r"(.*\d)[t ]00:00(:00)?", text)
    return _date(cell, midnight.group(1) if midnight else text, day_first)


def read_when(cell: Cell) -> datetime:
    """The date and time in a cell: midnight where no time is given, aware where a zone is written.

    Raises QuantityError.
    """
    if isinstance(cell, datetime):
        return cell
    if isinstance(cell, date):
        return datetime.combine(cell, time())
    text = clean(cell).casefold()
    parts = _CLOCK.fullmatch(text)
    if parts is None:
        return datetime.combine(_date(cell, text, None), time())
    day = _date(cell, parts["date"], None)
    try:
        hour = _hour(int(parts["hour"]), parts["half"])
        microsecond = int((parts["part"] or "0").ljust(6, "0"))
        clock = time(hour, int(parts["minute"]), int(parts["second"] or 0), microsecond, _zone(parts["zone"]))
    except ValueError:
        raise QuantityError(cell, "holds no time of day; expected such as 2026-03-14 09:30") from None
    return datetime.combine(day, clock)


def day_order(cells: Iterable[Cell]) -> bool | None:
    """True where the list writes the day first, False where the month; None where it says neither, or both."""
    orders = set()
    for cell in cells:
        numbers = _NUMBERS.fullmatch(clean(cell)) if isinstance(cell, str) else None
        if numbers is None:
            continue
        first, second = int(numbers[1]), int(numbers[3])
        if first > 12 >= second >= 1:
            orders.add(True)
        elif second > 12 >= first >= 1:
            orders.add(False)
    return orders.pop() if len(orders) == 1 else None


def _date(cell: str, text: str, day_first: bool | None) -> date:
    text = _WEEKDAY.sub("", text, count=1)
    try:
        if iso := _ISO.fullmatch(text):
            return date(int(iso[1]), int(iso[3]), int(iso[4]))
        if numbers := _NUMBERS.fullmatch(text):
            return _ordered(cell, int(numbers[1]), int(numbers[3]), _year(numbers[4]), day_first)
        if named := _DAY_NAMED.fullmatch(text):
            return date(_year(named[3]), _month(named[2]), int(named[1]))
        if named := _MONTH_NAMED.fullmatch(text):
            return date(_year(named[3]), _month(named[1]), int(named[2]))
    except QuantityError:
        raise
    except ValueError:
        raise QuantityError(cell, _EXPECTED) from None
    if _SERIAL.fullmatch(text):
        hint = "is the bare number that a spreadsheet keeps for a date; format the column as a date"
        raise QuantityError(cell, hint)
    raise QuantityError(cell, _EXPECTED)


def _ordered(cell: str, first: int, second: int, year: int, day_first: bool | None) -> date:
    if day_first is None:
        if first <= 12 and second <= 12 and first != second:
            hint = "reads as day/month and as month/day; write 14 Mar 2026 or 2026-03-14"
            raise QuantityError(cell, hint)
        day_first = first > 12
    day, month = (first, second) if day_first else (second, first)
    try:
        return date(year, month, day)
    except ValueError:
        order = "day/month/year" if day_first else "month/day/year"
        raise QuantityError(cell, f"is not a date; expected {order}") from None


def _year(digits: str) -> int:
    return int(digits) + (2000 if len(digits) == 2 else 0)


def _month(word: str) -> int:
    if word not in _MONTH_OF:
        raise ValueError(word)
    return _MONTH_OF[word]


def _hour(hour: int, half: str | None) -> int:
    if half is None:
        return hour
    if not 1 <= hour <= 12:
        raise ValueError(hour)
    return hour % 12 + (12 if half.startswith("p") else 0)


def _zone(written: str | None) -> timezone | None:
    if written is None:
        return None
    if written == "z":
        return UTC
    sign = -1 if written[0] == "-" else 1
    return timezone(sign * timedelta(hours=int(written[1:3]), minutes=int(written[-2:])))
