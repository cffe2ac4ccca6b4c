"""The heating check against measured records: NIST IR 7350 (a laboratory) and a house in Alaska."""

from __future__ import annotations

import csv

import numpy as np
import pytest
from measured import ALASKA, NIST, needs

from firstfrost.cycle.derive import derive
from firstfrost.equipment.read import default_unit
from firstfrost.heating import circuit
from firstfrost.heating.air_side import air_heat_w
from firstfrost.heating.airflow import CFM_M3_S, STANDARD_DENSITY
from firstfrost.heating.number import Steady
from firstfrost.heating.state import State
from firstfrost.heating.steady import Found
from firstfrost.phases.find import find_phases
from firstfrost.proofs.context import Context
from firstfrost.quantities.constants import BTU_J
from firstfrost.trace.trace import Trace

PSI_PA = 6894.757
BTU_H = BTU_J / 3600.0


def celsius(temp_f):
    return (temp_f - 32.0) / 1.8


def nist():
    """The sixteen steady states: quantity -> (16,) in the table's own units (degF, psia, Btu/h, scfm)."""
    with NIST.open(encoding="utf-8") as lines:
        rows = list(csv.reader(lines))[1:]
    return {row[0]: np.array([float(cell) for cell in row[2:]]) for row in rows}


def state(**channels):
    """The State of a record that holds still, its window given: a cooling unit has no phase of heating."""
    time_s = np.arange(0.0, 600.0, 5.0)
    trace = Trace(time_s=time_s, columns={name: np.full(len(time_s), v) for name, v in channels.items()})
    unit = default_unit("R-410A")
    cycle = derive(trace, unit.refrigerant)
    found = find_phases(trace=trace, cycle=cycle, unit=unit, marks=())
    made = State(context=Context(trace=trace, cycle=cycle, unit=unit, marks=(), found=found))
    window = Steady(start_s=100.0, end_s=400.0, since_s=900.0, waited=True, backup=False, share=0.0, least="")
    made.__dict__["found"] = Found(best=window, total_s=300.0, why_not="")
    return made


@needs(NIST)
def test_superheat_subcooling_and_discharge_superheat_of_sixteen_states_within_0_3_degf():
    # NIST IR 7350, appendix D: pressures and temperatures at the same ports, and what NIST made of them.
    table = nist()
    for k in range(16):
        at = {name: float(row[k]) for name, row in table.items()}
        port = state(
            suction_pressure=at["evap_exit_pressure"] * PSI_PA,
            suction_line_temp=celsius(at["evap_exit_temp"]),
            discharge_pressure=at["discharge_pressure"] * PSI_PA,
            discharge_temp=celsius(at["discharge_temp"]),
        )
        assert 1.8 * circuit.superheat(port).value.value == pytest.approx(at["evap_exit_superheat"], abs=0.3)
        over = 1.8 * circuit.discharge_superheat(port).value.value
        assert over == pytest.approx(at["discharge_superheat"], abs=0.3)
        unit_exit = state(
            liquid_pressure=at["cond_unit_exit_pressure"] * PSI_PA,
            liquid_line_temp=celsius(at["cond_unit_exit_temp"]),
        )
        # The printed subcooling goes with the readings at the exit of the condensing unit.
        cool = 1.8 * circuit.subcooling(unit_exit).value.value
        assert cool == pytest.approx(at["cond_exit_subcooling"], abs=0.3)


@needs(NIST)
def test_evaporating_temperature_lies_inside_the_expanded_uncertainty():
    table = nist()
    for k in range(16):
        port = state(suction_pressure=float(table["evap_exit_pressure"][k]) * PSI_PA)
        got = port.evaporating()
        assert abs(got.value - celsius(float(table["evap_exit_sat_temp"][k]))) <= got.expanded


@needs(NIST)
def test_sensible_capacity_of_the_air_within_2_percent():
    # Standard air is a mass flow: 0.075 lb/ft3 of dry air (ASHRAE 37, from memory).
    table = nist()
    for k in range(16):
        dew_c = celsius(float(table["indoor_dew_point"][k]))
        # Magnus: a textbook form, apart from the handbook's equation that the check itself uses.
        vapor_pa = 611.2 * np.exp(17.62 * dew_c / (243.12 + dew_c))
        ratio = 0.622 * vapor_pa / (101_325.0 - vapor_pa)
        flow = float(table["air_flow"][k]) * CFM_M3_S * STANDARD_DENSITY
        drop_k = (float(table["indoor_dry_bulb"][k]) - float(table["supply_dry_bulb"][k])) / 1.8
        heat = air_heat_w(flow, float(ratio), drop_k) / BTU_H
        assert heat == pytest.approx(float(table["sensible_capacity"][k]), rel=0.02)


@needs(ALASKA)
def test_the_energies_and_the_cop_printed_in_the_alaska_figure():
    # Cold Climate Housing Research Center, "Air Source Heat Pump Potential in Alaska" (2015), Figure 18:
    # 6.35 kWh in, 18.29 kWh out, COP 2.881. Its heat is that of standard, dry air; samples were read off it.
    with ALASKA.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    step_h = 38.961039 / 3600.0
    power = np.array([float(row["P_in_W"]) for row in rows])
    heat = np.array(
        [
            air_heat_w(
                float(row["airflow_cfm"]) * CFM_M3_S * STANDARD_DENSITY,
                0.0,
                (float(row["T_deliv_F"]) - float(row["T_return_F"])) / 1.8,
            )
            for row in rows
        ]
    )
    taken, given = power.sum() * step_h / 1e3, heat.sum() * step_h / 1e3
    assert taken == pytest.approx(6.35, rel=0.01)
    assert given == pytest.approx(18.29, rel=0.01)
    assert given / taken == pytest.approx(2.881, rel=0.01)
