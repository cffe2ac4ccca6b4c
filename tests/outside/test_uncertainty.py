"""Uncertainty against the worked examples of the guides. All values are from memory."""

import math

import numpy as np
import pytest

from firstfrost.instruments.accuracy import Accuracy
from firstfrost.instruments.budget import Value, combine
from firstfrost.instruments.decide import decide, guard_band, probability_below, probability_within


def test_gum_4_3_7_a_handbook_limit_as_a_rectangle():
    """JCGM 100:2008, 4.3.7 example 2: copper expands by 16.52e-6 +/- 0.40e-6 per degC, so u = 0.23e-6."""
    handbook = Accuracy(kind="ratio", absolute=0.40e-6)
    assert handbook.u(16.52e-6) == pytest.approx(0.23e-6, abs=0.005e-6)


def test_gum_f_2_2_1_a_digital_display():
    """JCGM 100:2008, F.2.2.1: a display that steps by d has u = 0.29 d."""
    assert Accuracy(kind="ratio", resolution=1.0).u(5.0) == pytest.approx(0.29, abs=0.005)


def test_gum_5_2_2_ten_resistors_compared_with_one_standard():
    """JCGM 100:2008, 5.2.2 example: ten of 1000 ohm, by one standard of u = 100 mohm, add to u = 1 ohm."""
    one = Value(value=1000.0, sources={"standard": 0.1})
    total = sum([one] * 9, one)
    assert total.value == pytest.approx(10_000.0)
    assert total.u == pytest.approx(1.0)
    apart = [Value(value=1000.0, sources={f"standard {i}": 0.1}) for i in range(10)]
    assert sum(apart[1:], apart[0]).u == pytest.approx(
        0.32, abs=0.005
    )  # the wrong answer that the guide warns of


def test_gum_h_1_end_gauge():
    """JCGM 100:2008, H.1: l = 50.000838 mm with u_c = 32 nm, from four sources."""
    standard = Value(value=50_000_623.0, sources={"calibration of the standard": 25.0})  # nm
    difference = Value(
        value=215.0, sources={"repeats": 5.8, "comparator, random": 3.9, "comparator, systematic": 6.7}
    )
    assert difference.u == pytest.approx(9.7, abs=0.05)
    # -l (d_alpha theta + alpha d_theta): both estimates are 0, so they bring uncertainty alone.
    expansion = Value(value=0.0, sources={"difference of expansion": 2.9})
    temperature = Value(value=0.0, sources={"difference of temperature": 16.6})
    length = standard + difference - expansion - temperature
    assert length.value == pytest.approx(50_000_838.0)
    assert length.u == pytest.approx(32.0, abs=0.5)


def test_gum_h_2_correlated_inputs():
    """JCGM 100:2008, H.2: R, X and Z from V, I and phase, whose errors are correlated.

    The correlations are made from independent sources, as a budget by source must be able to.
    """
    v, i, phase = 4.9990, 19.661e-3, 1.04446
    u = np.array([0.0032, 0.0095e-3, 0.00075])
    r = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])
    root = np.linalg.cholesky(r)
    inputs = [
        Value(value=x, sources={str(k): float(u[n] * root[n, k]) for k in range(3)})
        for n, x in enumerate((v, i, phase))
    ]
    z, cos, sin = v / i, math.cos(phase), math.sin(phase)
    slopes = {
        "R": (z * cos, [cos / i, -z * cos / i, -z * sin]),
        "X": (z * sin, [sin / i, -z * sin / i, z * cos]),
        "Z": (z, [1 / i, -z / i, 0.0]),
    }
    results = {name: combine(x, zip(inputs, slope, strict=True)) for name, (x, slope) in slopes.items()}
    for name, value, spread, tolerance in [
        ("R", 127.732, 0.071, 0.02),
        ("X", 219.847, 0.295, 0.01),
        ("Z", 254.260, 0.236, 0.01),
    ]:
        assert results[name].value == pytest.approx(value, abs=0.01)
        assert results[name].u == pytest.approx(spread, rel=tolerance)
    assert (inputs[0] / inputs[1]).u == pytest.approx(results["Z"].u)


@pytest.mark.parametrize(
    ("inside_by", "probability"), [(0.0, 0.5), (1.0, 0.8413), (1.645, 0.95), (2.0, 0.9772), (3.0, 0.99865)]
)
def test_jcgm_106_conformance_with_one_limit(inside_by, probability):
    """JCGM 106:2012, 7: normal probabilities; with w = U = 2 u the answer at the edge is right in 97.7 %."""
    assert probability_below(10.0 - 0.4 * inside_by, 0.4, 10.0) == pytest.approx(probability, abs=5e-5)


def test_jcgm_106_conformance_with_two_limits():
    """In the middle of limits 4 u apart: 95.45 %, the two-sided normal probability of 2 u."""
    assert probability_within(0.0, 1.0, low=-2.0, high=2.0) == pytest.approx(0.9545, abs=5e-5)


def test_iso_14253_1_guard_band():
    """ISO 14253-1:2017: 95 % conformance probability by default, so a guard band of 1.65 u on either side."""
    assert guard_band(1.0) == pytest.approx(1.65, abs=0.006)
    assert decide(probability_below(8.3, 1.0, 10.0)) == "holds"
    assert decide(probability_below(8.4, 1.0, 10.0)) == "cannot tell"
    assert decide(probability_below(11.6, 1.0, 10.0)) == "cannot tell"
    assert decide(probability_below(11.7, 1.0, 10.0)) == "fails"
