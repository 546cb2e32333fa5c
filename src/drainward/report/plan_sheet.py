"""The plan on paper, landscape: head, day by day, the board by floors, the lists of the next day; `plan_pdf`.

Layout stands in plan_sheet.typ.
"""

from __future__ import annotations

from collections.abc import Mapping

from drainward.plan.clock import local
from drainward.plan.make import Made
from drainward.plan.told import lates, lists_of, next_day
from drainward.report.board_svg import board_svg, floors_svg, legend_svg, pages_of, strips_svg
from drainward.report.plan_words import day_words, head_lines, late_lines, list_rows, move_rows
from drainward.report.press import print_pdf

__all__ = ["plan_pdf"]

MANY = 60
"""Rooms from which on the floors are shown together first."""
_WIDE, _HIGH = 255.0, 176.0
_FEW = 12


def plan_pdf(job: str, made: Made, bags: Mapping[str, float]) -> bytes:
    """Letter pages, landscape; bags : of mortar by room, as far as known."""
    building = made.case.building
    day = next_day(made)
    late = late_lines(lates(made))
    if len(late) > _FEW:
        late = (*late[:_FEW], f"and {len(late) - _FEW} more")
    crews = {crew.id: crew.people for crew in building.crews}
    data = {
        "job": job,
        "made": f"Plan of {day_words(local(building, made.case.now).date())}",
        "head": list(head_lines(made)),
        "late": list(late),
        "notes": list(made.case.notes),
        "moves": [list(row) for row in move_rows(made)][:24],
        "strips": strips_svg(made, bags, _WIDE),
        "floors": floors_svg(made, _WIDE) if len(building.rooms) > MANY else "",
        "legend": legend_svg(),
        "boards": [board_svg(made, page, _WIDE) for page in pages_of(made, _HIGH)],
        "day": "" if day is None else day_words(day),
        "lists": []
        if day is None
        else [
            {
                "crew": f"Crew {crew}",
                "people": f"{crews[crew]} people",
                "rows": [list(r) for r in list_rows(made, tasks)],
            }
            for crew, tasks in lists_of(made, day).items()
        ],
    }
    return print_pdf("plan_sheet.typ", data)
