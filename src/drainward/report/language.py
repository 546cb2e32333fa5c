"""Words of a printed sheet in the reader's language: `LANGUAGES`, `say_in`, `clock_in`, `hour_in`.

A catalogue is a gettext file locale/LANGUAGE/LC_MESSAGES/drainward.po; a new language is a new file there and a line
in `LANGUAGES`. The message is the English sentence itself.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import cache
from pathlib import Path

__all__ = ["LANGUAGES", "LOCALE", "clock_in", "hour_in", "say_in"]

LOCALE = Path(__file__).parent.parent / "locale"
LANGUAGES = {"en": "English", "es": "español"}

_REGION = {"en": "en_US", "es": "es_US"}
"""Inches and pounds, and a point before decimals: as these languages are written on a site in the United States."""


def say_in(language: str) -> Callable[[str], str]:
    """From an English sentence to the language's; what its catalogue lacks stays English.

    Raises ValueError for a language that is not among `LANGUAGES`.
    """
    if language not in LANGUAGES:
        raise ValueError(f"no catalogue for {language!r}; there are {', '.join(LANGUAGES)}")
    words = {} if language == "en" else _catalogue(language)
    return lambda sentence: words.get(sentence, sentence)


def clock_in(language: str, when: datetime) -> str:
    """Weekday, date and time of day in the order and words of the language."""
    from babel.dates import format_datetime

    return format_datetime(when, "EEE d MMM, h:mm a", locale=_REGION[language]).replace("\u202f", " ")


def hour_in(language: str, when: datetime) -> str:
    """Time of day alone."""
    from babel.dates import format_time

    return format_time(when.time(), "h:mm a", locale=_REGION[language]).replace("\u202f", " ")


@cache
def _catalogue(language: str) -> dict[str, str]:
    from babel.messages.pofile import read_po

    with (LOCALE / language / "LC_MESSAGES" / "drainward.po").open("rb") as file:
        read = read_po(file, locale=language)
    return {str(m.id): str(m.string) for m in read if m.id and m.string and not m.fuzzy}
