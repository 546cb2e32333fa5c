"""The addresses of a room before its unit is set: `SurveyPages`.

/rooms/R/survey               does the pocket take the unit, what to do, where it stands, what is measured next
/rooms/R/survey-answer.json   the same as fragments, as soon as it is computed
/rooms/R/survey.json, dry-set.json, bed.json, set.json   the stable JSON of these stages
/rooms/R/way-in-answer.json   how the unit gets in, where a plan leads to the room; 202 and how far it is, meanwhile
/rooms/R/way-in.json          the same as stable JSON
POST /rooms/R/survey          a measure of the pocket in, or a size or damage of the unit with its photograph
"""

from __future__ import annotations

import asyncio
import concurrent.futures
import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.errors import InputError
from drainward.job.model import Measure, Received, Room, SettingEvent, Size, What
from drainward.job.names import room_path
from drainward.report.survey_steps import survey_steps
from drainward.web.desk import Before
from drainward.web.form import asked_room, read_form, refusal, taken_at, wants_json
from drainward.web.site import Site
from drainward.web.survey_answer import form_steps, measure_rows, survey_answer, way_answer
from drainward.web.survey_entry import TAPE_U, read_survey_entry, tools

__all__ = ["SurveyPages"]

PATIENCE = 1.0
"""How long an answer waits for a way in before it says how far the search is, s."""
Evidence = tuple[tuple[Measure, ...], tuple[Received, ...], tuple[SettingEvent, ...]]


