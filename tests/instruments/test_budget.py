import math

import numpy as np
import pytest

from firstfrost.instruments.accuracy import parse_accuracy
from firstfrost.instruments.budget import Value, combine, mean_of, measured

PROBE = parse_accuracy("0.6 K", "temperature")


def test_two_instruments_add_in_quadrature():
    warm, cold = measured(20.0, PROBE, "a"), measured(5.0, PROBE, "b")
    assert (warm - cold).value == 15.0
    assert (warm - cold).u == pytest.approx(math.sqrt(2) * 0.6 / math.sqrt(3))


def test_one_instrument_used_twice_is_not_two():
    warm, cold = measured(20.0, PROBE, "a"), measured(5.0, PROBE, "a")
    assert (warm - cold).u == 0.0
    assert (warm + cold).u == pytest.approx(2 * warm.u)
    assert (warm - warm).u == 0.0


def test_arithmetic_with_plain_numbers():
    x = Value(value=4.0, sources={"a": 0.3, "b": -0.4})
    assert x.u == pytest.approx(0.5)
    assert x.expanded == pytest.approx(1.0)
    for y, value, u in [
        (x + 1, 5, 0.5),
        (1 + x, 5, 0.5),
        (x - 1, 3, 0.5),
        (1 - x, -3, 0.5),
        (2 * x, 8, 1.0),
        (x * -2, -8, 1.0),
        (x / 2, 2, 0.25),
        (-x, -4, 0.5),
    ]:
        assert y.value == pytest.approx(value)
        assert y.u == pytest.approx(u)


def test_a_function_by_its_slope():
    x = Value(value=100.0, sources={"a": 2.0})
    root = x.through(10.0, 0.5 / 10.0)
    assert root.u == pytest.approx(0.1)
    assert root.with_source("equation", 0.1).u == pytest.approx(math.sqrt(0.02))
    assert root.with_source("a", -0.1).u == pytest.approx(0.0)


def test_the_largest_source():
    x = Value(value=1.0, sources={"gauge": 3.0, "clamp": 4.0})
    name, part = x.largest()
    assert (name, part) == ("clamp", pytest.approx(16 / 25))
    assert Value(value=1.0).largest() is None


def test_a_mean_keeps_the_instruments_error_and_adds_the_scatter():
    readings = [measured(value, PROBE, "a") for value in (10.0, 11.0, 12.0)]
    mean = mean_of(readings, "scatter")
    assert mean.value == pytest.approx(11.0)
    assert mean.sources["a"] == pytest.approx(PROBE.u(11.0))
    assert mean.sources["scatter"] == pytest.approx(1.0 / math.sqrt(3))
    assert mean_of(readings[:1], "scatter").sources == readings[0].sources
    with pytest.raises(ValueError, match=r"There is no mean of no readings\."):
        mean_of([], "scatter")


@pytest.mark.parametrize("shared", [False, True])
def test_a_product_against_drawn_errors(shared):
    rng = np.random.default_rng(3)
    a = Value(value=50.0, sources={"m": 0.5})
    b = Value(value=20.0, sources={"m" if shared else "n": 0.3, "o": 0.1})
    draw = {name: rng.standard_normal(400_000) for name in "mno"}

    def drawn(x):
        return x.value + sum(part * draw[name] for name, part in x.sources.items())

    for result, sample in [
        (a * b, drawn(a) * drawn(b)),
        (a / b, drawn(a) / drawn(b)),
        (a - b, drawn(a) - drawn(b)),
        (combine(50.0 * 20.0**2, [(a, 400.0), (b, 2000.0)]), drawn(a) * drawn(b) ** 2),
    ]:
        assert result.u == pytest.approx(float(np.std(sample)), rel=0.01)
        assert result.value == pytest.approx(float(np.mean(sample)), rel=1e-3)
