"""Generic units of any usual refrigerant and size, scaled from the default plant.

The default is a 2.5-ton unit on R-410A. Another refrigerant gets the displacement that gives the same heat
at a dew of -2 degC and 30 degC liquid, and openings, paths and charge for its own flow and densities;
another size scales everything that holds, passes or moves. No maker's unit is meant.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.errors import InputError
from firstfrost.refrigerants.refrigerant import Refrigerant, refrigerant

RATED_W: Final = 8792.0
"""Nominal capacity of the default plant: 2.5 tons of refrigeration."""
_SIZED: Final = [
    "charge_kg",
    "displacement_m3",
    "idle_w",
    "shell_jk",
    "shell_gas_wk",
    "shell_air_wk",
    "out_m3",
    "ind_m3",
    "acc_m3",
    "acc_jk",
    "acc_wk",
    "suction_k",
    "bypass_k",
    "orifice_out_m2",
    "orifice_ind_m2",
    "check_m2",
    "line_m2",
    "out_evap_wk",
    "out_cond_wk",
    "ind_evap_wk",
    "ind_cond_wk",
    "coil_jk",
    "air_out_m3s",
    "ua_out_wk",
    "area_m2",
    "fan_w",
    "melt_wk",
    "cover_kg",
    "last_kg",
    "held_kg",
    "pan_kg",
    "plate_jk",
    "air_ind_m3s",
    "ua_ind_wk",
    "blower_w",
    "house_air_jk",
    "house_mass_jk",
    "house_ua_wk",
    "house_mass_wk",
]
_COLD_C, _WARM_C, _LIQUID_C = -2.0, 42.0, 30.0


def unit(
    refrigerant_name: str = "R-410A",
    *,
    capacity_w: float = RATED_W,
    metering: Literal["expansion valve", "fixed orifice"] = "expansion valve",
) -> tuple[Plant, Controls]:
    """A sound unit and its board.

    Parameters
    ----------
    refrigerant_name : str
        As in `firstfrost.refrigerants`.
    capacity_w : float
        Nominal. [W]
    metering : str
        With a fixed orifice superheat goes with the weather and the charge.

    Raises
    ------
    InputError
        The refrigerant is not known, or the size is not between 3 and 25 kW.
    """
    if not 3000.0 <= capacity_w <= 25000.0:
        raise InputError(
            f"A capacity of {capacity_w:g} W is outside the 3 to 25 kW that the bench is made for."
        )
    here, base = refrigerant(refrigerant_name), refrigerant("R-410A")
    plant = Plant(refrigerant=here.name)
    flow = _lift(base) / _lift(here)
    swept = flow * base.vapor_density(_COLD_C) / here.vapor_density(_COLD_C)
    bore = flow * (_push(base) / _push(here)) ** 0.5
    # The same fall of saturation along the vapor path.
    steep = _steep(here) / _steep(base)
    path = flow / steep**0.5
    liquid = here.liquid_density(_LIQUID_C) / base.liquid_density(_LIQUID_C)
    vapor = here.vapor_density(_COLD_C) / base.vapor_density(_COLD_C)
    as_vapor = base.vapor_density(_COLD_C) * (plant.acc_m3 + plant.out_m3)
    plant = replace(
        plant,
        displacement_m3=plant.displacement_m3 * swept,
        charge_kg=(plant.charge_kg - as_vapor) * liquid + as_vapor * vapor,
        orifice_out_m2=plant.orifice_out_m2 * bore,
        orifice_ind_m2=plant.orifice_ind_m2 * bore,
        check_m2=plant.check_m2 * bore,
        line_m2=plant.line_m2 * bore,
        suction_k=plant.suction_k * path,
        bypass_k=plant.bypass_k * path,
        suction_soft_pa=plant.suction_soft_pa * steep,
        discharge_pa=plant.discharge_pa / flow**2 * steep,
    )
    size = capacity_w / RATED_W
    plant = replace(plant, **{name: getattr(plant, name) * size for name in _SIZED})
    plant = replace(plant, discharge_pa=plant.discharge_pa / size**2)
    if metering == "fixed orifice":
        plant = replace(plant, fixed_out=0.29, fixed_ind=0.53, charge_kg=0.82 * plant.charge_kg)
    controls = Controls(
        hp_opens_pa=here.dew_pressure_pa(65.3),
        hp_closes_pa=here.dew_pressure_pa(53.0),
        lp_opens_pa=here.dew_pressure_pa(-40.0),
        lp_closes_pa=here.dew_pressure_pa(-25.0),
        backup_defrost_w=5000.0 * size,
        backup_stage_w=5000.0 * size,
    )
    return plant, controls


def _lift(ref: Refrigerant) -> float:
    """Heat that a kilogram takes up outdoors [J/kg]."""
    return ref.vapor_enthalpy_above(_COLD_C, _LIQUID_C)


def _push(ref: Refrigerant) -> float:
    """Density times pressure difference at the metering device."""
    across = ref.dew_pressure_pa(_WARM_C) - ref.dew_pressure_pa(_COLD_C)
    return ref.liquid_density(_LIQUID_C) * across


def _steep(ref: Refrigerant) -> float:
    """Slope of the saturation pressure in the cold [Pa/K]."""
    return ref.dew_pressure_pa(_COLD_C + 0.5) - ref.dew_pressure_pa(_COLD_C - 0.5)