class SurveyPages:
    """The endpoints; each is thin, the site does the work."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates

    def routes(self) -> list[Route]:
        return [
            Route("/rooms/{room:path}/survey", self.page),
            Route("/rooms/{room:path}/survey", self.save, methods=["POST"]),
            Route("/rooms/{room:path}/survey-answer.json", self.answer),
            Route("/rooms/{room:path}/way-in-answer.json", self.way_answer),
            Route("/rooms/{room:path}/way-in.json", self.way_in),
            Route("/rooms/{room:path}/survey.json", self.survey),
            Route("/rooms/{room:path}/dry-set.json", self.dry_set),
            Route("/rooms/{room:path}/bed.json", self.bed),
            Route("/rooms/{room:path}/set.json", self.set_out),
        ]

    async def page(self, request: Request) -> Response:
        return await self._page(request, asked_room(self.site.rooms, request))

    async def _page(
        self, request: Request, room: Room, typed: Mapping[str, str] | None = None, refused: InputError | None = None
    ) -> Response:
        """The page; with what was typed and why it was refused, where a form came without the page's script."""
        evidence = await run_in_threadpool(self._evidence, room)
        before = self.site.desk.known_before(room.room, *evidence)
        if before is None:
            self.site.desk.ask_before(room.room, *evidence)
        shows = await run_in_threadpool(self._shows, room, evidence, before)
        plan = await run_in_threadpool(self.site.plan, room)
        way = None if plan is None else self.site.desk.known_way(room.room, plan)
        if plan is not None and way is None:
            self.site.desk.ask_way(room.room, plan)
        shown = way or (None if plan is None else self.site.desk.last_way(room.room))
        page = {
            **shows,
            "leads": plan is not None,
            "found": way is not None,
            "way": None if shown is None else await run_in_threadpool(way_answer, shown.answer, shown.plan),
            "job": self.site.job,
            "unit": self.site.unit(room),
            "whats": [str(what) for what in What],
            "sizes": [str(size) for size in Size],
            "tools": tools(self.site.job),
            "tape_u": TAPE_U,
            "id": str(uuid.uuid4()),
            "typed": typed or {},
            "refused": {} if refused is None else {p.field: p for p in refused.problems},
        }
        return self.templates.TemplateResponse(request, "survey.html", page, status_code=422 if refused else 200)

    def _shows(self, room: Room, evidence: Evidence, before: Before | None) -> dict[str, Any]:
        """What page and fragments show alike; before : None while it is computed."""
        adjusted = None if before is None else before.survey.adjusted
        steps = survey_steps(self.site.unit(room), *evidence[:2], None if adjusted is None else adjusted.asked)
        return {
            "room": room,
            "writable": self.site.store is not None,
            "answer": before,
            "shows": {} if before is None else survey_answer(before, *evidence[:2]),
            "next": steps[0] if adjusted is not None and adjusted.asked is not None else None,
            "steps": form_steps(steps, self.site.unit(room)),
            "rows": measure_rows(*evidence[:2], adjusted, self.site.job.instruments),
        }

    async def answer(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        evidence = await run_in_threadpool(self._evidence, room)
        before = await self._computed(room, evidence)
        return JSONResponse(await run_in_threadpool(self._fragments, room, evidence, before))

    def _fragments(self, room: Room, evidence: Evidence, before: Before) -> dict[str, object]:
        shows = self._shows(room, evidence, before)
        render = self.templates.get_template
        return {
            "verdict": render("_survey_verdict.html").render(shows),
            "answer": render("_survey_answer.html").render(shows),
            "picture": shows["shows"]["picture"],
            "steps": shows["steps"],
        }

    async def way_answer(self, request: Request) -> Response:
        """The way in as a fragment; empty where no plan leads to the room."""
        room = asked_room(self.site.rooms, request)
        plan = await run_in_threadpool(self.site.plan, room)
        if plan is None:
            return JSONResponse({"answer": ""})
        asked = self.site.desk.ask_way(room.room, plan)
        await run_in_threadpool(concurrent.futures.wait, (asked,), PATIENCE)
        if not asked.done():
            share, says = self.site.desk.way_at(room.room, plan) or (0.0, "")
            return JSONResponse({"share": share, "says": says}, 202)
        way = await run_in_threadpool(way_answer, asked.result().answer, plan)
        return JSONResponse({"answer": self.templates.get_template("_way_in.html").render({"way": way})})

    async def way_in(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        plan = await run_in_threadpool(self.site.plan, room)
        if plan is None:
            raise HTTPException(404, f"No plan of this job leads to room {room.room}; plan.csv holds them.")
        found = await asyncio.shield(asyncio.wrap_future(self.site.desk.ask_way(room.room, plan)))
        return JSONResponse(found.answer.as_json())

    async def survey(self, request: Request) -> Response:
        return JSONResponse((await self._of(request)).survey.as_json())

    async def dry_set(self, request: Request) -> Response:
        return JSONResponse((await self._of(request)).dry_set.as_json())

    async def bed(self, request: Request) -> Response:
        before = await self._of(request)
        if before.bed is None:
            raise HTTPException(404, before.no_bed)
        return JSONResponse(before.bed.as_json())

    async def set_out(self, request: Request) -> Response:
        return JSONResponse((await self._of(request)).set_out.as_json())

    async def save(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        form = await read_form(request, photo="photo")
        now = datetime.now(UTC).replace(microsecond=0)
        try:
            # A phone that got no answer sends the same measure later: the first time of writing stands.
            when = await run_in_threadpool(self.site.written_first, room, form.fields.get("id", ""))
            when = when or taken_at(form.fields, now)
            entry = read_survey_entry(form.fields, self.site.job, room, when, photo=form.photo is not None)
            await run_in_threadpool(self.site.save_measured, entry, form.photo, now)
        except InputError as error:
            if wants_json(request):
                return refusal(error)
            return await self._page(request, room, form.fields, error)
        if wants_json(request):
            return JSONResponse({"saved": entry.id, "written": entry.written}, 201)
        return RedirectResponse(room_path(room.room) + "/survey", 303)

    def _evidence(self, room: Room) -> Evidence:
        return self.site.measures(room.room), self.site.received(room.room), self.site.bed_told(room.room)

    async def _of(self, request: Request) -> Before:
        room = asked_room(self.site.rooms, request)
        return await self._computed(room, await run_in_threadpool(self._evidence, room))

    async def _computed(self, room: Room, evidence: Evidence) -> Before:
        # Shielded: several pages may wait for the same survey, and one that goes away must not take it along.
        return await asyncio.shield(asyncio.wrap_future(self.site.desk.ask_before(room.room, *evidence)))
