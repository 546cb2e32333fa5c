"""The addresses of a room's water: `WaterPages`.

/rooms/R/water               the water played, what it shows, tests entered and recorded
/rooms/R/water-answer.json   its words, an estimate first (`?first=1`); 202 with the share done while it is computed
/rooms/R/water-play.json     the frames to be played (`?first=1`: of an estimate, where that is all there is)
/rooms/R/water.json          the stable JSON of the water test
/rooms/R/water.svg           the still as paper shows it
POST /rooms/R/water          a test in, with its photograph
/photos/NAME                 that photograph
"""

from __future__ import annotations

import asyncio
import concurrent.futures
import uuid
from collections.abc import Mapping
from concurrent.futures import Future
from datetime import UTC, datetime
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.errors import InputError
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job.at_stage import WATER
from drainward.job.model import Reading, Room, WaterTest
from drainward.job.names import room_path
from drainward.report.cautions import water_cautions
from drainward.report.water_play import play_json
from drainward.report.words import sentence
from drainward.web.desk import FULL, QUICK, WATER_FULL, WATER_QUICK
from drainward.web.form import asked_room, read_form, refusal, taken_at, wants_json
from drainward.web.site import Site, WaterAnswer
from drainward.web.water_entry import read_water_entry

__all__ = ["WaterPages"]

PATIENCE = 2.0
"""How long an answer is waited for before the page is told how far it is, s."""


