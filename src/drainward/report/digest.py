"""The digest of what a report was computed from: `inputs_digest`."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any

from drainward.job.model import Job, Measure, Reading, Received, Room, SettingEvent, UnitModel, WaterTest

if TYPE_CHECKING:
    from drainward.wayin.plan import Plan

__all__ = ["inputs_digest"]


def inputs_digest(
    job: Job,
    room: Room,
    unit: UnitModel,
    readings: Sequence[Reading],
    tests: Sequence[WaterTest] | None = None,
    measures: Sequence[Measure] = (),
    received: Sequence[Received] = (),
    plan: Plan | None = None,
    setting: Sequence[SettingEvent] = (),
    at: datetime | None = None,
) -> str:
    """SHA-256, in hexadecimal, of the room, its unit, its readings in their order, and how the job judges.

    Taken over JSON with sorted keys, so that it depends on the values alone.
    tests : the recorded water tests where the water was computed, with how the job wets its floors; None where not
    measures, received, plan : of the pocket, of the unit as it arrived, and the way in, where there are any; with them
    the job's unit models and crews, which they were judged on
    setting, at : what was done when the unit was set, and when the clock of its bed was read, where there is one; with
    them the job's materials, framing and site
    """
    used: dict[str, Any] = {
        "room": room.model_dump(mode="json"),
        "unit": unit.model_dump(mode="json"),
        "readings": [reading.model_dump(mode="json") for reading in readings],
        "rules": job.rules.model_dump(mode="json"),
        "instruments": {name: tool.model_dump(mode="json") for name, tool in job.instruments.items()},
        "risk": job.risk,
        "fall_base": job.fall_base,
        "pond_counts": job.pond_counts,
    }
    if tests is not None:
        used |= {"water": job.water.model_dump(mode="json"), "tests": [test.model_dump(mode="json") for test in tests]}
    if measures or received or plan is not None:
        used["before"] = {
            "measures": [measure.model_dump(mode="json") for measure in measures],
            "received": [row.model_dump(mode="json") for row in received],
            "plan": None if plan is None else asdict(plan),
            "units": {name: model.model_dump(mode="json") for name, model in job.units.items()},
            "crews": [crew.model_dump(mode="json") for crew in job.crews],
        }
    if setting:
        used["hold"] = {
            "setting": [event.model_dump(mode="json") for event in setting],
            "at": None if at is None else at.isoformat(),
            **{name: getattr(job, name).model_dump(mode="json") for name in ("materials", "framing", "site")},
        }
    return hashlib.sha256(json.dumps(used, sort_keys=True, ensure_ascii=False).encode()).hexdigest()
