import json
import re
from dataclasses import replace

import pytest

from firstfrost.bench.plan.as_json import as_json
from firstfrost.bench.plan.plan import MOSTLY, OFTEN, WARMEST_C, make_plan
from firstfrost.bench.plan.runs import WAYS
from firstfrost.bench.plan.spread import POINTS, UNKNOWNS, lattice, spread, usual
from firstfrost.bench.plan.steps import steps
from firstfrost.bench.plan.words import BY_KEY
from firstfrost.bench.simulate import Act, Setup, simulate
from firstfrost.bench.weather import constant
from firstfrost.equipment.read import unit_from
from firstfrost.errors import InputError
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.report.plan import plan_text
from firstfrost.trace.marks import ACTS

PSI = 6894.757293168


def unit(name="R-410A", **tables):
    return unit_from({"unit": {"refrigerant": name, **tables.pop("unit", {})}, **tables}, source="test")


@pytest.fixture(scope="module")
def mild():
    return make_plan(unit(), outdoor_c=20.0, humidity=0.6)


@pytest.fixture(scope="module")
def frosty():
    return make_plan(unit(board={"interval": "30 min"}), outdoor_c=1.67, humidity=0.82)


def by_way(plan):
    return {method.way: method for method in plan.methods}


def test_a_mild_day_wants_the_fan_stopped_and_says_why_frost_will_not_do(mild):
    assert tuple(method.way for method in mild.methods) == WAYS
    natural, stopped, _ = mild.methods
    assert natural.verdict == "no"
    assert "not get cold enough to close its sensor" in natural.why
    assert natural.expect["coldest_sensor_c"].low > mild.unit.coil_sensor.closes_at_c
    assert not natural.steps
    assert stopped.verdict == "works"
    assert mild.best is stopped


def test_a_way_in_which_many_sound_units_pass_the_stop_limit_is_near_it(
    mild,
):
    covered = mild.methods[2]
    assert covered.worked == covered.runs
    assert covered.verdict == "near limit"
    assert OFTEN * covered.runs < covered.over_limit <= MOSTLY * covered.runs
    text = plan_text(mild, colour=False, plain=True)
    assert "! near limit  Outdoor coil covered" in text
    assert "may have to be stopped before its sensor opens" in " ".join(text.split())


def test_near_the_limit_is_better_than_may_fail():
    plan = make_plan(unit(board={"interval": "30 min"}), outdoor_c=-20.0, humidity=0.4, runs=6)
    assert plan.best is plan.methods[0]


def test_a_frosty_day_wants_nothing_touched(frosty):
    natural = frosty.methods[0]
    assert frosty.best is natural
    assert natural.shows["defrost_starts"] == "shown"
    assert natural.shows["coil_clears"] == "shown"
    assert natural.frosted == natural.runs
    assert not any(set(step.marks) - {"call-on", "call-off"} for step in natural.steps)
    # Seconds from the call: closing, then a whole interval.
    assert natural.expect["starts_s"].low >= 1800.0
    band, closes = natural.expect["starts_s"], natural.expect["closes_s"]
    assert band.low - 1800.0 == pytest.approx(closes.low, abs=1.0)


def test_steady_heating_is_what_it_is_with_the_fan_running_in_every_way(mild):
    natural, stopped, covered = mild.methods
    for key in ("base_suction_pa", "base_high_pa"):
        assert stopped.expect[key] == covered.expect[key] == natural.expect[key]
    assert natural.expect["base_suction_pa"].low > stopped.expect["lowest_suction_pa"].high


def test_a_way_whose_peak_mostly_passes_the_limit_is_not_said_to_work():
    low = unit(limits={"saturation_ceiling": "110 degF"}, coil_sensor={"opens_at": "80 degF"})
    stopped = make_plan(low, outdoor_c=10.0, humidity=0.6, runs=6).methods[1]
    assert stopped.verdict == "may fail"
    assert stopped.over_limit > 3
    assert "passes the stop limit" in stopped.why


def test_too_warm_to_heat_plans_nothing_and_says_so():
    plan = make_plan(unit(), outdoor_c=WARMEST_C + 0.5, humidity=0.5)
    assert plan.best is None
    assert all("Too warm outdoors to run heating" in method.why for method in plan.methods)
    assert not any(method.steps or method.shows for method in plan.methods)
    text = plan_text(plan, colour=False)
    assert "It cannot be tested today by any of these ways" in text
    assert "STOP before" in text


