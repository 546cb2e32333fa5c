"""What a request must be before the page looks at it: `Guard`.

A post must come from our own page (RFC 6454 origin against the Host it was sent to), be small, and be sent to a name
that is ours (a page of another name that was made to point at this machine is not). Every answer carries a policy that
lets nothing from outside in.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from drainward.job.photos import MOST

__all__ = ["BODY_LIMIT", "PHOTO_LIMIT", "Guard"]

BODY_LIMIT = 16_384
"""Most that a form may hold, bytes: ten times the longest honest reading."""
PHOTO_LIMIT = MOST + BODY_LIMIT
"""Most that a water test may hold: the largest photograph that is kept, and its form."""

PLAN_LIMIT = 1_000_000
"""Most that the plan of a storey may hold: some thousands of points, each with its cells."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

_SAFE = {"GET", "HEAD"}


class Guard:
    """ASGI middleware. `names` are host names, beside this machine's own, under which the page may be reached."""

    def __init__(self, app: ASGIApp, names: Iterable[str] = ()) -> None:
        self.app = app
        own = socket.gethostname().lower()
        self.names = {"localhost", own, f"{own.partition('.')[0]}.local", *(name.lower() for name in names)}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope["method"], headers)
        if refusal is not None:
            status, says = refusal
            await PlainTextResponse(says + "\n", status)(scope, receive, send)
            return
        body = b""
        if scope["method"] not in _SAFE:
            limit = _limit(scope["path"])
            read = await _body(receive, limit)
            if read is None:
                says = f"Too much was sent; at most {limit / 1e6:.2f} MB.\n"
                await PlainTextResponse(says, 413)(scope, receive, send)
                return
            body = read
        await self.app(scope, _replay(body, receive), _with_policy(send))

    def _refusal(self, method: str, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if not self._ours(host):
            return 421, "This machine does not serve that name."
        if method in _SAFE:
            return None
        origin = headers.get("origin", "")
        if origin == "null" or urlsplit(origin).netloc != host:
            return 403, "This was not sent from Drainward's own page, so nothing was saved."
        return None

    def _ours(self, host: str) -> bool:
        name = urlsplit(f"//{host}").hostname or ""
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return name in self.names
        return True


def _limit(path: str) -> int:
    """Only a room's water test and its unit as it arrived may bring a photograph, only a plan so many points."""
    if path == "/plan":
        return PLAN_LIMIT
    return PHOTO_LIMIT if path.startswith("/rooms/") and path.endswith(("/water", "/survey")) else BODY_LIMIT


async def _body(receive: Receive, limit: int) -> bytes | None:
    """The whole body, or None when it passes the limit."""
    parts: list[bytes] = []
    size = 0
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return b"".join(parts)
        part = message.get("body", b"")
        size += len(part)
        if size > limit:
            return None
        parts.append(part)
        if not message.get("more_body", False):
            return b"".join(parts)


def _replay(body: bytes, receive: Receive) -> Receive:
    sent = False

    async def again() -> Message:
        nonlocal sent
        if sent:
            return await receive()
        sent = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


def _with_policy(send: Send) -> Send:
    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["Content-Security-Policy"] = POLICY
            headers["X-Content-Type-Options"] = "nosniff"
            headers["Referrer-Policy"] = "same-origin"
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return sender
