"""What to buy and cut, for the whole job: `TakeoffPages`.

/takeoff                    the page: mortar by week, deliveries, saw lists
/takeoff.json               the stable JSON; 202 and how far it is, while it is computed
/takeoff.pdf, .xlsx, .csv   the same to take along
/labels.pdf                 labels for the doors, whose codes open the rooms' pages where this one was asked for
"""

from __future__ import annotations

import asyncio
import concurrent.futures
from collections.abc import Callable
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.plan.takeoff import Takeoff
from drainward.report.room_labels import room_labels_pdf
from drainward.report.takeoff_sheet import saw_view, takeoff_pdf
from drainward.report.takeoff_svg import mortar_svg
from drainward.report.takeoff_table import takeoff_csv, takeoff_workbook
from drainward.report.takeoff_words import (
    LETTERS,
    delivery_rooms,
    mortar_words,
    needed_words,
    notes,
    week_words,
)
from drainward.web.site import Site

__all__ = ["TakeoffPages"]

PATIENCE = 1.0
"""How long an answer waits for a takeoff before it says how far it is, s."""
_FEW, _FEW_WIDE, _WIDE = 4, 112.0, 190.0
"""So many weeks are drawn in the width of a phone, mm of the drawing; more of them scroll."""
_STICK = 100.0
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class TakeoffPages:
    """The endpoints; each is thin."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates

    def routes(self) -> list[Route]:
        return [
            Route("/takeoff", self.page, name="takeoff"),
            Route("/takeoff.json", self.numbers),
            Route("/takeoff.pdf", self.pdf),
            Route("/takeoff.xlsx", self.workbook),
            Route("/takeoff.csv", self.table),
            Route("/labels.pdf", self.labels),
        ]

    async def page(self, request: Request) -> Response:
        job = await run_in_threadpool(self.site.now)
        found = self.site.desk.known_takeoff(job)
        if found is None:
            self.site.desk.ask_takeoff(job)
        shows: dict[str, Any] = {"job": job, "found": found}
        if found is not None:
            shows |= await run_in_threadpool(_shows, found)
        return self.templates.TemplateResponse(request, "takeoff.html", shows)

    async def numbers(self, _request: Request) -> Response:
        job = await run_in_threadpool(self.site.now)
        asked = self.site.desk.ask_takeoff(job)
        await run_in_threadpool(concurrent.futures.wait, (asked,), PATIENCE)
        if not asked.done():
            share, says = self.site.desk.takeoff_at(job) or (0.0, "")
            return JSONResponse({"share": share, "says": says}, 202)
        told: dict[str, Any] = {"schema": 1, "room": None, "stage": "takeoff", "verdict": None, "findings": []}
        return JSONResponse({**told, **asked.result().as_json()})

    async def pdf(self, _request: Request) -> Response:
        return await self._file(lambda found: takeoff_pdf(found, self.site.job.name), "application/pdf", "pdf")

    async def workbook(self, _request: Request) -> Response:
        return await self._file(takeoff_workbook, _SHEET, "xlsx")

    async def table(self, _request: Request) -> Response:
        return await self._file(lambda found: takeoff_csv(found).encode(), "text/csv; charset=utf-8", "csv")

    async def _file(self, make: Callable[[Takeoff], bytes], media: str, ending: str) -> Response:
        job = await run_in_threadpool(self.site.now)
        # Shielded: several pages may wait for the same takeoff, and one that goes away must not take it along.
        found = await asyncio.shield(asyncio.wrap_future(self.site.desk.ask_takeoff(job)))
        data = await run_in_threadpool(make, found)
        return Response(data, media_type=media, headers=_named(f"takeoff {job.name}.{ending}"))

    async def labels(self, request: Request) -> Response:
        address = str(request.base_url)
        pdf = await run_in_threadpool(room_labels_pdf, self.site.job, self.site.job.rooms, address)
        return Response(pdf, media_type="application/pdf", headers=_named(f"labels {self.site.job.name}.pdf"))


def _named(name: str) -> dict[str, str]:
    return {"Content-Disposition": f"inline; filename*=UTF-8''{quote(name, safe='')}"}


def _shows(found: Takeoff) -> dict[str, Any]:
    weeks = sorted(
        {d.week for thing in found.things for d in thing.deliveries if d.packs}, key=lambda week: (week is None, week)
    )
    return {
        "says": mortar_words(found) or "No unit of this job stands in mortar.",
        "notes": notes(found),
        "picture": mortar_svg(found, _FEW_WIDE if len(found.mortar) <= _FEW else _WIDE),
        "many": len(found.mortar) > _FEW,
        "rows": [(thing, needed_words(thing)) for thing in found.things],
        "came": any(thing.came for thing in found.things),
        "deliveries": [
            {
                "title": week_words(week),
                "rooms": delivery_rooms(found, week),
                "rows": [(d.packs, t.pack, t.what) for t in found.things for d in t.deliveries if d.week == week],
            }
            for week in weeks
        ],
        "saws": [saw_view(day, _STICK) for day in found.days],
        "letters": LETTERS,
    }
