"""The takeoff as a purchaser opens it: `takeoff_csv`, `takeoff_workbook` (with saw lists).

Cells are text or numbers; none is a formula, whatever a room is called.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from drainward.plan.cutting import FOOT, STEP, Saw
from drainward.plan.takeoff import Takeoff
from drainward.report.takeoff_words import cut_words, uses_words

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["takeoff_csv", "takeoff_workbook"]

_NO_DATE = "no date"
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_ALL_ROOMS = 10_000


def takeoff_csv(found: Takeoff) -> str:
    """A row for each thing and delivery, week by its Monday; text a spreadsheet would compute gets a quote before."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("what", "pack", "week", "packs", "rooms"))
    for thing in found.things:
        for delivery in thing.deliveries:
            row = (thing.what, thing.pack, _week(delivery.week), str(delivery.packs), " ".join(delivery.rooms))
            writer.writerow([f"'{cell}" if cell.startswith(_FORMULA) else cell for cell in row])
    return out.getvalue()


def takeoff_workbook(found: Takeoff) -> bytes:
    """An .xlsx: what to buy by week, mortar by week, the saw list of each delivery, its pieces, all sawn at once."""
    from openpyxl import Workbook

    book = Workbook()
    buy = book.active
    buy.title = "buy"
    weeks = sorted(
        {d.week for thing in found.things for d in thing.deliveries}, key=lambda w: (w is None, w or date.min)
    )
    heads = ["what", "pack", "will be used", "u", "came", "to come", *map(_week, weeks)]
    _fill(buy, heads, _buy_rows(found, weeks))
    mortar = [(_week(w.week), len(w.rooms), w.bags, w.u, 1000 * w.water, w.come, w.left, w.lost) for w in found.mortar]
    heads = ["week", "rooms", "bags used", "u", "water, L", "bags to come", "bags left", "bags gone stale"]
    _fill(book.create_sheet("mortar"), heads, mortar)
    lists = [(_week(day.week), *row) for day in found.days for row in _saw_rows(day.saws)]
    heads = ["section", "stick", "count", "cuts in order", "left"]
    _fill(book.create_sheet("saw list"), ["week", *heads], lists)
    pieces = [
        (_week(day.week), cut.mark, cut.section, cut_words(cut.steps), cut.count, uses_words(cut, _ALL_ROOMS))
        for day in found.days
        for cut in day.cuts
    ]
    _fill(book.create_sheet("pieces"), ["week", "letter", "section", "length", "count", "what it is"], pieces)
    _fill(book.create_sheet("saw list, all at once"), heads, list(_saw_rows(found.saws)))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _buy_rows(found: Takeoff, weeks: Sequence[date | None]) -> list[tuple[Any, ...]]:
    rows = []
    for thing in found.things:
        by_week = {delivery.week: delivery.packs for delivery in thing.deliveries}
        told = (thing.what, thing.pack, round(thing.needed, 3), round(thing.u, 3), thing.came, thing.packs)
        rows.append((*told, *(by_week.get(week) for week in weeks)))
    return rows


def _saw_rows(saws: Sequence[Saw]) -> Iterator[tuple[Any, ...]]:
    for saw in saws:
        for stick in saw.plan.sticks:
            cuts = ", ".join(cut_words(piece) for piece in stick.pieces)
            yield saw.section, f"{round(stick.stock * STEP / FOOT)} ft", stick.count, cuts, cut_words(stick.offcut)


def _week(week: date | None) -> str:
    return _NO_DATE if week is None else week.isoformat()


def _fill(sheet: Worksheet, heads: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    from openpyxl.styles import Font

    for at, row in enumerate((heads, *rows), 1):
        for across, value in enumerate(row, 1):
            cell = sheet.cell(at, across, value)
            if isinstance(value, str):
                cell.data_type = "s"  # else a name that begins with = would be a formula
            elif isinstance(value, float):
                cell.number_format = "0.0"
            if at == 1:
                cell.font = Font(bold=True)
    sheet.freeze_panes = "A2"
    for column in sheet.columns:
        longest = max(len(str(cell.value)) for cell in column if cell.value is not None)
        sheet.column_dimensions[column[0].column_letter].width = min(longest + 2, 60)
