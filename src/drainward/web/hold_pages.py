"""The addresses of what holds a room's unit: `HoldPages`.

/rooms/R/hold               the order of fastening, the braces, the clock of the bed, what was done
/rooms/R/hold-answer.json   the same as a fragment, as soon as draft check and bed are computed
/rooms/R/hold.json          the stable JSON of the stages fasten, brace and cure
/rooms/R/support            whether the bed carries the floor, from taps and presses;  support.json : its numbers
POST /rooms/R/hold          what was done when the unit was set, in
"""

from __future__ import annotations

import asyncio
import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.errors import InputError, StageError
from drainward.finding import Verdict
from drainward.job.model import Reading, Room
from drainward.job.names import room_path
from drainward.web.desk import Before
from drainward.web.form import asked_room, read_form, refusal, taken_at, wants_json
from drainward.web.hold_answer import WORKS, done_rows, hold_answer, support_answer
from drainward.web.setting_entry import read_setting_entry
from drainward.web.site import Site

if TYPE_CHECKING:
    from drainward.hold.room import RoomHold
    from drainward.hold.support import Supported

__all__ = ["HoldPages"]

Needed = tuple[Verdict | None, Before | None]
"""Verdict of the draft check, None where nobody read; the stages before the unit is set, None where they refuse."""


class HoldPages:
    """The endpoints; each is thin, the site does the work."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates
        self._support: dict[str, tuple[tuple[Reading, ...], Supported]] = {}

    def routes(self) -> list[Route]:
        return [
            Route("/rooms/{room:path}/hold", self.page),
            Route("/rooms/{room:path}/hold", self.save, methods=["POST"]),
            Route("/rooms/{room:path}/hold-answer.json", self.answer),
            Route("/rooms/{room:path}/hold.json", self.hold),
            Route("/rooms/{room:path}/support", self.support),
            Route("/rooms/{room:path}/support.json", self.support),
        ]

    async def page(self, request: Request) -> Response:
        return await self._page(request, asked_room(self.site.rooms, request))

    async def _page(
        self, request: Request, room: Room, typed: Mapping[str, str] | None = None, refused: InputError | None = None
    ) -> Response:
        """The page; with what was typed and why it was refused, where a form came without the page's script."""
        needed = await run_in_threadpool(self._known, room)
        shows = {
            "job": self.site.job,
            "room": room,
            "unit": self.site.unit(room),
            "writable": self.site.store is not None,
            "works": WORKS,
            "done": await run_in_threadpool(self._done, room),
            "shows": None if needed is None else await run_in_threadpool(self._shows, room, needed),
            "id": str(uuid.uuid4()),
            "typed": typed or {},
            "refused": {} if refused is None else {p.field: p for p in refused.problems},
        }
        return self.templates.TemplateResponse(request, "hold.html", shows, status_code=422 if refused else 200)

    async def answer(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        needed = await self._computed(room)
        return JSONResponse(await run_in_threadpool(self._fragment, room, needed))

    def _fragment(self, room: Room, needed: Needed) -> dict[str, str]:
        writable = self.site.store is not None
        shows = {"room": room, "writable": writable, "done": self._done(room), "shows": self._shows(room, needed)}
        return {"answer": self.templates.get_template("_hold_answer.html").render(shows)}

    async def hold(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        needed = await self._computed(room)
        return JSONResponse((await run_in_threadpool(self._hold, room, needed)).as_json())

    async def save(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        typed = (await read_form(request)).fields
        now = datetime.now(UTC).replace(microsecond=0)
        try:
            # A phone that got no answer sends the same entry later: the first time of writing stands.
            first = await run_in_threadpool(self.site.written_first, room, typed.get("id", ""))
            entry = read_setting_entry(typed, self.site.job, room, first or taken_at(typed, now), now)
            await run_in_threadpool(self.site.save_setting, entry, now)
        except InputError as error:
            if wants_json(request):
                return refusal(error)
            return await self._page(request, room, typed, error)
        if wants_json(request):
            return JSONResponse({"saved": entry.id}, 201)
        return RedirectResponse(room_path(room.room) + "/hold", 303)

    async def support(self, request: Request) -> Response:
        room = asked_room(self.site.rooms, request)
        found, says = await run_in_threadpool(self._supported, room)
        if request.url.path.endswith(".json"):
            told = {"schema": 1, "room": room.room, "stage": "support", "verdict": str(Verdict.NOT_PROVEN)}
            return JSONResponse({**told, "findings": [], "says": says} if found is None else found.as_json())
        unit = self.site.unit(room)
        shows = {"job": self.site.job, "room": room, "unit": unit, "says": says, "support": support_answer(found, unit)}
        return self.templates.TemplateResponse(request, "support.html", shows)

    def _supported(self, room: Room) -> tuple[Supported | None, str]:
        """The answer, kept until another reading comes in; or why there is none."""
        from drainward.hold.support import support_stage

        readings = self.site.sounded(room.room)
        kept = self._support.get(room.room)
        if kept is not None and kept[0] == readings:
            return kept[1], ""
        job = self.site.now().model_copy(update={"readings": readings})
        try:
            found = support_stage(job, room.room)
        except StageError as error:
            return None, str(error)
        self._support[room.room] = readings, found
        return found, ""

    def _done(self, room: Room) -> list[dict[str, str]]:
        return done_rows(self.site.setting(room.room))

    def _hold(self, room: Room, needed: Needed) -> RoomHold:
        from drainward.hold.room import room_hold

        draft, before = needed
        return room_hold(self.site.now(), room.room, draft, None if before is None else before.bed, datetime.now(UTC))

    def _shows(self, room: Room, needed: Needed) -> dict[str, Any]:
        return hold_answer(self.site.job, self.site.unit(room), self._hold(room, needed), needed[1])

    def _known(self, room: Room) -> Needed | None:
        """What the stages need, where it is computed already; else it is asked for."""
        readings = self.site.readings(room.room)
        evidence = self.site.measures(room.room), self.site.received(room.room), self.site.bed_told(room.room)
        draft = self.site.desk.known(room.room, readings) if readings else None
        before = self.site.desk.known_before(room.room, *evidence)
        if before is None:
            self.site.desk.ask_before(room.room, *evidence)
        if readings and draft is None:
            self.site.desk.ask(room.room, readings)
        if before is None or (readings and draft is None):
            return None
        return None if draft is None else draft.verdict, before

    async def _computed(self, room: Room) -> Needed:
        # Shielded: several pages may wait for the same answers, and one that goes away must not take them along.
        readings = await run_in_threadpool(self.site.readings, room.room)
        measures = await run_in_threadpool(self.site.measures, room.room)
        received = await run_in_threadpool(self.site.received, room.room)
        told = await run_in_threadpool(self.site.bed_told, room.room)
        desk, before, draft = self.site.desk, None, None
        try:
            before = await asyncio.shield(asyncio.wrap_future(desk.ask_before(room.room, measures, received, told)))
        except StageError:
            before = None
        if readings:
            draft = (await asyncio.shield(asyncio.wrap_future(desk.ask(room.room, readings)))).verdict
        return draft, before
