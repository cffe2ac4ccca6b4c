"""What to expect of a unit's test today, from bench runs over what its file does not say."""
