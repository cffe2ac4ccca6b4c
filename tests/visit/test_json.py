import json
import re
import tomllib
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from jsonschema import Draft202012Validator, FormatChecker
from made.make import make
from report import sample
from report.sample_heating import nothing_steady

from firstfrost.equipment.read import unit_from
from firstfrost.heating.number import STANDINGS
from firstfrost.heating.rows import ROWS
from firstfrost.phases.phase import NAMES, EndedBy, Phase
from firstfrost.proofs.finding import FUNCTIONS, Evidence, Measured, Standing
from firstfrost.report import ledger_text
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS
from firstfrost.visit.as_json import SCHEMA_FILE, as_json, plain
from firstfrost.visit.check import check_trace

SCHEMA = json.loads((files("firstfrost.visit") / SCHEMA_FILE).read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA, format_checker=FormatChecker())
MADE = {name: make() for name, make in {**sample.VARIANTS, "hostile": sample.hostile}.items()}


@pytest.mark.parametrize("name", MADE)
def test_every_variant_follows_the_schema(name):
    content = as_json(MADE[name])
    assert [error.message for error in VALIDATOR.iter_errors(content)] == []
    assert json.loads(json.dumps(content, allow_nan=False)) == content


def test_the_schema_is_a_sound_schema():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_the_words_of_the_schema_are_those_of_the_code():
    defs, top = SCHEMA["$defs"], SCHEMA["properties"]
    numbers = top["heating"]["anyOf"][1]["properties"]["numbers"]
    assert list(numbers["properties"]) == [row.name for row in ROWS] == numbers["required"]
    assert {row.unit for row in ROWS} <= set(defs["unit_in_memory"]["enum"])
    assert defs["heating_number"]["properties"]["standing"]["enum"] == list(STANDINGS)
    assert defs["standing"]["enum"] == list(get_args(Standing))
    assert list(top["functions"]["properties"]) == list(FUNCTIONS) == top["functions"]["required"]
    assert top["phases"]["items"]["properties"]["name"]["enum"] == list(NAMES)
    assert top["defrosts"]["items"]["properties"]["ended_by"]["enum"] == list(get_args(EndedBy))
    assert top["marks"]["anyOf"][1]["items"]["properties"]["act"]["enum"] == list(ACTS)
    assert top["record"]["properties"]["channels"]["items"]["enum"] == list(CHANNELS)


