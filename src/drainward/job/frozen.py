"""What every type of the job is built on: `Frozen`."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

__all__ = ["Frozen"]


class Frozen(BaseModel):
    """Validated once, never changed; a key that is not known is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
