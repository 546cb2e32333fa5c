"""Where each room stands, for the job's page: `Board`, `Row`."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass
from typing import Any

from drainward.errors import DrainwardError
from drainward.floor.result import Draft
from drainward.job.model import Job, Reading, Room
from drainward.report.words import headline
from drainward.web.desk import Desk

__all__ = ["Board", "Row"]

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Row:
    """One room: `state` is done, computing, waiting, unread or failed; verdict and words stand when it is done.

    share : how much is computed, 0 to 1
    """

    room: Room
    readings: int
    state: str
    verdict: str
    says: str
    share: float

    def as_json(self) -> dict[str, Any]:
        """The row for the page's poll."""
        return {
            "room": self.room.room,
            "readings": self.readings,
            "state": self.state,
            "verdict": self.verdict,
            "says": self.says,
            "share": self.share,
        }


@dataclass(frozen=True, slots=True)
class _Outcome:
    readings: tuple[str, ...]
    state: str
    verdict: str
    says: str


class Board:
    """Asks the desk for every room that was read, and remembers each outcome in a line."""

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
        return tuple(self._row(room, tuple(by_room.get(room.room, ()))) for room in self._job.rooms)

    def _row(self, room: Room, readings: tuple[Reading, ...]) -> Row:
        if not readings:
            return Row(room, 0, "unread", "not proven", "Nothing was read here yet.", 0.0)
        ids = tuple(reading.id for reading in readings)
        with self._lock:
            outcome = self._outcomes.get(room.room)
            asked = self._asked.get(room.room) == ids
            self._asked[room.room] = ids
        if outcome is not None and outcome.readings == ids:
            return Row(room, len(ids), outcome.state, outcome.verdict, outcome.says, 1.0)
        if not asked:
            future = self._desk.ask(room.room, readings, waiting=False)
            future.add_done_callback(lambda done: self._note(room.room, ids, done))
        share = self._desk.share(room.room, readings)
        return Row(room, len(ids), "waiting" if share is None else "computing", "", "", share or 0.0)

    def _note(self, room: str, ids: tuple[str, ...], done: Future[Draft]) -> None:
        error = None if done.cancelled() else done.exception()
        if done.cancelled() or isinstance(error, CancelledError):
            return
        if error is None:
            words = headline(done.result())
            outcome = _Outcome(ids, "done", str(words.verdict), words.says)
        else:
            if not isinstance(error, DrainwardError):
                _log.error("room %s could not be computed", room, exc_info=error)
            outcome = _Outcome(ids, "failed", "", str(error) if isinstance(error, DrainwardError) else "")
        with self._lock:
            self._outcomes[room] = outcome
