# ruff: noqa: E501
"""Three peoples of machines: likelihoods are made from one, tuned on another, judged on a third.

The first shares no size and but one refrigerant with the others, and the parts of each spread about other means:
nothing that is learnt of the one's sound machines is exactly so of the next. Spreads are invented, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.presets import unit as preset
from firstfrost.equipment.read import unit_from
from firstfrost.equipment.unit import Unit

TON_W = 3516.853
VARIED = (
    "ua_out_wk", "air_out_m3s", "ua_ind_wk", "air_ind_m3s", "out_evap_wk", "ind_cond_wk", "displacement_m3",
    "isen_eff", "fan_w", "blower_w", "out_m3", "ind_m3", "area_m2", "coil_jk", "orifice_out_m2", "shell_gas_wk",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class People:
    """A population of machines."""

    name: str
    refrigerants: tuple[str, ...]
    tons: tuple[float, ...]
    fixed_part: float
    """Share with a fixed orifice."""
    spread: float
    """Of each part about its mean: half-width of a uniform distribution. [ratio]"""
    charge_spread: float
    means: dict[str, float]
    """Parts whose mean is not the preset's, as a factor."""
    static_k: tuple[float, float]
    """Bulb superheat at which the valve begins to open. [K]"""
    lag_s: tuple[float, float] = (15.0, 35.0)
    """Lag of the coil sensor. [s]"""


BUILD = People(
    name="build",
    refrigerants=("R-410A", "R-410A", "R-32", "R-407C", "R-134a", "R-404A"),
    tons=(1.5, 2.5, 3.5, 5.0),
    fixed_part=0.2,
    spread=0.10,
    charge_spread=0.03,
    means={},
    static_k=(1.8, 3.4),
)
WIDE = replace(BUILD, lag_s=(6.0, 50.0))
"""With sensors from a bare one in a clip to a slow one, as the trade has them. Common practice, no source."""
TUNE = People(
    name="tune",
    refrigerants=("R-410A", "R-454B", "R-22", "R-290"),
    tons=(2.0, 3.0, 4.5),
    fixed_part=0.17,
    spread=0.09,
    charge_spread=0.03,
    means={
        "ua_out_wk": 0.97, "air_ind_m3s": 1.04, "isen_eff": 1.01, "ua_ind_wk": 0.96, "air_out_m3s": 1.05,
        "fan_w": 0.95, "displacement_m3": 1.03,
    },
    static_k=(1.9, 3.3),
)  # fmt: skip
JUDGE = People(
    name="judge",
    refrigerants=("R-410A", "R-410A", "R-454B", "R-454B", "R-22", "R-290"),
    tons=(2.0, 3.0, 4.0),
    fixed_part=0.15,
    spread=0.08,
    charge_spread=0.03,
    means={"ua_out_wk": 1.05, "air_ind_m3s": 0.97, "isen_eff": 0.985, "ind_cond_wk": 0.95, "fan_w": 1.08},
    static_k=(2.0, 3.2),
)


@dataclass(frozen=True, kw_only=True)
class Machine:
    """A sound machine, its board, and the unit file of it."""

    plant: Plant
    controls: Controls
    unit: Unit
    tables: dict[str, dict[str, Any]]


def machine(people: People, rng: np.random.Generator) -> Machine:
    """One machine of a population."""
    name = str(rng.choice(people.refrigerants))
    tons = float(rng.choice(people.tons))
    fixed = rng.random() < people.fixed_part
    demand = rng.random() < 0.1
    interval = float(rng.choice([30.0, 45.0, 60.0, 90.0]))
    longest = float(rng.choice([10.0, 12.0, 14.0]))
    closes_f, opens_f = float(rng.choice([26.0, 28.0, 30.0, 32.0])), float(rng.choice([55.0, 60.0, 65.0]))
    volts = float(rng.choice([208.0, 230.0, 240.0], p=[0.15, 0.6, 0.25]))
    tables: dict[str, dict[str, Any]] = {
        "unit": {
            "refrigerant": name,
            "nominal_capacity": f"{tons:g} ton_refrigeration",
            "metering": "fixed orifice" if fixed else "expansion valve",
        },
        "coil_sensor": {"closes_at": f"{closes_f:g} degF", "opens_at": f"{opens_f:g} degF"},
        "board": {
            "interval": f"{interval:g} min",
            "longest_defrost": f"{longest:g} min",
            "kind": "demand" if demand else "time-temperature",
        },
        "supply": {"voltage": f"{volts:g} V"},
        "instruments": {},
    }
    unit = unit_from(tables, source="a unit of the bench")
    plant, controls = preset(
        name, capacity_w=tons * TON_W, metering="fixed orifice" if fixed else "expansion valve"
    )
    changes: dict[str, float] = {}
    for part in VARIED:
        factor = people.means.get(part, 1.0) * (1.0 + people.spread * float(rng.uniform(-1.0, 1.0)))
        changes[part] = getattr(plant, part) * factor
    changes["charge_kg"] = plant.charge_kg * (1.0 + people.charge_spread * float(rng.uniform(-1.0, 1.0)))
    changes["bulb_static_k"] = float(rng.uniform(*people.static_k))
    plant = replace(
        plant, **changes, volts=volts, atmosphere_pa=unit.site.atmosphere_pa, house_fixed=1.0,
        sensor_s=float(rng.uniform(*people.lag_s)),
    )  # fmt: skip
    opens_pa = unit.limits.high_pressure_cutout_pa
    rest_s = float(rng.choice([0.0, 0.0, 30.0]))
    controls = replace(
        controls,
        demand=float(demand),
        interval_s=interval * 60.0,
        longest_s=longest * 60.0,
        closes_c=unit.coil_sensor.closes_at_c + float(rng.uniform(-1.5, 1.5)),
        opens_c=unit.coil_sensor.opens_at_c + float(rng.uniform(-1.5, 1.5)),
        hp_opens_pa=opens_pa,
        hp_closes_pa=3.27 / 4.307 * opens_pa,
        pins_speed=interval * 60.0 / float(rng.uniform(10.0, 25.0)),
        count_always=float(rng.random() < 0.3),
        start_delay_s=rest_s,
        end_delay_s=rest_s,
        timer_rate=1.0 + float(rng.uniform(-0.01, 0.01)),
        line_volt=1.0 + float(rng.uniform(-0.03, 0.03)),
    )
    return Machine(plant=plant, controls=controls, unit=unit, tables=tables)
