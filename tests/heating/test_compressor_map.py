# ruff: noqa: E501
"""The compressor's map: units, slopes, refusals; power from volts and amps."""

import math

import pytest

from firstfrost.equipment.read import unit_from
from firstfrost.errors import OutOfRange
from firstfrost.heating.compressor_map import (
    by_displacement,
    by_map,
    power_from_current,
    ten_coefficients,
)
from firstfrost.instruments.budget import Value

FLAT = [300.0, 4.0, -0.5, *[0.0] * 7]


def unit(**compressor):
    supply = compressor.pop("supply", {})
    table = {"unit": {"refrigerant": "R-410A"}, "compressor": compressor, "supply": supply}
    return unit_from(table, source="x")


def say(one, s=-5.0, d=40.0, k=100 / 9, u=0.0):
    def value(number, source):
        return Value(value=number, sources={source: u} if u else {})

    return by_map(one, suction_c=value(s, "s"), discharge_c=value(d, "d"), superheat_k=value(k, "k"))


def test_each_term_has_its_place():
    terms = [1, 2, 3, 4, 6, 9, 8, 12, 18, 27]  # 1 S D S2 SD D2 S3 DS2 SD2 D3 at S = 2, D = 3
    for place, term in enumerate(terms):
        one = [0.0] * 10
        one[place] = 1.0
        assert ten_coefficients(one, 2.0, 3.0) == term


def test_the_maps_units():
    """One straight map written in each unit says the same."""
    si = [
        (300 + 4 * 32 - 0.5 * 32) * 0.45359237 / 3600,
        7.2 * 0.45359237 / 3600,
        -0.9 * 0.45359237 / 3600,
        *[0.0] * 7,
    ]
    ip = say(unit(mass_flow=FLAT)).mass_flow_kg_s.value
    assert ip == pytest.approx((300 + 4 * 23 - 0.5 * 104) * 0.45359237 / 3600)
    for name, per in (("kg/s", 1.0), ("kg/h", 3600.0), ("g/s", 1000.0)):
        one = unit(mass_flow=[c * per for c in si], map_temperature="degC", map_mass_flow=name)
        assert say(one).mass_flow_kg_s.value == pytest.approx(ip)


def test_return_gas_is_a_superheat_by_another_name():
    """65 degF of return gas at -5 degC is 23.33 K of superheat."""
    gas = unit(mass_flow=FLAT, map_return_gas="65 degF")
    heat = unit(mass_flow=FLAT, map_superheat="42 delta_degF")
    assert say(gas, s=-5.0, k=6.0).mass_flow_kg_s.value == pytest.approx(
        say(heat, s=-5.0, k=6.0).mass_flow_kg_s.value
    )
    assert say(gas, k=6.0).mass_flow_kg_s.value > say(unit(mass_flow=FLAT), k=6.0).mass_flow_kg_s.value
    assert say(gas).notes[0] == "map at 65.0 degF return gas, corrected to the superheat read (factor 0.75)"


def test_slopes_against_differences():
    one = unit(mass_flow=FLAT, power=[1000.0, 2.0, 9.0, *[0.0] * 7])
    here = say(one, u=0.4, k=8.0)
    for name in ("mass_flow_kg_s", "power_w"):
        own = getattr(here, name)
        for source, more in (("s", {"s": -4.6}), ("d", {"d": 40.4}), ("k", {"k": 8.4})):
            step = getattr(say(one, **{"k": 8.0, **more}), name).value - own.value
            assert own.sources[source] == pytest.approx(step, rel=0.03, abs=1e-9)
    at_map = say(one)
    assert at_map.mass_flow_kg_s.sources["superheat correction"] == pytest.approx(0.0, abs=1e-12)
    assert abs(here.mass_flow_kg_s.sources["superheat correction"]) > 0


def test_where_no_map_goes():
    one = unit(mass_flow=FLAT)
    with pytest.raises(
        OutOfRange, match=r"^The suction dew temperature is 86\.0 degF\. Expected -40\.0 degF to 68\.0 degF"
    ):
        say(one, s=30.0)
    with pytest.raises(OutOfRange, match=r"^The discharge dew temperature is 194\.0 degF\."):
        say(one, d=90.0)
    with pytest.raises(
        OutOfRange,
        match=r"^The compressor's map gives a mass flow of -[0-9.e-]+ at 23\.0 degF and 104\.0 degF\. Expected above 0\.",
    ):
        say(unit(mass_flow=[-c for c in FLAT]))
    assert "liquid may reach" in say(one, k=-1.0).notes[1]
    assert by_displacement(one, suction_c=0.0, superheat_k=5.0) is None


def test_power_from_volts_and_amps():
    volts, amps = Value(value=240.0), Value(value=10.0)
    one = power_from_current(unit(), volts=volts, amps=amps)
    assert one.value == pytest.approx(2232)
    assert one.u == pytest.approx(2400 * 0.10 / math.sqrt(3))
    given = power_from_current(unit(power_factor="95 %"), volts=volts, amps=amps)
    assert given.u < one.u
    three = power_from_current(unit(supply={"phases": "3"}), volts=volts, amps=amps)
    assert three.value == pytest.approx(2232 * math.sqrt(3))
    read = power_from_current(unit(), volts=volts, amps=amps, power_factor=Value(value=0.9))
    assert (read.value, read.u) == (pytest.approx(2160), 0.0)
