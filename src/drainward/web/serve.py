"""The page on a port of this machine: `serve`; `listen`, the socket that it serves."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.web.app import create_app

__all__ = ["RECORD", "listen", "serve"]

RECORD = "record.sqlite"
"""The record's file in the job folder, where no other is named."""

EVERYWHERE = ("0.0.0.0", "::")


def serve(
    job_folder: Path,
    *,
    db: str | None = None,
    host: str = "127.0.0.1",
    port: int = 0,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the page until interrupted, and print its address as the last line before it waits.

    db   : file or sqlite:/// address of the record; in the job folder when None
    host : "127.0.0.1" for this machine alone, "0.0.0.0" for phones on the same network (plain http: trust it)
    port : 0 takes a free one
    Raises InputError when the folder, the record or the port cannot be used.
    """
    import uvicorn

    from drainward.record import Store

    with Store.open(db if db is not None else job_folder / RECORD) as store:
        app = create_app(job_folder, store, names=(host,))
        listener = listen(host, port)
        with listener:
            for address in _addresses(host, listener.getsockname()[1]):
                say(f"Drainward is at {address}  (Ctrl-C ends it)")
            config = uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=3)
            uvicorn.Server(config).run(sockets=[listener])


def listen(host: str, port: int) -> socket.socket:
    """A listening socket; port 0 takes a free one. Raises InputError when the port cannot be had."""
    if port not in range(65_536):
        raise _no_port(host, port, "a port is a number from 0 to 65535")
    try:
        listener = socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as error:
        raise _no_port(host, port, str(error)) from None
    # Without this each answer waits 40 ms for an acknowledgement: asyncio leaves sockets of unnamed protocol alone.
    listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return listener


def _no_port(host: str, port: int, why: str) -> InputError:
    says = f"cannot be listened on ({why}); choose another port, or 0 to take a free one"
    return InputError((Problem("serve", None, "port", f"{host}:{port}", says),))


def _addresses(host: str, port: int) -> list[str]:
    """Where a browser finds the page; for every interface, this machine's address on its network too."""
    if host not in EVERYWHERE:
        return [f"http://{f'[{host}]' if ':' in host else host}:{port}/"]
    found = [f"http://{_outward()}:{port}/", f"http://127.0.0.1:{port}/"]
    return list(dict.fromkeys(found))


def _outward() -> str:
    """This machine's address on the network that leads out; no packet is sent by connecting a datagram socket."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for documentation, RFC 5737
        except OSError:
            return "127.0.0.1"
        address: str = probe.getsockname()[0]
    return address
