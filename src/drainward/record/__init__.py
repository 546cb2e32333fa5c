"""The record: append-only events and the store that keeps them.

Event, EventKind                    what happened, once
reading_event, water_test_event     a reading, a water test
withdrawal_event                    and either taken back
reading_uuid, water_test_uuid       the uuids of their events
Store, RecordedJob                  one SQLite file with its photographs; a job read and tested from it
"""

from drainward.record.event import (
    Event,
    EventKind,
    reading_event,
    reading_uuid,
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
    "reading_event",
    "reading_uuid",
    "water_test_event",
    "water_test_uuid",
    "withdrawal_event",
]
