"""A made-up job with hidden true floors: `write_demo` puts it into a folder; its verdicts are computed live.

floors (true floors and how they read), crew, pour, rooms; framing (true pockets), tape, surveys; storey (the way in);
setting (what was done as units were set), hollows (under a set floor, and how they are tapped); units, home, write
"""

from drainward.demo.write import write_demo

__all__ = ["write_demo"]
