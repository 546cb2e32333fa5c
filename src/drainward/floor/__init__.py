"""The floor, the heart: moulded shape, readings, belief, falls, ponds, high spots, the next reading and the mend.

`draft_stage` answers for one room; the rooms of this package, lowest first: shape, functionals, field, defects, ways,
odds, particles, belief (what the floor may be); lanes, lift, flood, surface (many floors at once); fall, ponds,
straightedge, threshold, judge (what is asked of it); ask, mend (what to do next); stage.
"""

from drainward.floor.stage import draft_stage

__all__ = ["draft_stage"]
