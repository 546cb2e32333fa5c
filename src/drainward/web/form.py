"""Requests in, refusals out: what the addresses of all pages share.

asked_room    the room that an address names
read_form     a form's text fields and, where the address takes one, its photograph
refusal       what is wrong with a form, field by field, as JSON
taken_at      when what a form says was taken
wants_json    whether a script asks
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse

from drainward.errors import InputError
from drainward.job.model import Room

__all__ = ["Form", "Photo", "asked_room", "read_form", "refusal", "taken_at", "wants_json"]

OLDEST = 60 * 86_400
"""Nothing is kept on a phone for longer, s: the page says when it was taken, not that the phone's clock was wrong."""
_KINDS = ("application/x-www-form-urlencoded", "multipart/form-data")


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture as it was sent."""

    data: bytes
    media_type: str


@dataclass(frozen=True, slots=True)
class Form:
    """What was typed, by field; the last of a name counts."""

    fields: dict[str, str]
    photo: Photo | None


def asked_room(rooms: Mapping[str, Room], request: Request) -> Room:
    """The room of the address. Raises HTTPException where the job has none of that name."""
    name = request.path_params["room"]
    if name not in rooms:
        raise HTTPException(404, f'There is no room "{name}" in this job.')
    return rooms[name]


async def read_form(request: Request, *, photo: str = "") -> Form:
    """The form of a request; photo : the field that may hold a file. Raises HTTPException for another kind of body."""
    if request.headers.get("content-type", "").partition(";")[0].strip() not in _KINDS:
        raise HTTPException(415, "What is entered here is sent as a form.")
    async with request.form(max_files=1 if photo else 0, max_fields=40) as form:
        fields = {name: value for name, value in form.items() if isinstance(value, str)}
        sent = form.get(photo)
        if not isinstance(sent, UploadFile):
            return Form(fields, None)
        data = await sent.read()
        # A form without a chosen file sends an empty one.
        return Form(fields, Photo(data, sent.content_type or "") if data else None)


def refusal(error: InputError) -> JSONResponse:
    """422 with each field that could not be used."""
    fields = [{"field": p.field, "got": p.got, "expected": p.expected, "says": str(p)} for p in error.problems]
    return JSONResponse({"problems": fields}, 422)


def taken_at(fields: Mapping[str, str], now: datetime) -> datetime:
    """When it was taken: `age` seconds ago, where a phone without a network kept it so long; else now."""
    age = fields.get("age", "")
    return now - timedelta(seconds=int(age)) if age.isascii() and age.isdigit() and int(age) <= OLDEST else now


def wants_json(request: Request) -> bool:
    """Whether the answer goes to a script and not into a window."""
    return "application/json" in request.headers.get("accept", "") or request.url.path.endswith(".json")
