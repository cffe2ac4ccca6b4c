"""Directions of the likelihoods, held against signs from outside the bench.

Charge: the published heating-mode correlations as coded in HPXML (same family as NIST TN 1848), seen in code:
Y = 1 + (a1 + a3 T + a4 f) f with f the charge over nominal less 1 and T the outdoor temperature [degC]. The
other directions are the project's sign table for a unit with an expansion valve: physics reasoning, from
memory, held against no printed table.
"""

import math

import numpy as np
import pytest

from firstfrost.causes.conditions import Conditions
from firstfrost.causes.hypotheses import HYPOTHESES
from firstfrost.causes.model import model, severity_terms

AT = Conditions(
    outdoor_c=8.33, room_c=21.1, humidity=0.73, size_w=8800.0, fixed=0.0, forced=0.0, refrigerant="R-410A"
)
LOW = {"q": (-0.0338595, 0.0202827, -2.6226343), "cop": (0.0615649, 0.0044554, -0.2598507)}
HIGH = {"q": (-0.0029514, 0.0007379, -0.0064112), "cop": (-0.0594134, 0.0159205, 1.8872153)}


def published(f, outdoor_c):
    """Capacity and power over those at nominal charge."""
    table = LOW if f <= 0.0 else HIGH
    a, p = table["q"], table["cop"]
    capacity = 1.0 + (a[0] + a[1] * outdoor_c + a[2] * f) * f
    power = 1.0 + (p[0] + p[1] * outdoor_c + p[2] * f) * f
    return capacity, power


def test_the_correlation_as_typed_gives_the_figures_on_record():
    assert published(-0.3, 8.33) == (pytest.approx(0.723, abs=1e-3), pytest.approx(0.947, abs=1e-3))
    assert published(0.3, 8.33)[1] == pytest.approx(1.192, abs=1e-3)


def shift(name, feature, severity, at=AT):
    """What a cause moves a number by, at a severity and against its spread."""
    tables = model()
    h, k = tables.index(name), tables.numbers.index(feature)
    return float(severity_terms(np.array([severity]), at)[0] @ tables.means[h][:, k])


@pytest.mark.parametrize("f", [-0.2, -0.3])
def test_low_charge_takes_capacity_and_power_down_as_published(f):
    capacity, power = published(f, 8.33)
    assert math.log(capacity) < 0.0
    assert shift("charge-low", "capacity_air_log", -f) < 0.0
    assert math.log(power) < 0.0
    assert shift("charge-low", "power_log", -f) < 0.0


@pytest.mark.parametrize("f", [0.2, 0.3])
def test_high_charge_takes_power_up_as_published(f):
    assert math.log(published(f, 8.33)[1]) > 0.0
    assert shift("charge-high", "power_log", f) > 0.0


SIGNS = [
    (row.name, sign.feature, sign.way)
    for row in HYPOTHESES.values()
    for sign in row.signs
    if sign.way != "same"
]


NOT_BORNE_OUT = {
    ("liquid-line-restricted", "condensing_approach_k"),
    ("check-valve-stuck-shut", "defrost_length_log"),
    ("drain-blocked", "evaporating_approach_k"),
    # On the bench a gauge that reads high at rest stays below the room, where a sound one may be.
    ("suction-gauge-zero-off", "rest_low_k"),
}
"""Signs from memory that runs of the bench neither show nor deny: the likelihood leaves the number alone."""
OTHER_WAY = {
    # With a fixed orifice the coil gets colder, as the sign says (by 11 K where half of the charge is gone).
    # An expansion valve opens, less heat is taken up, and it gets 2 K warmer: most machines have one.
    ("charge-low", "evaporating_approach_k"),
}
"""Where the bench goes the other way, by less than sound machines differ."""


@pytest.mark.parametrize(("name", "feature", "way"), SIGNS)
def test_each_sign_of_a_row_is_the_way_the_likelihood_goes(name, feature, way):
    """Signs from memory against the bench: where they part it is written down, and the list is exact."""
    tables = model()
    h, k = tables.index(name), tables.numbers.index(feature)
    moved = shift(name, feature, float(tables.severities[h, -1]))
    assert (moved == 0.0) == ((name, feature) in NOT_BORNE_OUT)
    if moved != 0.0:
        agrees = (moved > 0.0) == (way == "up")
        assert agrees == ((name, feature) not in OTHER_WAY)
        assert agrees or abs(moved) < tables.spreads[0, 0, k]