def test_cold_and_dry_air_leaves_no_frost_to_clear_and_a_sensor_that_is_closed_already():
    plan = make_plan(unit(board={"interval": "30 min"}), outdoor_c=-20.0, humidity=0.4, runs=6)
    natural = plan.methods[0]
    assert natural.verdict in ("works", "near limit")
    assert natural.frosted == 0
    assert natural.shows["coil_clears"] == "unseen"
    assert natural.shows["sensor_closes"] == "unseen"
    assert "Too little frost to see it clear" in plan_text(plan, colour=False)
    # With the sensor closed at rest there is nothing to starve the coil for.
    assert all(method.verdict == "no" and "Not needed" in method.why for method in plan.methods[1:])


def test_a_long_interval_is_cut_short_by_the_pins_and_counts_as_prompted():
    plan = make_plan(unit(board={"interval": "6 h"}), outdoor_c=1.67, humidity=0.82, runs=2)
    natural = plan.methods[0]
    assert natural.shows["defrost_starts"] == natural.shows["timer_counts"] == "prompted"
    assert any("After 2 h bridge the test pins" in step.text for step in natural.steps)


def test_what_a_person_takes_out_is_never_promised_as_shown(mild):
    stopped, covered = mild.methods[1:]
    for method in (stopped, covered):
        assert set(method.shows) == set(FUNCTIONS)
        assert method.shows["defrost_starts"] == method.shows["timer_counts"] == "prompted"
    assert stopped.shows["fan_stops"] == stopped.shows["fan_returns"] == "bypassed"
    assert covered.shows["fan_stops"] == "shown"


def test_the_same_unit_and_day_give_the_same_plan(mild):
    again = make_plan(unit(), outdoor_c=20.0, humidity=0.6)
    assert as_json(again) == as_json(mild)


def test_the_stop_limit_is_the_number_on_the_gauge_at_that_altitude(mild):
    high = make_plan(unit(site={"altitude": "5280 ft"}), outdoor_c=20.0, humidity=0.6, runs=1)
    # R-410A at 130 degF, dew: 476.8 psi gauge at sea level (CoolProp 8.0.0); a mile up 2.6 psi more.
    assert mild.stop.gauge_pa / PSI == pytest.approx(476.8, abs=0.3)
    assert high.stop.gauge_pa / PSI == pytest.approx(476.8 + 14.696 - 12.1, abs=0.4)
    assert "STOP before 477 psig" in plan_text(mild, colour=False)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", ["time-temperature", "demand"])
def test_each_step_has_a_caution_and_marks_that_a_visit_knows(way, kind):
    made = steps(way, unit(board={"kind": kind}))
    assert "maker's defrost test" in made[0].text
    for step in made:
        assert step.caution, step.text
        assert set(step.marks) <= set(ACTS)
        assert set(step.expect) <= set(BY_KEY)
        assert step.at in {"", "call", *BY_KEY}
    marks = [mark for step in made for mark in step.marks]
    for off, on in (("fan-lead-off", "fan-lead-on"), ("coil-covered", "coil-uncovered")):
        assert marks.count(off) == marks.count(on)
    assert sum(step.stop for step in made) >= 2
    # Leads and covers are handled only on a dead machine.
    for step in made:
        if {"fan-lead-off", "fan-lead-on", "coil-covered", "coil-uncovered"} & set(step.marks):
            assert "test dead" in step.text


@pytest.mark.parametrize("way", WAYS)
def test_no_step_defeats_a_safety_or_opens_the_circuit(way):
    said = " ".join(f"{step.text} {step.caution}" for step in steps(way, unit()))
    assert "jumper" not in said
    assert not re.search(r"\b(add|vent|recover|release) (the )?refrigerant", said)
    for match in re.finditer(r"[^.]*pressure switch[^.]*", said):
        assert match.group().strip().startswith("Never")


@pytest.mark.parametrize(
    ("name", "words"), [("R-454B", "mildly flammable (A2L)"), ("R-290", "highly flammable (A3)")]
)
def test_a_flammable_refrigerant_has_its_caution(name, words):
    plan = make_plan(unit(name), outdoor_c=15.0, humidity=0.6, runs=1)
    assert words in re.sub(r"\s+", " ", plan_text(plan, colour=False))


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("plain", [False, True])
def test_a_plan_fits_the_terminal(mild, frosty, system, plain):
    for plan in (mild, frosty):
        text = plan_text(plan, WAYS, colour=False, system=system, plain=plain)
        assert max(len(line) for line in text.split("\n")) <= 80
        assert not plain or text.isascii()


