"""What the house needs, from a load calculation or from run time; the balance point; the coldest day.

The house's heat loss is taken as a straight line that ends at the zero-load temperature, where its own
gains are
enough: ``load(T) = UA (T_zero - T)``, and 0 above it. Sun, wind and a set-back thermostat scatter about it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from firstfrost.equipment.plates import House
from firstfrost.errors import InputError
from firstfrost.heating.student import quantile
from firstfrost.instruments.budget import COVERAGE, Value
from firstfrost.quantities.show import show

Floats = NDArray[np.float64]
Temps = TypeVar("Temps", float, Floats)
Curve = Callable[[Floats], Floats]
"""Capacity [W] over outdoor temperatures (n,) [degC], NaN where it is not known."""

DESIGN_LIMIT: Final = 0.20
"""Half-width of a design load, as a part: common practice, no source. Load calculations keep a margin, and
the house is rarely as drawn."""


@dataclass(frozen=True, kw_only=True)
class LoadLine:
    """A house's heat loss over outdoor temperature."""

    ua_w_k: float
    """[W/K]"""
    zero_load_c: float
    source: str

    def load_w(self, outdoor_c: Temps) -> Temps:
        """Load [W] at outdoor temperatures [degC], a float or (n,); never below 0."""
        out = self.ua_w_k * np.maximum(self.zero_load_c - outdoor_c, 0.0)
        return out if isinstance(outdoor_c, np.ndarray) else float(out)

    def load(self, outdoor_c: float) -> Value:
        """The load with its uncertainty, that of a design load."""
        value = self.load_w(outdoor_c)
        return Value(value=value, sources={"design load": DESIGN_LIMIT * value / math.sqrt(3.0)})


def load_line(house: House) -> LoadLine | None:
    """The line through the design load and zero at the zero-load temperature; None without a design load."""
    if house.design_load_w is None or house.design_temp_c is None:
        return None
    return LoadLine(
        ua_w_k=house.design_load_w / (house.zero_load_c - house.design_temp_c),
        zero_load_c=house.zero_load_c,
        source=(
            f"{show(house.design_load_w, 'kBtu/h')} at {show(house.design_temp_c, 'temperature')}, none at "
            f"{show(house.zero_load_c, 'temperature')}"
        ),
    )


class Load(Protocol):
    """A load with its uncertainty; `LoadLine` and `LoadFit` are such."""

    def load_w(self, outdoor_c: Temps) -> Temps:
        """Load. [W]."""

    def load(self, outdoor_c: float) -> Value:
        """Load with its uncertainty. [W]."""


@dataclass(frozen=True, kw_only=True)
class BalancePoint:
    """The outdoor temperature at which the unit's capacity is just the house's load."""

    temp_c: float | None
    """None where the two do not meet in the capacity's range: see `says`."""
    low_c: float | None
    high_c: float | None
    """Expanded uncertainty, k = 2, as the crossings of the load's and the capacity's outer bounds; None where
    they do not meet."""
    says: str


def balance_point(
    load: Load, capacity: Curve, *, coldest_c: float, warmest_c: float, capacity_u: float = 0.03
) -> BalancePoint:
    """Where capacity and load meet, coldest crossing first from the warm side.

    Parameters
    ----------
    load : Load
        Of the house.
    capacity : Curve
        Of the unit; with frost counted, as over whole cycles.
    coldest_c, warmest_c : float
        Range in which the capacity is known. [degC]
    capacity_u : float
        Standard uncertainty of the capacity, as a part.

    Raises
    ------
    InputError
        If the range is empty, or the capacity is not known in it.
    """
    if not coldest_c < warmest_c:
        raise InputError(
            f"The capacity is asked for from {coldest_c:g} to {warmest_c:g} degC. Expected a range from "
            "cold to warm."
        )
    t = np.linspace(warmest_c, coldest_c, 201)
    cap = capacity(t)
    known = np.isfinite(cap)
    if not known.any():
        raise InputError(
            f"The capacity is not known from {coldest_c:g} to {warmest_c:g} degC. Expected rating points "
            "or a "
            "maker's table there. See [ratings] and [maker] of the unit file."
        )
    t, cap = t[known], cap[known]
    need = np.array([load.load(float(x)) for x in t], dtype=object)
    mean = np.array([one.value for one in need])
    # Load and capacity err each in its own way: their difference's expanded uncertainty gives the two bounds.
    spread = COVERAGE * np.hypot(np.array([one.u for one in need]), capacity_u * cap)
    middle = _crossing(t, cap - mean)
    early = _crossing(t, cap - mean - spread)
    late = _crossing(t, cap - mean + spread)
    if middle is None:
        short = (cap - mean)[0] < 0.0
        where = show(float(t[0] if short else t[-1]), "temperature")
        says = (
            f"the load exceeds the capacity from {where} down"
            if short
            else f"the unit carries the house down to {where}"
        )
    else:
        says = f"capacity and load meet at {show(middle, 'temperature')}"
    return BalancePoint(temp_c=middle, low_c=late, high_c=early, says=says)


