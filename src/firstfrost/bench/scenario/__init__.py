"""Scenarios: a file that says what stands where, in what weather, what breaks and who does what; and its truth."""