def test_every_number_of_the_json_has_its_unit_in_its_key(mild):
    def numbers(thing, keys=()):
        if isinstance(thing, dict):
            for key, value in thing.items():
                yield from numbers(value, (*keys, key))
        elif isinstance(thing, list):
            for value in thing:
                yield from numbers(value, keys)
        elif isinstance(thing, float):
            yield keys

    content = json.loads(json.dumps(as_json(mild), allow_nan=False))
    for keys in numbers(content):
        named = keys[-2] if keys[-1] in ("low", "middle", "high") else keys[-1]
        assert re.search(r"_(c|pa|s|kg)$|ratio", named), keys
    for method in content["methods"]:
        for value in method["expect"].values():
            for band in (value,) if "low" in value else value.values():
                assert band["low"] <= band["middle"] <= band["high"]


def test_a_rest_of_five_minutes_starts_near_enough_to_a_long_one(mild):
    """The plan starts from a long rest; its steps heat for ten minutes and rest five. Does it matter?"""
    plant, controls = usual(mild.unit)
    acts = (
        Act(time_s=600.0, act="call-off"),
        Act(time_s=660.0, act="fan-lead-off"),
        Act(time_s=900.0, act="call-on"),
    )
    run = simulate(
        Setup(
            plant=replace(plant, house_fixed=1.0),
            controls=replace(controls, interval_s=60.0, reset_on_open=0.0),
            weather=constant(20.0, 0.6),
            acts=acts,
            duration_s=2000,
            start="rest",
        )
    )
    closes = next(t for t, value in run.switches("contact") if value == 1.0) - 900.0
    band = by_way(mild)["fan-stopped"].expect["closes_s"]
    assert band.low <= closes <= band.high
    ends = next(t for t, value in run.switches("ended_by") if value == 1.0)
    peak = run.derived("p_discharge")[int(closes) + 960 : int(ends) + 2].max()
    band = by_way(mild)["fan-stopped"].expect["peak_pa"]
    assert band.low <= peak <= band.high


def test_the_spread_fills_every_slice_of_every_unknown():
    points = [lattice(i) for i in range(POINTS)]
    for k in range(len(UNKNOWNS)):
        assert sorted(int(point[k] * POINTS) for point in points) == list(range(POINTS))
    columns = {tuple(point[k] for point in points) for k in range(len(UNKNOWNS))}
    mirrored = {tuple(round(1.0 - x, 9) for x in column) for column in columns}
    assert len(columns) == len(UNKNOWNS)
    assert not mirrored & {tuple(round(x, 9) for x in column) for column in columns}


def test_what_the_unit_file_gives_is_kept_in_every_unit_of_the_spread():
    known = unit(
        "R-22",
        unit={"nominal_capacity": "3 ton_refrigeration", "metering": "fixed orifice"},
        coil_sensor={"closes_at": "28 degF", "opens_at": "65 degF", "tolerance": "3 delta_degF"},
        limits={"high_pressure_cutout": "400 psi"},
    )
    for plant, controls in spread(known):
        assert plant.refrigerant == "R-22"
        assert plant.fixed_out > 0.0
        assert abs(controls.closes_c - known.coil_sensor.closes_at_c) <= known.coil_sensor.tolerance_k
        assert controls.hp_opens_pa == known.limits.high_pressure_cutout_pa
        assert plant.sensor_metal + plant.sensor_refrigerant == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"outdoor_c": 50.0}, "Expected -35 to 45 degC"),
        ({"outdoor_c": 10.0, "indoor_c": 40.0}, "Expected 5 to 35 degC"),
        ({"outdoor_c": 10.0, "humidity": 1.2}, "Expected above 0 and up to 100 %"),
    ],
)
def test_weather_outside_the_bench_is_refused(given, words):
    with pytest.raises(InputError, match=words):
        make_plan(unit(), **given)


def test_a_size_outside_the_bench_is_refused():
    with pytest.raises(InputError, match="the bench can foretell units of 3 to 25 kW"):
        make_plan(unit(unit={"nominal_capacity": "20 ton_refrigeration"}), outdoor_c=10.0)
