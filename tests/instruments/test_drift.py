"""Drift of a quantity, against SciPy's regression and the tables of Student's t."""

import numpy as np
import pytest
from scipy import optimize, stats

from firstfrost.instruments.drift import T95, drift


def test_the_factors_are_students():
    # JCGM 100:2008, table G.2, is t of 95 %; SciPy works it out.
    assert pytest.approx([stats.t.ppf(0.975, nu) for nu in range(1, len(T95) + 1)], abs=6e-4) == T95


def test_slope_and_its_uncertainty_are_those_of_a_weighted_fit():
    rng = np.random.default_rng(5)
    years = np.sort(rng.uniform(0, 12, 9))
    u = rng.uniform(0.1, 0.5, 9)
    values = 3.0 - 0.4 * years + rng.normal(0, 0.3 * u)
    got = drift(years, values, 2 * u)
    _, cov = optimize.curve_fit(lambda t, a, b: a + b * t, years, values, sigma=u, absolute_sigma=True)
    fit = np.polynomial.polynomial.polyfit(years, values, 1, w=1 / u)
    assert got.scatter < 1
    assert got.per_year == pytest.approx(fit[1], rel=1e-9)
    assert got.expanded == pytest.approx(2 * np.sqrt(cov[1, 1]), rel=1e-5)
    assert got.drifts


def test_where_the_values_scatter_more_the_scatter_decides():
    years = [0, 1, 2, 3, 4, 5]
    values = [1.0, 3.0, 0.5, 2.5, 1.5, 2.0]
    got = drift(years, values, [0.02] * 6)
    line = stats.linregress(years, values)
    assert got.expanded == pytest.approx(line.stderr * stats.t.ppf(0.975, 4), rel=1e-3)
    assert not got.drifts


def test_false_alarms_are_about_one_in_twenty():
    rng = np.random.default_rng(11)
    alarms = sum(
        drift(range(n), rng.normal(0, 0.5, n), [1.0] * n).drifts for n in (3, 4, 6) for _ in range(700)
    )
    # Above 1 the scatter decides, below it the stated worth: never far above 5 %.
    assert alarms / 2100 < 0.06


def test_too_few_or_all_at_once_is_no_answer():
    assert drift([0, 1], [1, 2], [1, 1]) is None
    assert drift([1, 1, 1], [1, 2, 3], [1, 1, 1]) is None
    with pytest.raises(ValueError, match="not above 0"):
        drift([0, 1, 2], [1, 2, 3], [1, 0, 1])
