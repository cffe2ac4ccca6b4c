"""Made weather."""

import numpy as np

from firstfrost.weather.hours import Air


def steady(temp_c, humidity, hours=24, pressure_pa=101325.0):
    """Air that stays."""
    n = hours + 1
    return Air(
        source="made",
        place="",
        step_s=3600.0,
        months=np.full(n, 1),
        hours=np.arange(n) % 24,
        temps_c=np.full(n, float(temp_c)),
        humidity=np.full(n, float(humidity)),
        pressure_pa=np.full(n, pressure_pa),
        notes=(),
    )


def winter_air(days=30, mean_c=-1.0):
    """A made January: no place's own."""
    n = 24 * days + 1
    hour = np.arange(n)
    temps = mean_c + 5.0 * np.sin(2 * np.pi * hour / 197.0) - 4.0 * np.cos(2 * np.pi * (hour - 3) / 24.0)
    wet = 0.82 + 0.12 * np.cos(2 * np.pi * (hour - 4) / 24.0)
    return Air(
        source="made",
        place="a made place",
        step_s=3600.0,
        months=np.full(n, 1),
        hours=hour % 24,
        temps_c=temps,
        humidity=wet,
        pressure_pa=np.full(n, 101325.0),
        notes=(),
    )
