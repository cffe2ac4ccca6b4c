"""A visit's record in memory: channels on one time base, and the marks of what a person did."""
