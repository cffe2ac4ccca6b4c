"""Each number of the heating check: a record that trips it, one that does not, one without the reading."""

import drawn
import numpy as np
import pytest
from drawn import draw, steps
from heating.heated import LAST_S, STARTS_S, heating, trace, unit

from firstfrost.heating.rows import NAMES
from firstfrost.trace.channels import CHANNELS

ON = STARTS_S
WITH_MAP = {
    "mass_flow": [37.6, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    "map_mass_flow": "g/s",
    "map_superheat": "6 delta_degC",
}
"""A map that gives the drawn machine's flow everywhere: the heat of its air over 220 kJ/kg."""


def jump(before, after, at=ON):
    return [(0, before), (at, before), (at + 60, after), (LAST_S, after)]


def defrosted(**redrawn):
    """The drawn cold day, with one defrost of a frosted coil."""
    return drawn.cold_trace(last_s=drawn.LAST_S, **redrawn)


def started_cold(sag_v):
    return trace(line_voltage=steps(241.0, (ON, 241.0 - sag_v)))


def with_backup(amps, at=(1000.0, 1600.0)):
    return trace(backup_current=steps(0.0, (at[0], amps), (at[1], 0.0)))


LATE_LOW = [
    (0, -3), (drawn.CLOSES_S, -6), (600, -13), (drawn.START_S, -13), (drawn.START_S + 8, 6),
    (drawn.START_S + 60, -2), (drawn.END_S, 2), (drawn.END_S + 8, 9), (drawn.END_S + 40, -18),
    (drawn.LAST_S, -18),
]  # fmt: skip
LATE_BACKUP = steps(0.0, (drawn.START_S + 150.0, 21.0), (drawn.END_S, 0.0))
TURN = drawn.START_S
IN_TURN = steps(0.0, (TURN + 5, 12.5), (TURN + 65, 33.3), (drawn.END_S, 0.0))
AT_ONCE = steps(0.0, (TURN + 5, 20.8), (TURN + 15, 33.3), (drawn.END_S, 0.0))


def staged():
    return drawn.unit(
        ("[site]", "[backup]\nstages = ['3 kW', '5 kW']\nstage_delay = '30 s'\nfirst_delay = '20 s'\n[site]")
    )


def defrosted_with(backup):
    return defrosted(backup_current=backup, line_voltage=240.0)


BEYOND = {
    "superheat_k": (lambda: trace(suction_line_temp=jump(8, 12)), unit),
    "subcooling_k": (lambda: trace(liquid_line_temp=jump(20, 40.5)), unit),
    "discharge_temp_c": (lambda: trace(discharge_temp=jump(20, 112)), unit),
    "evaporating_approach_k": (lambda: trace(outdoor_air_temp=-8.0), unit),
    "condensing_approach_k": (lambda: trace(return_air_temp=45.0, supply_air_temp=50.0), unit),
    "coil_to_suction_k": (lambda: trace(outdoor_coil_temp=jump(5, -9)), unit),
    "vapor_line_k": (lambda: trace(vapor_line_temp=jump(20, 79)), unit),
    "valve_temperature_rise_k": (lambda: trace(valve_inlet_temp=jump(8, -3)), unit),
    "frost_left_k": (lambda: defrosted(low=LATE_LOW), drawn.unit),
    "airflow_ratio": (lambda: trace(airflow=0.35), unit),
    "airflow_m3_s": (lambda: trace(airflow=0.35), unit),
    "temperature_rise_k": (lambda: trace(supply_air_temp=jump(21, 29)), unit),
    "capacity_air_w": (lambda: trace(supply_air_temp=jump(21, 29)), unit),
    "capacity_ratio": (lambda: trace(supply_air_temp=jump(21, 29)), unit),
    "capacity_agreement": (
        lambda: trace(supply_air_temp=jump(21, 29)),
        lambda: unit(compressor=WITH_MAP),
    ),
    "power_w": (lambda: trace(power=steps(30.0, (ON, 3900.0))), unit),
    "power_ratio": (lambda: trace(power=steps(30.0, (ON, 3900.0))), unit),
    "cop": (lambda: trace(power=steps(30.0, (ON, 9900.0))), unit),
    "compressor_current_ratio": (lambda: trace(compressor_current=steps(0.0, (ON, 16.0))), unit),
    "line_voltage_v": (lambda: trace(line_voltage=200.0), unit),
    "voltage_sag": (lambda: started_cold(20.0), unit),
    "backup_power_w": (lambda: with_backup(10.5), unit),
    "backup_power_ratio": (lambda: with_backup(10.5), unit),
    "backup_when_not_called": (lambda: with_backup(20.8), unit),
    "backup_delay_s": (lambda: defrosted(backup_current=LATE_BACKUP), drawn.unit),
    "backup_out_of_turn": (lambda: defrosted_with(AT_ONCE), staged),
    "compressor_lockout_k": (
        trace,
        lambda: unit(backup={"compressor_lockout": "8 degC", "backup_lockout": "9 degC"}),
    ),
    "design_coverage": (trace, lambda: unit(house={"design_load": "20 kW"})),
}  # fmt: skip
DOUBTFUL_AT_WORST = {
    "evaporating_approach_k", "condensing_approach_k", "coil_to_suction_k", "vapor_line_k",
    "capacity_agreement",
}  # fmt: skip
WITHIN = {
    "frost_left_k": (defrosted, drawn.unit),
    "capacity_agreement": (
        lambda: trace(airflow=0.5),
        lambda: unit(
            compressor=WITH_MAP,
        ),
    ),
    "backup_power_w": (lambda: with_backup(20.8), unit),
    "backup_power_ratio": (lambda: with_backup(20.8), unit),
    "backup_delay_s": (defrosted, drawn.unit),
    "backup_out_of_turn": (lambda: defrosted_with(IN_TURN), staged),
    "design_coverage": (trace, lambda: unit(house={"design_load": "6 kW"})),
}
MISSING = {
    "superheat_k": ("suction_line_temp",),
    "subcooling_k": ("liquid_line_temp",),
    "discharge_temp_c": ("discharge_temp",),
    "discharge_superheat_k": ("high", "liquid"),
    "pressure_ratio": ("low",),
    "evaporating_approach_k": ("outdoor_air_temp",),
    "condensing_approach_k": ("return_air_temp",),
    "coil_to_suction_k": ("outdoor_coil_temp",),
    "vapor_line_k": ("vapor_line_temp",),
    "valve_temperature_rise_k": ("valve_inlet_temp",),
    "frost_left_k": ("low",),
    "airflow_ratio": ("airflow",),
    "airflow_m3_s": ("airflow",),
    "temperature_rise_k": ("supply_air_temp",),
    "capacity_air_w": ("airflow",),
    "capacity_refrigerant_w": (),
    "capacity_agreement": (),
    "capacity_ratio": ("airflow",),
    "power_w": ("power", "line_voltage"),
    "power_ratio": ("power", "line_voltage"),
    "cop": ("airflow",),
    "compressor_current_ratio": ("compressor_current",),
    "line_voltage_v": ("line_voltage",),
    "voltage_sag": ("line_voltage",),
    "backup_power_w": ("backup_current",),
    "backup_power_ratio": ("backup_current",),
    "backup_when_not_called": ("backup_current",),
    "backup_delay_s": ("backup_current",),
    "backup_out_of_turn": ("backup_current",),
    "compressor_lockout_k": ("outdoor_air_temp",),
}
UNHELD = {"discharge_superheat_k", "pressure_ratio", "capacity_refrigerant_w", "balance_point_c"}
"""Numbers that nothing is known to hold against."""
FROM_THE_UNIT = {"balance_point_c": ("house",), "design_coverage": ("house",)}


def test_every_row_has_its_three_cases():
    assert set(BEYOND) | UNHELD == set(NAMES)
    assert set(MISSING) | set(FROM_THE_UNIT) == set(NAMES)


@pytest.mark.parametrize("name", BEYOND)
def test_beyond_its_limit_it_fails_or_where_only_readings_can_be_at_odds_is_doubtful(name):
    record, machine = BEYOND[name]
    got = heating(record(), machine()).number(name)
    assert got.standing == ("doubtful" if name in DOUBTFUL_AT_WORST else "failed")
    assert got.probability < 0.05
    assert got.limit is not None
    assert bool(got.remedy) is (got.standing == "failed")
    assert got.settle or got.standing == "failed"


@pytest.mark.parametrize("name", BEYOND)
def test_within_its_limit_it_is_shown(name):
    record, machine = WITHIN.get(name, (trace, unit))
    got = heating(record(), machine()).number(name)
    assert (got.standing, got.settle, got.remedy) == ("shown", "", "")
    assert got.probability >= (0.5 if name == "capacity_agreement" else 0.95)
    assert got.end_s >= got.start_s


@pytest.mark.parametrize("name", MISSING)
def test_without_its_reading_it_is_unseen_and_says_what_to_read(name):
    record = defrosted if name in ("frost_left_k", "backup_delay_s") else trace
    if record is defrosted:
        channels = drawn.cold_day()
        for one in MISSING[name]:
            del channels[one]
        made = draw(np.arange(0.0, drawn.LAST_S + 1e-9, 1.0), channels)
        got = heating(made, drawn.unit()).number(name)
    else:
        got = heating(trace(*MISSING[name])).number(name)
    assert got.standing == "unseen"
    assert not got.measured
    assert got.limit is None
    assert got.settle


@pytest.mark.parametrize("name", FROM_THE_UNIT)
def test_without_the_house_its_numbers_are_unseen(name):
    got = heating(machine=unit(*FROM_THE_UNIT[name])).number(name)
    assert got.standing == "unseen"
    assert "house" in got.settle


@pytest.mark.parametrize("name", sorted(UNHELD))
def test_a_number_with_nothing_to_hold_it_against_is_doubtful_and_has_no_limit(name):
    got = heating(machine=unit(compressor=WITH_MAP)).number(name)
    assert got.measured
    assert (got.standing, got.limit, got.probability) == ("doubtful", None, None)


@pytest.mark.parametrize("name", ["superheat_k", "subcooling_k"])
def test_no_target_is_invented(name):
    got = heating(machine=unit("targets")).number(name)
    assert got.measured
    assert (got.standing, got.limit) == ("doubtful", None)
    assert "Look up" in got.settle


def test_a_number_too_near_its_limit_names_what_its_uncertainty_comes_from():
    """The target half an uncertainty beyond its band: neither in nor out."""
    measured = heating(machine=unit()).number("subcooling_k")
    most = max(measured.sources, key=lambda name: abs(measured.sources[name]))
    near = measured.value - 3.0 / 1.8 + 0.25 * measured.expanded
    got = heating(machine=unit(targets={"subcooling": f"{near:.3f} delta_degC"})).number("subcooling_k")
    assert got.standing == "doubtful"
    assert 0.05 < got.probability < 0.95
    assert got.settle.startswith("It lies too near its limit to tell. Most of its uncertainty comes from")
    assert CHANNELS[most].title in got.settle


def test_the_values_are_those_of_the_drawing():
    check = heating(machine=unit(compressor=WITH_MAP))
    want = {
        "superheat_k": 6.0,
        "discharge_temp_c": 75.0,
        "discharge_superheat_k": 33.0,
        "evaporating_approach_k": 10.0,
        "condensing_approach_k": 21.0,
        "coil_to_suction_k": 3.0,
        "vapor_line_k": 4.0,
        "valve_temperature_rise_k": 0.4,
        "temperature_rise_k": 14.0,
        "airflow_m3_s": 0.5,
        "power_w": 2750.0,
        "compressor_current_ratio": 11.0 / 14.0,
        "line_voltage_v": 238.0,
        "voltage_sag": 3.0 / 241.0,
        "compressor_lockout_k": 20.0,
    }
    for name, value in want.items():
        assert check.number(name).value == pytest.approx(value, rel=1e-3, abs=1e-3), name
    # By hand: 0.5 m3/s at 28 degC and 101.325 kPa is 0.582 kg/s of dry air; times 1.017 kJ/kg K, 14 K.
    assert check.number("capacity_air_w").value == pytest.approx(0.5820 * 1017.0 * 14.0, rel=5e-3)
    assert check.number("frost_left_k").standing == "unseen"


def test_watts_without_a_wattmeter_come_from_volts_amps_and_the_power_factor():
    got = heating(trace("power")).number("power_w")
    assert got.value == pytest.approx(238.0 * 11.9 * 0.93, rel=1e-3)
    assert "power factor" in got.sources
    assert got.expanded > 5 * heating().number("power_w").expanded


def test_a_gauge_used_twice_is_one_source():
    shared = {
        "suction_pressure": {"accuracy": "1 %", "instrument": "gauge"},
        "discharge_pressure": {"accuracy": "1 %", "instrument": "gauge"},
    }
    apart = heating().number("pressure_ratio")
    one = heating(machine=unit(instruments=shared)).number("pressure_ratio")
    assert one.value == apart.value
    assert "gauge" in one.sources
    assert one.expanded < 0.3 * apart.expanded


def test_the_property_is_part_of_each_saturation():
    check = heating()
    for name in ("superheat_k", "subcooling_k", "evaporating_approach_k"):
        assert abs(check.number(name).sources["saturation of R-410A"]) == pytest.approx(0.13)


def test_the_carriers_take_the_standing_of_the_ratio_that_judges_them():
    check = heating(trace(supply_air_temp=jump(21, 29)))
    ratio, heat = check.number("capacity_ratio"), check.number("capacity_air_w")
    assert heat.standing == ratio.standing == "failed"
    assert heat.limit.low / heat.value == pytest.approx(ratio.limit.low / ratio.value)


def test_backup_heat_in_the_window_keeps_power_and_cop_unseen():
    on = trace(backup_current=20.8)
    check = heating(on)
    assert check.steady.backup is True
    for name in ("power_w", "power_ratio", "cop", "capacity_ratio"):
        assert check.number(name).standing == "unseen", name
    assert "backup heat included" in check.number("capacity_air_w").how


def test_one_stage_of_two_is_no_failure_of_the_other():
    got = heating(with_backup(20.8), unit(backup={"stages": ["5 kW", "5 kW"]})).number("backup_power_ratio")
    assert got.standing == "doubtful"
    assert "1 of 2 stages" in got.settle


def test_backup_heat_above_its_lockout_fails_and_without_a_lockout_is_left_open():
    assert heating(with_backup(20.8)).number("backup_when_not_called").standing == "failed"
    got = heating(with_backup(20.8), unit("backup.backup_lockout")).number("backup_when_not_called")
    assert (got.standing, got.limit) == ("doubtful", None)
    assert got.value == pytest.approx(600.0 / (LAST_S - ON), rel=0.05)


def test_a_default_voltage_fails_no_supply():
    got = heating(trace(line_voltage=205.0), unit("supply")).number("line_voltage_v")
    assert (got.standing, got.limit) == ("doubtful", None)


def test_the_rise_over_backup_heat_alone_gives_the_airflow():
    # Five minutes of 5 kW before the compressor starts: V = P / (rho cp dT) = 0.28 m3/s at 14.7 K by hand.
    late = 900.0
    channels = {
        "supply_air_temp": [(0, 35.7), (late, 35.7), (late + 150, 35), (LAST_S, 35)],
        "backup_current": steps(21.0, (late - 10, 0.0)),
        "line_voltage": 238.0,
        "compressor_current": steps(0.0, (late, 11.0)),
        "heating_call": steps(0.0, (late, 1.0)),
        "power": steps(30.0, (late, 2750.0)),
        "low": [(0, 8), (late, 8), (late + 40, -5), (LAST_S, -5)],
        "high": [(0, 8), (late, 8), (late + 120, 42), (LAST_S, 42)],
        "liquid": [(0, 8), (late, 8), (late + 120, 42), (LAST_S, 42)],
    }
    record = trace("airflow", **channels)
    got = heating(record, unit(blower={"place": "outside the probes"})).number("airflow_m3_s")
    assert "temperature rise" in got.how
    # 1.1975 kg/m3 of moist air at 21 degC and 40 %; 1017 J/kg K.
    assert got.value == pytest.approx(238.0 * 21.0 / (1.192 * 1017.0 * 14.7), rel=0.01)
    assert got.end_s <= late


def test_what_stands_in_the_way_of_a_number_is_told():
    got = heating(machine=unit("ratings")).number("capacity_ratio")
    assert got.standing == "unseen"
    assert "47 and 17 degF" in got.settle


def test_a_refrigerant_that_runs_hotter_by_design_is_not_failed_by_the_rule_of_the_old_ones():
    got = heating(trace(discharge_temp=jump(20, 112)), unit(unit={"refrigerant": "R-32"})).number(
        "discharge_temp_c"
    )
    assert (got.standing, got.limit) == ("doubtful", None)
    assert "maker" in got.settle


def test_a_remedy_that_may_lead_to_the_circuit_carries_its_caution():
    mild = heating(trace(liquid_line_temp=jump(20, 40.5))).number("subcooling_k")
    assert "Only certified people open the circuit" in mild.remedy
    a2l = unit(unit={"refrigerant": "R-454B"})
    flammable = heating(trace(discharge_temp=jump(20, 60), power=steps(30.0, (ON, 9900.0))), a2l).number(
        "cop"
    )
    assert flammable.standing == "failed"
    assert "mildly flammable (A2L)" in flammable.remedy
