"""What the bench's physics says of heating, defrosts and rests, as a table, and its values in given air.

Made by `scripts/fit_winter.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA
from firstfrost.refrigerants.curves import Floats
from firstfrost.weather.hours import Air


@dataclass(frozen=True, kw_only=True)
class Table:
    """The generic 2.5-ton unit of the bench, in a room at 21.1 degC."""

    temps_c: Floats
    humidities: Floats
    thicks_m: Floats
    heating: Floats
    """(6, temps, humidities, thicks): capacity, power [W], growth [kg/s, m/s], sensor [degC], frost [kg]."""
    frosts_kg: Floats
    opens_c: Floats
    defrosts: Floats
    """(8, temps, frosts, opens): length [s], heat [J], electricity [J], frost left [kg], least and usual heat
    rate [W], ..."""
    levels_c: Floats
    falls_s: Floats
    """(temps, levels): time after a defrost until the sensor has fallen to a level."""
    rest_frosts_kg: Floats
    rests_s: Floats
    rests: Floats
    """(2, temps, frosts, lengths): melted and drained in a rest. [kg]"""
    start_heat_j: float
    start_lag_s: float
    cycles_per_hw: float
    fan_on: Floats
    """(temps,) length of a defrost with the outdoor fan left on, over one with it stopped."""

    thin_air: Floats
    """(4,) per part of pressure lost: capacity and power lost, exponent of frost growth, sensor [K]."""

    def clean(self, temps_c: Floats, humidity: float = 0.7) -> tuple[Floats, Floats]:
        """Capacity and power (n,) [W] of the clean coil."""
        at = int(np.searchsorted(self.humidities, humidity))
        capacity, power = (np.interp(temps_c, self.temps_c, self.heating[k, :, at, 0]) for k in (0, 1))
        return capacity, power


@cache
def table() -> Table:
    """The table that is shipped."""
    with (files("firstfrost.season") / "winter.npz").open("rb") as file:
        return table_from(np.load(file))


def table_from(data: Any) -> Table:
    """A table from the arrays of a file."""
    start_heat, start_lag, cycles = np.asarray(data["starts"]).tolist()
    named = {
        name: np.ascontiguousarray(data[name], dtype=np.float64)
        for name in (
            "temps_c",
            "humidities",
            "thicks_m",
            "heating",
            "frosts_kg",
            "opens_c",
            "defrosts",
            "levels_c",
            "falls_s",
            "rest_frosts_kg",
            "rests_s",
            "rests",
            "fan_on",
            "thin_air",
        )
    }
    return Table(start_heat_j=start_heat, start_lag_s=start_lag, cycles_per_hw=cycles, **named)


@dataclass(frozen=True, kw_only=True)
class Driven:
    """The table's heating in each of n hours: (n, thicks) each."""

    air: Air
    capacity_w: Floats
    power_w: Floats
    growth_kgs: Floats
    growth_ms: Floats
    sensor_c: Floats


def drive(air: Air, base: Table | None = None) -> Driven:
    """Bring the table to the air of each hour.

    Straight in temperature and humidity, held beyond the table's ends; corrected for the pressure.
    """
    base = base or table()
    i, w = _place(base.temps_c, air.temps_c)
    j, v = _place(base.humidities, air.humidity)
    made = []
    for rows in base.heating[:5]:
        flat = rows.reshape(len(base.temps_c) * len(base.humidities), -1)
        at = i * len(base.humidities) + j
        step = len(base.humidities)
        corner = ((1 - w) * (1 - v))[:, None] * flat[at]
        corner += ((1 - w) * v)[:, None] * flat[at + 1]
        corner += (w * (1 - v))[:, None] * flat[at + step]
        corner += (w * v)[:, None] * flat[at + step + 1]
        made.append(corner)
    # Heat goes by the mass of air that the fans move, frost by how much vapor is in it.
    gone = 1.0 - air.pressure_pa / STANDARD_ATMOSPHERE_PA
    capacity, power = ((1.0 - part * gone)[:, None] for part in base.thin_air[:2])
    growth = ((1.0 - gone) ** -base.thin_air[2])[:, None]
    return Driven(
        air=air,
        capacity_w=made[0] * capacity,
        power_w=made[1] * power,
        growth_kgs=made[2] * growth,
        growth_ms=made[3] * growth,
        sensor_c=made[4] + (base.thin_air[3] * gone)[:, None],
    )


def _place(nodes: Floats, values: Floats) -> tuple[Any, Floats]:
    at = np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, len(nodes) - 2)
    return at, np.clip((values - nodes[at]) / (nodes[at + 1] - nodes[at]), 0.0, 1.0)
