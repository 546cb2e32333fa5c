"""The addresses of a room's support, whether its bed carries its floor: `SupportPages`.

/rooms/R/support               the floor to tap, what was heard, and what it tells
/rooms/R/support-answer.json   the same as a fragment; 202 and how far it is, while it is computed
/rooms/R/support.json          the stable JSON of the stage support
POST /rooms/R/support          a tap or a press in
"""

from __future__ import annotations

import asyncio
import concurrent.futures
import uuid
from collections.abc import Mapping
from concurrent.futures import Future
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.errors import InputError, StageError
from drainward.finding import Verdict
from drainward.job.model import Reading, Room, Work
from drainward.job.names import room_path
from drainward.web.answer import reading_rows
from drainward.web.desk import OvertakenError
from drainward.web.form import asked_room, read_form, refusal, taken_at, wants_json
from drainward.web.site import Site
from drainward.web.sounding_entry import BEDS, read_sounding_entry
from drainward.web.support_answer import support_answer, tapping
from drainward.web.survey_entry import tools

if TYPE_CHECKING:
    from drainward.hold.support import Supported

__all__ = ["SupportPages"]

REFUSES = 10.0
"""A unit without a bed is refused at once, unless somebody else's answer is under way, s."""
PATIENCE = 1.0
"""How long an answer waits for the support before it says how far it is, s."""


class SupportPages:
    """The endpoints; each is thin, the site does the work."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates

    def routes(self) -> list[Route]:
        return [
            Route("/rooms/{room:path}/support", self.page),
            Route("/rooms/{room:path}/support", self.save, methods=["POST"]),
            Route("/rooms/{room:path}/support-answer.json", self.answer),
            Route("/rooms/{room:path}/support.json", self.numbers),
        ]

    async def page(self, request: Request) -> Response:
        return await self._page(request, asked_room(self.site.rooms, request))

    async def _page(
        self, request: Request, room: Room, typed: Mapping[str, str] | None = None, refused: InputError | None = None
    ) -> Response:
        """The page; with what was typed and why it was refused, where a form came without the page's script."""
        taps, asked = await run_in_threadpool(self._ask, room)
        found, says = _told(asked)
        shows = await run_in_threadpool(self._shows, room, taps, found, says)
        shows |= {
            "job": self.site.job,
            "unit": self.site.unit(room),
            "known": asked.done(),
            "board": await run_in_threadpool(self._board, room, taps, found),
            "tools": tools(self.site.job),
            "beds": BEDS,
            "id": str(uuid.uuid4()),
            "typed": typed or {},
            "refused": {} if refused is None else {p.field: p for p in refused.problems},
        }
        return self.templates.TemplateResponse(request, "support.html", shows, status_code=422 if refused else 200)

    async def answer(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        taps, asked = await run_in_threadpool(self._ask, room)
        await run_in_threadpool(concurrent.futures.wait, (asked,), PATIENCE)
        found, says = _told(asked)
        board = await run_in_threadpool(self._board, room, taps, found)
        if found is None and not says:
            share, at = self.site.desk.support_at(room.room, taps, self.site.received(room.room)) or (0.0, "")
            return JSONResponse({"board": board, "share": share, "says": at}, 202)
        shows = await run_in_threadpool(self._shows, room, taps, found, says)
        words = self.templates.get_template("_support_answer.html").render(shows)
        return JSONResponse({"board": board, "answer": words})

    async def numbers(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        while True:
            _, asked = await run_in_threadpool(self._ask, room)
            try:
                # Shielded: several pages may wait for the same answer, and one that goes away must not take it along.
                found = await asyncio.shield(asyncio.wrap_future(asked))
            except OvertakenError:
                continue
            except StageError as error:
                told = {"schema": 1, "room": room.room, "stage": "support", "verdict": str(Verdict.NOT_PROVEN)}
                return JSONResponse({**told, "findings": [], "says": str(error)})
            return JSONResponse(found.as_json())

    async def save(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        typed = (await read_form(request)).fields
        now = datetime.now(UTC).replace(microsecond=0)
        try:
            reading = read_sounding_entry(typed, self.site.job, room, taken_at(typed, now))
            await run_in_threadpool(self.site.save, reading, now)
        except InputError as error:
            if wants_json(request):
                return refusal(error)
            return await self._page(request, room, typed, error)
        if wants_json(request):
            return JSONResponse({"saved": reading.id, "written": reading.written}, 201)
        return RedirectResponse(room_path(room.room) + "/support", 303)

    def _ask(self, room: Room) -> tuple[tuple[Reading, ...], Future[Supported]]:
        """The taps and presses that hold, and the answer they give, soon."""
        taps = self.site.sounded(room.room)
        asked = self.site.desk.ask_support(room.room, taps, self.site.received(room.room))
        if self.site.unit(room).style != "bedded":
            concurrent.futures.wait((asked,), REFUSES)
        return taps, asked

    def _board(self, room: Room, taps: tuple[Reading, ...], found: Supported | None) -> dict[str, Any]:
        return tapping(self.site.unit(room), taps, found, self.site.job.support, self._cured(room))

    def _cured(self, room: Room) -> bool:
        """Whether the bed is past its least cure; taken for so where nobody wrote down when it was placed."""
        from drainward.hold.clock import LEAST

        placed = [done.when for done in self.site.setting(room.room) if done.what is Work.BED_PLACED and done.when]
        if not placed:
            return True
        least = timedelta(seconds=max(LEAST, self.site.unit(room).minimum_cure))
        return datetime.now(UTC) >= self.site.job.site.utc(placed[-1]) + least

    def _shows(self, room: Room, taps: tuple[Reading, ...], found: Supported | None, says: str) -> dict[str, Any]:
        return {
            "room": room,
            "writable": self.site.store is not None,
            "support": None if found is None else support_answer(found, self.site.unit(room)),
            "says": says,
            "readings": reading_rows(taps, {}, self.site.job.instruments),
        }


def _told(asked: Future[Supported]) -> tuple[Supported | None, str]:
    """The answer, or why there is none; neither while it is computed."""
    if not asked.done():
        return None, ""
    refused = asked.exception()
    if refused is None:
        return asked.result(), ""
    if isinstance(refused, OvertakenError):
        return None, ""
    if isinstance(refused, StageError):
        return None, str(refused)
    raise refused