def _crossing(t: Floats, over: Floats) -> float | None:
    """The first temperature, from warm to cold, at which `over` falls through zero."""
    below = np.flatnonzero((over[1:] < 0.0) & (over[:-1] >= 0.0))
    if not len(below):
        return None
    i = int(below[0])
    return float(t[i] + (t[i + 1] - t[i]) * over[i] / (over[i] - over[i + 1]))


@dataclass(frozen=True, kw_only=True)
class Coverage:
    """How the unit carries the house at one outdoor temperature."""

    outdoor_c: float
    load_w: Value
    capacity_w: Value
    part: Value
    """Capacity over load. [ratio]"""
    backup_needed_w: Value
    """What backup heat must give, not below 0. [W]"""


def coverage(load: Load, capacity_w: Value, outdoor_c: float) -> Coverage:
    """Coverage at an outdoor temperature [degC], such as that of the design day.

    Raises
    ------
    InputError
        If the house has no load there.
    """
    need = load.load(outdoor_c)
    if not need.value > 0.0:
        raise InputError(
            f"The house has no load at {show(outdoor_c, 'temperature')}. Expected a temperature below the "
            "zero-load temperature. Look at [house] of the unit file."
        )
    short = need - capacity_w
    if short.value < 0.0:
        short = Value(value=0.0, sources=short.sources)
    return Coverage(
        outdoor_c=outdoor_c,
        load_w=need,
        capacity_w=capacity_w,
        part=capacity_w / need,
        backup_needed_w=short,
    )


FULL: Final = 0.97
"""A run fraction above this is taken as running all the time: the load is then anything from the capacity
up."""
NEAR_ZERO_K: Final = 3.0
"""Samples nearer than this to the zero-load temperature are left out: there the load is 0 on some days."""
FEWEST: Final = 8
NARROWEST_K: Final = 5.0
CAPACITY_U: Final = 0.08
"""Standard uncertainty of the capacity that run time is multiplied by, as a part, where no better one is
given: a rating, a unit a few years old, cycling losses. Common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class LoadFit:
    """A load line fitted to run time, with its confidence band.

    Notes
    -----
    ``u^2(T) = s^2 (1/n_eff + (T - mean)^2 / S_xx) + (u_capacity load)^2``, s the scatter about the line, S_xx
    that of the temperatures times n_eff / n. The band is for the mean load at T, not for a single day. The
    capacity's error is common to all samples and does not average out.
    """

    line: LoadLine
    n: int
    """Samples that the fit rests on."""
    n_effective: float
    """The same, less what neighbours in time repeat of each other."""
    scatter_w: float
    """About the line. [W]"""
    mean_c: float
    sxx_k2: float
    factor: float
    """Student's t over 2, so that k = 2 of `load` has 95 %."""
    capacity_u: float
    zero_load_c: Value
    ua_w_k: Value
    left_out: tuple[str, ...]

    def load_w(self, outdoor_c: Temps) -> Temps:
        """Load [W] at outdoor temperatures [degC]."""
        return self.line.load_w(outdoor_c)

    def load(self, outdoor_c: float) -> Value:
        """The mean load there, with the band as uncertainty; k = 2 covers 95 %."""
        value = self.line.load_w(outdoor_c)
        away = outdoor_c - self.mean_c
        fit = self.factor * self.scatter_w * math.sqrt(1.0 / self.n_effective + away * away / self.sxx_k2)
        sources = {"fit to run time": fit, "capacity by which run time counts": self.capacity_u * value}
        return Value(value=value, sources=sources)


