"""The framed pocket that a unit is to stand in: as surveyed, and whether and how the unit goes in."""
