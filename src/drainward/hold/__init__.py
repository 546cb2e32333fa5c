"""What holds the unit: its floor on the bed, fasteners, braces and the cure."""
