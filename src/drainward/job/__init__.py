"""The job: what is built, where, by whom and with what, and what was read.

Job, UnitModel, Reading,
WaterTest, Measure, Received,
SettingEvent                        the types (job.model); Materials, Mortar, Site (job.materials)
load, Loaded                        the job folder in (job.folder); docs/job-folder.md is its reference
read_rooms, RoomList                a builder's room list in (job.rooms_in)
write_job, rooms_text,
append_reading_csv,
append_water_csv,
append_measure_csv,
append_received_csv,
append_setting_csv                  and out (job.write, job.append)
"""

from __future__ import annotations

from drainward.job.append import (
    append_measure_csv,
    append_reading_csv,
    append_received_csv,
    append_setting_csv,
    append_water_csv,
)
from drainward.job.fittings import Fittings, Framing
from drainward.job.folder import Loaded, load
from drainward.job.materials import Materials, Mortar, Site
from drainward.job.model import (
    Crew,
    Drain,
    Flange,
    Floor,
    Instrument,
    Job,
    Measure,
    NamedHeight,
    Panel,
    Pattern,
    Puddle,
    Reading,
    ReadingKind,
    Received,
    Room,
    RuleChoice,
    SettingEvent,
    Size,
    UnitModel,
    Water,
    WaterTest,
    What,
    Work,
)
from drainward.job.planning import Calendar, Inspector, Kits
from drainward.job.rooms_in import RoomList, read_rooms
from drainward.job.support import Support
from drainward.job.write import rooms_text, write_job

__all__ = [
    "Calendar",
    "Crew",
    "Drain",
    "Fittings",
    "Flange",
    "Floor",
    "Framing",
    "Inspector",
    "Instrument",
    "Job",
    "Kits",
    "Loaded",
    "Materials",
    "Measure",
    "Mortar",
    "NamedHeight",
    "Panel",
    "Pattern",
    "Puddle",
    "Reading",
    "ReadingKind",
    "Received",
    "Room",
    "RoomList",
    "RuleChoice",
    "SettingEvent",
    "Site",
    "Size",
    "Support",
    "UnitModel",
    "Water",
    "WaterTest",
    "What",
    "Work",
    "append_measure_csv",
    "append_reading_csv",
    "append_received_csv",
    "append_setting_csv",
    "append_water_csv",
    "load",
    "read_rooms",
    "rooms_text",
    "write_job",
]
