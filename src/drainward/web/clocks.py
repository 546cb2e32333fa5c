"""The running clocks of all beds, a line each, for the job's page: `Clocks`."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from drainward.errors import StageError
from drainward.job.model import Job, SettingEvent, Work

if TYPE_CHECKING:
    from drainward.hold.clock import Clock

__all__ = ["Clocks"]


class Clocks:
    """Keeps each clock until something more is written down in its room: when it ends hangs on that alone.

    Methods may be called from any thread.
    """

    def __init__(self, job: Job) -> None:
        self._job = job
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[tuple[str, ...], Clock | None]] = {}

    def lines(self, setting: Iterable[SettingEvent], now: datetime) -> dict[str, str]:
        """By room, for those whose bed was placed and whose braces are not off; now : aware of its zone."""
        from drainward.report.hold_words import clock_line

        told: dict[str, list[SettingEvent]] = {}
        for event in setting:
            if self._job.site.utc(event.when) <= now:
                told.setdefault(event.room, []).append(event)
        lines = {}
        for room in self._job.rooms:
            own = told.get(room.room, [])
            if any(event.what is Work.BED_PLACED for event in own):
                clock = self._clock(room.room, own, now)
                lines[room.room] = "" if clock is None else clock_line(clock, now, self._job.site)
        return {room: line for room, line in lines.items() if line}

    def _clock(self, room: str, own: list[SettingEvent], now: datetime) -> Clock | None:
        from drainward.hold.stage import cure_stage

        ids = tuple(event.id for event in own)
        with self._lock:
            if room not in self._kept or self._kept[room][0] != ids:
                job = self._job.model_copy(update={"setting": tuple(own)})
                try:
                    self._kept[room] = ids, cure_stage(job, room, now).clock
                except StageError:
                    self._kept[room] = ids, None
            return self._kept[room][1]
