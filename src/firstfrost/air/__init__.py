"""Ambient pressure, moist air and ice."""
