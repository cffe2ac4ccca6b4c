"""A refrigerant's saturation properties, from tables made from CoolProp.

The tables lie beside this file (`tables.npz`); `scripts/make_refrigerant_tables.py` makes them. Reading them
takes NumPy and nothing else.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from firstfrost.errors import InputError
from firstfrost.refrigerants.curves import Curve, Floats
from firstfrost.refrigerants.lines import Line
from firstfrost.refrigerants.rows import ROWS, Row

TABLES = Path(__file__).with_name("tables.npz")
CURVES = ("temp", "pressure", "density", "enthalpy")
"""The curves of a line, in the order of the table file: the dew line's four, then the bubble line's four."""
REFRIGERANTS: tuple[str, ...] = tuple(row.name for row in ROWS)
"""The known refrigerants, sorted."""


@dataclass(frozen=True, kw_only=True)
class Refrigerant:
    """Saturation of one refrigerant; made by `refrigerant`.

    Pressures are absolute [Pa], temperatures [degC], densities [kg/m3]; enthalpies are only ever differences
    [J/kg], because the zero of an enthalpy is a convention. Superheat is measured from dew, subcooling from
    bubble; for a pure fluid the two are one. NaN gives NaN. Outside the valid range a single value raises
    `OutOfRange`, an array holds NaN there.

    Notes
    -----
    Cubic interpolation (`curves`) of CoolProp's values, within 0.001 K and 20 Pa of CoolProp over the whole
    range (measured: docs/refrigerants.md). What the equation of state itself is worth is `saturation_u_k`.
    """

    row: Row
    dew: Line
    bubble: Line
    critical_temp_c: float
    """Of CoolProp. [degC]"""
    critical_pressure_pa: float
    """Of CoolProp. [Pa]"""
    source: str
    """CoolProp's version, its name of the fluid, and the equation."""

    @property
    def name(self) -> str:
        """As the trade writes it: `R-410A`."""
        return self.row.name

    @property
    def is_blend(self) -> bool:
        """Whether it is a mixture, so that dew and bubble differ."""
        return self.row.is_blend

    @property
    def safety_class(self) -> str:
        """ASHRAE Standard 34 safety group, from memory: the label on the cylinder goes first."""
        return self.row.safety_class

    @property
    def lowest_temp_c(self) -> float:
        """Lower end of both lines, in degC."""
        return self.row.lowest_temp_c

    @property
    def highest_temp_c(self) -> float:
        """Upper end of both lines, some kelvin below the critical point, in degC."""
        return self.row.highest_temp_c

    @property
    def saturation_u_k(self) -> float:
        """Standard uncertainty [K] (k = 1) of saturation from the equation itself; see `row.worth`."""
        return self.row.saturation_u_k

    def dew_temp_c(self, pressure_pa: float) -> float:
        """Dew temperature at a pressure [Pa absolute], in degC."""
        return self.dew.temp_at(pressure_pa)

    def bubble_temp_c(self, pressure_pa: float) -> float:
        """Bubble temperature at a pressure [Pa absolute], in degC."""
        return self.bubble.temp_at(pressure_pa)

    def dew_pressure_pa(self, temp_c: float) -> float:
        """Dew pressure at a temperature [degC], in Pa absolute."""
        return self.dew.pressure_at(temp_c)

    def bubble_pressure_pa(self, temp_c: float) -> float:
        """Bubble pressure at a temperature [degC], in Pa absolute."""
        return self.bubble.pressure_at(temp_c)

    def dew_temps_c(self, pressures_pa: Floats) -> Floats:
        """Dew temperatures (n,) at pressures (n,) [Pa absolute]; NaN outside, in degC."""
        return self.dew.temps_at(pressures_pa)

    def bubble_temps_c(self, pressures_pa: Floats) -> Floats:
        """Bubble temperatures (n,) at pressures (n,) [Pa absolute]; NaN outside, in degC."""
        return self.bubble.temps_at(pressures_pa)

    def dew_pressures_pa(self, temps_c: Floats) -> Floats:
        """Dew pressures (n,) at temperatures (n,) [degC]; NaN outside, in Pa absolute."""
        return self.dew.pressures_at(temps_c)

    def bubble_pressures_pa(self, temps_c: Floats) -> Floats:
        """Bubble pressures (n,) at temperatures (n,) [degC]; NaN outside, in Pa absolute."""
        return self.bubble.pressures_at(temps_c)

    def dew_slope_k_per_pa(self, pressure_pa: float) -> float:
        """Slope dT/dp of the dew line at a pressure [Pa absolute], for carrying uncertainty, in K/Pa."""
        return self.dew.slope_at(pressure_pa)

    def bubble_slope_k_per_pa(self, pressure_pa: float) -> float:
        """Slope dT/dp of the bubble line at a pressure [Pa absolute], for carrying uncertainty, in K/Pa."""
        return self.bubble.slope_at(pressure_pa)

    def dew_slopes_k_per_pa(self, pressures_pa: Floats) -> Floats:
        """Slopes dT/dp (n,) of the dew line at pressures (n,) [Pa absolute]; NaN outside, in K/Pa."""
        return self.dew.slopes_at(pressures_pa)

    def bubble_slopes_k_per_pa(self, pressures_pa: Floats) -> Floats:
        """Slopes dT/dp (n,) of the bubble line at pressures (n,) [Pa absolute]; NaN outside, in K/Pa."""
        return self.bubble.slopes_at(pressures_pa)

    def glide_k(self, pressure_pa: float) -> float:
        """Dew less bubble temperature at one pressure [Pa absolute]; 0 for a pure fluid, in K."""
        return self.dew_temp_c(pressure_pa) - self.bubble_temp_c(pressure_pa)

    def vapor_density(self, temp_c: float) -> float:
        """Density of saturated vapor at its dew temperature [degC], in kg/m3."""
        return self.dew.at_temp(self.dew.density, temp_c)

    def liquid_density(self, temp_c: float) -> float:
        """Density of saturated liquid at its bubble temperature [degC], in kg/m3."""
        return self.bubble.at_temp(self.bubble.density, temp_c)

    def latent_heat(self, pressure_pa: float) -> float:
        """Enthalpy [J/kg] of saturated vapor less saturated liquid at one pressure [Pa absolute]."""
        vapor = self.vapor_enthalpy_above(self.dew_temp_c(pressure_pa))
        return vapor - self.liquid_enthalpy_above(self.bubble_temp_c(pressure_pa))

    def vapor_enthalpy_above(self, temp_c: float, liquid_temp_c: float = 0.0) -> float:
        """Enthalpy [J/kg] of saturated vapor at dew `temp_c` less saturated liquid at `liquid_temp_c`."""
        return self.dew.at_temp(self.dew.enthalpy, temp_c) - self._liquid(liquid_temp_c)

    def liquid_enthalpy_above(self, temp_c: float, liquid_temp_c: float = 0.0) -> float:
        """Enthalpy of saturated liquid at bubble `temp_c` less that at `liquid_temp_c`, in J/kg."""
        return self._liquid(temp_c) - self._liquid(liquid_temp_c)

    def _liquid(self, temp_c: float) -> float:
        return self.bubble.at_temp(self.bubble.enthalpy, temp_c)


