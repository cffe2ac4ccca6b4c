"""The service: thin. It parses, calls one thing of the packages below, and serialises."""
