"""The rows of the causes: whole, named as the bench names them, and safe to read aloud."""

import re

import pytest

from firstfrost.bench.faults import FAULTS
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.causes.acts import ACT, ACTS
from firstfrost.causes.features import FEATURE, FEATURES, GIVEN, LEVELS
from firstfrost.causes.hypotheses import HYPOTHESES, NONE, SOUND, priors
from firstfrost.causes.model import model
from firstfrost.causes.ratios import ratios
from firstfrost.causes.readings import LOOKED, TYPED

CAUSES = [row for row in HYPOTHESES.values() if row.kind != "answer"]


def test_every_fault_of_the_bench_is_a_hypothesis_of_the_same_title():
    known = {**FAULTS, **INSTRUMENT_FAULTS}
    assert {row.name for row in CAUSES} == set(known)
    assert {row.name: row.title for row in CAUSES} == {name: row.title for name, row in known.items()}


def test_the_tables_have_every_hypothesis_feature_and_word():
    tables = model()
    assert set(tables.hypotheses) == set(HYPOTHESES)
    assert {*tables.numbers, *tables.words} == set(FEATURE) - set(LEVELS)
    learnt = ratios().scale
    typed = {row.name for row in FEATURES if row.group == "typed"}
    assert {*learnt.numbers, *(name for name, _ in learnt.words)} == set(FEATURE) - typed
    assert tables.word_logs.shape[2] == sum(len(row.words) for row in FEATURES)


@pytest.mark.parametrize("row", CAUSES, ids=lambda row: row.name)
def test_each_cause_says_what_it_does_and_what_to_do(row):
    assert row.does.endswith(".")
    assert row.remedy.endswith(".")
    assert row.basis
    assert all(sign.feature in FEATURE and sign.source for sign in row.signs)
    assert all(twin in HYPOTHESES and twin != row.name for twin in row.twins)
    if row.twins:
        assert row.apart in ACT


@pytest.mark.parametrize("row", [row for row in CAUSES if row.twins], ids=lambda row: row.name)
def test_the_reading_that_parts_twins_gives_a_feature_the_tables_know(row):
    features = ACT[row.apart].features
    assert features
    assert all(name in FEATURE for name in features)


TEXTS = [row.remedy for row in CAUSES] + [f"{act.how} {act.caution}" for act in ACTS]


@pytest.mark.parametrize("text", TEXTS)
def test_nothing_tells_anyone_to_open_the_circuit_vent_or_defeat_a_safety(text):
    low = text.lower()
    assert not re.search(r"\b(?:add|top up|release|blow off|purge)\b[^.]*\brefrigerant\b", low)
    assert not re.search(r"\bvent\b(?<!never vent)", low.replace("never vented", ""))
    assert not re.search(r"\b(?:bypass|defeat|bridge|jumper)\b[^.]*\b(?:switch|limit|safety)\b", low)
    if re.search(r"\b(?:charge|recovered|weighed)\b", low):
        assert "certified" in low or "weigh" not in low


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.name)
def test_each_act_has_a_cost_and_a_caution(act):
    assert act.minutes > 0.0
    assert act.caution.endswith(".")
    if act.danger == 3:
        assert "qualified" in act.caution


def test_what_is_looked_up_by_eye_names_causes_and_two_words():
    for name, causes in GIVEN.items():
        assert len(FEATURE[name].words) == 2
        assert all(cause in HYPOTHESES for cause in causes)
        assert name in LOOKED
    assert {row.feature for row in TYPED.values()} <= set(FEATURE)


@pytest.mark.parametrize("fixed", [False, True])
def test_priors_add_to_one_and_name_no_valve_that_is_not_there(fixed):
    prior = priors(fixed_orifice=fixed)
    assert sum(prior.values()) == pytest.approx(1.0)
    assert prior[SOUND] == 0.5
    assert NONE in prior
    assert ("valve-stuck-open" in prior) is not fixed
