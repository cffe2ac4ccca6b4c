"""Expected capacity and COP against certified heat pumps: a band of what is plausible, not a reference value.

The open database in the `hplib` package (Forschungszentrum Juelich, CC BY 4.0; made from certified test
points of EN 14825) has a fit of heat and COP over source and flow temperature for each unit. Fixed-speed
air-to-water units, at a flow of 40 degC, condense near where a ducted unit does. They are never named here.
"""

from __future__ import annotations

import csv
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

import numpy as np
import pytest

from firstfrost.equipment.read import unit_from
from firstfrost.heating.expected import expected
from firstfrost.instruments.budget import Value

try:
    DATABASE = Path(str(distribution("hplib").locate_file("hplib/hplib_database.csv")))
except PackageNotFoundError:
    pytest.skip("hplib is not installed (dependency group `certified`)", allow_module_level=True)

FIXED_SPEED = "4.0"
FLOW_C = 40.0
AT_47F_C = 8.33
# A usual single-speed unit: 60 % of its capacity and two thirds of its COP at 17 degF.
UNIT = unit_from(
    {
        "unit": {"refrigerant": "R-410A"},
        "ratings": {"capacity_47": "9 kW", "cop_47": "3.5 W/W", "capacity_17": "5.4 kW", "cop_17": "2.3 W/W"},
    },
    source="a usual unit",
)


def certified(quantity, outdoor_c):
    """(n,) of `COP` or `P_th` (as a part of the reference) of the fixed-speed outdoor air units."""
    with DATABASE.open(encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if row["Group"] == FIXED_SPEED]
    assert len(rows) >= 20
    out = []
    for row in rows:
        p = [
            float(next(v for name, v in row.items() if name.startswith(f"p{i}_{quantity} ")))
            for i in range(1, 5)
        ]
        out.append(p[0] * outdoor_c + p[1] * FLOW_C + p[2] + p[3] * outdoor_c)
    return np.array(out)


def band(values, wide):
    low, high = np.percentile(values, [5.0, 95.0])
    return low - wide, high + wide


@pytest.mark.parametrize("outdoor_c", [-15.0, -8.3, 1.7, 10.0])
def test_capacity_and_cop_fall_with_the_weather_as_those_of_certified_units(outdoor_c):
    mild = expected(UNIT, outdoor_c=Value(value=AT_47F_C))
    today = expected(UNIT, outdoor_c=Value(value=outdoor_c))
    low, high = band(certified("P_th", outdoor_c) / certified("P_th", AT_47F_C), 0.03)
    assert low <= today.capacity_w.value / mild.capacity_w.value <= high
    low, high = band(certified("COP", outdoor_c) / certified("COP", AT_47F_C), 0.03)
    assert low <= today.cop.value / mild.cop.value <= high


@pytest.mark.parametrize("outdoor_c", [-8.3, 1.7, 10.0])
def test_the_cop_of_a_usual_unit_is_one_that_certified_units_have(outdoor_c):
    cop = expected(UNIT, outdoor_c=Value(value=outdoor_c)).cop.value
    middle = float(np.median(certified("COP", outdoor_c)))
    assert 0.7 * middle <= cop <= 1.2 * middle
