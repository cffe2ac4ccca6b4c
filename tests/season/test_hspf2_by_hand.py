"""HSPF2 of two-speed and variable-speed units, worked bin by bin as on paper, without the library's code.

The procedure is 10 CFR 430 subpart B appendix M1, 4.2.3 (two capacities) and 4.2.4 (variable speed), with the
equation numbers of AHRI 210/240 (2023). Neither was at hand: steps and numbers are from memory and from open
code's names for them. Region IV: T_zl 55 degF, T_od 5 degF, C = 1.15, or 1.07 for a variable speed; fractions
from the published table. Btu/h, W and degF throughout; the made units have round numbers.
"""

from dataclasses import replace

import pytest

from firstfrost.quantities.constants import BTU_J
from firstfrost.season.hspf2 import FullSpeed, LowSpeed, Rated, hspf2
from firstfrost.season.points import Point
from firstfrost.season.regions import region

W = BTU_J / 3600.0
"""Watts in a Btu/h."""
IV = {
    52: 0.103, 47: 0.093, 42: 0.100, 37: 0.109, 32: 0.126, 27: 0.087, 22: 0.055, 17: 0.036, 12: 0.026,
    7: 0.013, 2: 0.006, -3: 0.002, -8: 0.001,
}  # fmt: skip
COOLING = 30000.0
"""Btu/h at 95 degF."""


def point(btu_h, watts):
    return Point(capacity_w=btu_h * W, power_w=watts)


FULL = {"h1": (30000.0, 2600.0), "h2": (24600.0, 2450.0), "h3": (18000.0, 2200.0)}


def full_at(t):
    """Full speed: H3 to H1 outside 17 to 45 degF, H3 to H2 within (11.117, 11.118): written out."""
    if 17 < t < 45:
        return 18000.0 + 6600.0 * (t - 17) / 18, 2200.0 + 250.0 * (t - 17) / 18
    return 18000.0 + 12000.0 * (t - 17) / 30, 2200.0 + 400.0 * (t - 17) / 30


TWO_SPEED = Rated(
    cooling_w=COOLING * W,
    full=FullSpeed(**{name: point(*at) for name, at in FULL.items()}),
    low=LowSpeed(
        h0=point(26000.0, 1500.0),
        h1=point(21500.0, 1400.0),
        h2=point(17000.0, 1350.0),
        h3=point(12500.0, 1250.0),
    ),
    cd=0.25,
)

# Each row: bin, load, low capacity, low power, full capacity, full power, by (11.134 to 11.140)
#   load  BL = (55 - T)/50 * 1.15 * 30000 = 690 (55 - T)
#   low   from 40 degF up 21500 + 300 (T - 47) and 1400 + 6.6667 (T - 47)
#         between         12500 + 250 (T - 17) and 1250 + 5.5556 (T - 17)
#         17 and below    12500 + 300 (T - 17) and 1250 + 5 (T - 17)
TWO_SPEED_BINS = (
    (52, 2070.0, 23000.0, 1433.33, 32000.0, 2666.67),
    (47, 5520.0, 21500.0, 1400.00, 30000.0, 2600.00),
    (42, 8970.0, 20000.0, 1366.67, 27166.67, 2547.22),
    (37, 12420.0, 17500.0, 1361.11, 25333.33, 2477.78),
    (32, 15870.0, 16250.0, 1333.33, 23500.0, 2408.33),
    (27, 19320.0, 15000.0, 1305.56, 21666.67, 2338.89),
    (22, 22770.0, 13750.0, 1277.78, 19833.33, 2269.44),
    (17, 26220.0, 12500.0, 1250.00, 18000.0, 2200.00),
    (12, 29670.0, 11000.0, 1225.00, 16000.0, 2133.33),
    (7, 33120.0, 9500.0, 1200.00, 14000.0, 2066.67),
    (2, 36570.0, 8000.0, 1175.00, 12000.0, 2000.00),
    (-3, 40020.0, 6500.0, 1150.00, 10000.0, 1933.33),
    (-8, 43470.0, 5000.0, 1125.00, 8000.0, 1866.67),
)