def refrigerant(name: str) -> Refrigerant:
    """Find a refrigerant by name, however it is spaced or capitalised: `R-410A`, `r410a`, `R 410A`.

    Raises
    ------
    InputError
        The name is none of `REFRIGERANTS`.
    """
    plain = re.sub(r"[\s_-]", "", name).upper()
    for row in ROWS:
        if plain in (_plain(row), _plain(row)[1:]):
            return _loaded(row)
    raise InputError(
        f'Refrigerant "{name}" is not known. Known are {", ".join(REFRIGERANTS)}. '
        "Take the name from the unit's rating plate."
    )


def table_source(name: str | None = None) -> str:
    """What the tables were made from: CoolProp's version; with a `name`, that refrigerant's equation, too."""
    if name is not None:
        return refrigerant(name).source
    about = _about()
    return f"CoolProp {about['coolprop']}, tables of {about['nodes']} cubic nodes"


def _plain(row: Row) -> str:
    return row.name.replace("-", "").upper()


@cache
def _about() -> dict[str, Any]:
    with np.load(TABLES) as tables:
        about: dict[str, Any] = json.loads(tables["about"].tobytes())
    return about


@cache
def _loaded(row: Row) -> Refrigerant:
    about = _about()
    with np.load(TABLES) as tables:
        nodes = tables[row.name]
        grids = tables[f"{row.name}.grid"]
    curves = [Curve.through(values, start, step) for values, (start, step) in zip(nodes, grids, strict=True)]

    def line(called: str, four: list[Curve]) -> Line:
        return Line(
            called=f"{called if row.is_blend else 'saturation'} line of {row.name}",
            temp_low_c=row.lowest_temp_c,
            temp_high_c=row.highest_temp_c,
            **dict(zip(CURVES, four, strict=True)),
        )

    facts = about["refrigerants"][row.name]
    return Refrigerant(
        row=row,
        dew=line("dew", curves[:4]),
        bubble=line("bubble", curves[4:]),
        critical_temp_c=facts["critical_temp_c"],
        critical_pressure_pa=facts["critical_pressure_pa"],
        source=f"CoolProp {about['coolprop']}, {row.coolprop}: {row.equation}",
    )
