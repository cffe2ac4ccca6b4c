"""Visits to machines whose fault is known, on the bench: to learn likelihoods from, and to judge them by."""
