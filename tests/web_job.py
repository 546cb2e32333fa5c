"""A job with a hand-made engine and a running server, for the tests of the page."""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import hand_made
import uvicorn
from starlette.applications import Starlette

from drainward.finding import Verdict
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job.model import Instrument, Job, Reading, Room, WaterTest
from drainward.job.write import write_job
from drainward.web.desk import Before
from drainward.web.serve import listen

ROOMS = ("101", "102", "103", "104", "201", "202 <b>&\"'")
PACE = 0.02
"""Seconds that the hand-made engine pretends to work."""


def job() -> Job:
    """Six rooms on two floors; 101 fails, 102 meets, 103 is not proven, 104 was never read, 201 fails, 202 meets."""
    unit = hand_made.unit()
    rooms = tuple(Room(room=name, floor=name[0], unit=unit.id) for name in ROOMS)
    read = tuple(
        reading.model_copy(update={"room": name, "id": f"{name[:3]}-{reading.id}"})
        for name in ROOMS
        if name != "104"
        for reading in hand_made.readings()
    )
    return Job(
        name="Harbour House",
        units={unit.id: unit},
        rooms=rooms,
        instruments={
            "level-24": Instrument(id="level-24", name="24 in level and wedge", length=0.6096, u=0.0004),
            "digital-12": Instrument(id="digital-12", name="12 in digital level", length=0.3048, u_slope=0.0009),
            "edge-48": Instrument(id="edge-48", name="straightedge", length=1.2192, u=0.0003),
        },
        readings=read,
    )


def write(folder: Path) -> Path:
    """The job in a folder."""
    write_job(folder, job())
    return folder


def compute(
    job: Job, room: str, readings: tuple[Reading, ...], *, samples: int, progress: Callable[[str, float], None] | None
) -> Draft:
    """A stand-in of the engine: the hand-made draft, its verdict by the room's name, its numbers by the readings."""
    for step in range(4):
        if progress is not None:
            progress("hand-made", step / 4)
        time.sleep(PACE / 4 * samples / 1000)
    verdict = {"102": Verdict.MEETS, "103": Verdict.NOT_PROVEN, "104": Verdict.NOT_PROVEN, "202": Verdict.MEETS}.get(
        room[:3], Verdict.FAILS
    )
    draft = hand_made.draft(room=room, verdict=verdict, samples=samples, used=len(readings), rejected=())
    if verdict is Verdict.FAILS:
        return replace(draft, rejected=hand_made.draft().rejected) if any(r.id == "b" for r in readings) else draft
    findings = tuple(replace(finding, verdict=verdict) for finding in draft.findings)
    return replace(draft, findings=findings, mend=None)


def compute_water(
    job: Job,
    room: str,
    readings: tuple[Reading, ...],
    tests: tuple[WaterTest, ...],
    *,
    samples: int,
    progress: Callable[[str, float], None] | None,
) -> Water:
    """A stand-in of the water engine: the hand-made water, which sees every recorded test as the hand-made one."""
    for step in range(4):
        if progress is not None:
            progress("hand-made", step / 4)
        time.sleep(PACE / 4 * samples / 200)
    water = hand_made.water(room=room, samples=samples, used=len(readings), rejected=())
    (seen,) = water.seen
    return replace(water, seen=tuple(replace(seen, test=test) for test in tests))


def compute_before(job: Job, room: str, *, progress: Callable[[str, float], None] | None) -> Before:
    """The stages before a unit is set over few drawn pockets: quick, and still what the engine finds."""
    from drainward.bed.stage import bed_stage
    from drainward.pocket.stage import dry_set_stage, set_stage, survey_stage

    survey = survey_stage(job, room, samples=50)
    bed = bed_stage(job, room, samples=50)
    return Before(survey, dry_set_stage(job, room, samples=50), set_stage(job, room), bed, "")


@contextlib.contextmanager
def running(app: Starlette) -> Iterator[str]:
    """The app behind a real server on a free port; gives its address."""
    listener = listen("127.0.0.1", 0)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=2))

    async def serve() -> None:
        await server.serve(sockets=[listener])
        # A browser may hold connections past the patience of the shutdown: a loop that ends over them warns, later.
        for connection in list(server.server_state.connections):
            connection.transport.abort()
        await asyncio.sleep(0)

    thread = threading.Thread(target=lambda: asyncio.run(serve()), daemon=True)
    thread.start()
    until = time.monotonic() + 10
    while not server.started:
        if time.monotonic() > until or not thread.is_alive():
            raise RuntimeError("the page did not start")
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)
        listener.close()
