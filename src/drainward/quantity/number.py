"""Written numbers as trades write them: `36`, `36.5`, `5/16`, `36-1/2`, `36 1/2`, `36½`.

clean            one spelling for quotes, primes, dashes, spaces and fractions
refuse_damage    what a spreadsheet made of a fraction or a ratio is refused, never guessed
is_date_serial   a bare number that is a spreadsheet's day count
fraction_hint    which fraction a spreadsheet may have taken for this date
read_number      an unsigned number, exact
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date, timedelta
from fractions import Fraction

from drainward.errors import QuantityError

__all__ = ["NUMBER", "clean", "fraction_hint", "is_date_serial", "is_fraction", "read_number", "refuse_damage"]

NUMBER = r"[0-9.][0-9./ -]*"
"""What may stand where a number is expected; `read_number` decides whether it is one."""

_DATE = (
    "looks like a date: a spreadsheet seems to have turned a fraction into a date; "
    "format the column as text and write the fraction again"
)
_TIME = (
    "looks like a time of day: a spreadsheet seems to have turned a ratio into a time; "
    "format the column as text and write the ratio again"
)

_SAME = str.maketrans(
    {
        **dict.fromkeys("′’‘‛´`ʹʼ＇", "'"),
        **dict.fromkeys("″”“„‟ʺ＂", '"'),
        **dict.fromkeys("−–‐‑‒﹣－", "-"),
        **dict.fromkeys("⁄∕", "/"),
        **dict.fromkeys("º˚", "°"),
        **dict.fromkeys("\u200b\u2060\ufeff", None),
        "∶": ":",
        "％": "%",
    }
)
_RAISED = re.compile("([⁰¹²³⁴⁵⁶⁷⁸⁹]+)[⁄/]([₀₁₂₃₄₅₆₇₈₉]+)")
_POWER = re.compile("(?<=[A-Za-z])[²³]")
_VULGAR = re.compile("(?<=([0-9]))?([¼½¾⅐-⅞↉])")

_MONTH = re.compile(r"(?<![a-z])(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|ene|abr|ago|dic)[a-z]*(?![a-z])")
_DAY_AND_MONTH = re.compile(r"(?:([0-9]{1,2})[-/ .])?([a-z]{3})[a-z]*\.?(?:[-/ ]([0-9]{1,2}))?")
_MONTHS = ("jan ene", "feb", "mar", "apr abr", "may", "jun", "jul", "aug ago", "sep", "oct", "nov", "dec dic")
_CALENDAR = re.compile(
    r"[0-9]{4}([-/.])[0-9]{1,2}\1[0-9]{1,2}(?:[t ].*)?|[0-9]{1,2}([-/.])[0-9]{1,2}\2(?:[0-9]{4}|[0-9]{2})(?: .*)?"
)
_PADDED = re.compile(r"0[0-9]/[0-9]+|[0-9]+/0[0-9]")
_CLOCK = re.compile(r"[0-9]{1,2}:[0-9]{2}:[0-9]{2}.*|0[0-9]:[0-9]{2}|[0-9]{1,2}:[0-9]{2} ?[ap]\.?m\.?")

_DECIMAL = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,30})?|\.[0-9]{1,30}")
_TRADE = re.compile(r"(?:([0-9]{1,9})[ -])?(0|[1-9][0-9]{0,8})/([1-9][0-9]{0,8})")
_DENOMINATORS = (2, 4, 8, 16, 32, 64)


def clean(text: str) -> str:
    """The text in lower case with plain quotes, hyphens, single spaces and fractions as n/d."""
    text = _RAISED.sub(lambda m: f" {_plain_digits(m[1])}/{_plain_digits(m[2])} ", text)
    text = _POWER.sub(lambda m: _plain_digits(m[0]), text)
    text = _VULGAR.sub(lambda m: f"{' ' if m[1] else ''}{_plain_digits(m[2])} ", text)
    return " ".join(text.translate(_SAME).replace("''", '"').lower().split())


def _plain_digits(text: str) -> str:
    return unicodedata.normalize("NFKC", text).replace("⁄", "/")


def refuse_damage(text: str, cleaned: str) -> None:
    """Raises QuantityError for dates, times and decimal commas; `text` is what the message quotes."""
    if _MONTH.search(cleaned) or _CALENDAR.fullmatch(cleaned) or _PADDED.fullmatch(cleaned):
        raise QuantityError(text, _DATE + _named_hint(cleaned))
    if _CLOCK.fullmatch(cleaned):
        raise QuantityError(text, _TIME)
    if "," in cleaned:
        raise QuantityError(text, "has a comma; write a decimal point, and no mark between thousands")


def is_date_serial(number: Fraction) -> bool:
    """Whether a bare number is the day count that a spreadsheet stores for a fraction turned into a date.

    Counted from 30 December 1899. A fraction n/2 to n/16 becomes a day of the year in which it was typed, n/32 and
    n/64 the first of a month in 1932 or 1964.
    """
    if number.denominator != 1 or not 1 <= number < 73_051:
        return False
    day = date(1899, 12, 30) + timedelta(days=int(number))
    return day.year >= 2000 or (day.year in (1932, 1964) and day.day == 1)


def fraction_hint(day: date) -> str:
    """A suggestion such as "; perhaps 3/4 was typed"; "" where no fraction of a tape makes such a date.

    n/2 to n/16 become a day of the year of typing, month or day first; n/32 and n/64 a month of 1932 or 1964.
    """
    pairs = [(day.month, day.year - 1900)] if day.year in (1932, 1964) and day.day == 1 else []
    pairs += [(day.month, day.day), (day.day, day.month)]
    for above, below in pairs:
        if below in _DENOMINATORS and above < below:
            return f"; perhaps {above}/{below} was typed"
    return ""


def _named_hint(cleaned: str) -> str:
    """The same for a day and a month's name, as a date stands in a table saved as text: 4-mar."""
    parts = _DAY_AND_MONTH.fullmatch(cleaned)
    month = 0 if parts is None else next((n for n, names in enumerate(_MONTHS, 1) if parts[2] in names.split()), 0)
    number = 0 if parts is None else int(parts[1] or parts[3] or 0)
    if not month or not (1 <= number <= 28 or number in (32, 64)):
        return ""
    return fraction_hint(date(1900 + number, month, 1) if number > 28 else date(2000, month, number))


