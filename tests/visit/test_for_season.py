"""What a winter takes from a visit's result."""

import copy
import json

import pytest
from report import sample

from firstfrost.errors import InputError
from firstfrost.season.at_visit import AtVisit, Found
from firstfrost.visit.as_json import as_json
from firstfrost.visit.for_season import at_visit, read_at_visit, typed


@pytest.fixture
def result():
    """A result whose sensor closes at 30 degF +- 5 and opens at 60 degF +- 5, nothing failed."""
    made = as_json(sample.mild_day())
    for function in made["functions"].values():
        function["standing"] = "shown"
    for name, value, low, high in (("sensor_closes", -2.4, -6.75, 1.67), ("sensor_opens", 18.4, 12.78, 26.2)):
        made["functions"][name]["evidence"] = [switching(value, low, high)]
    made["unit"]["coil_sensor"] = {"closes_at_c": -1.11, "opens_at_c": 15.56, "tolerance_k": 2.78}
    made["heating"] = None
    return made


def switching(
    value, low, high, standing="shown", what="The contact closed by itself, with the coil near its rating."
):
    return {
        "standing": standing,
        "what": what,
        "measured": {"value": value, "expanded": 0.6, "unit": "degC"},
        "limit": {"low": low, "high": high, "unit": "degC", "source": "rating plate"},
    }


def test_the_sensors_own_temperature_lies_between_the_coils_and_its_lag(result):
    """By hand: the limit's low edge is 2.86 K below -1.11 - 2.78, so it stood at -2.4 to 0.46 degC."""
    found = at_visit(result, "x").closes
    assert found.value == pytest.approx((-2.4 + 0.46) / 2, abs=0.01)
    assert found.expanded == pytest.approx((1.43**2 + 0.6**2) ** 0.5, abs=0.01)
    assert not found.failed


def test_a_coil_that_warmed_too_fast_leaves_the_rating(result):
    """26.2 is 7.86 K above 15.56 + 2.78: half of it is more than the tolerance."""
    found = at_visit(result, "x")
    assert found.opens is None
    assert "too fast" in found.left_out[0]


def test_a_sensor_that_failed_is_told_with_its_temperature_even_so(result):
    function = result["functions"]["sensor_opens"]
    function["standing"] = "failed"
    function["evidence"] = [
        switching(4.0, 12.78, 26.2, "failed", "The contact opened by itself, but with the coil off.")
    ]
    found = at_visit(result, "x")
    assert found.failed == ("sensor_opens",)
    assert found.opens.failed
    assert found.opens.value == pytest.approx(4.0 - 3.93, abs=0.01)


def test_a_contact_that_stayed_has_no_switching_temperature(result):
    function = result["functions"]["sensor_opens"]
    function["standing"] = "failed"
    what = "The coil stayed warmer than the sensor's opening rating and its contact stayed closed."
    function["evidence"] = [switching(30.0, 12.78, 18.34, "failed", what)]
    assert at_visit(result, "x").opens is None


@pytest.mark.parametrize("standing", ["doubtful", "bypassed"])
def test_a_doubtful_switching_is_not_taken(result, standing):
    function = result["functions"]["sensor_closes"]
    function["standing"] = standing
    function["evidence"][0]["standing"] = standing
    assert at_visit(result, "x").closes is None


def test_heat_is_taken_only_where_it_is_told_apart_from_the_rating(result):
    near, off = ({"standing": "shown", "value": v, "expanded": 0.09} for v in (0.94, 0.80))
    result["heating"] = {"numbers": {"capacity_ratio": near, "power_ratio": off}}
    found = at_visit(result, "x")
    assert found.capacity is None
    assert found.power == Found(value=0.80, expanded=0.09)
    assert any(line.startswith("The heat measured, 94 ± 9 %") for line in found.left_out)


def test_a_real_check_is_read_with_its_day(tmp_path):
    path = tmp_path / "visit.json"
    path.write_text(json.dumps(as_json(sample.mild_day())), encoding="utf-8")
    assert read_at_visit(path).when == "2025-10-14"


@pytest.mark.parametrize("spoil", [lambda d: d.pop("functions"), lambda d: d.update(unit=None), dict.clear])
def test_what_is_no_result_is_refused(result, spoil):
    spoiled = copy.deepcopy(result)
    spoil(spoiled)
    with pytest.raises(InputError, match=r"is not the result of a check\. Expected the JSON that"):
        at_visit(spoiled, "x.json")


def test_what_is_typed_goes_before_the_visit():
    seen = AtVisit(failed=("fan_stops",), closes=Found(value=-1.0, expanded=0.5))
    made = typed(seen, closes=("28 degF", "--closes-at"), capacity=("92 %", "--capacity"))
    assert made.closes.value == pytest.approx(-2.222, abs=1e-3)
    assert (made.capacity.value, made.failed) == (0.92, ("fan_stops",))
    assert typed(None) is None


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"closes": ("80 degF", "--closes-at")}, "Expected -20 to 12 degC"),
        ({"opens": ("200 degF", "--opens-at")}, "Expected 3 to 50 degC"),
        ({"closes": ("50 degF", "--closes-at"), "opens": ("40 degF", "--opens-at")}, "is not below"),
        ({"capacity": ("5 %", "--capacity")}, "Expected 30 to 150 %"),
        ({"capacity": ("92", "--capacity")}, "a number without a unit"),
    ],
)
def test_what_cannot_be_a_sensor_or_a_part_is_refused(given, told):
    with pytest.raises(InputError, match=told):
        typed(None, **given)
