"""A form of the page as a row of the file whose columns its fields are.

typed_in   the fields as they were typed, cleaned
FormRow    the same behind the reader that the file's own rows go through
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import replace

from drainward.errors import InputError
from drainward.job.table import Row, RowReader

__all__ = ["FormRow", "typed_in"]

_LONG = 60
"""How long what is typed into a field may be, where nothing else is said."""


class FormRow:
    """reader : as of a row of the file, "page" where a file is named;  id : of the entry, "" where it was refused."""

    def __init__(
        self, form: Mapping[str, str], typed: Mapping[str, str], longest: Mapping[str, int], what: str
    ) -> None:
        """longest : letters that a field may have, by name;  what : one entry, as messages call it: "a measure"."""
        self.reader = RowReader("page", Row(0, {column: text for column, text in typed.items() if text}))
        for column, text in typed.items():
            if len(text) > longest.get(column, _LONG):
                self.reader.refuse(column, "is too long")
        try:
            self.id = str(uuid.UUID(form.get("id", "")))
        except ValueError:
            self.reader.refuse("id", f"is not {what}'s id; load the page again", form.get("id", ""))
            self.id = ""

    def refusal(self) -> InputError:
        """What was refused, as the page says it: without a line."""
        return InputError(tuple(replace(problem, line=None) for problem in self.reader.problems))


def typed_in(form: Mapping[str, str], columns: Iterable[str]) -> dict[str, str]:
    """What was typed into the fields of these names."""
    return {column: _printed(form.get(column, "")) for column in columns}


def _printed(text: str) -> str:
    """Without what nobody sees."""
    return "".join(letter for letter in " ".join(text.split()) if letter.isprintable())
