"""What holds one room's unit, all three stages together: `RoomHold`, `room_hold`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from drainward.bed.result import BedPlan
from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.hold.stage import BracePlan, Cure, FastenPlan, brace_stage, cure_stage, fasten_stage
from drainward.job.model import Job

__all__ = ["RoomHold", "room_hold"]

Stage = TypeVar("Stage", FastenPlan, BracePlan, Cure)


@dataclass(frozen=True, slots=True)
class RoomHold:
    """A stage that has no answer is None, and `refused` says why by its name."""

    room: str
    fasten: FastenPlan | None
    brace: BracePlan | None
    cure: Cure | None
    refused: dict[str, str]

    def as_json(self) -> dict[str, Any]:
        """The objects of the three stages, null where one was refused (docs/json.md)."""
        stages = {"fasten": self.fasten, "brace": self.brace, "cure": self.cure}
        told = {name: None if stage is None else stage.as_json() for name, stage in stages.items()}
        return {"schema": 1, "room": self.room, **told, "refused": dict(self.refused)}


def room_hold(job: Job, room: str, draft: Verdict | None, bed: BedPlan | None, now: datetime) -> RoomHold:
    """The stages fasten, brace and cure of one room at `now`, which is aware of its zone.

    draft, bed : as `fasten_stage` and `brace_stage` take them. Nothing is raised where a stage refuses.
    """
    refused: dict[str, str] = {}

    def asked(name: str, stage: Callable[[], Stage]) -> Stage | None:
        try:
            return stage()
        except StageError as error:
            refused[name] = str(error)
            return None

    return RoomHold(
        room,
        asked("fasten", lambda: fasten_stage(job, room, draft)),
        asked("brace", lambda: brace_stage(job, room, bed)),
        asked("cure", lambda: cure_stage(job, room, now)),
        refused,
    )