def test_two_speeds_bin_by_bin():
    """AHRI eq. 11.153 to 11.170.

    Down to 32 degF low cycles with off; at 27 degF low and full share; below full runs with backup heat.

    At 52 degF, say: X = 2070/23000 = 0.09, PLF = 1 - 0.25 (1 - 0.09) = 0.7725, e = 0.09 * 1433.33 / 0.7725
    = 167 W. At 27 degF: X_low = (21666.67 - 19320)/(21666.67 - 15000) = 0.352, e = 0.352 * 1305.56
    + 0.648 * 2338.89 = 1975 W.
    """
    top = bottom = 0.0
    kinds = []
    for t, load, q_low, p_low, q, p in TWO_SPEED_BINS:
        assert load == pytest.approx(690.0 * (55 - t))
        assert (q, p) == pytest.approx(full_at(t), rel=1e-5)
        backup = 0.0
        if load <= q_low:  # low speed cycles
            x = load / q_low
            power = x * p_low / (1.0 - 0.25 * (1.0 - x))
            kinds.append("low")
        elif load < q:  # 11.162 to 11.164: low and full share the time
            x_low = (q - load) / (q - q_low)
            power = x_low * p_low + (1.0 - x_low) * p
            kinds.append("both")
        else:  # full speed all the time, resistance for the rest
            power, backup = p, (load - q) * W
            kinds.append("full")
        if t in (52, 27):
            assert power == pytest.approx({52: 167.0, 27: 1975.2}[t], abs=0.3)
        top += IV[t] * load
        bottom += IV[t] * (power + backup)
    assert kinds == ["low"] * 5 + ["both"] + ["full"] * 7
    found = hspf2(TWO_SPEED, region("IV"))
    assert found.value == pytest.approx(top / bottom, rel=1e-5)


def test_two_speeds_that_cycle_full_with_off():
    """At 27 degF full cycles with off (11.165, 11.166): X = 19320/21666.67, no part of low in it."""
    shared = hspf2(TWO_SPEED, region("IV"))
    alone = hspf2(replace(TWO_SPEED, between="off and full"), region("IV"))
    x = 19320.0 / 21666.67
    at_27 = x * 2338.89 / (1.0 - 0.25 * (1.0 - x))
    apart = alone.power_w.sum() - shared.power_w.sum()
    assert apart == pytest.approx(0.087 * (at_27 - (0.352 * 1305.56 + 0.648 * 2338.89)), abs=0.02)


VARIABLE = Rated(
    cooling_w=COOLING * W,
    full=FullSpeed(**{name: point(*at) for name, at in FULL.items()}),
    low=LowSpeed(h0=point(15000.0, 900.0), h1=point(12000.0, 840.0)),
    middle=point(17100.0, 1500.0),
    cd=0.25,
)

# Low speed, straight through H0 and H1: 12000 + 200 (T - 47) and 840 + 4 (T - 47)
#   at 35 degF 9600 Btu/h and 792 W.
# Intermediate, slopes weighted by where its point lies between low and full at 35 degF
#   N_Q = (17100 - 9600)/(24600 - 9600) = 0.5,        M_Q = 200 * 0.5 + 6600/18 * 0.5 = 283.3333 Btu/(h degF)
#   N_E = (1500 - 792)/(2450 - 792) = 0.427021,       M_E = 4 * 0.572979 + 250/18 * 0.427021 = 8.222758 W/degF
# Each row: bin, load = 642 (55 - T), low Q, low E, intermediate Q, intermediate E.
VARIABLE_BINS = (
    (52, 1926.0, 13000.0, 860.0, 21916.67, 1639.787),
    (47, 5136.0, 12000.0, 840.0, 20500.00, 1598.673),
    (42, 8346.0, 11000.0, 820.0, 19083.33, 1557.559),
    (37, 11556.0, 10000.0, 800.0, 17666.67, 1516.446),
    (32, 14766.0, 9000.0, 780.0, 16250.00, 1475.332),
    (27, 17976.0, 8000.0, 760.0, 14833.33, 1434.218),
    (22, 21186.0, 7000.0, 740.0, 13416.67, 1393.104),
    (17, 24396.0, 6000.0, 720.0, 12000.00, 1351.990),
    (12, 27606.0, 5000.0, 700.0, 10583.33, 1310.877),
    (7, 30816.0, 4000.0, 680.0, 9166.67, 1269.763),
    (2, 34026.0, 3000.0, 660.0, 7750.00, 1228.649),
    (-3, 37236.0, 2000.0, 640.0, 6333.33, 1187.535),
    (-8, 40446.0, 1000.0, 620.0, 4916.67, 1146.421),
)


