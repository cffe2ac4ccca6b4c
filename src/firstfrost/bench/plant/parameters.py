"""What a plant is made of: a dataclass in SI for people, a flat array for the kernels.

The defaults are a generic 2.5-ton (8.8 kW) split unit on R-410A with expansion valves. They are chosen, by
running the bench, to give what units of that size are rated for; no maker's unit is meant.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any, Final

import numpy as np

from firstfrost.errors import InputError
from firstfrost.refrigerants.curves import Floats
from firstfrost.refrigerants.vapor import vapor


def _p(default: float, meaning: str) -> Any:
    return field(default=default, metadata={"meaning": meaning})


@dataclass(frozen=True, kw_only=True)
class Plant:
    """A plant; every number in SI, temperatures in degC, with its meaning in `meaning(name)`."""

    refrigerant: str = "R-410A"
    charge_kg: float = _p(2.12, "refrigerant in coils, accumulator and vapor lines, without the liquid line")
    # Compressor
    displacement_m3: float = _p(28.0e-6, "per turn")
    speed_hz: float = _p(58.3, "turns per second")
    vol_eff: float = _p(0.985, "volumetric efficiency at pressure ratio 1")
    vol_slope: float = _p(0.045, "fall of volumetric efficiency per pressure ratio")
    isen_eff: float = _p(0.72, "best overall isentropic efficiency, motor included")
    isen_ratio: float = _p(2.8, "pressure ratio of the best efficiency")
    isen_slope: float = _p(0.5, "fall of efficiency on both sides of the best ratio")
    idle_w: float = _p(120.0, "power at no pressure difference")
    shell_jk: float = _p(9000.0, "heat capacity of the shell")
    shell_gas_wk: float = _p(22.0, "shell to discharge gas")
    shell_air_wk: float = _p(2.2, "shell to outdoor air")
    map_on: float = _p(0.0, "1: flow and power from the ten-coefficient maps below")
    # Vessels
    out_m3: float = _p(0.0060, "inner volume of the outdoor coil")
    ind_m3: float = _p(0.0045, "inner volume of the indoor coil with the vapor line")
    acc_m3: float = _p(0.012, "accumulator, suction line and low-side shell")
    acc_jk: float = _p(2500.0, "oil and wall of the accumulator")
    acc_wk: float = _p(600.0, "accumulator wall to a pool of refrigerant in it")
    suction_k: float = _p(3.7e-4, "vapor path coil to accumulator: flow over pressure drop, regularised")
    suction_soft_pa: float = _p(1.5e5, "pressure drop below which flow in vapor paths goes linear")
    bypass_k: float = _p(4.5e-4, "coil to coil through a half-shifted valve")
    discharge_pa: float = _p(5.0e7, "discharge path: pressure drop over flow squared")
    # Metering
    orifice_out_m2: float = _p(2.8e-6, "outdoor metering device wide open, times its flow coefficient")
    orifice_ind_m2: float = _p(1.7e-6, "indoor metering device wide open, times its flow coefficient")
    fixed_out: float = _p(-1.0, "opening held by the outdoor device (0 to 1); below 0: a bulb sets it")
    fixed_ind: float = _p(-1.0, "opening held by the indoor device (0 to 1); below 0: a bulb sets it")
    bulb_static_k: float = _p(3.3, "superheat at which a valve begins to open")
    bulb_span_k: float = _p(3.3, "superheat from begin to wide open")
    bulb_s: float = _p(14.0, "lag of a bulb")
    bleed: float = _p(0.04, "opening of a closed valve")
    check_m2: float = _p(2.0e-5, "check valve, times its flow coefficient")
    line_m2: float = _p(8.0e-6, "liquid line and drier, times flow coefficient")
    check_open_out: float = _p(0.0, "fault: check valve round the outdoor device leaks (1: stays open)")
    check_open_ind: float = _p(0.0, "fault: check valve round the indoor device leaks (1: stays open)")
    check_shut_out: float = _p(0.0, "fault: check valve round the outdoor device stays shut (1)")
    check_shut_ind: float = _p(0.0, "fault: check valve round the indoor device stays shut (1)")
    # Reversing valve and compressor faults
    valve_s: float = _p(1.2, "time constant of the shift")
    valve_stuck: float = _p(-1.0, "fault: position it stays in (0 to 1); below 0: free")
    valve_leak_m2: float = _p(0.0, "fault: discharge to suction inside the valve, area times coefficient")
    comp_leak: float = _p(0.0, "fault: flow lost through the compressor's valves, per pressure ratio above 1")
    # Refrigerant side of the coils
    out_evap_wk: float = _p(1500.0, "outdoor coil refrigerant to metal, boiling, all wet")
    out_cond_wk: float = _p(650.0, "outdoor coil refrigerant to metal, condensing, nothing flooded")
    ind_evap_wk: float = _p(2000.0, "indoor coil refrigerant to metal, boiling, all wet")
    ind_cond_wk: float = _p(2600.0, "indoor coil refrigerant to metal, condensing, nothing flooded")
    wet_part: float = _p(0.038, "liquid part of the volume that wets 63 % of a coil")
    film_part: float = _p(0.123, "liquid part of the volume of a condenser with none flooded")
    flood_part: float = _p(0.47, "further liquid part that floods all of it (vapor line and headers do not)")
    drain_part: float = _p(0.03, "rounding of the liquid part at which vapor begins to leave with the liquid")
    spill_part: float = _p(0.24, "liquid part of the volume above which a boiling coil spills liquid")
    dry_ntu: float = _p(6.0, "heat transfer units of a coil that is all dry, to vapor")
    flood_ntu: float = _p(12.0, "heat transfer units of a coil that is all flooded, to liquid")
    fin_part: float = _p(0.75, "part of the way from air to metal at which the fins hold what cools liquid")
    # Outdoor coil, air side
    coil_jk: float = _p(8500.0, "outdoor coil metal")
    air_out_m3s: float = _p(1.05, "outdoor air, coil clean")
    air_still: float = _p(0.04, "part of the outdoor air that still moves with the fan stopped")
    ua_out_wk: float = _p(1600.0, "outdoor coil to air, clean, at the full airflow")
    area_m2: float = _p(20.5, "outdoor coil surface that frosts")
    half_gap_m: float = _p(0.00065, "half the gap between fins")
    coil_share: float = _p(0.65, "part of the outdoor fan's pressure that the clean coil takes")
    fan_w: float = _p(190.0, "outdoor fan power")
    fan_s: float = _p(1.5, "lag of the outdoor fan")
    foul_out: float = _p(0.0, "fault: part of the outdoor coil's passages blocked by dirt")
    fan_weak: float = _p(0.0, "fault: outdoor fan speed lost (1: dead)")
    melt_wk: float = _p(3000.0, "metal to melting frost, coil all covered")
    cover_kg: float = _p(0.7, "frost at which half of the coil is bare")
    last_kg: float = _p(0.06, "frost at which the foot of the coil, where the probes sit, is half bare")
    held_kg: float = _p(0.25, "water that stays on the coil")
    drain_s: float = _p(25.0, "time constant of drainage")
    drain_block: float = _p(0.0, "fault: part of the water that cannot leave the base pan")
    pan_kg: float = _p(8.0, "pan ice that shuts half of the coil")
    # Indoor side
    plate_jk: float = _p(6000.0, "indoor coil metal")
    air_ind_m3s: float = _p(0.49, "indoor air")
    ua_ind_wk: float = _p(1050.0, "indoor coil to air at the full airflow")
    blower_w: float = _p(330.0, "blower power")
    blower_s: float = _p(2.5, "lag of the blower")
    filter_block: float = _p(0.0, "fault: part of the filter and coil face blocked")
    foul_ind: float = _p(0.0, "fault: part of the indoor coil's conductance lost to dirt")
    blower_weak: float = _p(0.0, "fault: blower speed lost (1: dead)")
    backup_s: float = _p(15.0, "lag of the backup elements")
    # House
    house_fixed: float = _p(0.0, "1: a test room that stays at its temperature")
    house_air_jk: float = _p(1.5e6, "house air and light things")
    house_mass_jk: float = _p(2.5e7, "walls and furniture")
    house_ua_wk: float = _p(230.0, "house air to outdoor air")
    house_mass_wk: float = _p(1500.0, "house air to its mass")
    house_gain_w: float = _p(500.0, "people and appliances")
    # Places and probes
    atmosphere_pa: float = _p(101325.0, "ambient")
    sensor_metal: float = _p(0.7, "coil sensor: weight of the coil metal")
    sensor_refrigerant: float = _p(0.3, "coil sensor: weight of the refrigerant; the rest is outdoor air")
    sensor_s: float = _p(25.0, "lag of the coil sensor")
    clamp_metal: float = _p(0.75, "technician's coil probe: weight of the coil metal")
    clamp_refrigerant: float = _p(0.25, "technician's coil probe: weight of the refrigerant; the rest is air")
    clamp_s: float = _p(6.0, "lag of the technician's coil probe")
    pipe_s: float = _p(9.0, "lag of probes on pipes")
    supply_s: float = _p(8.0, "lag of the supply air probe")
    volts: float = _p(230.0, "nominal line voltage")
    map_flow: tuple[float, ...] = (0.0,) * 10
    """kg/s over dew temperatures t_e, t_c [degC]: 1, e, c, e2, ec, c2, e3, c e2, e c2, c3 (AHRI 540 form)."""
    map_power: tuple[float, ...] = (0.0,) * 10
    """W, in the same form."""
    map_superheat_k: float = _p(11.1, "superheat the flow map was rated at")


PARAMETERS: Final = tuple(
    f.name for f in fields(Plant) if f.name not in ("refrigerant", "map_flow", "map_power")
)


def meaning(name: str) -> str:
    """What a field of `Plant` is."""
    found: str = Plant.__dataclass_fields__[name].metadata.get("meaning", "")
    return found


def pack(plant: Plant) -> Floats:
    """Flat parameters (n,) for the kernels: `PARAMETERS`, nine numbers of the vapor, two maps of ten."""
    if len(plant.map_flow) != 10 or len(plant.map_power) != 10:
        raise InputError("A compressor map needs ten coefficients for flow and ten for power.")
    scalars = [float(getattr(plant, name)) for name in PARAMETERS]
    return np.array([*scalars, *vapor(plant.refrigerant).coefficients(), *plant.map_flow, *plant.map_power])
