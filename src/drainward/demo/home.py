"""A made-up care home, Willow Bank: three floors, twenty-four showers, three crews. Nothing in it is real.

NAME     of the job;  TODAY : on which its plan is shown
job      the job without its readings, its surveys and its units as they arrived
"""

from __future__ import annotations

from datetime import date, time, timedelta

from drainward.demo.crew import INSTRUMENTS
from drainward.demo.tape import TOOLS
from drainward.demo.units import bedded, own_base
from drainward.job.fittings import Fittings
from drainward.job.model import Crew, Job, Room, RuleChoice
from drainward.job.planning import Calendar, Inspector, Kits
from drainward.quantity import INCH

__all__ = ["NAME", "TODAY", "job"]

NAME = "Willow Bank care home (made up)"
TODAY = date(2026, 3, 4)
"""The morning on which its plan is shown: some rooms are surveyed, two are set."""
_START = date(2026, 3, 2)
_FLOORS = ("1", "2", "3")
_CREWS = (
    Crew(id="A", name="Floor 1 crew", people=4, skills=("core",), day=1600.0),
    Crew(id="B", name="Floor 2 crew", people=3, skills=("core",), day=1200.0),
    Crew(id="C", name="Floor 3 crew", people=2, day=800.0),
)
_CALENDAR = Calendar(start=_START, hours=(time(7, 30), time(16)), holidays=(date(2026, 4, 3),), correction_skill="core")
_KITS = Kits(braces=10, week=30.0)
_INSPECTORS = (
    Inspector(id="building", name="Building inspector", works=("tue", "thu"), hours=(time(9), time(12))),
    Inspector(id="owner", name="Owner's inspector", works=("mon", "wed", "fri"), hours=(time(13), time(15))),
)


def job() -> Job:
    """Units, rooms, crews, tools, calendar; the two lower floors have bedded units, the top one units on the slab."""
    units = {unit.id: unit for unit in (bedded(), own_base())}
    return Job(
        name=NAME,
        rules=RuleChoice(use=("us-plumbing-irc-2021", "us-ada-2010", "practice"), shower="standard roll-in"),
        fittings=Fittings(
            seat="none", controls="back", grab_bar_height=34 * INCH, controls_height=42 * INCH, open_behind=("back",)
        ),
        units=units,
        rooms=tuple(_room(level, number) for level in range(3) for number in range(8)),
        crews=_CREWS,
        instruments=INSTRUMENTS | TOOLS,
        calendar=_CALENDAR,
        kits=_KITS,
        inspectors=_INSPECTORS,
        corrections={"302": 0.0, "305": 4 * 3600.0},
    )


def _room(level: int, number: int) -> Room:
    ready = _working_day(level * 3 + number // 2)
    return Room(
        room=f"{level + 1}{number + 1:02}",
        floor=_FLOORS[level],
        unit="B60" if level < 2 else "S60",
        ready=ready,
        due=ready + timedelta(days=14),
    )


def _working_day(count: int) -> date:
    """The working day so many after the start, which is a Monday."""
    weeks, days = divmod(count, 5)
    return _START + timedelta(weeks=weeks, days=days)
