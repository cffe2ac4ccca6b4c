"""Measured numbers, limits and margins as text in the reader's units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from firstfrost.proofs.finding import Evidence, Limit, Measured
from firstfrost.quantities.convert import from_si
from firstfrost.quantities.show import System, places_for, show, show_measured, show_time
from firstfrost.quantities.units import unit as unit_of

KINDS: Final[dict[str, str]] = {
    "degC": "temperature",
    "K": "temperature_difference",
    "Pa": "pressure",
    "V": "voltage",
    "A": "current",
    "W": "power",
    "s": "time",
    "1": "ratio",
    "m3/s": "flow",
    "W/W": "1",
    "Pa/Pa": "1",
    "count": "1",
}
"""What a unit in memory measures, or the unit it is shown in; Pa is an absolute pressure, shown as a gauge
would."""

_APART: Final[dict[str, dict[System, tuple[str, int]]]] = {
    "degC": {"us": ("delta_degF", 1), "si": ("delta_degC", 1)},
    "K": {"us": ("delta_degF", 1), "si": ("delta_degC", 1)},
    "Pa": {"us": ("psi", 0), "si": ("kPa", 0)},
    "V": {"us": ("V", 1), "si": ("V", 1)},
    "A": {"us": ("A", 2), "si": ("A", 2)},
    "W": {"us": ("W", 0), "si": ("W", 0)},
    "1": {"us": ("%", 1), "si": ("%", 1)},
    "m3/s": {"us": ("cfm", 0), "si": ("L/s", 0)},
    "W/W": {"us": ("1", 2), "si": ("1", 2)},
    "Pa/Pa": {"us": ("1", 2), "si": ("1", 2)},
    "count": {"us": ("1", 0), "si": ("1", 0)},
    "heat": {"us": ("Btu/h", 0), "si": ("W", 0)},
}
"""The unit of a distance between two values, and its usual decimals."""


_LONG_S: Final = 1200.0
"""From here on a time with an uncertainty is shown in minutes. [s]"""

_NEAR: Final = (0.02, 0.98)
"""Between these chances a number is near its limit, and that may be what is doubtful about it."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """A number and what it is held against, as far as they bear on the standing; else empty."""

    number: str = ""
    limit: str = ""
    margin: str = ""
    chance: float | None = None


class Numbers:
    """Text for numbers in one system of units at one site.

    Parameters
    ----------
    system : {"us", "si"}
    atmosphere_pa : float
        Taken off an absolute pressure, so that it reads as on the gauge. [Pa]
    """

    def __init__(self, system: System, atmosphere_pa: float) -> None:
        self.system = system
        self.atmosphere_pa = atmosphere_pa

    def value(self, value: float, unit: str, expanded: float | None = None) -> str:
        """`value` in memory's `unit`, with its uncertainty if given: `31.2 ± 1.6 °F`."""
        if not math.isfinite(value):
            return "not known"
        if unit == "s" and expanded and math.isfinite(expanded):
            return _time(value, expanded)
        if unit == "count":
            return f"{value:.0f}"
        return show_measured(
            value, expanded, self.kind(unit), self.system, atmosphere_pa=self.atmosphere_pa, symbols=True
        )

    def kind(self, unit: str) -> str:
        """What `unit` in memory is shown as: a kind, or a unit; `heat` is a power told in the trade's way."""
        if unit == "heat":
            return "Btu/h" if self.system == "us" else "W"
        return KINDS[unit]

    def bare(self, value: float, unit: str) -> str:
        """`value` without idle zeros, as a setting is written: `130 °F`."""
        if unit == "s":
            return show_time(value)
        text = show(value, self.kind(unit), self.system, atmosphere_pa=self.atmosphere_pa, symbols=True)
        number, _, word = text.partition(" ")
        if "." in number:
            number = number.rstrip("0").rstrip(".")
        return f"{number} {word}".rstrip()

    def measured(self, measured: Measured | None) -> str:
        """A measured number, or nothing."""
        return "" if measured is None else self.value(measured.value, measured.unit, measured.expanded)

    def limit(self, limit: Limit | None) -> str:
        """`25 to 35 °F`, `at most 130 °F`, `at least 2 A`, or nothing."""
        if limit is None or (limit.low is None and limit.high is None):
            return ""
        if limit.low is None:
            assert limit.high is not None
            return f"at most {self.bare(limit.high, limit.unit)}"
        if limit.high is None:
            return f"at least {self.bare(limit.low, limit.unit)}"
        low, high = self.bare(limit.low, limit.unit), self.bare(limit.high, limit.unit)
        number, _, word = low.partition(" ")
        if word == high.partition(" ")[2]:
            low = number
        return f"{low} to {high}"

    def apart(self, difference: float, unit: str, expanded: float | None = None) -> str:
        """The distance between two values, with the digits that its uncertainty deserves."""
        if unit == "s":
            return show_time(round(abs(difference)) if expanded else abs(difference))
        name, places = _APART[unit][self.system]
        if expanded and math.isfinite(expanded):
            places = places_for(expanded / unit_of(name).factor)
        return show(abs(difference), name, self.system, decimals=max(places, 0), symbols=True)

    def margin(self, evidence: Evidence) -> str:
        """`12.5 °F to spare`, or how far it lies above or below the limit, or nothing."""
        measured, limit = evidence.measured, evidence.limit
        if measured is None or limit is None or measured.unit != limit.unit:
            return ""
        if not math.isfinite(measured.value):
            return ""
        above = math.inf if limit.high is None else limit.high - measured.value
        below = math.inf if limit.low is None else measured.value - limit.low
        least = min(above, below)
        if not math.isfinite(least):
            return ""
        text = self.apart(least, measured.unit, measured.expanded)
        if least < 0:
            return f"{text} {'above' if above < below else 'below'}"
        return "at the limit" if re.fullmatch(r"0(\.0+)? \S+", text) else f"{text} to spare"

    def held(self, evidence: Evidence | None) -> Held:
        """What a summary says of `evidence`: nothing that speaks for a function which is not shown.

        Of a part that was out of circuit or not seen the number proves nothing; and where a function failed,
        or is in doubt, for a reason other than its number, that there was room to the limit is no comfort.
        """
        if evidence is None or evidence.measured is None or evidence.standing in ("unseen", "bypassed"):
            return Held()
        number, limit, margin = (
            self.measured(evidence.measured),
            self.limit(evidence.limit),
            self.margin(evidence),
        )
        if evidence.standing in ("failed", "doubtful") and not margin.endswith((" above", " below")):
            chance = evidence.probability
            if evidence.standing == "failed" or chance is None or not _NEAR[0] < chance < _NEAR[1]:
                return Held(number=number, limit=limit)
        return Held(number=number, limit=limit, margin=margin, chance=evidence.probability)

    def temperature(self, value_c: float, decimals: int = 0) -> str:
        """A temperature in whole degrees: `52 °F`."""
        return show(value_c, "temperature", self.system, decimals=decimals, symbols=True)

    def capacity(self, value_w: float) -> str:
        """A nominal capacity: `2.5 ton`, `8.79 kW`."""
        if self.system == "si":
            return show(value_w, "kW", decimals=2)
        number = show(value_w, "ton_refrigeration", decimals=2).partition(" ")[0]
        return f"{number.rstrip('0').rstrip('.')} ton"

    def length(self, value_m: float) -> str:
        """A height above the sea: `900 ft`."""
        return show(value_m, "length", self.system)

    def column(self, values: object, unit: str) -> object:
        """An array in memory's `unit` in the unit it is plotted in."""
        name = self.plot_unit(unit)
        if unit == "Pa":
            return from_si(values, name, "pressure", atmosphere_pa=self.atmosphere_pa)  # type: ignore[call-overload]
        kind = KINDS[unit]
        return from_si(values, name, kind)  # type: ignore[call-overload]

    def plot_unit(self, unit: str) -> str:
        """The unit an axis is drawn in."""
        us = self.system == "us"
        return {
            "degC": "degF" if us else "degC",
            "K": "delta_degF" if us else "delta_degC",
            "Pa": "psig" if us else "kPa(g)",
        }.get(unit, unit)


def _time(value_s: float, expanded_s: float) -> str:
    """`99 ± 1 s`, `39.1 ± 2.7 min`: no log's clock is worth more digits."""
    name, unit_s, most = ("min", 60.0, 1) if abs(value_s) >= _LONG_S else ("s", 1.0, 0)
    value, expanded = value_s / unit_s, abs(expanded_s) / unit_s
    places = min(places_for(expanded), most)
    shown = max(round(expanded, places), 10.0**-places)
    digits = max(places, 0)
    return f"{round(value, places) + 0.0:.{digits}f} ± {shown:.{digits}f} {name}"


def key_evidence(evidence: tuple[Evidence, ...], standing: str) -> Evidence | None:
    """The one occasion that stands for a finding: of its standing, with a number, and the least sure."""
    same = [item for item in evidence if item.standing == standing] or list(evidence)
    numbered = [item for item in same if item.measured is not None] or same
    if not numbered:
        return None
    return min(numbered, key=lambda item: 2.0 if item.probability is None else item.probability)