class WaterPages:
    """The endpoints; each is thin, the site does the work."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates

    def routes(self) -> list[Route]:
        return [
            Route("/rooms/{room:path}/water", self.page),
            Route("/rooms/{room:path}/water", self.save, methods=["POST"]),
            Route("/rooms/{room:path}/water-answer.json", self.answer),
            Route("/rooms/{room:path}/water-play.json", self.play),
            Route("/rooms/{room:path}/water.json", self.water),
            Route("/rooms/{room:path}/water.svg", self.still),
            Route("/photos/{name}", self.photo),
        ]

    async def page(self, request: Request) -> Response:
        return await self._page(request, asked_room(self.site.rooms, request))

    async def _page(
        self, request: Request, room: Room, typed: Mapping[str, str] | None = None, refused: InputError | None = None
    ) -> Response:
        """The page; with what was typed and why it was refused, where a form came without the page's script."""
        readings, tests = await run_in_threadpool(self._evidence, room)
        known = self._known(room, readings, tests, WATER_QUICK)
        if known is None or known.samples < WATER_FULL:
            self.site.desk.ask_water(room.room, readings, tests, WATER_QUICK if known is None else WATER_FULL)
        answer = None
        if known is not None:
            answer = await run_in_threadpool(self.site.water, known, self._draft(room, readings))
        unit = self.site.unit(room)
        shows = {
            "job": self.site.job,
            "room": room,
            "unit": unit,
            "cautions": [sentence(line.removeprefix("Water test: ")) for line in water_cautions(unit)],
            "writable": self.site.store is not None,
            "answer": answer,
            "shows": {} if answer is None else answer.shows,
            "id": str(uuid.uuid4()),
            "typed": typed or {},
            "refused": {} if refused is None else {p.field: p for p in refused.problems},
        }
        return self.templates.TemplateResponse(request, "water.html", shows, status_code=422 if refused else 200)

    async def answer(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        samples = WATER_QUICK if request.query_params.get("first") else WATER_FULL
        readings, tests = await run_in_threadpool(self._evidence, room)
        desk, draft, water = self.site.desk, self._draft(room, readings), self._known(room, readings, tests, samples)
        if water is None or draft is None:
            of_draft = desk.ask(room.room, readings, QUICK)
            of_water = desk.ask_water(room.room, readings, tests, samples)
            await run_in_threadpool(_wait, of_draft, of_water)
            if not (of_draft.done() and of_water.done()):
                share = desk.share_water(room.room, readings, tests, samples)
                return JSONResponse({"share": share or 0.0, "samples": samples}, 202)
            draft, water = of_draft.result(), of_water.result()
        answer = await run_in_threadpool(self.site.water, water, draft)
        return JSONResponse(await run_in_threadpool(self._fragments, room, answer))

    def _fragments(self, room: Room, answer: WaterAnswer) -> dict[str, object]:
        shows = {"room": room, "writable": self.site.store is not None, "answer": answer, "shows": answer.shows}
        render = self.templates.get_template
        return {
            "refined": answer.refined,
            "verdict": render("_water_verdict.html").render(shows),
            "answer": render("_water_answer.html").render(shows),
            "picture": answer.picture,
            "hang": answer.shows["hang"],
        }

    async def play(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        readings, tests = await run_in_threadpool(self._evidence, room)
        samples = WATER_QUICK if request.query_params.get("first") else WATER_FULL
        water = self._known(room, readings, tests, samples) or await self._computed(room, readings, tests, samples)
        return JSONResponse(await run_in_threadpool(play_json, water, self.site.unit(room)))

    async def water(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        readings, tests = await run_in_threadpool(self._evidence, room)
        return JSONResponse((await self._computed(room, readings, tests, WATER_FULL)).as_json())

    async def still(self, request: Request) -> Response:
        """The still as paper shows it, for a browser without scripts."""
        room = asked_room(self.site.rooms, request)
        readings, tests = await run_in_threadpool(self._evidence, room)
        water = self._known(room, readings, tests, WATER_QUICK) or await self._computed(
            room, readings, tests, WATER_QUICK
        )
        return Response(await run_in_threadpool(self.site.still, room, water), media_type="image/svg+xml")

    async def save(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        form = await read_form(request, photo="photo")
        now = datetime.now(UTC).replace(microsecond=0)
        try:
            test = read_water_entry(form.fields, self.site.job, room, taken_at(form.fields, now))
            await run_in_threadpool(self.site.save_test, test, form.photo, now)
        except InputError as error:
            if wants_json(request):
                return refusal(error)
            return await self._page(request, room, form.fields, error)
        if wants_json(request):
            return JSONResponse({"saved": test.id}, 201)
        return RedirectResponse(room_path(room.room) + "/water", 303)

    async def photo(self, request: Request) -> Response:
        try:
            data, media_type = await run_in_threadpool(self.site.photo, request.path_params["name"])
        except InputError as error:
            raise HTTPException(404, str(error)) from None
        # In a record the name is made of what it holds: under one name there is never another picture.
        headers = {} if self.site.store is None else {"Cache-Control": "private, max-age=31536000"}
        return Response(data, media_type=media_type, headers=headers)

    def _evidence(self, room: Room) -> tuple[tuple[Reading, ...], tuple[WaterTest, ...]]:
        return self.site.readings(room.room, WATER), self.site.tests(room.room)

    def _draft(self, room: Room, readings: tuple[Reading, ...]) -> Draft | None:
        """The floor to be drawn: the best that is known."""
        desk = self.site.desk
        return desk.known(room.room, readings, FULL) or desk.known(room.room, readings, QUICK)

    def _known(
        self, room: Room, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...], samples: int
    ) -> Water | None:
        """The refined answer, or one of `samples` where that is all there is."""
        desk = self.site.desk
        refined = desk.known_water(room.room, readings, tests, WATER_FULL)
        return refined or desk.known_water(room.room, readings, tests, samples)

    async def _computed(
        self, room: Room, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...], samples: int
    ) -> Water:
        # Shielded: several pages may wait for the same water, and one that goes away must not take it along.
        future = self.site.desk.ask_water(room.room, readings, tests, samples)
        return await asyncio.shield(asyncio.wrap_future(future))


def _wait(*asked: Future[Any]) -> None:
    concurrent.futures.wait(asked, PATIENCE)
