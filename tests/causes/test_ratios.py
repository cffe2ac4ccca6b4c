"""The ratios: the networks' arithmetic, what is missing or poor, and that a classifier holds ratios."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from firstfrost.causes.conditions import TYPICAL, Conditions
from firstfrost.causes.features import FEATURE, GIVEN
from firstfrost.causes.hypotheses import HYPOTHESES, NONE
from firstfrost.causes.ratios import Network, ratios, surroundings
from firstfrost.causes.seen import Seen

AT = Conditions(
    outdoor_c=6.0, room_c=20.5, humidity=0.8, size_w=8800.0, fixed=0.0, forced=0.0, refrigerant="R-410A"
)


def test_a_network_is_what_its_equation_says():
    """By hand: relu(1 + 2) = 3 and relu(-2) = 0; then relu(2 * 3 + 1) = 7; then 7 * (1, -1) + (0, 5)."""
    one = Network(
        weights=(np.array([[1.0, 0.0], [-1.0, 1.0]]), np.array([[2.0], [9.0]]), np.array([[1.0, -1.0]])),
        biases=(np.zeros(2), np.array([1.0]), np.array([0.0, 5.0])),
    )
    assert one.logits(np.array([1.0, -2.0])).tolist() == [7.0, -2.0]


def test_a_classifier_holds_the_likelihood_ratios_whatever_its_classes_were_weighed_by():
    """Three normal densities, whose ratios SciPy gives, learnt with classes as unlike as 20 to 1."""
    classifier = pytest.importorskip("sklearn.neural_network").MLPClassifier
    means, counts = (0.0, 1.5, -1.0), (20_000, 2_000, 5_000)
    rng = np.random.default_rng(3)
    x = np.concatenate([rng.normal(m, 1.0, n) for m, n in zip(means, counts, strict=True)])[:, None]
    y = np.repeat(np.arange(3), counts)
    learnt = classifier((32, 16), max_iter=30, random_state=0).fit(x, y)
    network = Network(weights=tuple(learnt.coefs_), biases=tuple(learnt.intercepts_))
    at = np.linspace(-1.5, 2.0, 10)
    z = network.logits(at[:, None]) - np.log(np.array(counts) / sum(counts))
    ours = z - z[:, :1]
    true = np.stack([norm.logpdf(at, m) - norm.logpdf(at, 0.0) for m in means], axis=1)
    assert ours == pytest.approx(true, abs=0.35)  # tails of a class of few runs


def test_every_cause_has_a_ratio_and_a_sound_machine_is_what_they_are_held_against():
    logs = ratios().read({}, AT).logs
    assert set(logs) == set(HYPOTHESES) - {NONE}
    assert logs["sound"] == 0.0


def test_numbers_and_words_are_features_and_none_of_them_is_a_look_of_a_person():
    scale = ratios().scale
    assert all(FEATURE[name].is_number for name in scale.numbers)
    assert all(word in FEATURE[name].words for name, word in scale.words)
    assert not {*scale.numbers, *(name for name, _ in scale.words)} & set(GIVEN)


def test_without_readings_nothing_is_likelier_than_before():
    told = ratios().read({"filter_look": Seen(value="dirty")}, AT)
    assert set(told.logs.values()) | set(told.pairs.values()) == {0.0}


def test_a_single_usual_reading_accuses_nobody():
    usual = ratios().read({"line_voltage_log": Seen(value=0.0, u=0.01)}, AT).logs
    assert max(usual.values()) < 2.0


def test_if_there_are_two_it_is_some_pair_and_each_as_its_members_odds_say():
    """By hand for three faults with odds 2, 3 and 5: pairs 6, 10 and 15 of 31."""
    member = Network(weights=(np.zeros((1, 3)),), biases=(np.log([2.0, 3.0, 5.0]),))
    three = replace(ratios(), faults=("a", "b", "c"), members=(member,))
    shares = np.exp(three.log_shares(np.zeros(1)))
    assert shares == pytest.approx([6 / 31, 10 / 31, 15 / 31])


def test_the_pairs_of_a_visit_come_to_what_two_at_once_does():
    """Mean of the pairs' ratios, all being as often in training, is the ratio of the class."""
    learnt = ratios()
    seen = {"superheat_k": Seen(value=14.0, u=0.7), "fan_heating": Seen(value="stands")}
    told = learnt.read(seen, AT)
    whole = float(learnt.log_ratios(learnt.scale.inputs(seen, AT))[-1])
    assert math.log(np.mean(np.exp(list(told.pairs.values())))) == pytest.approx(whole, abs=1e-6)
    assert len(told.pairs) == len(learnt.faults) * (len(learnt.faults) - 1) // 2


def test_an_instrument_that_is_worth_nothing_says_as_much_as_none():
    scale = ratios().scale
    far = {"superheat_k": Seen(value=40.0, u=1e6), "low_level_c": Seen(value=-30.0, u=1e6)}
    assert scale.inputs(far, AT) == pytest.approx(scale.inputs({}, AT), abs=1e-4)


def test_the_nearer_to_a_sound_machine_the_less_a_number_says():
    scale = ratios().scale
    k = scale.numbers.index("superheat_k")
    sizes = [abs(scale.inputs({"superheat_k": Seen(value=v)}, AT)[k]) for v in (5.0, 15.0, 30.0, 60.0)]
    assert sizes == sorted(sizes)
    # Drawn in: twice as far counts for less than twice as much.
    assert sizes[3] < 2.0 * sizes[2]


def test_a_condition_that_was_not_read_is_no_zero_degrees():
    blind = replace(AT, outdoor_c=math.nan)
    typical = replace(AT, outdoor_c=TYPICAL["outdoor_c"][0])
    assert surroundings(blind)[:2].tolist() == [0.0, 0.0]
    assert surroundings(typical)[:2].tolist() == [0.0, 1.0]


def test_an_unknown_feature_is_no_evidence():
    scale = ratios().scale
    assert scale.inputs({"filter_look": Seen(value="dirty")}, AT) == pytest.approx(scale.inputs({}, AT))
