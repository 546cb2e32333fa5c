"""The page's addresses: `create_app`.

/                          the job: questions first, then its rooms by floor
/board.json                where each room stands, for the poll
/rooms/R                   one room: verdict, map, findings, readings
/rooms/R/answer.json       a first estimate (`?first=1`) or the refined answer, as soon as it is computed
/rooms/R/draft.json        the stable JSON of the draft stage
/rooms/R/plan.svg          the plan as paper shows it
/rooms/R/handover.pdf      the evidence on paper
POST /rooms/R/readings     a reading in
POST /rooms/R/withdrawals  a reading, a water test, a measure, a size or work taken back

The water's addresses stand in `drainward.web.water_pages`, those of the stages before a unit is set in
`drainward.web.survey_pages`, those of what holds it in `drainward.web.hold_pages`, those of the storeys' plans in
`drainward.web.storey_pages`, those of what to buy and cut in `drainward.web.takeoff_pages`, those of crews and dates in
`drainward.web.schedule_pages`.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
import uuid
from collections.abc import AsyncIterator, Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from jinja2 import Environment, PackageLoader
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.templating import Jinja2Templates

from drainward.errors import DrainwardError, InputError
from drainward.floor.result import Draft
from drainward.job.model import Reading, Room
from drainward.job.names import room_path
from drainward.report.cautions import cautions
from drainward.web.answer import reading_rows
from drainward.web.desk import (
    FULL,
    QUICK,
    Compute,
    ComputeBefore,
    ComputeWater,
    ComputeWay,
    before_engine,
    engine,
    water_engine,
    way_engine,
)
from drainward.web.entry import read_entry
from drainward.web.form import asked_room, read_form, refusal, taken_at, wants_json
from drainward.web.guard import Guard
from drainward.web.hold_pages import HoldPages
from drainward.web.schedule_pages import SchedulePages
from drainward.web.site import Answer, Site
from drainward.web.storey_pages import StoreyPages
from drainward.web.survey_pages import SurveyPages
from drainward.web.takeoff_pages import TakeoffPages
from drainward.web.water_pages import WaterPages

if TYPE_CHECKING:
    from drainward.record.store import Store

__all__ = ["create_app"]


def create_app(
    job_folder: Path,
    store: Store | None,
    *,
    compute: Compute = engine,
    compute_water: ComputeWater = water_engine,
    compute_before: ComputeBefore = before_engine,
    compute_way: ComputeWay = way_engine,
    names: Iterable[str] = (),
) -> Starlette:
    """The page of one job.

    store   : where readings are kept; None shows the folder's readings and takes none
    compute, compute_water, compute_before, compute_way : what computes a draft, a water test, the stages before a unit
              is set, and its way in
    names   : host names, beside this machine's own, under which the page may be reached
    Raises InputError when the folder cannot be used.
    """
    pages = _Pages(Site(job_folder, store, compute, compute_water, compute_before, compute_way))
    water, survey = WaterPages(pages.site, pages.templates), SurveyPages(pages.site, pages.templates)
    storeys, buying = StoreyPages(pages.site, pages.templates), TakeoffPages(pages.site, pages.templates)
    schedule = SchedulePages(pages.site, pages.templates)

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        yield
        pages.site.desk.close()

    return Starlette(
        routes=[
            Route("/", pages.job, name="job"),
            Route("/board.json", pages.board),
            Route("/rooms/{room:path}/answer.json", pages.answer),
            Route("/rooms/{room:path}/draft.json", pages.draft),
            Route("/rooms/{room:path}/plan.svg", pages.plan),
            Route("/rooms/{room:path}/handover.pdf", pages.handover),
            *water.routes(),
            *survey.routes(),
            *HoldPages(pages.site, pages.templates).routes(),
            *storeys.routes(),
            *buying.routes(),
            *schedule.routes(),
            Route("/rooms/{room:path}/readings", pages.save, methods=["POST"]),
            Route("/rooms/{room:path}/withdrawals", pages.withdraw, methods=["POST"]),
            Route("/rooms/{room:path}", pages.room, name="room"),
            Mount("/static", StaticFiles(packages=[("drainward.web", "static")]), name="static"),
        ],
        middleware=[Middleware(Guard, names=names), Middleware(GZipMiddleware, compresslevel=6)],
        exception_handlers={HTTPException: pages.refused, DrainwardError: pages.refused, Exception: pages.broken},
        lifespan=lifespan,
    )


class _Pages:
    """The endpoints; each is thin, the site does the work."""

    def __init__(self, site: Site) -> None:
        self.site = site
        env = Environment(loader=PackageLoader("drainward.web"), autoescape=True, trim_blocks=True, lstrip_blocks=True)
        env.filters["room_path"] = room_path
        env.filters["unbroken"] = _unbroken
        self.templates = Jinja2Templates(env=env)

    async def job(self, request: Request) -> Response:
        rows = await run_in_threadpool(self.site.board.rows)
        floors: dict[str, list[object]] = {}
        for row in rows:
            floors.setdefault(row.room.floor, []).append(row)
        shows = {
            "job": self.site.job,
            "outlook": self.site.outlook,
            "warnings": self.site.warnings,
            "problems": self.site.problems,
            "floors": floors,
            "clocks": await run_in_threadpool(self.site.clock_lines, datetime.now(UTC)),
            "rows": rows,
            "done": sum(not row.open for row in rows),
        }
        return self.templates.TemplateResponse(request, "job.html", shows)

    async def board(self, _request: Request) -> Response:
        rows = await run_in_threadpool(self.site.board.rows)
        done = sum(not row.open for row in rows)
        return JSONResponse({"rooms": [row.as_json() for row in rows], "done": done, "of": len(rows)})

    async def room(self, request: Request) -> Response:
        return await self._room(request, asked_room(self.site.rooms, request))

    async def _room(
        self, request: Request, room: Room, typed: Mapping[str, str] | None = None, refused: InputError | None = None
    ) -> Response:
        """The room's page; with what was typed and why it was refused, where a form came without the page's script."""
        readings = await run_in_threadpool(self.site.readings, room.room)
        known = self.site.desk.known(room.room, readings) or self.site.desk.known(room.room, readings, QUICK)
        answer = None if known is None else await run_in_threadpool(self.site.answer, room, known, readings)
        if known is None or known.samples < FULL:
            self.site.desk.ask(room.room, readings, QUICK if known is None else FULL)
        shows = {
            "job": self.site.job,
            "room": room,
            "unit": self.site.unit(room),
            "cautions": cautions(self.site.job, self.site.unit(room)),
            "writable": self.site.store is not None,
            "answer": answer,
            "shows": {"readings": reading_rows(readings, {}, self.site.job.instruments)}
            if answer is None
            else answer.shows,
            "form": self.site.form(room, readings),
            "id": str(uuid.uuid4()),
            "typed": typed or {},
            "refused": {} if refused is None else {p.field: p for p in refused.problems},
        }
        return self.templates.TemplateResponse(request, "room.html", shows, status_code=422 if refused else 200)

    async def answer(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        readings = await run_in_threadpool(self.site.readings, room.room)
        samples = QUICK if request.query_params.get("first") else FULL
        if samples == QUICK and self.site.desk.known(room.room, readings) is not None:
            samples = FULL
        draft = await self._computed(room, readings, samples)
        answer = await run_in_threadpool(self.site.answer, room, draft, readings)
        return JSONResponse(await run_in_threadpool(self._fragments, room, answer))

    def _fragments(self, room: Room, answer: Answer) -> dict[str, object]:
        shows = {
            "room": room,
            "writable": self.site.store is not None,
            "answer": answer,
            "shows": answer.shows,
        }
        render = self.templates.get_template
        return {
            "refined": answer.refined,
            "verdict": render("_verdict.html").render(shows),
            "answer": render("_answer.html").render(shows),
            "picture": answer.picture,
            "form": self.site.form(room, self.site.readings(room.room)),
        }

    async def draft(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        readings = await run_in_threadpool(self.site.readings, room.room)
        return JSONResponse((await self._computed(room, readings, FULL)).as_json())

    async def plan(self, request: Request) -> Response:
        """The plan as paper shows it, for a browser without scripts."""
        room = asked_room(self.site.rooms, request)
        readings = await run_in_threadpool(self.site.readings, room.room)
        draft = await self._computed(room, readings, FULL)
        svg = await run_in_threadpool(self.site.svg, room, draft, readings)
        return Response(svg, media_type="image/svg+xml")

    async def handover(self, request: Request) -> Response:
        from drainward.report.handover import handover_pdf

        room = asked_room(self.site.rooms, request)
        readings = await run_in_threadpool(self.site.readings, room.room)
        draft = await self._computed(room, readings, FULL)
        unit, tests = self.site.unit(room), await run_in_threadpool(self.site.tests, room.room)
        water = None
        if tests:
            # Shielded for the same reason as a draft.
            water = await asyncio.shield(asyncio.wrap_future(self.site.desk.ask_water(room.room, readings, tests)))
        before = await run_in_threadpool(self.site.before, room)
        hold = await run_in_threadpool(self.site.hold, room, draft if readings else None, before, datetime.now(UTC))
        pdf = await run_in_threadpool(
            handover_pdf, self.site.job, room, draft, unit, readings, water, self.site.photo, before, hold
        )
        name = f"inline; filename*=UTF-8''{quote(f'handover {room.room}.pdf', safe='')}"
        return Response(pdf, media_type="application/pdf", headers={"Content-Disposition": name})

    async def save(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        typed = (await read_form(request)).fields
        now = datetime.now(UTC).replace(microsecond=0)
        try:
            reading = read_entry(typed, self.site.job, room.room, self.site.unit(room), taken_at(typed, now))
            await run_in_threadpool(self.site.save, reading, now)
        except InputError as error:
            if wants_json(request):
                return refusal(error)
            return await self._room(request, room, typed, error)
        if wants_json(request):
            return JSONResponse({"saved": reading.id, "written": reading.written}, 201)
        return RedirectResponse(room_path(room.room), 303)

    async def withdraw(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        typed = (await read_form(request)).fields
        why, who = (" ".join(typed.get(name, "").split()) for name in ("why", "who"))
        field = next((name for name in _PARTS if name in typed), "reading")
        entry = typed.get(field, "")
        try:
            await run_in_threadpool(self.site.withdraw, room, field, entry, why[:500], who[:80], datetime.now(UTC))
        except InputError as error:
            if wants_json(request):
                return refusal(error)
            raise HTTPException(422, str(error)) from None
        if wants_json(request):
            return JSONResponse({"withdrawn": entry})
        return RedirectResponse(room_path(room.room) + _PARTS.get(field, ""), 303)

    async def refused(self, request: Request, error: Exception) -> Response:
        """404, 405, 422: said in a sentence, on a page or in JSON."""
        status, says = (error.status_code, error.detail) if isinstance(error, HTTPException) else (422, str(error))
        if wants_json(request):
            return JSONResponse({"error": says}, status)
        shows = {"job": self.site.job, "says": says}
        return self.templates.TemplateResponse(request, "refused.html", shows, status_code=status)

    async def broken(self, request: Request, _error: Exception) -> Response:
        """A fault of ours: the traceback goes to the server's log, not to the page."""
        says = "Something in Drainward itself went wrong. What was saved is safe; the log of the server says more."
        return await self.refused(request, HTTPException(500, says))

    async def _computed(self, room: Room, readings: tuple[Reading, ...], samples: int) -> Draft:
        # Shielded: several pages may wait for the same draft, and one that goes away must not take it along.
        return await asyncio.shield(asyncio.wrap_future(self.site.desk.ask(room.room, readings, samples)))


_PARTS = {"test": "/water", "measure": "/survey", "received": "/survey", "setting": "/hold"}
"""Where an entry that was taken back is shown, by the field that names it."""


def _unbroken(words: str) -> str:
    """The words with trade numbers such as 31-1/2" kept on one line."""
    return re.sub(r"(?<=\d)-(?=\d+/\d)", "\N{NON-BREAKING HYPHEN}", words)
