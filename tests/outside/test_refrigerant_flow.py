"""Compressor map, its superheat correction and the heat of the refrigerant, against CoolProp.

The ten coefficients are those of a three-ton R-410A compressor that open compressor models carry as their
example (lb/h and W over degF, 11.1 K of superheat); the correction is worked here from CoolProp's volumes and
isentropic work as those models do it (after Dabiri and Rice, ASHRAE Trans. 87(2), 1981).
"""

import pytest

from firstfrost.equipment.read import unit_from
from firstfrost.heating.compressor_map import (
    by_displacement,
    by_map,
    heat_given_off,
    specific_volume,
)
from firstfrost.instruments.budget import Value

CoolProp = pytest.importorskip("CoolProp.CoolProp")

FLOW = [
    217.3163128,
    5.094492028,
    -0.593170311,
    0.0438,
    -0.0214,
    0.0104,
    7.90e-05,
    -5.73e-05,
    1.79e-04,
    -8.08e-05,
]
POWER = [-561.3615705, -15.62601841, 46.92506685, -0.217949552, 0.435062616, -0.442400826, 2.25e-04]
POWER += [2.37e-03, -3.32e-03, 2.50e-03]
LB_H = 0.45359237 / 3600.0


def unit(refrigerant="R-410A", **compressor):
    table = {"unit": {"refrigerant": refrigerant}, "compressor": compressor}
    return unit_from(table, source="x")


def gas(what, fluid, dew_c, superheat_k):
    p = CoolProp.PropsSI("P", "T", dew_c + 273.15, "Q", 1, fluid)
    return CoolProp.PropsSI(what, "P", p, "T", dew_c + 273.15 + superheat_k, fluid)


def compressed(fluid, dew_c, superheat_k, high_pa):
    s = gas("S", fluid, dew_c, superheat_k)
    return CoolProp.PropsSI("H", "P", high_pa, "S", s, fluid) - gas("H", fluid, dew_c, superheat_k)


@pytest.mark.parametrize(("suction_c", "discharge_c"), [(-15.0, 35.0), (-5.0, 40.0), (5.0, 50.0)])
@pytest.mark.parametrize("superheat_k", [3.0, 100 / 9, 18.0])
def test_the_correction_worked_from_coolprop(suction_c, discharge_c, superheat_k):
    s, d = suction_c * 1.8 + 32, discharge_c * 1.8 + 32
    terms = [1, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3]
    flow = sum(c * x for c, x in zip(FLOW, terms, strict=True)) * LB_H
    watts = sum(c * x for c, x in zip(POWER, terms, strict=True))
    v_map, v = (1 / gas("D", "R410A", suction_c, k) for k in (100 / 9, superheat_k))
    part = 1 + 0.75 * (v_map / v - 1)
    high = CoolProp.PropsSI("P", "T", discharge_c + 273.15, "Q", 1, "R410A")
    work = compressed("R410A", suction_c, superheat_k, high) / compressed("R410A", suction_c, 100 / 9, high)

    said = by_map(
        unit(mass_flow=FLOW, power=POWER, map_superheat="20 delta_degF"),
        suction_c=Value(value=suction_c),
        discharge_c=Value(value=discharge_c),
        superheat_k=Value(value=superheat_k),
    )
    assert said.mass_flow_kg_s.value == pytest.approx(flow * part, rel=0.005)
    assert said.power_w.value == pytest.approx(watts * part * work, rel=0.005)
    assert said.current_a is None


FLUIDS = {
    "R-410A": "R410A",
    "R-32": "R32",
    "R-22": "R22",
    "R-134a": "R134a",
    "R-290": "Propane",
    "R-407C": "R407C",
}


@pytest.mark.parametrize("name", FLUIDS)
@pytest.mark.parametrize("dew_c", [-30.0, -10.0, 10.0])
@pytest.mark.parametrize("superheat_k", [5.0, 30.0])
def test_volume_of_suction_gas(name, dew_c, superheat_k):
    assert specific_volume(name, dew_c, superheat_k) == pytest.approx(
        1 / gas("D", FLUIDS[name], dew_c, superheat_k), rel=0.008
    )


@pytest.mark.parametrize("name", FLUIDS)
@pytest.mark.parametrize(
    ("dew_c", "hot_c", "liquid_c"), [(35.0, 65.0, 27.0), (45.0, 85.0, 38.0), (40.0, 100.0, 30.0)]
)
def test_heat_that_the_refrigerant_gives_off(name, dew_c, hot_c, liquid_c):
    """Within its own stated expanded uncertainty, and within 1.5 %."""
    found = heat_given_off(
        unit(name),
        mass_flow_kg_s=Value(value=0.05),
        high_dew_c=Value(value=dew_c),
        vapor_line_c=Value(value=hot_c),
        liquid_line_c=Value(value=liquid_c),
    )
    fluid = FLUIDS[name]
    p = CoolProp.PropsSI("P", "T", dew_c + 273.15, "Q", 1, fluid)
    hot = CoolProp.PropsSI("H", "P", p, "T", hot_c + 273.15, fluid)
    liquid = CoolProp.PropsSI("H", "P", p, "T", liquid_c + 273.15, fluid)
    assert found.value == pytest.approx(0.05 * (hot - liquid), rel=0.015)
    assert abs(found.value - 0.05 * (hot - liquid)) <= found.expanded


def test_the_bounds_by_displacement_hold_the_published_map():
    """A three-ton R-410A scroll sweeps some 31 to 36 cm3 a turn (common practice): the map lies between."""
    for swept in ("31 cm3", "34 cm3", "36 cm3"):
        one = unit(mass_flow=FLOW, displacement=swept)
        for suction_c, discharge_c in ((-15.0, 35.0), (-5.0, 40.0), (5.0, 50.0)):
            flow = by_map(
                one,
                suction_c=Value(value=suction_c),
                discharge_c=Value(value=discharge_c),
                superheat_k=Value(value=8.0),
            ).mass_flow_kg_s.value
            bounds = by_displacement(one, suction_c=suction_c, superheat_k=8.0)
            assert bounds.low < flow < bounds.high, (swept, suction_c)
