"""The season: ratings, climate, frost over a winter, load, energy, money."""
