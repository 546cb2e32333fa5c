"""The page on a port: its address is printed, a kill loses nothing, a port in use is said."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import uuid
from pathlib import Path

import httpx
import pytest
import web_job
from test_web_entry import FORM

from drainward.errors import InputError
from drainward.record import EventKind, Store
from drainward.web import serve
from drainward.web.serve import listen

SERVE = """
import importlib, sys
from pathlib import Path
import web_job
served = importlib.import_module("drainward.web.serve")
from drainward.web.app import create_app
served.create_app = lambda folder, store, names: create_app(folder, store, compute=web_job.compute, names=names)
served.serve(Path(sys.argv[1]), host=sys.argv[2], say=lambda words: print(words, flush=True))
"""


def start(folder: Path, host: str = "127.0.0.1") -> tuple[subprocess.Popen[str], str]:
    paths = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "src")]
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(folder), host],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://\S+/", line)
    assert found is not None, line
    return process, found[0]


def test_a_kill_loses_no_saved_reading_and_the_next_start_shows_it(tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    saved: list[str] = []
    for _ in range(2):
        process, address = start(folder)
        try:
            headers = {"Accept": "application/json", "Origin": address.rstrip("/")}
            with httpx.Client(base_url=address, headers=headers) as client:
                for _ in range(3):
                    sent = FORM | {"id": str(uuid.uuid4())}
                    assert client.post("/rooms/104/readings", data=sent).status_code == 201
                    saved.append(sent["id"])
                rooms = {row["room"]: row for row in client.get("/board.json").json()["rooms"]}
                assert rooms["104"]["readings"] == len(saved)
        finally:
            process.kill()
            process.communicate()
    with Store.open(folder / "record.sqlite") as store:
        assert [reading.id for reading in store.readings("104")] == saved
        assert len(store.events(kind=EventKind.JOB)) == 1


def test_every_interface_is_announced_with_an_address_that_answers(tmp_path: Path) -> None:
    process, address = start(web_job.write(tmp_path / "job"), "0.0.0.0")
    try:
        assert "0.0.0.0" not in address
        assert httpx.get(address).status_code == 200
    finally:
        process.terminate()
        process.communicate()


def test_a_port_in_use_is_said(tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=r"cannot be listened on .* choose another port"):
            serve(folder, port=port)
    with pytest.raises(InputError, match="cannot be listened on"):
        serve(folder, port=70_000)


def test_answers_do_not_wait_for_acknowledgements() -> None:
    with listen("127.0.0.1", 0) as listener, socket.create_connection(listener.getsockname()):
        accepted, _ = listener.accept()
        with accepted:
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0
