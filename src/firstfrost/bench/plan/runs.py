"""One method on one simulated unit: what its gauges, its coil sensor and its clock would show."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.simulate import Act, Run, Setup, simulate
from firstfrost.bench.weather import Weather
from firstfrost.equipment.stop import StopLimit
from firstfrost.errors import OutOfRange

Way = Literal["natural", "fan-stopped", "coil-covered"]
WAYS: Final[tuple[Way, ...]] = ("natural", "fan-stopped", "coil-covered")
"""In order of preference."""
_ACT: Final[dict[Way, str]] = {"fan-stopped": "fan-lead-off", "coil-covered": "coil-covered"}

WAIT_S: Final = 60.0
"""From the sensor's closing to the defrost that the test pins start."""
PATIENCE_S: Final[dict[Way, float]] = {"natural": 1800.0, "fan-stopped": 600.0, "coil-covered": 600.0}
"""A coil sensor that has not closed by then is not waited for. Common practice, no source."""
BASE_S: Final = 600
"""Heating this long after a start counts as steady enough to read the gauges."""
LONGEST_INTERVAL_S: Final = 7200.0
"""A set interval beyond this is cut short by the test pins: a visit does not last longer."""

Failure = Literal["", "sensor", "pressure", "low", "high", "outside", "unended"]
"""Why a run does not do as a test: the coil sensor did not close; the high side met the stop limit while
heating; the low or high pressure switch stopped it; it left the tables; no defrost came or it did not end."""


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What one run would show, NaN if it did not come. Times in s, temperatures in degC, absolute Pa."""

    failure: Failure
    coldest_sensor_c: float = math.nan
    """Coil sensor, at the coldest before it closes or patience ends."""
    base_suction_pa: float = math.nan
    base_high_pa: float = math.nan
    closes_s: float = math.nan
    """After the call."""
    closing_suction_pa: float = math.nan
    closing_high_pa: float = math.nan
    lowest_suction_pa: float = math.nan
    """Up to the start of the defrost."""
    starts_s: float = math.nan
    """After the call."""
    frost_kg: float = math.nan
    """When the defrost starts."""
    lasts_s: float = math.nan
    ends_s: float = math.nan
    """After the call."""
    peak_pa: float = math.nan
    by_time: bool = False
    passes: bool = False
    """The peak passes the stop limit, or trips the high-pressure switch: a person ends it before that."""


def try_way(
    way: Way,
    plant: Plant,
    controls: Controls,
    sky: Weather,
    indoor_c: float,
    stop: StopLimit,
    *,
    through: bool = True,
    compiled: bool | None = None,
) -> Seen:
    """Start a rested unit, and go through one method.

    The test pins are stood in for by a short interval: with fan or air stopped `WAIT_S` after the sensor
    closes; with natural frost it is the board's own, at most `LONGEST_INTERVAL_S`.

    Parameters
    ----------
    way : str
        Of `WAYS`.
    plant, controls
        Of `spread`.
    sky : Weather
        One point: it stays as it is.
    indoor_c : float
        Held. [degC]
    stop : StopLimit
        To see what passes it.
    through : bool
        False: no longer than it takes to see whether the sensor closes.
    compiled : bool, optional
        As in `simulate`.
    """
    natural = way == "natural"
    patience = PATIENCE_S[way]
    wait = min(controls.interval_s, LONGEST_INTERVAL_S) if natural else WAIT_S
    acts = () if natural else (Act(time_s=0.0, act=_ACT[way]),)
    seconds = patience + (wait + controls.longest_s + 60.0 if through else 0.0)
    setup = Setup(
        plant=replace(plant, house_fixed=1.0),
        controls=replace(controls, interval_s=wait, reset_on_open=0.0, demand=0.0),
        weather=sky,
        acts=acts,
        duration_s=int(seconds),
        start="rest",
        house_c=indoor_c,
    )
    try:
        run = simulate(setup, compiled=compiled)
    except OutOfRange:
        return Seen(failure="outside")
    return _seen(run, patience, stop, through=through)


def _seen(run: Run, patience: float, stop: StopLimit, *, through: bool) -> Seen:
    suction, high = run.derived("p_suction"), run.derived("p_discharge")
    sensor = run.state("t_sensor")
    closes = next((t for t, value in run.switches("contact") if value == 1.0), math.inf)
    starts = next((t for t, value in run.switches("mode") if value == 3.0), math.inf)
    until = int(min(closes, patience, len(suction) - 1))
    seen = Seen(failure="", coldest_sensor_c=float(sensor[: until + 1].min()))
    if len(suction) > BASE_S and starts > BASE_S:
        seen = replace(seen, base_suction_pa=float(suction[BASE_S]), base_high_pa=float(high[BASE_S]))
    stopped = [(t, name) for name in ("low", "high") for t, value in run.switches(name) if value == 1.0]
    first, which = min(stopped, default=(math.inf, ""))
    if first < min(closes, patience):
        return replace(seen, failure="low" if which == "low" else "high")
    if float(high[: max(until, 1)].max()) >= stop.pressure_pa:
        return replace(seen, failure="pressure")
    if closes > patience:
        return replace(seen, failure="sensor")
    # A sensor that is cold enough at rest is closed before anything runs; the gauges are read a minute on.
    at = int(max(closes, 60.0)) if closes < 1.0 else int(closes)
    seen = replace(
        seen,
        closes_s=closes,
        closing_suction_pa=float(suction[at]),
        closing_high_pa=float(high[at]),
    )
    if not through:
        return seen
    if not math.isfinite(starts):
        return replace(seen, failure=_trip(which) or "unended")
    begin = int(starts)
    ends = next((t for t, value in run.switches("mode") if t > starts and value != 3.0), math.inf)
    seen = replace(
        seen,
        lowest_suction_pa=float(suction[min(at, begin) : begin + 1].min()),
        starts_s=starts,
        frost_kg=float(run.state("frost")[begin]),
    )
    if not math.isfinite(ends):
        return replace(seen, failure="unended")
    peak = float(high[begin : int(ends) + 2].max())
    by = run.board("ended_by")[min(int(ends) + 1, len(suction) - 1)]
    return replace(
        seen,
        lasts_s=ends - starts,
        ends_s=ends,
        peak_pa=peak,
        by_time=bool(by == 2.0),
        passes=bool(by == 3.0) or peak >= stop.pressure_pa,
    )


def _trip(which: str) -> Failure:
    if which == "low":
        return "low"
    return "high" if which == "high" else ""
