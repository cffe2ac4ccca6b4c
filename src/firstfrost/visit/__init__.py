"""A visit from its readings to its result."""
