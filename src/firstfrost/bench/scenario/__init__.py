"""Scenarios: files that say what stands where, in what weather, what breaks and who does what."""
