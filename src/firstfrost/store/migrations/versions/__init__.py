"""One file for each change, named by its number."""
