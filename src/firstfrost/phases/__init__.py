"""The phase finder: one fold over samples, live and in batch alike."""
