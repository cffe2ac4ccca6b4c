"""The indoor air side: blower, coil, filter."""

from __future__ import annotations

import math

from firstfrost.bench.kernel import Flat, kernel
from firstfrost.bench.plant.index import (
    P_AIR_IND_M3S,
    P_ATMOSPHERE_PA,
    P_FILTER_BLOCK,
    P_FOUL_IND,
    P_UA_IND_WK,
)


@kernel
def indoor_air(
    p: Flat, active: float, blower: float, house_c: float, plate_c: float
) -> tuple[float, float, float]:
    """Airflow [m3/s], its heat capacity rate [W/K], heat from the plate to the air [W].

    Q = a eps C (t_plate - t_return), a the part of the coil at work; eps = 1 - exp(-UA / C), UA with the
    square root of the airflow. The filter takes half of the blower's pressure when clean; its resistance
    grows as the inverse square of what is open. With the blower stopped 1 % of the air still moves.
    """
    open_part = 1.0 - p[P_FILTER_BLOCK]
    part = (0.01 + 0.99 * blower) / math.sqrt(0.5 + 0.5 / (open_part * open_part))
    airflow = p[P_AIR_IND_M3S] * part
    capacity = airflow * p[P_ATMOSPHERE_PA] / (287.05 * (house_c + 273.15)) * 1015.0
    ua = p[P_UA_IND_WK] * math.sqrt(part) * (1.0 - p[P_FOUL_IND])
    return airflow, capacity, active * (1.0 - math.exp(-ua / capacity)) * capacity * (plate_c - house_c)
