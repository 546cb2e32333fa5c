"""The record: append-only events and the store that keeps them.

Event, EventKind                    what happened, once
reading_event, water_test_event     a reading, a water test
measure_event, received_event       a measure of a pocket, a size or the damage of a unit as it arrived
setting_event                       what was done when a unit was set
withdrawal_event                    and any of them taken back
plan_event                          the plan of a storey drawn
reading_uuid, water_test_uuid,
measure_uuid, received_uuid,
setting_uuid                        the uuids of their events
Store, RecordedJob                  one SQLite file with its photographs; a job read and tested from it
"""

from drainward.record.event import (
    Event,
    EventKind,
    measure_event,
    measure_uuid,
    plan_event,
    reading_event,
    reading_uuid,
    received_event,
    received_uuid,
    setting_event,
    setting_uuid,
    water_test_event,
    water_test_uuid,
    withdrawal_event,
)
from drainward.record.store import RecordedJob, Store

__all__ = [
    "Event",
    "EventKind",
    "RecordedJob",
    "Store",
    "measure_event",
    "measure_uuid",
    "plan_event",
    "reading_event",
    "reading_uuid",
    "received_event",
    "received_uuid",
    "setting_event",
    "setting_uuid",
    "water_test_event",
    "water_test_uuid",
    "withdrawal_event",
]
