"""Water on the floor: the film equation, the pour, the outlet, what surface tension keeps, and the recorded test.

flow       the film equation on one floor: Basin, Spell, run
fluid      water by its temperature
outlet     what the drain takes
result     what the stage answers
"""
