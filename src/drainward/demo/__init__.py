"""A made-up job with hidden true floors: `write_demo` puts it into a folder; its verdicts are computed live.

floors (true floors and how they read), crew, pour, rooms; framing (true pockets), tape, surveys; setting (what was
done), soundings (voids, taps, presses); storey (the way in); units, home, write
"""

from drainward.demo.home import TODAY
from drainward.demo.write import write_demo

__all__ = ["TODAY", "write_demo"]
