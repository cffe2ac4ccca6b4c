"""The same heat from a fuel, or from resistance alone, at the user's prices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from firstfrost.season.money import KWH_J
from firstfrost.season.season import Season


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """Another way to heat the house over the same hours."""

    name: str
    """As in the prices file; empty for resistance."""
    cost: float
    """In the currency of the prices."""
    carbon_kg: float | None
    equal_cop: float
    """COP of the unit at which both cost the same, at the mean price of electricity."""
    below_c: float | None
    """It is cheaper than the unit below this outdoor temperature; None: nowhere. [degC]"""
    everywhere: bool = False
    """It is cheaper at any temperature."""


def alternatives(made: Season) -> tuple[Alternative, ...]:
    """Each fuel of the prices, then resistance; none without prices.

    The COP is that on the lines through the rating points with frost and defrost (`heating.rating_points`).
    """
    prices = made.prices
    if prices is None:
        return ()
    heat_kwh = made.heat_j / KWH_J
    mean = float(prices.price_kwh.mean())
    rows = []
    for fuel in prices.fuels:
        equal = mean / fuel.price_kwh if fuel.price_kwh > 0.0 else np.inf
        below, everywhere = _below(made, equal)
        rows.append(
            Alternative(
                name=fuel.name,
                cost=heat_kwh * fuel.price_kwh,
                carbon_kg=None if fuel.carbon_kwh is None else heat_kwh * fuel.carbon_kwh,
                equal_cop=equal,
                below_c=below,
                everywhere=everywhere,
            )
        )
    below, everywhere = _below(made, 1.0)
    carbon = None if prices.carbon_kwh is None else heat_kwh * float(prices.carbon_kwh.mean())
    rows.append(
        Alternative(
            name="",
            cost=heat_kwh * mean,
            carbon_kg=carbon,
            equal_cop=1.0,
            below_c=below,
            everywhere=everywhere,
        )
    )
    return tuple(rows)


def _below(made: Season, cop: float) -> tuple[float | None, bool]:
    """The warmest outdoor temperature at which the COP is below `cop`, and whether that is everywhere."""
    temps = np.linspace(-31.0, 17.0, 481)
    lines = made.prepared.lines
    known = np.asarray(lines.capacity_w(temps, frost=True)) / np.asarray(lines.power_w(temps, frost=True))
    below = np.flatnonzero(known < cop)
    if not len(below):
        return None, False
    warmest = float(temps[below[-1]])
    return warmest, warmest > 16.9
