"""Drainward: does the shower floor drain, carry and comply? Computed findings for crews who set barrier-free units."""

__version__ = "0.1.0"