def load_from_run_time(
    *,
    outdoor_c: Floats,
    run_fraction: Floats,
    capacity: Curve,
    backup_w: Floats | None = None,
    capacity_u: float = CAPACITY_U,
) -> LoadFit:
    """Estimate the load line from run time and weather.

    In a span of time the heat delivered is ``run fraction x capacity(T) + backup``, and over a day or more it
    is the load. Least squares through the samples in which the unit ran part of the time, or with backup heat
    counted, twice: once with all of them, then without those within 3 K of the zero-load temperature found.

    Parameters
    ----------
    outdoor_c : (n,) float64
        Mean outdoor temperature of each span. [degC]
    run_fraction : (n,) float64
        Part of the span in which the compressor heated, 0 to 1.
    capacity : Curve
        Heating capacity with frost and defrost counted.
    backup_w : (n,) float64, optional
        Mean power of backup heat in the span; without it spans of full run time are left out. [W]
    capacity_u : float
        Standard uncertainty of the capacity, as a part.

    Raises
    ------
    InputError
        If the arrays differ in length, a fraction lies outside 0 to 1, there are fewer than eight usable
        samples or less than 5 K between them, or the load does not fall with the outdoor temperature.

    Notes
    -----
    Assumed: one speed (a modulating unit's run time says nothing of its heat), a steady set point, and gains
    alike in cold and mild weather. Hours are poor samples, because the house stores heat: use days.
    Neighbours in time that repeat each other are allowed for by n_eff = n (1 - r) / (1 + r), with r the
    correlation of each residual with the next (Bayley and Hammersley 1946, first order, from memory).
    """
    t, fraction = np.asarray(outdoor_c, dtype=np.float64), np.asarray(run_fraction, dtype=np.float64)
    backup = np.full(t.shape, np.nan) if backup_w is None else np.asarray(backup_w, dtype=np.float64)
    if not t.shape == fraction.shape == backup.shape:
        raise InputError(
            f"Run time has {fraction.size} samples, and weather {t.size}. Expected one of each for each span."
        )
    bad = np.flatnonzero((fraction < 0.0) | (fraction > 1.0))
    if len(bad):
        raise InputError(
            f"The run fraction of sample {int(bad[0]) + 1} is {fraction[bad[0]]:g}. Expected 0 to 1, or 0 "
            "to 100 %. "
            "Check the unit of the column."
        )
    heat = fraction * capacity(t) + np.nan_to_num(backup)
    known = np.isfinite(heat)
    full = (fraction > FULL) & ~np.isfinite(backup)
    idle = fraction + np.nan_to_num(backup) <= 0.0
    use = known & ~full & ~idle
    left = []
    for what, which in (
        ("without a reading, or where the capacity is not known", ~known),
        ("at full run time without the backup heat's power", known & full),
        ("without any heating", known & idle),
    ):
        if which.any():
            left.append(f"{int(which.sum())} {what}")
    ua, zero = _fit(t[use], heat[use])
    near = use & (t > zero - NEAR_ZERO_K)
    if near.any() and (use & ~near).sum() >= FEWEST:
        use &= ~near
        left.append(f"{int(near.sum())} within {NEAR_ZERO_K:g} K of the zero-load temperature")
        ua, zero = _fit(t[use], heat[use])
    return _fitted(t[use], heat[use], ua, zero, capacity_u, tuple(left))


def _fit(t: Floats, heat: Floats) -> tuple[float, float]:
    """UA [W/K] and zero-load temperature [degC] of the least-squares line."""
    n, wide = len(t), float(np.ptp(t)) if len(t) else 0.0
    if n < FEWEST or wide < NARROWEST_K:
        raise InputError(
            f"There are {n} usable samples of run time over {wide * 1.8:.0f} degF of outdoor temperature. "
            "Expected "
            f"{FEWEST} or more over {NARROWEST_K * 1.8:.0f} degF or more. Log for longer, or give "
            "design_load under [house]."
        )
    away = t - t.mean()
    slope = float((away * heat).sum() / (away * away).sum())
    if not slope < 0.0:
        raise InputError(
            "The heat that the run time gives does not fall as it gets warmer outdoors. Expected a load "
            "that does. "
            "Check that the run time is of heating, and the outdoor temperature of the same hours."
        )
    return -slope, float(t.mean() - heat.mean() / slope)


def _fitted(
    t: Floats, heat: Floats, ua: float, zero: float, capacity_u: float, left: tuple[str, ...]
) -> LoadFit:
    n = len(t)
    residual = heat - ua * (zero - t)
    squares = float((residual**2).sum())
    again = float((residual[1:] * residual[:-1]).sum()) / squares if squares > 0.0 else 0.0
    again = min(max(again, 0.0), 0.95)
    n_eff = max(n * (1.0 - again) / (1.0 + again), 3.0)
    scatter = math.sqrt(squares / (n - 2))
    sxx = float(((t - t.mean()) ** 2).sum()) * n_eff / n
    factor = quantile(0.975, n_eff - 2.0) / COVERAGE
    mean = float(t.mean())
    u_zero = factor * scatter / ua * math.sqrt(1.0 / n_eff + (zero - mean) ** 2 / sxx)
    return LoadFit(
        line=LoadLine(ua_w_k=ua, zero_load_c=zero, source=f"run time of {n} spans"),
        n=n,
        n_effective=n_eff,
        scatter_w=scatter,
        mean_c=mean,
        sxx_k2=sxx,
        factor=factor,
        capacity_u=capacity_u,
        zero_load_c=Value(value=zero, sources={"fit to run time": u_zero}),
        ua_w_k=Value(
            value=ua,
            sources={
                "fit to run time": factor * scatter / math.sqrt(sxx),
                "capacity by which run time counts": capacity_u * ua,
            },
        ),
        left_out=left,
    )
