"""The likelihood's arithmetic, held against SciPy and CoolProp; and what it does with what is missing."""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.stats import multivariate_t

from firstfrost.causes.compression import EFFICIENCY, compressed_c
from firstfrost.causes.conditions import Conditions, frosting, terms
from firstfrost.causes.model import case, log_likelihoods, log_t, mixed, model, parts
from firstfrost.causes.rank import none_log, rank
from firstfrost.causes.seen import Seen

AT = Conditions(
    outdoor_c=6.0, room_c=20.5, humidity=0.8, size_w=8800.0, fixed=0.0, forced=0.0, refrigerant="R-410A"
)


def usual(tables, at=AT, **moved):
    """Features of a sound machine, some of them moved."""
    phi, _ = terms(at)
    names = ("superheat_k", "subcooling_k", "evaporating_approach_k", "condensing_approach_k", "power_log")
    seen = {name: Seen(value=float(tables.expect[tables.numbers.index(name)] @ phi), u=0.5) for name in names}
    for name, by in moved.items():
        seen[name] = Seen(value=seen[name].value + by, u=0.5)
    return {**seen, "air_side": Seen(value="warms"), "fan_heating": Seen(value="turns")}


@pytest.mark.parametrize("nu", [4.0, 8.0])
def test_the_density_is_the_multivariate_t_of_scipy(nu):
    rng = np.random.default_rng(2)
    a = rng.standard_normal((4, 4))
    scale, x = a @ a.T + np.eye(4), rng.standard_normal((5, 4))
    ours = log_t(x, np.broadcast_to(scale, (5, 4, 4)), nu)
    assert ours == pytest.approx(multivariate_t(shape=scale, df=nu).logpdf(x), rel=1e-12)


def test_the_density_of_nothing_is_one():
    assert log_t(np.zeros((3, 0)), np.zeros((3, 0, 0)), 5.0).tolist() == [0.0, 0.0, 0.0]


def test_mixing_is_the_mean_of_densities_however_small():
    assert mixed(np.log(np.array([[0.2, 0.6]])))[0] == pytest.approx(math.log(0.4))
    assert mixed(np.array([[-2000.0, -2000.0]]))[0] == pytest.approx(-2000.0)


@pytest.mark.parametrize("ours", ["R-410A", "R-32", "R-134a", "R-22"])
def test_the_discharge_of_a_compression_is_that_of_coolprop(ours):
    theirs = ours.replace("-", "")
    low, high, k = -5.0, 40.0, 6.0
    p1, p2 = (PropsSI("P", "T", t + 273.15, "Q", 1, theirs) for t in (low, high))
    h1, s1 = (PropsSI(x, "P", p1, "T", low + k + 273.15, theirs) for x in "HS")
    h2 = h1 + (PropsSI("H", "P", p2, "S", s1, theirs) - h1) / EFFICIENCY
    t2 = PropsSI("T", "P", p2, "H", h2, theirs) - 273.15
    # The fits are worth 1 to 2 % of the work and of the superheat.
    assert compressed_c(ours, low_c=low, superheat_k=k, high_c=high) == pytest.approx(t2, abs=2.5)


def test_frosting_follows_the_published_coil_temperature():
    # EnergyPlus Engineering Reference: coil 0.82 * 1.667 - 8.589 = -7.22 degC; 0.00145 kg/kg at 82 % there.
    assert frosting(1.667, 0.82) == pytest.approx(1.45, abs=0.05)
    assert frosting(12.0, 0.9) == 0.0


def test_a_sound_machine_is_called_sound_and_a_starved_one_is_not():
    tables = model()
    ranking = rank(tables, case(tables, usual(tables), AT))
    assert ranking.answers[0].names == ("sound",)
    starved = usual(tables, evaporating_approach_k=22.0)
    starved["fan_heating"] = Seen(value="stands")
    ranking = rank(tables, case(tables, starved, AT))
    assert ranking.answers[0].names[0] in ("fan-relay-open", "outdoor-fan-weak")
    assert ranking.probability("sound") < 0.1


def test_probabilities_add_to_one_and_two_at_once_is_among_the_answers():
    tables = model()
    ranking = rank(tables, case(tables, usual(tables, superheat_k=5.0), AT))
    assert sum(one.probability for one in ranking.answers) == pytest.approx(1.0)
    assert sum(one.prior for one in ranking.answers) == pytest.approx(1.0)
    assert 0.0 < ranking.two < 1.0
    assert ranking.probability("none-of-these") > 0.0


def test_none_of_these_gains_on_the_listed_causes_when_the_true_one_is_off_the_list():
    tables = model()
    starved = {**usual(tables, evaporating_approach_k=22.0), "fan_heating": Seen(value="stands")}
    one = case(tables, starved, AT)
    known = rank(tables, one)
    off = ("fan-relay-open", "outdoor-fan-weak")
    unknown = rank(tables, one, without=off)
    assert unknown.lead > known.lead + 1.0
    assert not any(name in off for answer in unknown.answers for name in answer.names)
    assert sum(answer.probability for answer in unknown.answers) == pytest.approx(1.0)
    none, first = "none-of-these", [ranking.answers[0].probability for ranking in (known, unknown)]
    assert unknown.probability(none) / first[1] > known.probability(none) / first[0]


def test_without_readings_the_prior_stands():
    tables = model()
    ranking = rank(tables, case(tables, {}, AT))
    for one in ranking.answers:
        if len(one.names) == 1:
            # None of these is held below the causes that were learnt.
            told = none_log(0.0) if one.names == ("none-of-these",) else 0.0
            assert one.log_likelihood == pytest.approx(told, abs=1e-9)
    assert ranking.probability("sound") == pytest.approx(0.5, abs=0.02)


def test_a_condition_that_was_not_read_widens_every_number():
    tables = model()
    blind = Conditions(
        outdoor_c=math.nan, room_c=20.5, humidity=0.8, size_w=8800.0, fixed=0.0, forced=0.0,
        refrigerant="R-410A",
    )  # fmt: skip
    near, far = (case(tables, usual(tables), at) for at in (AT, blind))
    sound = [tables.index("sound")]
    tight, wide = (np.diagonal(parts(tables, one, sound).scales[0, 0]) for one in (near, far))
    assert (wide > tight).all()


def test_a_poor_instrument_says_less():
    tables = model()
    seen = usual(tables, superheat_k=8.0)
    poor = {**seen, "superheat_k": Seen(value=seen["superheat_k"].value, u=8.0)}
    one, two = (rank(tables, case(tables, which, AT)).probability("sound") for which in (seen, poor))
    assert two > one


def test_the_order_of_features_does_not_matter():
    tables = model()
    seen = usual(tables, subcooling_k=-5.0)
    turned = dict(reversed(list(seen.items())))
    a, b = (log_likelihoods(tables, case(tables, which, AT)) for which in (seen, turned))
    assert a == pytest.approx(b)
