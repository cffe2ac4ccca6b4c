"""The rule rows, and how occasions fold into one standing."""

from __future__ import annotations

import itertools

import pytest
from drawn import acts, check, cold_trace, finding, two_defrosts

from firstfrost.proofs.finding import BEST_FIRST, FUNCTIONS, Evidence, Standing
from firstfrost.proofs.judge import over_all
from firstfrost.proofs.rows import RULES, Rule
from firstfrost.trace.channels import CHANNELS

SOURCES = ("rating plate", "default", "published standard", "common practice", "this record", "unit file")
MUST_GIVE: dict[str, set[Standing]] = {
    "sensor_closes": {"shown", "doubtful", "bypassed", "unseen", "failed"},
    "sensor_opens": {"shown", "doubtful", "bypassed", "unseen", "failed"},
    "timer_counts": {"shown", "prompted", "doubtful", "unseen", "failed"},
    "defrost_starts": {"shown", "prompted", "doubtful", "unseen", "failed"},
    "valve_shifts": {"shown", "doubtful", "unseen", "failed"},
    "fan_stops": {"shown", "doubtful", "bypassed", "unseen", "failed"},
    "backup_runs": {"shown", "doubtful", "unseen", "failed"},
    "coil_clears": {"shown", "doubtful", "unseen", "failed"},
    "ends_by_sensor": {"shown", "doubtful", "bypassed", "unseen", "failed"},
    "ends_safely": {"shown", "doubtful", "unseen", "failed"},
    "valve_returns": {"shown", "doubtful", "unseen", "failed"},
    "fan_returns": {"shown", "doubtful", "bypassed", "unseen", "failed"},
    "heating_resumes": {"shown", "doubtful", "unseen", "failed"},
}
"""By the words of the design: what a person may supply is prompted, what one may take out is bypassed."""


def test_each_function_has_one_rule_in_the_order_of_the_design() -> None:
    assert tuple(rule.function for rule in RULES) == FUNCTIONS


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.function)
def test_a_rule_is_whole(rule: Rule) -> None:
    for text in (rule.title, rule.situation, rule.measure, rule.limit, rule.source, rule.settle, rule.remedy):
        assert text.strip() == text
        assert len(text) > 10
    for sentence in (rule.situation, rule.measure, rule.limit, rule.source, rule.settle, rule.remedy):
        assert sentence.endswith(".")
        assert sentence[0].isupper() or sentence.startswith("limits.")
    assert rule.needs
    for need in rule.needs:
        assert need
        assert set(need) <= set(CHANNELS)
    assert set(rule.says) == MUST_GIVE[rule.function]
    for sentence in rule.says.values():
        assert sentence.endswith(".")
        assert not any(channel in sentence for channel in CHANNELS), "a customer knows no channel names"


def one(standing: Standing) -> Evidence:
    return Evidence(standing=standing, start_s=0.0, end_s=1.0, channels=("power",), what="Seen.")


def test_nothing_seen_is_unseen() -> None:
    assert over_all([]) == "unseen"


@pytest.mark.parametrize(("better", "worse"), list(itertools.combinations(BEST_FIRST, 2)))
def test_the_best_occasion_counts(better: Standing, worse: Standing) -> None:
    assert over_all([one(worse), one(better)]) == over_all([one(better), one(worse)]) == better


@pytest.mark.parametrize("other", BEST_FIRST)
def test_one_failure_outweighs_all(other: Standing) -> None:
    assert over_all([one(other), one("failed"), one(other)]) == "failed"


def test_what_is_missing_is_named() -> None:
    got = finding(check(cold_trace("sensor_voltage")), "sensor_closes")
    assert got.settle == (
        "Not in the record: coil sensor voltage. Read volts across the sensor and the coil temperature while "
        "the coil gets cold, with no jumper in place."
    )


def test_a_situation_that_did_not_come_is_said() -> None:
    got = finding(check(cold_trace(last_s=800.0)), "backup_runs")
    assert got.settle.startswith("The situation did not come: a defrost runs. ")


def test_limits_say_where_they_come_from() -> None:
    for result in (check(cold_trace()), check(two_defrosts(1500.0), None)):
        limits = [e.limit for f in result.findings for e in f.evidence if e.limit is not None]
        assert limits
        for limit in limits:
            assert limit.source.startswith(SOURCES), limit.source


def test_readings_a_minute_apart_fail_nothing_that_time_could_have_mended() -> None:
    # A fan that "runs on" in samples 50 s apart may have stopped in between.
    fast, slow = (check(cold_trace(fan_current=0.9, step_s=step)) for step in (1.0, 50.0))
    assert fast.standing("fan_stops") == "failed"
    assert slow.standing("fan_stops") in ("doubtful", "unseen")


def test_a_prompted_start_and_one_of_its_own_are_shown() -> None:
    trace = two_defrosts(1800.0)
    got = finding(check(trace, acts((880, "pins-bridged"), (905, "pins-released"))), "defrost_starts")
    assert [e.standing for e in got.evidence] == ["prompted", "shown"]
    assert got.standing == "shown"
