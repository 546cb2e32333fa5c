"""What came to the site, delivered.csv.

COLUMNS               its columns, all but the note needed
read_delivered_file   rows to deliveries
delivered_cells       the row of one delivery, by column
"""

from __future__ import annotations

from pathlib import Path

from drainward.errors import Problem, QuantityError
from drainward.job.dates import read_date
from drainward.job.model import Delivered
from drainward.job.names import clean
from drainward.job.records import Cell, read_grid
from drainward.job.table import RowReader, tabulate
from drainward.quantity.number import clean as plain
from drainward.quantity.number import read_number

__all__ = ["COLUMNS", "delivered_cells", "read_delivered_file"]

COLUMNS = ("when", "what", "packs", "note")
_MOST = 1e6


def read_delivered_file(path: Path) -> tuple[tuple[Delivered, ...], tuple[Problem, ...]]:
    """The deliveries in file order, and what is wrong with rows. Nothing is raised."""
    table = tabulate(read_grid(path), COLUMNS[:-1], COLUMNS[-1:])
    problems = list(table.problems)
    found = []
    for row in table.rows:
        reader = RowReader(table.file, row)
        reader.needed("when", "is missing; expected the date on which it came, such as 2026-03-14")
        when = reader.parsed("when", read_date)
        what = clean(reader.needed("what", "is missing; expected a thing that takeoff lists, such as mortar"))
        reader.needed("packs", "is missing; expected how many packs came, such as 24")
        packs = reader.parsed("packs", _packs)
        if when is not None and packs is not None and not reader.problems:
            note = reader.text("note")
            found.append(Delivered(when=when, what=what, packs=packs, note=note, file=table.file, line=row.line))
        problems += reader.problems
    return tuple(found), tuple(problems)


def delivered_cells(came: Delivered) -> dict[str, str]:
    """The row by column."""
    cells = (came.when.isoformat(), came.what, f"{came.packs:.10g}", " ".join(came.note.split()))
    return dict(zip(COLUMNS, cells, strict=True))


def _packs(cell: Cell) -> float:
    """A number of packs; parts of one may be sent back."""
    text = plain(str(cell))
    sign, digits = (-1, text[1:].strip()) if text.startswith("-") else (1, text)
    try:
        number = sign * float(read_number(str(cell), digits))
    except QuantityError as error:
        raise QuantityError(error.text, "is not a number of packs; expected one such as 24, or -2 sent back") from None
    if number == 0 or abs(number) > _MOST:
        raise QuantityError(str(cell), "is no number of packs; expected one such as 24")
    return number
