import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstfrost.instruments.decide import (
    decide,
    guard_band,
    probability_above,
    probability_below,
    probability_within,
)


def phi(z):
    return 0.5 * math.erfc(-z / math.sqrt(2))


def drawn(value, u, lag, n=1_000_000):
    rng = np.random.default_rng(11)
    return value + u * rng.standard_normal(n) - lag * rng.uniform(0.0, 1.0, n)


@pytest.mark.parametrize("lag", [0.0, 0.5, 2.0, 20.0, -3.0])
@pytest.mark.parametrize(("low", "high"), [(8.0, 11.0), (None, 11.0), (9.0, None), (None, None), (4.0, 4.5)])
def test_the_probability_against_drawn_errors(low, high, lag):
    x = drawn(10.0, 1.0, lag)
    inside = (x >= (-math.inf if low is None else low)) & (x <= (math.inf if high is None else high))
    p = probability_within(10.0, 1.0, low=low, high=high, lag=lag)
    assert p == pytest.approx(float(inside.mean()), abs=4 * 0.5 / math.sqrt(x.size))


@settings(deadline=None)
@given(
    value=st.floats(-20, 20),
    u=st.floats(0.1, 10),
    low=st.floats(-20, 0),
    width=st.floats(0, 20),
    lag=st.floats(-20, 20),
)
def test_the_closed_form_against_quadrature(value, u, low, width, lag):
    high = low + width
    nodes, weights = np.polynomial.legendre.leggauss(60)
    edges = np.linspace(0.0, lag, 11)
    s = (edges[:-1, None] + 0.5 * (edges[1] - edges[0]) * (1.0 + nodes)).ravel()
    inside = [phi((high - value + x) / u) - phi((low - value + x) / u) for x in s]
    total = float(np.dot(np.tile(weights, 10), inside)) / 20
    assert probability_within(value, u, low=low, high=high, lag=lag) == pytest.approx(total, abs=2e-6)


def test_a_small_lag_meets_none_without_a_jump():
    for u in (1.0, 1e-3):
        ps = [probability_within(0.0, u, high=0.7 * u, lag=lag * u) for lag in (0.0, 0.99e-4, 1.01e-4, 1e-3)]
        assert ps == sorted(ps)
        assert ps[2] - ps[1] == pytest.approx(0.312254 * 1e-6, rel=0.01)  # phi(0.7) by half the step in lag


def test_without_uncertainty_the_limit_itself_is_within():
    assert probability_below(10.0, 0.0, 10.0) == 1.0
    assert probability_below(10.1, 0.0, 10.0) == 0.0
    assert probability_above(10.0, 0.0, 10.0) == 1.0
    assert probability_within(10.0, 0.0, low=8.5, lag=2.0) == pytest.approx(0.75)
    assert probability_within(10.0, 0.0, low=8.5, high=9.0, lag=2.0) == pytest.approx(0.25)
    assert probability_within(10.0, 0.0, high=11.0, lag=-2.0) == pytest.approx(0.5)


def test_nothing_known_is_nothing_decided():
    p = probability_below(math.nan, 1.0, 10.0)
    assert math.isnan(p)
    assert decide(p) == "cannot tell"
    assert math.isnan(probability_within(1.0, 1.0, low=math.nan))


@pytest.mark.parametrize(
    ("p", "answer"),
    [
        (1.0, "holds"),
        (0.95, "holds"),
        (0.949, "cannot tell"),
        (0.5, "cannot tell"),
        (0.051, "cannot tell"),
        (0.05, "fails"),
        (0.0, "fails"),
    ],
)
def test_three_answers(p, answer):
    assert decide(p) == answer


def test_a_wider_uncertainty_never_turns_a_doubt_into_an_answer():
    for value in np.linspace(8.0, 12.0, 41):
        answers = [decide(probability_below(float(value), u, 10.0)) for u in (0.01, 0.1, 0.5, 1.0, 3.0)]
        doubts = [answer == "cannot tell" for answer in answers]
        assert doubts == sorted(doubts)


def test_the_guard_band_is_where_the_answer_turns():
    w = guard_band(0.5)
    assert decide(probability_below(10.0 - w - 1e-9, 0.5, 10.0)) == "holds"
    assert decide(probability_below(10.0 - w + 1e-9, 0.5, 10.0)) == "cannot tell"
    assert decide(probability_below(10.0 + w + 1e-9, 0.5, 10.0)) == "fails"


def test_what_makes_no_sense_is_refused():
    with pytest.raises(ValueError, match=r"A standard uncertainty is -1\. Expected 0 or more\."):
        probability_below(1.0, -1.0, 2.0)
    with pytest.raises(ValueError, match=r"The lower limit 3 lies above the upper limit 2\. Swap them\."):
        probability_within(1.0, 1.0, low=3.0, high=2.0)
    with pytest.raises(
        ValueError, match=r"The probability asked for is 0\.4\. Expected above 0\.5 and at most 1\."
    ):
        decide(0.9, at_least=0.4)
