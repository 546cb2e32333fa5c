"""Where drafts are computed: worker threads behind a cache, so that no page waits for another's floor.

Compute      what computes a draft: `drainward.floor.draft_stage`, or a stand-in of the same form in tests
Desk         asks for drafts, tells what is known and how far the rest is
QUICK, FULL  posterior samples of the first estimate and of the refined answer
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Protocol

from drainward.floor.result import Draft
from drainward.job.model import Job, Reading

__all__ = ["FULL", "QUICK", "Compute", "Desk", "Key", "engine"]

QUICK, FULL = 100, 1000

Progress = Callable[[str, float], None]


class Compute(Protocol):
    """The form of `drainward.floor.draft_stage`."""

    def __call__(
        self, job: Job, room: str, readings: tuple[Reading, ...], *, samples: int, progress: Progress | None
    ) -> Draft: ...


def engine(job: Job, room: str, readings: tuple[Reading, ...], *, samples: int, progress: Progress | None) -> Draft:
    """The floor engine, imported on first use: its compiled kernels cost more than the whole page."""
    from drainward.floor import draft_stage

    return draft_stage(job, room, readings, samples=samples, progress=progress)


@dataclass(frozen=True, slots=True)
class Key:
    """A draft is fully named by its room, the ids of its readings and the number of samples."""

    room: str
    readings: tuple[str, ...]
    samples: int


class Desk:
    """Computes each draft once and keeps the last `kept` ones.

    Two threads: one for the person who waits at a room's page, one that fills the job's page. The second stands still
    while the first works. Methods may be called from any thread.
    """

    def __init__(self, job: Job, compute: Compute = engine, kept: int = 96) -> None:
        self._job, self._compute, self._kept = job, compute, kept
        self._front = ThreadPoolExecutor(1, "drainward-front")
        self._back = ThreadPoolExecutor(1, "drainward-back")
        self._lock = threading.Lock()
        self._drafts: OrderedDict[Key, Draft] = OrderedDict()
        self._asked: dict[tuple[Key, bool], Future[Draft]] = {}
        self._share: dict[Key, float] = {}
        self._waiting = 0
        self._quiet = threading.Event()
        self._quiet.set()
        self._closed = threading.Event()

    def known(self, room: str, readings: tuple[Reading, ...], samples: int = FULL) -> Draft | None:
        """The draft, when it was computed already."""
        key = _key(room, readings, samples)
        with self._lock:
            if key in self._drafts:
                self._drafts.move_to_end(key)
            return self._drafts.get(key)

    def share(self, room: str, readings: tuple[Reading, ...], samples: int = FULL) -> float | None:
        """How much of the draft is done, 0 to 1, while it is being computed; None when it is not."""
        with self._lock:
            return self._share.get(_key(room, readings, samples))

    def ask(
        self, room: str, readings: tuple[Reading, ...], samples: int = FULL, *, waiting: bool = True
    ) -> Future[Draft]:
        """The draft, soon. `waiting`: a person waits for it; else it is computed when nobody does.

        The future raises what the engine raised.
        """
        key = _key(room, readings, samples)
        with self._lock:
            if key in self._drafts:
                done: Future[Draft] = Future()
                done.set_result(self._drafts[key])
                return done
            begun = key in self._share and self._asked.get((key, False))
            if begun:
                return begun
            if (key, waiting) in self._asked:
                return self._asked[key, waiting]
            if waiting:
                self._waiting += 1
                self._quiet.clear()
            future = (self._front if waiting else self._back).submit(self._work, key, readings, waiting)
            self._asked[key, waiting] = future
        future.add_done_callback(lambda _: self._settle(key, waiting))
        return future

    def close(self) -> None:
        """Drop what nobody has begun, break off what is under way, and let the threads end."""
        self._closed.set()
        self._quiet.set()
        for pool in (self._front, self._back):
            pool.shutdown(wait=False, cancel_futures=True)

    def _work(self, key: Key, readings: tuple[Reading, ...], waiting: bool) -> Draft:
        def progress(_stage: str, share: float) -> None:
            if not waiting:
                self._quiet.wait()
            if self._closed.is_set():
                raise CancelledError
            with self._lock:
                self._share[key] = share

        if not waiting:
            self._quiet.wait()
        known = self.known(key.room, readings, key.samples)
        if known is not None:
            return known
        with self._lock:
            self._share[key] = 0.0
        draft = self._compute(self._job, key.room, readings, samples=key.samples, progress=progress)
        with self._lock:
            self._drafts[key] = draft
            while len(self._drafts) > self._kept:
                self._drafts.popitem(last=False)
        return draft

    def _settle(self, key: Key, waiting: bool) -> None:
        with self._lock:
            self._asked.pop((key, waiting), None)
            self._share.pop(key, None)
            if waiting:
                self._waiting -= 1
                if self._waiting == 0:
                    self._quiet.set()


def _key(room: str, readings: tuple[Reading, ...], samples: int) -> Key:
    return Key(room, tuple(reading.id for reading in readings), samples)
