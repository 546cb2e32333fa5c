"""The record: append-only events and the store that keeps them.

Event, EventKind                        what happened, once
reading_event, withdrawal_event         a reading, and a reading taken back
Store, RecordedJob                      one SQLite file; a job whose readings come from it
"""

from drainward.record.event import (
    Event,
    EventKind,
    reading_event,
    reading_uuid,
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
    "withdrawal_event",
]
