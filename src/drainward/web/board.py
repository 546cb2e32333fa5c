"""Where each room stands, for the job's page: `Board`, `Row`."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass
from functools import partial
from typing import Any

from drainward.errors import DrainwardError
from drainward.finding import Verdict
from drainward.floor.result import Draft
from drainward.job.model import Job, Reading, Room
from drainward.web.desk import FULL, QUICK, Desk

__all__ = ["Board", "Row"]

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Row:
    """One room: `state` is done, estimate, computing, waiting, unread or failed; the first two carry a verdict.

    share : how much of the refined answer is computed, 0 to 1
    """

    room: Room
    readings: int
    state: str
    verdict: str
    says: str
    share: float

    @property
    def open(self) -> bool:
        """Whether there is still something to wait for."""
        return self.state in ("estimate", "computing", "waiting")

    def as_json(self) -> dict[str, Any]:
        """The row for the page's poll."""
        return {
            "room": self.room.room,
            "readings": self.readings,
            "state": self.state,
            "open": self.open,
            "verdict": self.verdict,
            "says": self.says,
            "share": self.share,
        }


@dataclass(frozen=True, slots=True)
class _Outcome:
    readings: tuple[str, ...]
    samples: int
    state: str
    verdict: str
    says: str


class Board:
    """Asks the desk for every room that was read, and remembers each outcome in a line.

    All first estimates come before the first refined answer, so that a long list is filled in seconds.
    """

    def __init__(self, job: Job, desk: Desk, readings: Callable[[], tuple[Reading, ...]]) -> None:
        self._job, self._desk, self._readings = job, desk, readings
        self._lock = threading.Lock()
        self._outcomes: dict[str, _Outcome] = {}
        self._asked: dict[str, tuple[str, ...]] = {}

    def rows(self) -> tuple[Row, ...]:
        """Every room of the job in its order; asks for what is not known yet."""
        by_room: dict[str, list[Reading]] = {}
        for reading in self._readings():
            by_room.setdefault(reading.room, []).append(reading)
        self._ask({room: tuple(readings) for room, readings in by_room.items()})
        return tuple(self._row(room, tuple(by_room.get(room.room, ()))) for room in self._job.rooms)

    def _ask(self, by_room: dict[str, tuple[Reading, ...]]) -> None:
        fresh: list[tuple[str, tuple[Reading, ...], tuple[str, ...]]] = []
        with self._lock:
            for room, readings in by_room.items():
                ids = tuple(reading.id for reading in readings)
                if self._asked.get(room) != ids:
                    self._asked[room] = ids
                    fresh.append((room, readings, ids))
        for samples in (QUICK, FULL):
            for room, readings, ids in fresh:
                future = self._desk.ask(room, readings, samples, waiting=False)
                future.add_done_callback(partial(self._note, room, ids, samples))

    def _row(self, room: Room, readings: tuple[Reading, ...]) -> Row:
        if not readings:
            return Row(room, 0, "unread", "not proven", "Nothing was read here yet.", 0.0)
        with self._lock:
            outcome = self._outcomes.get(room.room)
        share = self._desk.share(room.room, readings)
        if outcome is not None and outcome.readings == tuple(reading.id for reading in readings):
            return Row(room, len(readings), outcome.state, outcome.verdict, outcome.says, share or 0.0)
        return Row(room, len(readings), "waiting" if share is None else "computing", "", "", share or 0.0)

    def _note(self, room: str, ids: tuple[str, ...], samples: int, done: Future[Draft]) -> None:
        error = None if done.cancelled() else done.exception()
        if done.cancelled() or isinstance(error, CancelledError) or (error is not None and samples < FULL):
            return
        if error is None:
            draft = done.result()
            state = "done" if samples == FULL else "estimate"
            outcome = _Outcome(ids, samples, state, str(draft.verdict), _brief(draft))
        else:
            if not isinstance(error, DrainwardError):
                _log.error("room %s could not be computed", room, exc_info=error)
            says = str(error) if isinstance(error, DrainwardError) else ""
            outcome = _Outcome(ids, samples, "failed", "", says)
        with self._lock:
            before = self._outcomes.get(room)
            if before is None or before.readings != ids or before.samples <= samples:
                self._outcomes[room] = outcome


def _brief(draft: Draft) -> str:
    """What stands behind the verdict in half a line: the verdict itself stands beside it."""
    named = [finding.what for finding in draft.findings if finding.decides and finding.verdict is draft.verdict]
    if draft.verdict is Verdict.MEETS or not named:
        return f"{len(named)} findings within their limits" if named else "nothing was judged"
    return named[0] + (f", and {len(named) - 1} more" if len(named) > 1 else "")