def _objects(schema):
    if isinstance(schema, dict):
        if "properties" in schema:
            yield schema
        for value in schema.values():
            yield from _objects(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from _objects(value)


def test_every_object_of_the_schema_is_closed_and_whole():
    found = list(_objects(SCHEMA))
    assert len(found) > 15
    for schema in found:
        assert schema["additionalProperties"] is False
        assert schema["required"] == list(schema["properties"])


@pytest.mark.parametrize(
    "spoil",
    [
        lambda made: made.update(extra=1),
        lambda made: made.pop("cautions"),
        lambda made: made["functions"].pop("coil_clears"),
        lambda made: made["functions"]["coil_clears"].update(standing="fine"),
        lambda made: made["phases"][0].update(start="2025-10-14 15:02"),
        lambda made: made["phases"][0].update(sure=1.5),
        lambda made: made["functions"]["ends_safely"]["evidence"][0]["limit"].update(source="hearsay"),
    ],
)
def test_the_schema_refuses_what_does_not_follow_it(spoil):
    made = as_json(MADE["mild_day"])
    assert VALIDATOR.is_valid(made)
    spoil(made)
    assert not VALIDATOR.is_valid(made)


def test_times_are_on_the_base_of_the_trace():
    utc, bare = as_json(MADE["mild_day"]), as_json(MADE["empty"])
    assert (utc["record"]["time_base"], bare["record"]["time_base"]) == ("utc", "seconds")
    defrost = utc["defrosts"][0]
    assert (defrost["start"], defrost["end"]) == ("2025-10-14T15:25:06Z", "2025-10-14T15:29:20Z")
    assert (defrost["start_s"], defrost["end_s"], defrost["duration_s"]) == (1386.0, 1640.0, 254.0)
    assert utc["marks"][0] == {
        "time": "2025-10-14T15:12:00Z",
        "time_s": 600.0,
        "act": "fan-lead-off",
        "note": "own plug",
    }
    phase = bare["phases"][0]
    assert (phase["start"], phase["end"], phase["start_s"]) == (0.0, 900.0, 0.0)


def test_parts_of_a_second_are_kept_to_the_millisecond():
    base = MADE["mild_day"]
    made = as_json(replace(base, phases=(Phase(name="off", start_s=0.25, end_s=1.0, sure=1.0),)))
    assert made["phases"][0]["start"] == "2025-10-14T15:02:00.250Z"
    assert VALIDATOR.is_valid(made)


def test_margins_are_the_limit_less_the_peak():
    fine, hot = (as_json(MADE[name])["defrosts"][0] for name in ("mild_day", "failed"))
    assert fine["saturation_margin_k"] == pytest.approx(54.444 - 47.5)
    assert fine["cutout_margin_pa"] == pytest.approx(sample.CUTOUT_PA - 2.87e6)
    assert hot["saturation_margin_k"] == pytest.approx(54.444 - 57.2)
    unknown = as_json(MADE["gap"])["defrosts"][0]
    assert unknown["saturation_margin_k"] is None
    assert unknown["peak_time"] is None


def test_marks_not_given_are_not_marks_of_nothing():
    assert as_json(MADE["empty"])["marks"] is None
    assert as_json(replace(MADE["empty"], marks=()))["marks"] == []


def test_what_is_missing_is_null_and_never_nan():
    base = MADE["mild_day"]
    nan, inf = float("nan"), float("inf")
    finding = replace(
        base.findings[0],
        evidence=(
            Evidence(
                standing="doubtful",
                start_s=-inf,
                end_s=inf,
                channels=(),
                what="x",
                measured=Measured(value=nan, unit="degC", expanded=inf),
                probability=nan,
            ),
        ),
    )
    made = as_json(
        replace(
            base,
            findings=(finding, *base.findings[1:]),
            heating=nothing_steady(),
        )
    )
    assert VALIDATOR.is_valid(made)
    evidence = made["functions"]["sensor_closes"]["evidence"][0]
    assert (evidence["start"], evidence["end_s"], evidence["probability"]) == (None, None, None)
    assert evidence["measured"] == {"value": None, "expanded": None, "unit": "degC"}
    number = made["heating"]["numbers"]["superheat_k"]
    assert (made["heating"]["steady"], number["value"], number["start_s"]) == (None, None, None)


def test_the_order_of_keys_is_that_of_the_schema():
    for name, result in MADE.items():
        made = as_json(result)
        assert list(made) == list(SCHEMA["properties"]), name
        assert list(made["functions"]) == list(FUNCTIONS)
        for key in ("unit", "site", "record", "input"):
            assert list(made[key]) == list(SCHEMA["properties"][key]["properties"])
        for key in ("phases", "defrosts"):
            for item in made[key]:
                assert list(item) == list(SCHEMA["properties"][key]["items"]["properties"])
    assert json.dumps(as_json(sample.mild_day())) == json.dumps(as_json(sample.mild_day()))


UNITS = re.compile(r"_(s|c|k|pa|w|m)$")
BARE = {
    "format_version", "start", "end", "time", "peak_time", "sure", "samples", "rows", "readings", "dropped",
    "value", "expanded", "low", "high", "probability", "share",
}  # fmt: skip


def _numbers(node, key=""):
    if isinstance(node, dict):
        for name, value in node.items():
            yield from _numbers(value, name)
    elif isinstance(node, list):
        for value in node:
            yield from _numbers(value, key)
    elif isinstance(node, int | float) and not isinstance(node, bool):
        yield key


def test_each_number_has_its_unit_in_its_key_or_beside_it():
    weak = as_json(MADE["weak"])
    for one in weak["heating"]["numbers"].values():
        one.pop("sources")  # in the number's own unit, which stands beside it
    keys = set(_numbers(weak)) | set(_numbers(as_json(MADE["empty"])))
    assert {key for key in keys if not UNITS.search(key) and key not in BARE} == set()


def test_the_heating_check_is_told_number_by_number():
    assert as_json(MADE["mild_day"])["heating"] is None
    made = as_json(MADE["weak"])["heating"]
    assert made["steady"]["since_s"] == 660.0
    low = made["numbers"]["subcooling_k"]
    assert (low["standing"], low["value"], low["unit"]) == ("failed", 1.4, "K")
    assert low["limit"]["source"].startswith("unit file")
    assert made["numbers"]["frost_left_k"]["value"] is None


def test_causes_are_made_plain():
    @dataclass
    class Cause:
        name: str
        odds: float

    made = plain((Cause("low charge", 0.5), {"when": datetime(2025, 1, 2, tzinfo=UTC), "of": np.arange(2)}))
    assert made == [{"name": "low charge", "odds": 0.5}, {"when": "2025-01-02T00:00:00Z", "of": [0, 1]}]
    with pytest.raises(
        TypeError, match=r"^A complex has no JSON form here\. Give numbers, strings, lists or dicts\.$"
    ):
        plain(1j)


def test_the_page_on_the_json_result_points_at_the_one_schema():
    page = Path(__file__).parents[2] / "docs" / "json.md"
    links = re.findall(r"\]\((\S+?result\.schema\.json)\)", page.read_text(encoding="utf-8"))
    assert links
    for link in links:
        assert json.loads((page.parent / link).read_text(encoding="utf-8")) == SCHEMA


SITUATIONS = (
    "mild day",
    "cold day, no marks",
    "rests between",
    "high-pressure trip",
    "gap over the termination",
)


@pytest.mark.parametrize("situation", SITUATIONS)
def test_a_judged_visit_follows_the_schema_and_fits_the_terminal(situation):
    visit = make(situation, 11)
    unit = unit_from(tomllib.loads(visit.unit_toml), source="the made unit")
    result = check_trace(visit.trace, unit, visit.marks)
    content = as_json(result)
    json.dumps(content, allow_nan=False)
    assert [error.message for error in VALIDATOR.iter_errors(content)] == []
    assert max(len(line) for line in ledger_text(result, colour=False).split("\n")) <= 80
