"""Who does what when, for the whole job: `SchedulePages`.

/schedule                   the plan that stands beside the job: finish, pictures, rooms by floor, the next day's lists
POST /schedule              plan anew (`do=plan`) or mend after a slip (`do=mend`)
/schedule.pdf, .csv         the same to take along
/schedule/CREW.ics          a crew's calendar (RFC 5545)
/rooms/R/card.pdf           the crew's card of a room; `?language=es` in Spanish
"""

from __future__ import annotations

import logging
import multiprocessing
import threading
from collections.abc import Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.errors import DrainwardError, Problem
from drainward.job.model import Job
from drainward.job.open_table import replace_file
from drainward.plan.calendar_export import crew_calendar
from drainward.plan.clock import local
from drainward.plan.make import Made
from drainward.plan.model import PlanRoom
from drainward.plan.run import planned
from drainward.plan.stored import FILE, restored, schedule_text
from drainward.plan.told import lates, lists_of, next_day
from drainward.report.board_svg import board_svg, floors_svg, legend_svg, strips_svg, wide_enough
from drainward.report.card import card_pdf
from drainward.report.card_numbers import room_card
from drainward.report.language import LANGUAGES
from drainward.report.plan_sheet import MANY, plan_pdf
from drainward.report.plan_words import day_words, due_finding, head_lines, late_lines, list_rows
from drainward.web.form import asked_room, read_form
from drainward.web.site import Site

__all__ = ["SECONDS", "SchedulePages"]

_log = logging.getLogger(__name__)

SECONDS = 10.0
"""How long a new plan is looked for."""
CALENDARS = "calendars"
"""Folder of the job that keeps each crew's calendar, so that the next one can tell a phone what moved."""


@dataclass(frozen=True, slots=True)
class _Kept:
    """The plan that stands in the file; `at` is when the file was written, ns."""

    at: int
    made: Made
    bags: Mapping[str, float]
    problems: tuple[Problem, ...]


def plan_text(job: Job, now: datetime, before: Path | None, seconds: float) -> str:
    """The plan as the text of its file; runs in a process of its own."""
    made, known, _ = planned(job, now, before, seconds)
    return schedule_text(made, now, known.bags)


