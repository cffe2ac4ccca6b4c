"""How a unit can be tested today: which methods work, what to expect of each, and how sure that is.

A band is the span of the runs of one method over the units of `spread`; its middle is their median. Of N
exchangeable units, a new one falls inside the span of the others with probability (N - 1) / (N + 1): 92 % for
24, if it is drawn as they were. What the bench itself gets wrong comes on top.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from firstfrost import __version__
from firstfrost.air.moist import dew_point_c, humidity_over_ice, humidity_ratio
from firstfrost.bench.plan.runs import PATIENCE_S, WAYS, Seen, Way, try_way
from firstfrost.bench.plan.spread import POINTS, spread, usual
from firstfrost.bench.plan.steps import Step, shows, steps
from firstfrost.bench.plan.words import BY_KEY, NEAR, NOT_NEEDED, OVER, TITLES, TOO_HOT, Verdict, reason
from firstfrost.bench.presets import RATED_W
from firstfrost.bench.weather import Weather
from firstfrost.equipment.stop import StopLimit, stop_limit
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.refrigerants import refrigerant

WARMEST_C: Final = 26.7
"""Above this (80 degF) no plan has a unit run in heating. Common practice, no source: makers' heating range
ends near 75 to 80 degF outdoors."""
HUMIDITY: Final = 0.7
"""Taken where no humidity is given."""
INDOOR_C: Final = 21.1
FROST_KG: Final = 0.25
"""Frost on a 2.5-ton coil that can be seen to clear: some 0.1 mm of it. Goes with the size; our judgement."""
SURE, UNLIKELY = 0.9, 0.1
"""A method works if so many of the runs do, and does not if no more than so many. Our judgement."""
OFTEN, MOSTLY = 0.1, 0.5
"""A method that works is near the limit if more than so many of its runs pass the stop limit, and may fail
if more than so many do. Our judgement."""
_PLAIN_RUNS: Final = 4
"""In plain Python, where a run takes seconds."""


@dataclass(frozen=True, kw_only=True)
class Band:
    """A number over the runs: least, median, greatest. Pressures absolute in Pa, times in s, masses in kg."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Method:
    """One way to test, and what it would be like today."""

    way: Way
    title: str
    verdict: Verdict
    why: str
    worked: int
    """Runs in which it worked."""
    runs: int
    expect: Mapping[str, Band]
    """`words.NUMBERS` over the runs in which it worked; without these, what was seen until it did not."""
    over_limit: int
    """Of these, runs whose peak passes the stop limit."""
    by_time: int
    """Of these, runs that the board's time limit ends."""
    frosted: int
    """Of these, runs with frost enough to be seen to clear."""
    shows: Mapping[str, str]
    """What it can show at best: function -> standing."""
    steps: tuple[Step, ...]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A unit, a day, and its methods in order of preference."""

    version: str
    unit: Unit
    outdoor_c: float
    humidity: float
    """Relative, as a weather report has it: over water also below freezing. [ratio]"""
    humidity_given: bool
    indoor_c: float
    dew_point_c: float
    """Frost point below freezing."""
    stop: StopLimit
    safety_class: str
    methods: tuple[Method, ...]
    runs: int
    compiled: bool

    @property
    def best(self) -> Method | None:
        """The first method that works, else the first that is near the limit, else the first that may."""
        for verdict in ("works", "near limit", "may fail"):
            for method in self.methods:
                if method.verdict == verdict:
                    return method
        return None


def make_plan(
    unit: Unit,
    *,
    outdoor_c: float,
    humidity: float | None = None,
    indoor_c: float = INDOOR_C,
    runs: int | None = None,
    compiled: bool | None = None,
) -> Plan:
    """Plan today's test of a unit.

    Parameters
    ----------
    unit : Unit
        As its file gives it.
    outdoor_c : float
        [degC]
    humidity : float, optional
        Relative, over water also below freezing; `HUMIDITY` if not given. [ratio]
    indoor_c : float
        [degC]
    runs : int, optional
        Simulated units, up to 24, which is the default with Numba; 4 without.
    compiled : bool, optional
        As in `simulate`.

    Raises
    ------
    InputError
        The weather, the indoor air or the unit is outside what the bench is made for.
    """
    if not -35.0 <= outdoor_c <= 45.0:
        raise InputError(
            f"The outdoor air is {outdoor_c:.1f} degC ({outdoor_c * 1.8 + 32:.0f} degF). "
            "Expected -35 to 45 degC (-31 to 113 degF). Check --outdoor and its unit."
        )
    if not 5.0 <= indoor_c <= 35.0:
        raise InputError(
            f"The indoor air is {indoor_c:.1f} degC ({indoor_c * 1.8 + 32:.0f} degF). "
            "Expected 5 to 35 degC (41 to 95 degF). Check --indoor and its unit."
        )
    if humidity is not None and not 0.0 < humidity <= 1.0:
        raise InputError(
            f"The humidity is {humidity * 100:g} %. Expected above 0 and up to 100 %. Check --humidity."
        )
    if compiled is None:
        from importlib.util import find_spec

        compiled = find_spec("numba") is not None
    count = runs or (POINTS + 1 if compiled else _PLAIN_RUNS)
    wet = HUMIDITY if humidity is None else humidity
    over_ice = min(float(humidity_over_ice(outdoor_c, wet)), 1.0)
    atmosphere = unit.site.atmosphere_pa
    ratio = float(humidity_ratio(outdoor_c, over_ice, atmosphere))
    sky = Weather(temps_c=np.array([outdoor_c]), humidity_ratios=np.array([ratio]))
    stop = stop_limit(unit)
    usual(unit)
    if outdoor_c > WARMEST_C:
        methods = tuple(_not_today(way) for way in WAYS)
    else:
        day = _Day(unit, sky, indoor_c, stop, count, compiled)
        methods = day.methods()
    return Plan(
        version=__version__,
        unit=unit,
        outdoor_c=outdoor_c,
        humidity=wet,
        humidity_given=humidity is not None,
        indoor_c=indoor_c,
        dew_point_c=float(dew_point_c(outdoor_c, over_ice)),
        stop=stop,
        safety_class=refrigerant(unit.refrigerant).safety_class,
        methods=methods,
        runs=0 if outdoor_c > WARMEST_C else count,
        compiled=compiled,
    )


def _not_today(way: Way, why: str = TOO_HOT) -> Method:
    return Method(
        way=way, title=TITLES[way], verdict="no", why=why, worked=0, runs=0, expect={},
        over_limit=0, by_time=0, frosted=0, shows={}, steps=(),
    )  # fmt: skip


class _Day:
    """One unit on one day."""

    def __init__(
        self, unit: Unit, sky: Weather, indoor_c: float, stop: StopLimit, count: int, compiled: bool
    ) -> None:
        self.unit, self.sky, self.indoor_c, self.stop = unit, sky, indoor_c, stop
        self.units = spread(unit, count)
        self.compiled = compiled
        self.frost_kg = FROST_KG * (unit.nominal_capacity_w or RATED_W) / RATED_W

    def methods(self) -> tuple[Method, ...]:
        natural = self.method("natural", {})
        closes = natural.expect.get("closes_s")
        base = {key: natural.expect[key] for key in _BASE if key in natural.expect}
        if closes and closes.middle < 1.0 and natural.verdict != "no":
            return natural, *(_not_today(way, NOT_NEEDED) for way in WAYS[1:])
        return natural, *(self.method(way, base) for way in WAYS[1:])

    def method(self, way: Way, base: Mapping[str, Band]) -> Method:
        """One method; `base`: what the gauges show in steady heating, where that is known already."""
        seen = self._runs(way, through=way != "natural")
        expect = {**_bands(seen, ("coldest_sensor_c",)), **(base or _bands(seen, _BASE))}
        if way == "natural" and sum(not one.failure for one in seen) > UNLIKELY * len(seen):
            seen = self._runs(way, through=True)
        worked = [one for one in seen if not one.failure]
        part = len(worked) / len(seen)
        verdict: Verdict = "works" if part >= SURE else "no" if part <= UNLIKELY else "may fail"
        failures = Counter(one.failure for one in seen if one.failure)
        why = reason(failures.most_common(1)[0][0], PATIENCE_S[way]) if failures else ""
        kept = worked if verdict != "no" else []
        over = sum(one.passes for one in kept)
        if verdict == "works" and over > OFTEN * len(kept):
            verdict, why = ("may fail", OVER) if over > MOSTLY * len(kept) else ("near limit", NEAR)
        frosted = sum(one.frost_kg >= self.frost_kg for one in kept)
        return Method(
            way=way,
            title=TITLES[way],
            verdict=verdict,
            why=why,
            worked=len(worked),
            runs=len(seen),
            expect={**expect, **_bands(kept, tuple(BY_KEY)[3:])},
            over_limit=over,
            by_time=sum(one.by_time for one in kept),
            frosted=frosted,
            shows=shows(
                way,
                self.unit,
                frosted=2 * frosted > len(kept),
                closed_at_rest=2 * sum(one.closes_s < 1.0 for one in kept) > len(kept),
            )
            if kept
            else {},
            steps=steps(way, self.unit) if kept else (),
        )

    def _runs(self, way: Way, *, through: bool) -> list[Seen]:
        return [
            try_way(
                way, plant, controls, self.sky, self.indoor_c, self.stop,
                through=through, compiled=self.compiled,
            )
            for plant, controls in self.units
        ]  # fmt: skip


_BASE: Final = ("base_suction_pa", "base_high_pa")


def _bands(seen: Sequence[Seen], keys: tuple[str, ...]) -> dict[str, Band]:
    out = {}
    for key in keys:
        values = [value for one in seen if math.isfinite(value := getattr(one, key))]
        if values:
            out[key] = Band(low=min(values), middle=statistics.median(values), high=max(values))
    return out
