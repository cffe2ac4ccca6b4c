"""The board's settings against each other over a winter, and how sure their order is.

Each factor that the answer hangs on is moved to its two bounds, one at a time, with all settings run anew.
With d the lead of the best setting over another and d_low, d_high that lead at the bounds, the factor's
standard uncertainty is

    u = max |d_low - d|, |d_high - d|  / sqrt(3)                     (JCGM 100, rectangular, from memory)

and the lead's expanded uncertainty U = 2 sqrt(sum u^2). A lead below U is not more than its uncertainty.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from firstfrost.refrigerants.curves import Floats
from firstfrost.season.table import Driven, Table, drive, table
from firstfrost.season.winter import Case, Winters, winters
from firstfrost.weather.hours import Air

INTERVALS_S: Final = (1800.0, 3600.0, 5400.0, 7200.0)
"""Settings that boards offer: common practice, no source."""
BACK_UP_S: Final = 6 * 3600.0
DEMAND: Final = "demand"


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One way to set the board."""

    name: str
    """`30 min` ... or `demand`."""
    case: Case
    offered: bool
    """Whether this unit's board can be set so."""


def settings(case: Case) -> tuple[Setting, ...]:
    """The usual intervals, that of the unit if it is another, and demand control."""
    spans = sorted({*INTERVALS_S, *(() if case.demand else (case.interval_s,))})
    timed = [
        Setting(
            name=f"{span / 60.0:g} min",
            case=replace(case, interval_s=span, demand=False),
            offered=not case.demand,
        )
        for span in spans
    ]
    demand = replace(case, demand=True, interval_s=max(case.interval_s, BACK_UP_S))
    return (*timed, Setting(name=DEMAND, case=demand, offered=case.demand))


@dataclass(frozen=True, kw_only=True)
class Factor:
    """Something that is not known well: how a case, or the air, looks at its two bounds."""

    name: str
    bounds: str
    """In words, with the reason."""
    low: Callable[[Case], Case] = lambda case: case
    high: Callable[[Case], Case] = lambda case: case
    air_low: Callable[[Air], Air] | None = None
    air_high: Callable[[Air], Air] | None = None


def factors(
    *, load_part: float, sensor_k: float, capacity_part: float, whence: str = ""
) -> tuple[Factor, ...]:
    """What the answer hangs on, with bounds.

    Parameters
    ----------
    load_part : float
        Half-width of the house's load, as a part.
    sensor_k : float
        How far the coil sensor may switch from what is taken for it. [K]
    capacity_part : float
        Half-width of capacity in the cold, as a part.
    whence : str
        Said beside that: why it is so wide.
    """
    capacity = capacity_part

    def scaled(part: float) -> Callable[[Case], Case]:
        def change(case: Case) -> Case:
            kept = case.cold
            return (
                case if kept is None else replace(case, cold=replace(kept, capacity_w=kept.capacity_w * part))
            )

        return change

    def load(part: float) -> Callable[[Case], Case]:
        return lambda case: replace(
            case, conductance_wk=case.conductance_wk * part, gain_w=case.gain_w * part
        )

    def sensor(shift: float) -> Callable[[Case], Case]:
        return lambda case: replace(
            case, closes_c=case.closes_c + shift, opens_c=max(case.opens_c + shift, 3.0)
        )

    def warmer(shift: float) -> Callable[[Air], Air]:
        return lambda air: replace(air, temps_c=air.temps_c + shift)

    def wetter(part: float) -> Callable[[Air], Air]:
        return lambda air: replace(air, humidity=np.clip(air.humidity + part, 0.01, 1.0))

    return (
        Factor(
            name="how fast this coil frosts",
            bounds="a third less to a half more than the bench's coil: coils differ in fins and rows",
            low=lambda case: replace(case, growth=case.growth * 0.67),
            high=lambda case: replace(case, growth=case.growth * 1.5),
        ),
        Factor(
            name="what a defrost of this unit costs",
            bounds="a quarter less to a half more than the bench's: charge, valve, drain",
            low=lambda case: replace(case, defrost_cost=case.defrost_cost * 0.75),
            high=lambda case: replace(case, defrost_cost=case.defrost_cost * 1.5),
        ),
        Factor(
            name="capacity in the cold",
            bounds=f"{capacity:.0%} either way at 17 degF{whence}",
            low=scaled(1.0 - capacity),
            high=scaled(1.0 + capacity),
        ),
        Factor(
            name="the house's load",
            bounds=f"{load_part:.0%} either way",
            low=load(1.0 - load_part),
            high=load(1.0 + load_part),
        ),
        Factor(
            name="where the coil sensor switches",
            bounds=f"{sensor_k:.1f} K either way, its tolerance or how well it was measured",
            low=sensor(-sensor_k),
            high=sensor(sensor_k),
        ),
        Factor(
            name="how cold the winter is",
            bounds="1.5 K either way in every hour: winters differ by about as much",
            air_low=warmer(-1.5),
            air_high=warmer(1.5),
        ),
        Factor(
            name="how damp the air is at the unit",
            bounds="5 points of humidity either way: the station is not the yard",
            air_low=wetter(-0.05),
            air_high=wetter(0.05),
        ),
    )


