"""The digest of what a report was computed from: `inputs_digest`."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence

from drainward.job.model import Job, Reading, Room, UnitModel

__all__ = ["inputs_digest"]


def inputs_digest(job: Job, room: Room, unit: UnitModel, readings: Sequence[Reading]) -> str:
    """SHA-256, in hexadecimal, of the room, its unit, its readings in their order, and how the job judges.

    Taken over JSON with sorted keys, so that it depends on the values alone.
    """
    used = {
        "room": room.model_dump(mode="json"),
        "unit": unit.model_dump(mode="json"),
        "readings": [reading.model_dump(mode="json") for reading in readings],
        "rules": job.rules.model_dump(mode="json"),
        "instruments": {name: tool.model_dump(mode="json") for name, tool in job.instruments.items()},
        "risk": job.risk,
        "fall_base": job.fall_base,
        "pond_counts": job.pond_counts,
    }
    return hashlib.sha256(json.dumps(used, sort_keys=True, ensure_ascii=False).encode()).hexdigest()
