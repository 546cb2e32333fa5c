"""The addresses of a storey's plan: `StoreyPages`.

/plan?floor=F        the plan of a storey, to be drawn with a finger or a mouse
/plan.json?floor=F   its rows, its rooms, and what of them is not understood
POST /plan           a storey as it was drawn, into plan.csv
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.templating import Jinja2Templates

from drainward.errors import InputError
from drainward.job.names import name_key
from drainward.web.form import read_form, refusal
from drainward.web.site import Site
from drainward.web.storeys import PlanRefused, read_drawing

__all__ = ["StoreyPages"]


class StoreyPages:
    """The endpoints; each is thin, the site does the work."""

    def __init__(self, site: Site, templates: Jinja2Templates) -> None:
        self.site, self.templates = site, templates

    def routes(self) -> list[Route]:
        return [
            Route("/plan", self.page, name="plan"),
            Route("/plan", self.save, methods=["POST"]),
            Route("/plan.json", self.drawing),
        ]

    async def page(self, request: Request) -> Response:
        floors = await run_in_threadpool(self.site.storeys.floors)
        asked = request.query_params.get("floor", floors[0] if floors else "")
        if name_key(asked) not in {name_key(floor) for floor in (*floors, "")}:
            raise HTTPException(404, f'There is no floor "{asked}" in this job.')
        shows = {
            "job": self.site.job,
            "floors": floors,
            "floor": asked,
            "writable": self.site.store is not None,
            "data": await run_in_threadpool(self._drawing, asked),
            "id": str(uuid.uuid4()),
        }
        return self.templates.TemplateResponse(request, "storey.html", shows)

    async def drawing(self, request: Request) -> Response:
        return JSONResponse(await run_in_threadpool(self._drawing, request.query_params.get("floor", "")))

    def _drawing(self, floor: str) -> dict[str, object]:
        return {**self.site.storeys.drawing(floor), "writable": self.site.store is not None}

    async def save(self, request: Request) -> Response:
        form = await read_form(request)
        try:
            drawing = read_drawing(form.fields)
            await run_in_threadpool(self.site.save_plan, drawing, datetime.now(UTC).replace(microsecond=0))
        except PlanRefused as error:
            told = zip(error.problems, error.rows, strict=True)
            fields = [
                {"field": p.field, "got": p.got, "expected": p.expected, "says": str(p), "row": row} for p, row in told
            ]
            return JSONResponse({"problems": fields}, 422)
        except InputError as error:
            return refusal(error)
        return JSONResponse({"saved": drawing.id, **await run_in_threadpool(self._drawing, drawing.floor)}, 201)
