"""Water on the floor: how it runs, what stays, and what a recorded test says.

water_stage, Water   the water test of one room
flow, scheme         the film equation on one floor, and its kernels
fluid, outlet        water by its temperature; what the drain takes
pour, many           how water comes onto a floor; the same on many drawn floors
wetting              what surface tension keeps
evidence, seen       a recorded test as evidence of the floor; beside the computation
"""

from drainward.floor.film.result import Water
from drainward.floor.film.stage import water_stage

__all__ = ["Water", "water_stage"]
