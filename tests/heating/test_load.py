"""The house's load, by design or by run time; balance point; coverage; Student's t."""

import numpy as np
import pytest

from firstfrost.equipment.plates import House, RatingPoint, Ratings
from firstfrost.errors import DataError, InputError
from firstfrost.heating.load import (
    LoadLine,
    balance_point,
    coverage,
    load_from_run_time,
    load_line,
)
from firstfrost.heating.quantity_csv import sheet_from
from firstfrost.heating.rating_points import rating_lines
from firstfrost.heating.run_log import COLUMNS, read_run_log, run_log_from
from firstfrost.heating.student import quantile
from firstfrost.instruments.budget import Value

UA, ZERO = 220.0, 14.0
LINES = rating_lines(
    Ratings(
        points={
            47: RatingPoint(capacity_w=8000.0, power_w=2300.0),
            17: RatingPoint(capacity_w=4800.0, power_w=2000.0),
        }
    )
)


def capacity(outdoor_c):
    return LINES.capacity_w(outdoor_c, frost=True)


def test_the_load_line_of_a_design_load():
    line = load_line(House(design_load_w=9000.0, design_temp_c=-15.0, zero_load_c=13.0))
    assert line.ua_w_k == pytest.approx(9000 / 28)
    assert line.load_w(-15.0) == pytest.approx(9000)
    assert line.load_w(np.array([13.0, 20.0, -1.0])).tolist() == pytest.approx([0.0, 0.0, 4500.0])
    assert line.load(-15.0).u == pytest.approx(9000 * 0.2 / 3**0.5)
    assert line.source == "30.71 kBtu/h at 5.0 degF, none at 55.4 degF"
    assert load_line(House(design_load_w=9000.0)) is None


def straight(outdoor_c):
    return 5000.0 + 100.0 * outdoor_c


def test_the_balance_point_of_two_straight_lines_by_hand():
    """220 (14 - T) = 5000 + 100 T at T = (3080 - 5000) / 320 = -6 degC."""
    line = LoadLine(ua_w_k=UA, zero_load_c=ZERO, source="x")
    found = balance_point(line, straight, coldest_c=-30.0, warmest_c=17.0, capacity_u=0.0)
    assert found.temp_c == pytest.approx(-6.0, abs=1e-6)
    # the load's bounds: factor 1 +- 2 x 0.2 / sqrt(3)
    for factor, bound in ((1 + 0.4 / 3**0.5, found.high_c), (1 - 0.4 / 3**0.5, found.low_c)):
        by_hand = (factor * UA * ZERO - 5000) / (factor * UA + 100)
        assert bound == pytest.approx(by_hand, abs=0.01)
    assert found.low_c < found.temp_c < found.high_c
    assert found.says == "capacity and load meet at 21.2 degF"


def test_where_the_two_do_not_meet():
    small = LoadLine(ua_w_k=50.0, zero_load_c=ZERO, source="x")
    found = balance_point(small, straight, coldest_c=-25.0, warmest_c=17.0)
    assert found.temp_c is None
    assert found.says == "the unit carries the house down to -13.0 degF"
    big = LoadLine(ua_w_k=3000.0, zero_load_c=ZERO, source="x")
    found = balance_point(big, straight, coldest_c=-25.0, warmest_c=5.0)
    assert found.says == "the load exceeds the capacity from 41.0 degF down"
    with pytest.raises(InputError, match=r"^The capacity is not known from -90 to -80 degC\."):
        balance_point(big, capacity, coldest_c=-90.0, warmest_c=-80.0)


def test_coverage_on_the_design_day():
    line = LoadLine(ua_w_k=UA, zero_load_c=ZERO, source="x")
    day = coverage(line, Value(value=4000.0, sources={"c": 200.0}), -15.0)
    assert day.load_w.value == pytest.approx(6380)
    assert day.part.value == pytest.approx(4000 / 6380)
    assert day.backup_needed_w.value == pytest.approx(2380)
    assert day.backup_needed_w.u == pytest.approx(np.hypot(200, 6380 * 0.2 / 3**0.5))
    assert coverage(line, Value(value=9000.0), -15.0).backup_needed_w.value == 0.0
    with pytest.raises(InputError, match=r"^The house has no load at 68\.0 degF\."):
        coverage(line, Value(value=4000.0), 20.0)


def winter(seed, days=90, scatter_w=500.0, repeat=0.0, backup=True, mild=4.0):
    """Days of a known house: weather, noise that may repeat from day to day, run time, backup heat."""
    rng = np.random.default_rng(seed)
    outdoor = mild + 6.0 * np.sin(np.arange(days) / 9.0) + rng.normal(0.0, 3.0, days)
    noise = np.zeros(days)
    fresh = rng.normal(0.0, scatter_w * np.sqrt(1 - repeat**2), days)
    noise[0] = rng.normal(0.0, scatter_w)
    for i in range(1, days):
        noise[i] = repeat * noise[i - 1] + fresh[i]
    heat = np.maximum(UA * np.maximum(ZERO - outdoor, 0.0) + noise, 0.0)
    full = capacity(outdoor)
    fraction = np.minimum(heat / full, 1.0)
    return outdoor, fraction, np.maximum(heat - full, 0.0) if backup else None


