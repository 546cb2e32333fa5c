"""The way of a unit from the street to its pocket: the box through corridors and doors, and the tilt up.

way_in_stage, WayIn, Carry     all of it for one room
read_plan, Plan, barriers      the plan of a storey
find_route, Route              the clearest way of a box, between two proved bounds
"""

from __future__ import annotations

from drainward.wayin.plan import Plan, barriers, read_plan
from drainward.wayin.result import Carry, WayIn
from drainward.wayin.route import Route, find_route
from drainward.wayin.stage import way_in_stage

__all__ = ["Carry", "Plan", "Route", "WayIn", "barriers", "find_route", "read_plan", "way_in_stage"]
