from dataclasses import replace

import numpy as np
import pytest

from firstfrost.report.numbers import Numbers
from firstfrost.report.plots import plots
from firstfrost.report.thin import break_at_gaps, thin
from report import sample

US = Numbers("us", sample.ATMOSPHERE_PA)


def test_thinning_keeps_every_peak_and_the_ends():
    time_s = np.arange(86_400.0)
    values = np.sin(time_s / 900)
    values[40_123], values[70_001] = 9.0, -9.0
    x, y = thin(time_s, values, 900)
    assert len(x) <= 3600
    assert (y.max(), y.min()) == (9.0, -9.0)
    assert x[np.argmax(y)] == 40_123
    assert (x[0], x[-1]) == (0.0, 86_399.0)
    assert bool(np.all(np.diff(x) > 0))


def test_thinning_leaves_short_records_alone_and_keeps_gaps():
    time_s = np.arange(10.0)
    assert thin(time_s, time_s, 900)[0] is time_s
    time_s = np.arange(10_000.0)
    values = np.ones(10_000)
    values[3_000:4_000] = np.nan
    x, y = thin(time_s, values, 100)
    inside = (x > 3_100) & (x < 3_900)
    assert inside.any()
    assert np.isnan(y[inside]).all()


def test_lines_break_where_readings_are_missing():
    x, y = break_at_gaps(np.array([0.0, 1.0, 100.0, 101.0]), np.ones(4), 5.0)
    assert x.tolist() == [0.0, 1.0, 50.5, 100.0, 101.0]
    assert np.isnan(y).tolist() == [False, False, True, False, False]


@pytest.mark.parametrize("name", [*sample.VARIANTS, "long_day"])
def test_every_drawing_has_words_or_says_why_it_is_not_there(name):
    made = plots(getattr(sample, name)(), US, width_in=6.9)
    assert [plot.name for plot in made] == ["visit", "high", "sensor"]
    for plot in made:
        assert plot.note
        assert bool(plot.svg) == bool(plot.alt)
        assert "<script" not in plot.svg
        assert "http" not in plot.svg.replace("http://www.w3.org/", "")
    if name != "empty":
        assert all(plot.svg for plot in made)
    assert sum(len(plot.svg) for plot in made) < 900_000


def test_the_same_result_gives_the_same_drawing():
    first, second = (plots(sample.mild_day(), US, width_in=6.9) for _ in range(2))
    assert [plot.svg for plot in first] == [plot.svg for plot in second]


def test_records_with_next_to_nothing_can_be_drawn():
    base = sample.mild_day()
    for keep in (0, 1, 2):
        trace = replace(
            base.trace,
            time_s=base.trace.time_s[:keep],
            columns={name: values[:keep] for name, values in base.trace.columns.items()},
        )
        result = replace(base, trace=trace, cycle=sample.cycle_of(trace), phases=(), defrosts=(), marks=())
        for plot in plots(result, US, width_in=3.5):
            assert plot.note


def test_a_trace_of_power_alone_is_drawn():
    base = sample.empty()
    trace = replace(base.trace, columns={"power": np.full(90, 2000.0)})
    result = replace(base, trace=trace, cycle=sample.cycle_of(trace))
    visit = plots(result, US, width_in=6.9)[0]
    assert visit.svg
    assert "electric power [W]" in visit.alt
