"""The way of a unit from the street to its pocket: the box through corridors and doors, and the tilt up."""