class SchedulePages:
    """The endpoints. One plan is made at a time, in a process of its own; what is shown is what the file holds."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates
        self._lock = threading.Lock()
        self._kept: _Kept | None = None
        self._making: Future[str] | None = None
        self._says = ""

    def routes(self) -> list[Route]:
        return [
            Route("/schedule", self.page, name="schedule"),
            Route("/schedule", self.make, methods=["POST"]),
            Route("/schedule.pdf", self.pdf),
            Route("/schedule.csv", self.table),
            Route("/schedule/{crew:path}.ics", self.calendar),
            Route("/rooms/{room:path}/card.pdf", self.card),
        ]

    @property
    def _file(self) -> Path:
        return self.site.folder / FILE

    def _job(self) -> Job:
        """The job with all that the record holds now."""
        store = self.site.store
        if store is None:
            return self.site.job
        return self.site.now().model_copy(update={"readings": store.readings(), "water_tests": store.water_tests()})

    def _plan(self) -> _Kept | None:
        """The plan of the file, read again when the file is another; None where there is none."""
        try:
            at = self._file.stat().st_mtime_ns
        except OSError:
            return None
        with self._lock:
            if self._kept is None or self._kept.at != at:
                self._kept = _Kept(at, *restored(self._file, self._job(), datetime.now(UTC)))
            return self._kept

    async def page(self, request: Request) -> Response:
        kept = await run_in_threadpool(self._plan)
        making = self._making is not None and not self._making.done()
        shows: dict[str, Any] = {
            "job": self.site.job,
            "kept": kept,
            "making": making,
            "says": self._says,
            "writable": self.site.store is not None,
        }
        if kept is not None:
            shows |= await run_in_threadpool(_shows, kept)
        return self.templates.TemplateResponse(request, "schedule.html", shows)

    async def make(self, request: Request) -> Response:
        asked = (await read_form(request)).fields.get("do", "")
        if self.site.store is None:
            raise HTTPException(422, "This page was started without a record: it shows, and plans nothing.")
        if asked not in ("plan", "mend") or (asked == "mend" and not self._file.exists()):
            raise HTTPException(422, "Say what to do: plan, or mend the plan that stands.")
        await run_in_threadpool(self._start, asked == "mend")
        return RedirectResponse("/schedule", 303)

    def _start(self, mend: bool) -> None:
        """Begin a plan unless one is under way."""
        with self._lock:
            if self._making is not None and not self._making.done():
                return
            now = datetime.now(UTC).replace(microsecond=0)
            # a process forked from this one could inherit a lock that nobody opens
            pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"))
            self._says = ""
            self._making = pool.submit(plan_text, self._job(), now, self._file if mend else None, SECONDS)
            pool.shutdown(wait=False)
        self._making.add_done_callback(self._done)

    def _done(self, made: Future[str]) -> None:
        error = made.exception()
        if error is None:
            replace_file(self._file, made.result().encode())
            self._keep_calendars()
        else:
            known = isinstance(error, DrainwardError)
            self._says = str(error) if known else "The plan could not be made; the log of the server says more."
            if not known:
                _log.error("no plan could be made", exc_info=error)

    def _keep_calendars(self) -> None:
        kept = self._plan()
        if kept is None:
            return
        folder = self.site.folder / CALENDARS
        folder.mkdir(exist_ok=True)
        for crew in kept.made.case.building.crews:
            path = folder / f"crew-{quote(crew.id, safe='')}.ics"
            replace_file(path, self._calendar(kept, crew.id, path.read_bytes() if path.exists() else None))

    def _calendar(self, kept: _Kept, crew: str, before: bytes | None) -> bytes:
        case = kept.made.case
        stamp = local(case.building, case.now)
        return crew_calendar(self.site.job.name, case.building, kept.made.plan, crew, stamp, before, floors=case.floors)

    async def calendar(self, request: Request) -> Response:
        kept, crew = await self._of(), request.path_params["crew"]
        if crew not in {one.id for one in kept.made.case.building.crews}:
            raise HTTPException(404, f'There is no crew "{crew}" in this job.')
        path = self.site.folder / CALENDARS / f"crew-{quote(crew, safe='')}.ics"
        data = path.read_bytes() if path.exists() else await run_in_threadpool(self._calendar, kept, crew, None)
        return _download(data, "text/calendar; charset=utf-8", f"crew {crew}.ics")

    async def card(self, request: Request) -> Response:
        room, language = asked_room(self.site.rooms, request), request.query_params.get("language", "en")
        if language not in LANGUAGES:
            raise HTTPException(422, f'There is no card in "{language}"; there are {", ".join(LANGUAGES)}.')

        def make() -> bytes:
            return card_pdf(room_card(self._job(), room, self._file, datetime.now(UTC)), language)

        return _download(await run_in_threadpool(make), "application/pdf", f"card {room.room}.pdf")

    async def pdf(self, _request: Request) -> Response:
        kept = await self._of()
        data = await run_in_threadpool(plan_pdf, self.site.job.name, kept.made, kept.bags)
        return _download(data, "application/pdf", "plan.pdf")

    async def table(self, _request: Request) -> Response:
        await self._of()
        return _download(await run_in_threadpool(self._file.read_bytes), "text/csv; charset=utf-8", FILE)

    async def _of(self) -> _Kept:
        kept = await run_in_threadpool(self._plan)
        if kept is None:
            raise HTTPException(404, "This job has no plan yet.")
        return kept


def _shows(kept: _Kept) -> dict[str, Any]:
    """What the page shows of a plan."""
    made = kept.made
    building, wide = made.case.building, wide_enough(made)
    by_floor: dict[int, list[PlanRoom]] = {}
    for room in building.rooms:
        by_floor.setdefault(room.floor, []).append(room)
    day = next_day(made)
    late = lates(made)
    return {
        "made_on": day_words(local(building, made.case.now).date()),
        "finding": due_finding(made),
        "head": head_lines(made),
        "late": late_lines(late),
        "strips": strips_svg(made, kept.bags, wide),
        "floors": floors_svg(made, wide) if len(building.rooms) > MANY else "",
        "legend": legend_svg(),
        "boards": [_board(made, rooms, {one.room for one in late}) for _, rooms in sorted(by_floor.items())],
        "day": None if day is None else day_words(day),
        "lists": [] if day is None else [(crew, list_rows(made, ts)) for crew, ts in lists_of(made, day).items()],
        "crews": [crew.id for crew in building.crews],
        "notes": made.case.notes,
        "problems": kept.problems,
    }


def _board(made: Made, rooms: Sequence[PlanRoom], late: set[str]) -> tuple[str, int, int, str]:
    """Name of a floor, its rooms, those that are late, and its picture."""
    name = made.case.floors[rooms[0].floor]
    return name, len(rooms), sum(room.id in late for room in rooms), board_svg(made, rooms, 220.0)


def _download(data: bytes, media: str, name: str) -> Response:
    return Response(data, media_type=media, headers={"Content-Disposition": f"inline; filename*=UTF-8''{quote(name)}"})
