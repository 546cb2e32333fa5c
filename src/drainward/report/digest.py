"""The digest of what a report was computed from: `inputs_digest`."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from drainward.job.model import Job, Reading, Room, UnitModel, WaterTest

__all__ = ["inputs_digest"]


def inputs_digest(
    job: Job, room: Room, unit: UnitModel, readings: Sequence[Reading], tests: Sequence[WaterTest] | None = None
) -> str:
    """SHA-256, in hexadecimal, of the room, its unit, its readings in their order, and how the job judges.

    Taken over JSON with sorted keys, so that it depends on the values alone.
    tests : the recorded water tests where the water was computed, with how the job wets its floors; None where not
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
    return hashlib.sha256(json.dumps(used, sort_keys=True, ensure_ascii=False).encode()).hexdigest()
