"""A made-up job with hidden true floors: `write_demo` puts it into a folder; its verdicts are computed live.

floors (true floors and how they read), units, crew, home, rooms, write
"""

from drainward.demo.write import write_demo

__all__ = ["write_demo"]
