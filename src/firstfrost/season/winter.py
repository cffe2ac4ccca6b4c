"""Winters of a unit, or of many, in one call.

>>> from firstfrost.season.winter import Case, winters
>>> results = winters(drive(air), [Case(interval_s=5400.0), Case(demand=True)])   # doctest: +SKIP
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from firstfrost.bench.kernel import compiled as compile_kernel
from firstfrost.errors import InputError
from firstfrost.refrigerants.curves import Floats
from firstfrost.season import lane
from firstfrost.season.points import Point
from firstfrost.season.table import Driven, Table, table

ROOM_C: Final = 21.1
COLD_SUPPLY_C: Final = 15.6
"""60 degF: where the indoor fan ran in defrost without much backup heat the median supply air was below it.
Keene et al., 22 homes, abstract."""
SLOTTED: Final = ("heat", "power", "backup", "backup_defrost", "load", "defrosts")
_NEVER: Final = 1e12


@dataclass(frozen=True, kw_only=True)
class Case:
    """A unit, its board and its house; defaults are the bench's generic unit and common practice."""

    # the unit
    warm: Point | None = None
    """Steady, at 47 degF (8.33 degC); the bench's by default."""
    cold: Point | None = None
    """Steady, at 17 degF (-8.33 degC)."""
    coil_size: float | None = None
    """Outdoor coil over the bench's; by default as the capacity at 47 degF."""
    growth: float = 1.0
    """Frost growth for the coil's size, over the bench's."""
    defrost_cost: float = 1.0
    """Length and energy of a defrost over the bench's."""
    frost_free: bool = False
    """A unit that does not frost: what frost costs is the difference to it."""
    # the board and its sensor
    interval_s: float = 5400.0
    demand: bool = False
    split_k: float = 6.0
    longest_s: float = 720.0
    closes_c: float = -1.1
    opens_c: float = 15.6
    sensor: Literal["works", "stays open", "stays closed"] = "works"
    counts_always: bool = False
    fan_stays_on: bool = False
    # the house
    conductance_wk: float = 230.0
    gain_w: float = 500.0
    set_c: float = ROOM_C
    air_jk: float | None = None
    """Air and light things; by default in the bench house's proportion to its conductance."""
    mass_jk: float | None = None
    """Walls and furniture, likewise."""
    swing_k: float = 1.0
    second_k: float = 1.2
    cycles_per_h: float = 3.6
    """Thermostat cycles an hour at half run time, where the unit gives its capacity at 0 degC."""
    cycling: float = 1.0
    """Heat that starts lack over the bench's; 0: none."""
    backup_w: float = 10000.0
    backup_defrost_w: float = 5000.0
    lockout_c: float = -100.0
    """The compressor does not run below. [degC]"""
    airflow_wk: float | None = None
    """Heat capacity rate of the indoor air; by default the bench's for the size."""


@dataclass(frozen=True, kw_only=True)
class Winters:
    """What each of n cases did: `total("heat")` and so on by the names of `lane.OUTPUTS`."""

    cases: tuple[Case, ...]
    totals: Floats
    """(n, outputs)"""
    by_slot: Floats
    """(n, 12, 6) or, by the hour of the day, (n, 12, 24, 6): `SLOTTED`, January first."""

    def total(self, name: str) -> Floats:
        """One number of each case (n,), in its unit in `lane.OUTPUTS`."""
        names = [row[0] for row in lane.OUTPUTS]
        if name not in names:
            raise InputError(f"A winter has no {name!r}. There are: {', '.join(names)}.")
        return self.totals[:, names.index(name)]

    def month(self, name: str) -> Floats:
        """One of `SLOTTED` of each case (n, 12)."""
        values = self.by_slot[..., SLOTTED.index(name)]
        return values if values.ndim == 2 else values.sum(axis=2)

    @property
    def electricity_slots(self) -> Floats:
        """(n, 12) or (n, 12, 24) all electricity [J]."""
        return self.by_slot[..., 1] + self.by_slot[..., 2] + self.by_slot[..., 3]

    @property
    def energy_j(self) -> Floats:
        """(n,) all electricity: unit, second stage, backup heat in defrosts, and what was short."""
        return self.total("power") + self.total("backup") + self.total("backup_defrost") + self.total("short")