def test_a_house_without_scatter_is_found_exactly():
    outdoor, fraction, backup = winter(1, scatter_w=0.0)
    fit = load_from_run_time(outdoor_c=outdoor, run_fraction=fraction, capacity=capacity, backup_w=backup)
    assert fit.ua_w_k.value == pytest.approx(UA, rel=1e-9)
    assert fit.zero_load_c.value == pytest.approx(ZERO, abs=1e-9)
    assert fit.load_w(-5.0) == pytest.approx(UA * 19)


@pytest.mark.parametrize(("repeat", "least"), [(0.0, 0.91), (0.5, 0.86)])
def test_the_band_covers_the_true_load(repeat, least):
    """The band holds the true mean load in about 95 % of winters, also where one day repeats the last.

    n_eff from so few days is itself uncertain, so with memory a little less: 91 % were seen, and 81 % where
    all days are taken as fresh.
    """
    held = total = 0
    for seed in range(200):
        outdoor, fraction, backup = winter(seed, repeat=repeat, days=60)
        fit = load_from_run_time(
            outdoor_c=outdoor, run_fraction=fraction, capacity=capacity, backup_w=backup, capacity_u=0.0
        )
        for temp_c in (-8.0, 0.0, 6.0):
            held += abs(fit.load(temp_c).value - UA * (ZERO - temp_c)) <= fit.load(temp_c).expanded
            total += 1
    assert least <= held / total <= 0.99


def test_without_backup_power_full_days_do_not_pull_the_line_down():
    outdoor, fraction, _ = winter(5, mild=-3.0, backup=False)
    assert (fraction > 0.97).sum() >= 5
    fit = load_from_run_time(outdoor_c=outdoor, run_fraction=fraction, capacity=capacity)
    assert fit.ua_w_k.value == pytest.approx(UA, rel=0.12)
    assert fit.left_out[0].endswith("at full run time without the backup heat's power")
    assert fit.ua_w_k.sources["capacity by which run time counts"] == pytest.approx(0.08 * fit.ua_w_k.value)


def test_run_time_that_says_nothing_is_refused():
    outdoor, fraction, _ = winter(5)
    with pytest.raises(InputError, match=r"^There are 6 usable samples of run time over"):
        load_from_run_time(outdoor_c=outdoor[:7], run_fraction=fraction[:7], capacity=capacity)
    with pytest.raises(InputError, match=r"^The heat that the run time gives does not fall"):
        load_from_run_time(outdoor_c=outdoor, run_fraction=1.0 - 0.9 * fraction, capacity=capacity)
    with pytest.raises(InputError, match=r"^Run time has 3 samples, and weather 90\."):
        load_from_run_time(outdoor_c=outdoor, run_fraction=fraction[:3], capacity=capacity)
    with pytest.raises(InputError, match=r"^The run fraction of sample 1 is [0-9.]+\. Expected 0 to 1"):
        load_from_run_time(outdoor_c=outdoor, run_fraction=100 * fraction + 2, capacity=capacity)


def test_a_log_of_run_time(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        "date,outdoor_air_temp [degF],run_fraction [%],backup_energy [kWh],hours [h]\n"
        "2026-01-03,20,75,12,\n2026-01-04,30,50,,24\n2026-01-05,32,25,1,12\n"
    )
    log = read_run_log(path)
    assert log.run_fraction.tolist() == [0.75, 0.5, 0.25]
    assert log.backup_w[[0, 2]].tolist() == pytest.approx([500.0, 1000 / 12])
    assert np.isnan(log.backup_w[1])
    path.write_text("outdoor_air_temp [degF],run_fraction [1]\n20,0.4\n30,60\n")
    with pytest.raises(
        DataError, match=r"^log\.csv, row 3, column run_fraction is 6000 %\. Expected 0 to 100 %"
    ):
        read_run_log(path)
    bad = "outdoor_air_temp [degC],run_fraction [%],backup_energy [kWh],hours [h]\n1,2,3,0\n"
    with pytest.raises(DataError, match=r"^x, row 2, column hours is 0 h\."):
        run_log_from(sheet_from(bad, COLUMNS, source="x"))


@pytest.mark.parametrize("degrees", [1.0, 1.5, 2.0, 3.7, 10.0, 58.0, 1000.0, 10_000.0])
@pytest.mark.parametrize("probability", [0.6, 0.9, 0.975, 0.999])
def test_students_t_is_scipys(degrees, probability):
    stats = pytest.importorskip("scipy.stats")
    assert quantile(probability, degrees) == pytest.approx(stats.t.ppf(probability, degrees), rel=1e-4)


def test_students_t_where_it_is_not_meant():
    with pytest.raises(ValueError, match=r"^t of 0\.4 at 5 degrees\."):
        quantile(0.4, 5.0)