def test_a_variable_speed_bin_by_bin():
    """AHRI eq. 11.177 to 11.206.

    Low cycles at 52, 47 and 42 degF; 37, 32 and 27 lie between speeds; below, full with backup heat.

    At 37 degF: COP_low = 10000/800 = 12.5 and COP_int = 17666.67/1516.446 = 11.650 Btu/(W h), straight in the
    load: COP = 12.5 - 0.850 * 1556/7666.67 = 12.3275, e = 11556/12.3275 = 937.4 W.
    """
    top = bottom = 0.0
    kinds = []
    for t, load, q_low, p_low, q_mid, p_mid in VARIABLE_BINS:
        assert load == pytest.approx((55 - t) / 50 * 1.07 * COOLING)
        assert q_mid == pytest.approx(17100.0 + 850.0 / 3.0 * (t - 35), rel=1e-6)
        q, p = full_at(t)
        backup = 0.0
        if load <= q_low:  # low speed cycles
            x = load / q_low
            power = x * p_low / (1.0 - 0.25 * (1.0 - x))
            kinds.append("low")
        elif load < q:  # COP straight in the load between two speeds
            if load <= q_mid:
                a, b, qa, qb = q_low / p_low, q_mid / p_mid, q_low, q_mid
                kinds.append("low to intermediate")
            else:
                a, b, qa, qb = q_mid / p_mid, q / p, q_mid, q
                kinds.append("intermediate to full")
            power = load / (a + (b - a) * (load - qa) / (qb - qa))
        else:  # full speed all the time, resistance for the rest
            power, backup = p, (load - q) * W
            kinds.append("full")
        if t == 37:
            assert power == pytest.approx(937.4, abs=0.2)
        top += IV[t] * load
        bottom += IV[t] * (power + backup)
    expected = ["low"] * 3 + ["low to intermediate"] * 2 + ["intermediate to full"] + ["full"] * 7
    assert kinds == expected
    assert hspf2(VARIABLE, region("IV")).value == pytest.approx(top / bottom, rel=1e-5)


def test_the_coldest_point_counts_above_the_full_capacity():
    """H4 at 5 degF, 14500 Btu/h and 2100 W: from 5 to 17 degF straight to H3, below with the slope H3 to H1.

    12 degF: 14500 + 3500 * 7/12 = 16541.67, 2100 + 100 * 7/12 = 2158.33; 7: 15083.33, 2116.67;
    2: 14500 - 400 * 3 = 13300, 2100 - 13.3333 * 3 = 2060; -3: 11300, 1993.33; -8: 9300, 1926.67.
    """
    plain = hspf2(VARIABLE, region("IV"))
    cold = hspf2(replace(VARIABLE, full=replace(VARIABLE.full, h4=point(14500.0, 2100.0))), region("IV"))
    rows = {12: (16541.67, 2158.33), 7: (15083.33, 2116.67), 2: (13300.0, 2060.0), -3: (11300.0, 1993.33),
            -8: (9300.0, 1926.67)}  # fmt: skip
    apart = 0.0
    for t, (capacity, power) in rows.items():
        q, p = full_at(t)
        apart += IV[t] * ((power - p) + (q - capacity) * W)
    found = cold.power_w.sum() + cold.backup_w.sum() - plain.power_w.sum() - plain.backup_w.sum()
    assert found == pytest.approx(apart, abs=0.005)
    assert apart < -1.0