def pack(case: Case, base: Table) -> Floats:
    """Parameters of a case in the order of `lane.PARAMETERS`."""
    at = np.array([-25.0 / 3.0, 25.0 / 3.0])
    clean_q, clean_p = base.clean(at)
    points = [(case.cold, 0), (case.warm, 1)]
    capacity = np.array([(p.capacity_w if p else clean_q[n]) / clean_q[n] for p, n in points])
    power = np.array([(p.power_w if p else clean_p[n]) / clean_p[n] for p, n in points])
    size = float(capacity[1]) if case.coil_size is None else case.coil_size
    air = 590.0 * size if case.airflow_wk is None else case.airflow_wk
    house = case.conductance_wk / 230.0
    stuck = {"works": -1.0, "stays open": 0.0, "stays closed": 1.0}[case.sensor]
    values = {
        "capacity": capacity.mean(),
        "capacity_slope": (capacity[1] - capacity[0]) / (at[1] - at[0]),
        "power": power.mean(),
        "power_slope": (power[1] - power[0]) / (at[1] - at[0]),
        "size": size,
        "growth": case.growth,
        "defrost": case.defrost_cost,
        "frost_free": float(case.frost_free),
        "interval": case.interval_s,
        "demand": float(case.demand),
        "split": case.split_k,
        "learn": 480.0,
        "least": 1500.0,
        "longest": case.longest_s,
        "closes": case.closes_c,
        "opens": case.opens_c,
        "stuck": stuck,
        "always": float(case.counts_always),
        "conductance": case.conductance_wk,
        "gain": case.gain_w,
        "set": case.set_c,
        "air_store": 1.5e6 * house if case.air_jk is None else case.air_jk,
        "mass_store": 2.5e7 * house if case.mass_jk is None else case.mass_jk,
        "mass": 1500.0 * house,
        "swing": case.swing_k,
        "second": case.second_k,
        "cycles": case.cycles_per_h / float(capacity.mean() * base.clean(np.zeros(1))[0][0]),
        "start_heat": case.cycling * base.start_heat_j,
        "start_lag": base.start_lag_s,
        "backup": case.backup_w,
        "backup_defrost": case.backup_defrost_w,
        "lockout": case.lockout_c,
        "air": air,
        "blower_heat": 0.0,
        "cold": COLD_SUPPLY_C,
        "fan_on": float(case.fan_stays_on),
    }
    return np.array([float(values[row[0]]) for row in lane.PARAMETERS])


def winters(
    driven: Driven,
    cases: Sequence[Case],
    *,
    hourly: bool = False,
    base: Table | None = None,
    compiled: bool | None = None,
) -> Winters:
    """Run each case through the hours.

    Parameters
    ----------
    driven : Driven
        From `table.drive`.
    cases : sequence of Case
        One or many thousands; each costs milliseconds when compiled.
    hourly : bool
        Keep energy by the hour of the day as well as by month: time-of-use prices need it.
    base : Table, optional
        The one that `driven` was made of.
    compiled : bool, optional
        By Numba, or in plain Python with the same numbers; by default compiled where Numba is installed.
    """
    base = base or table()
    packed = np.array([pack(case, base) for case in cases])
    return run_packed(driven, packed, tuple(cases), hourly=hourly, base=base, compiled=compiled)


def run_packed(
    driven: Driven,
    packed: Floats,
    cases: tuple[Case, ...] = (),
    *,
    hourly: bool = False,
    base: Table | None = None,
    compiled: bool | None = None,
) -> Winters:
    """As `winters`, for parameters (n, parameters) that are packed already."""
    base = base or table()
    if compiled is None:
        compiled = _has_numba()
    kind: Any = np.ascontiguousarray if compiled else _as_list
    air = driven.air

    def flat(values: Any) -> Any:
        return kind(np.asarray(values, dtype=np.float64).ravel())

    slot = (air.months - 1) * 24 + air.hours if hourly else air.months - 1
    shared = (
        len(air.temps_c), float(air.step_s), flat(air.temps_c), flat(slot), flat(base.thicks_m),
        len(base.thicks_m), flat(driven.capacity_w), flat(driven.power_w), flat(driven.growth_kgs),
        flat(driven.growth_ms), flat(driven.sensor_c), flat(base.frosts_kg), len(base.frosts_kg),
        flat(base.opens_c), len(base.opens_c), flat(base.temps_c), len(base.temps_c), flat(base.defrosts),
        flat(base.fan_on), flat(base.falls_s), flat(-base.levels_c), len(base.levels_c),
        flat(base.rest_frosts_kg), len(base.rest_frosts_kg), flat(base.rests_s), len(base.rests_s),
        flat(base.rests[0]), flat(base.rests[1]),
    )  # fmt: skip
    run = compile_kernel(lane.winter) if compiled else lane.winter
    shape = (12, 24, 6) if hourly else (12, 6)
    totals, slots = np.zeros((len(packed), lane.N_OUT)), np.zeros((len(packed), int(np.prod(shape))))
    for n, row in enumerate(packed):
        out, by_slot = kind(totals[n]), kind(slots[n])
        run(kind(row), *shared, out, by_slot)
        if not compiled:
            totals[n], slots[n] = out, by_slot
    return Winters(cases=cases, totals=totals, by_slot=slots.reshape(-1, *shape))


def _as_list(values: Floats) -> list[float]:
    made: list[float] = values.tolist()
    return made


def _has_numba() -> bool:
    from importlib.util import find_spec

    return find_spec("numba") is not None