def is_fraction(written: str) -> bool:
    """Whether a number is written with a trade fraction."""
    return "/" in written


def read_number(text: str, written: str) -> Fraction:
    """The exact value of an unsigned number: decimal, trade fraction, or whole number and trade fraction.

    text : the whole cell, for the message; written : the part that should be a number, already cleaned.
    Raises QuantityError for improper fractions, denominators other than 2 to 64, and anything not wholly understood.
    """
    if _DECIMAL.fullmatch(written):
        return Fraction(written)
    parts = _TRADE.fullmatch(written)
    if parts is None:
        raise QuantityError(text, "holds no number that is understood; expected one such as 36, 36.5, 5/16 or 36-1/2")
    whole, numerator, denominator = int(parts[1] or 0), int(parts[2]), int(parts[3])
    if denominator not in _DENOMINATORS:
        raise QuantityError(
            text, f"has the fraction {parts[2]}/{denominator}; a tape reads in 2nds, 4ths, 8ths to 64ths"
        )
    if numerator >= denominator:
        raise QuantityError(text, f"has an improper fraction; {_split_hint(parts[2], denominator)}")
    return whole + Fraction(numerator, denominator)


def _split_hint(numerator: str, denominator: int) -> str:
    """361/2 is most likely 36½ that lost its shape: show how to write it, without taking it for granted."""
    for cut in range(1, len(numerator)):
        whole, rest = numerator[:cut], numerator[cut:]
        if not rest.startswith("0") and int(rest) < denominator and int(rest) % 2:
            return f"if {whole} and {rest}/{denominator} is meant, write {whole}-{rest}/{denominator}"
    return "write the whole number first, then the rest, such as 1-1/4"
