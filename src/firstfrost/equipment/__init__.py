"""A unit: its plate, its coil sensor, its board, its limits, and the instruments used on it."""