@dataclass(frozen=True, kw_only=True)
class Turn:
    """What one factor does to the lead of the best setting over the next."""

    factor: Factor
    lead_low_j: float
    lead_high_j: float
    best_low: str
    best_high: str
    """The best setting of those that are offered, at each bound."""


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """All settings over one winter."""

    settings: tuple[Setting, ...]
    found: Winters
    """One case for each setting, then one of a unit that does not frost."""
    energy_j: Floats
    """(settings,) all electricity for heating."""
    best: int
    """Of those that this board offers."""
    lead_u_j: Floats
    """(settings,) expanded uncertainty of what each takes more than the best; 0 for the best itself."""
    turns: tuple[Turn, ...]

    @property
    def lead_j(self) -> Floats:
        """(settings,) what each takes more than the best."""
        return np.asarray(self.energy_j - self.energy_j[self.best])

    @property
    def sure(self) -> tuple[bool, ...]:
        """For each setting, whether the best leads it by more than the uncertainty."""
        return tuple((self.lead_j > self.lead_u_j).tolist())

    @property
    def frost_free_j(self) -> float:
        """Energy of a unit that does not frost."""
        return float(self.found.energy_j[-1])

    def lost_by_month_j(self) -> Floats:
        """Electricity over that of a unit that does not frost, (settings, 12), January first, each [J]."""
        found = self.found
        used = found.month("power") + found.month("backup") + found.month("backup_defrost")
        return np.asarray(used[: len(self.settings)] - used[-1])

    def lost_j(self) -> dict[str, Floats]:
        """Where the energy over a frost-free unit goes, (settings,) each [J].

        `defrosts`: their own electricity, and the heat they take made good at the unit's mean COP. `backup in
        defrosts`: what that heat costs more than the unit's own. `frosting`: the rest, lower capacity and
        COP under frost and the backup heat it calls for.
        """
        n = len(self.settings)
        found = self.found
        cop = float(found.total("heat")[-1] / max(found.total("power")[-1], 1.0))
        defrosts = found.total("defrost_power")[:n] + found.total("defrost_heat")[:n] / max(cop, 1.0)
        extra = found.total("backup_defrost")[:n] * (1.0 - 1.0 / max(cop, 1.0))
        return {
            "defrosts": defrosts,
            "backup in defrosts": extra,
            "frosting": self.energy_j - self.frost_free_j - defrosts - extra,
        }


def compare(
    air: Air,
    case: Case,
    asked: Sequence[Factor] = (),
    *,
    hourly: bool = False,
    base: Table | None = None,
    driven: Driven | None = None,
) -> Comparison:
    """Run every setting over the hours, and again at each factor's bounds.

    Parameters
    ----------
    air : Air
        Hours of a winter or a year.
    case : Case
        The unit, board and house.
    asked : sequence of Factor
        From `factors`; none for the bare comparison.
    hourly : bool
        As in `winters`.
    base : Table, optional
        The winter model's.
    driven : Driven, optional
        `drive(air)`, where it is at hand.
    """
    base = base or table()
    driven = driven or drive(air, base)
    rows = settings(case)
    cases = [row.case for row in rows]
    free = replace(case, frost_free=True)
    found = winters(driven, [*cases, free], hourly=hourly, base=base)
    energy = found.energy_j[: len(rows)]
    offered = [n for n, row in enumerate(rows) if row.offered]
    best = min(offered, key=lambda n: float(energy[n]))
    second = min((n for n in offered if n != best), key=lambda n: float(energy[n]), default=best)
    lead = energy - energy[best]
    squares = np.zeros(len(rows))
    turns = []
    for factor in asked:
        at = [_bound(air, cases, factor, low, driven, base) for low in (True, False)]
        leads = [one - one[best] for one in at]
        off = np.maximum(np.abs(leads[0] - lead), np.abs(leads[1] - lead))
        squares += off * off / 3.0
        names = [rows[min(offered, key=lambda n: float(one[n]))].name for one in at]
        turns.append(
            Turn(
                factor=factor,
                lead_low_j=float(leads[0][second]),
                lead_high_j=float(leads[1][second]),
                best_low=names[0],
                best_high=names[1],
            )
        )
    return Comparison(
        settings=rows,
        found=found,
        energy_j=energy,
        best=best,
        lead_u_j=2.0 * np.sqrt(squares),
        turns=tuple(turns),
    )


def _bound(air: Air, cases: Sequence[Case], factor: Factor, low: bool, driven: Driven, base: Table) -> Floats:
    changed = factor.air_low if low else factor.air_high
    here = driven if changed is None else drive(changed(air), base)
    change = factor.low if low else factor.high
    return np.asarray(winters(here, [change(case) for case in cases], base=base).energy_j)
