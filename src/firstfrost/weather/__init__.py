"""Hours of outdoor weather: from EPW, TMY3 and CSV files."""
