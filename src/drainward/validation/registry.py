"""All outside checks, topic by topic: `CHECKS`."""

from __future__ import annotations

from drainward.validation.bed import CHECKS as BED
from drainward.validation.calendars import CHECKS as CALENDARS
from drainward.validation.check import Check
from drainward.validation.conversions import CHECKS as CONVERSIONS
from drainward.validation.cutting import CHECKS as CUTTING
from drainward.validation.decision import CHECKS as DECISION
from drainward.validation.field import CHECKS as FIELD
from drainward.validation.film import CHECKS as FILM
from drainward.validation.flooding import CHECKS as FLOODING
from drainward.validation.hold import CHECKS as HOLD
from drainward.validation.known_floors import CHECKS as KNOWN_FLOORS
from drainward.validation.plates import CHECKS as PLATES
from drainward.validation.pocket_fit import CHECKS as POCKET_FIT
from drainward.validation.rule_numbers import CHECKS as RULE_NUMBERS
from drainward.validation.screws import CHECKS as SCREWS
from drainward.validation.survey import CHECKS as SURVEY
from drainward.validation.water import CHECKS as WATER
from drainward.validation.way_in import CHECKS as WAY_IN
from drainward.validation.windows import CHECKS as WINDOWS

__all__ = ["CHECKS"]

CHECKS: tuple[Check, ...] = (
    *CONVERSIONS, *DECISION, *RULE_NUMBERS, *SCREWS, *WINDOWS, *FLOODING, *FIELD, *KNOWN_FLOORS, *WATER, *FILM, *WAY_IN,
    *SURVEY,
    *POCKET_FIT, *BED, *PLATES, *CUTTING, *CALENDARS, *HOLD,
)  # fmt: skip
