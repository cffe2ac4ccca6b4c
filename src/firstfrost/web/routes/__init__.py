"""The routes, by subject. Each parses, calls one thing, and serialises."""
