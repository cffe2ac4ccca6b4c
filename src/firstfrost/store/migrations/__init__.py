"""The changes of the tables, in order; each runs in one transaction."""
