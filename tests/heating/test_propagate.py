import math

import pytest

from firstfrost.heating.propagate import propagate
from firstfrost.instruments.budget import Value


def test_a_product_carries_each_source_with_its_slope():
    x, y = Value(value=3.0, sources={"a": 0.1}), Value(value=5.0, sources={"b": 0.2})
    got = propagate(lambda p, q: p * q, x, y)
    assert got.value == 15.0
    assert got.sources["a"] == pytest.approx(0.5)
    assert got.sources["b"] == pytest.approx(0.6)


def test_one_source_in_two_inputs_cancels_in_their_difference():
    x, y = Value(value=3.0, sources={"a": 0.1}), Value(value=2.0, sources={"a": 0.1})
    assert propagate(lambda p, q: p - q, x, y).u == pytest.approx(0.0, abs=1e-12)


def test_where_the_function_has_no_value_there_is_none():
    x = Value(value=0.05, sources={"a": 0.1})
    assert propagate(lambda p: math.sqrt(p) if p >= 0 else math.nan, x) is None
    assert propagate(lambda p: math.nan, x) is None
