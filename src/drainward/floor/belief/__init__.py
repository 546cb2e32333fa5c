"""What the readings let us believe of a floor.

field      the smooth deviation, a Gaussian process on a lattice
defects    local defects: spots, sags, ridges, steps
ways       the sizes that the smooth part may have, and the prior of all parts
odds       the inner loop: the odds of every defect
particles  ways in which the floor may be, drawn
belief     the whole: readings in, floors out
"""

from drainward.floor.belief.belief import Belief, Floors, believe
from drainward.floor.belief.ways import Prior

__all__ = ["Belief", "Floors", "Prior", "believe"]
