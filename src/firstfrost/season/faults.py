"""What a fault of each function costs over a winter, as a range, from the same model.

Each row says which function failed, what the machine then does, and two cases that bound it. The cost is the
electricity above that of the sound unit on the same board; it takes for granted that backup heat makes good
what the house lacks, and says so where that is not the whole story.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from firstfrost.refrigerants.curves import Floats
from firstfrost.season.at_visit import AtVisit
from firstfrost.season.table import Driven, Table
from firstfrost.season.winter import Case, winters

Change = Callable[[Case], Case]
_OFF_C: Final = 60.0


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A row: one or more functions that failed in one way."""

    functions: tuple[str, ...]
    """As in `proofs.finding.FUNCTIONS`."""
    what: str
    """What the machine does, for a householder."""
    low: Change
    high: Change
    besides: str = ""
    """What no bill shows."""
    measured: bool = False
    """As a visit measured it: it goes before the general row of the same function."""


def _iced(growth: float) -> Change:
    return lambda case: replace(case, sensor="stays open", growth=case.growth * growth)


def _no_unit(case: Case) -> Case:
    return replace(case, lockout_c=_OFF_C)


FAULTS: Final[tuple[Fault, ...]] = (
    Fault(
        functions=("sensor_closes", "timer_counts", "defrost_starts", "valve_shifts"),
        what="no defrost: ice builds up on the outdoor coil and backup heat takes over",
        low=_iced(0.67),
        high=_no_unit,
        besides="ice can bend fins and stop the fan, and the unit may trip and stay off",
    ),
    Fault(
        functions=("sensor_opens", "ends_by_sensor"),
        what="each defrost runs to the board's time limit and warms the yard with heat from the house",
        low=lambda case: replace(case, sensor="stays closed", longest_s=0.6 * case.longest_s),
        high=lambda case: replace(case, sensor="stays closed"),
        besides="the high side climbs at the end of each defrost and may trip the high-pressure switch",
    ),
    Fault(
        functions=("fan_stops",),
        what="the outdoor fan blows cold air over the coil in defrost, which then takes far longer",
        low=lambda case: replace(case, fan_stays_on=True, defrost_cost=0.75 * case.defrost_cost),
        high=lambda case: replace(case, fan_stays_on=True),
        besides="frost may be left on the coil after each defrost",
    ),
    Fault(
        functions=("coil_clears",),
        what="part of the frost stays after each defrost, and the unit starts again with less air",
        low=lambda case: replace(case, longest_s=min(case.longest_s, 120.0)),
        high=lambda case: replace(case, longest_s=min(case.longest_s, 75.0)),
    ),
    Fault(
        functions=("backup_runs",),
        what="no backup heat in defrost: the house gets cool air while the unit defrosts",
        low=lambda case: replace(case, backup_defrost_w=0.0),
        high=lambda case: replace(case, backup_defrost_w=0.0, defrost_cost=1.25 * case.defrost_cost),
        besides="little on the bill, or even less, but cool supply air in every defrost; with the "
        "backup stages dead altogether the house is short of heat in the cold",
    ),
    Fault(
        functions=("valve_returns", "fan_returns", "heating_resumes"),
        what="the unit does not come back to heating after a defrost: backup heat carries the house",
        low=_iced(1.5),
        high=_no_unit,
        besides="a unit left in cooling takes further heat from the house",
    ),
)


def measured_faults(visit: AtVisit | None) -> tuple[Fault, ...]:
    """A row for each temperature of the sensor that failed, bounded by how well it was measured."""
    if visit is None:
        return ()
    rows = []
    for name, one in (("sensor_closes", visit.closes), ("sensor_opens", visit.opens)):
        if one is not None and one.failed:
            low, high = one.value - one.expanded, one.value + one.expanded
            rows.append(
                Fault(
                    functions=(name,),
                    what="the coil sensor switches where the visit found it, and not at its rating",
                    low=_switches(name, low),
                    high=_switches(name, high),
                    besides=_OFF[name],
                    measured=True,
                )
            )
    return tuple(rows)


def _switches(name: str, at_c: float) -> Change:
    if name == "sensor_closes":
        return lambda case: replace(case, closes_c=at_c)
    return lambda case: replace(case, opens_c=max(at_c, 3.0))


_OFF: Final = {
    "sensor_closes": "one that closes too cold lets frost grow; too warm, and a dry coil is defrosted",
    "sensor_opens": "one that opens too cold leaves frost; too warm, and the high side is driven up",
}


@dataclass(frozen=True, kw_only=True)
class FaultCost:
    """What a fault costs."""

    fault: Fault
    extra_j: tuple[float, float]
    """Electricity above the sound unit's over the hours, low and high; below 0 it takes less."""
    backup_j: tuple[float, float]
    """Backup heat, low and high."""
    cold_s: tuple[float, float]
    """Time with supply air below 60 degF in defrosts."""
    slots_j: tuple[Floats, Floats]
    """All electricity by month, or month and hour, of both bounds."""


def fault_costs(
    driven: Driven,
    case: Case,
    *,
    visit: AtVisit | None = None,
    hourly: bool = False,
    base: Table | None = None,
) -> tuple[float, tuple[FaultCost, ...]]:
    """Energy of the sound unit on its board's setting [J], and each fault's cost.

    Parameters
    ----------
    driven : Driven
        The hours.
    case : Case
        Unit, board as it is set, house.
    visit : AtVisit, optional
        Its `measured_faults` come first.
    hourly : bool
        As in `winters`.
    base : Table, optional
        The winter model's.
    """
    cases = [case]
    faults = (*measured_faults(visit), *FAULTS)
    for fault in faults:
        cases += [fault.low(case), fault.high(case)]
    found = winters(driven, cases, hourly=hourly, base=base)
    energy = found.energy_j
    backup = found.total("backup") + found.total("backup_defrost") + found.total("short")
    cold, slots = found.total("cold"), found.electricity_slots
    rows = []
    for n, fault in enumerate(faults):
        pair = [1 + 2 * n, 2 + 2 * n]
        pair.sort(key=lambda at: float(energy[at]))
        a, b = pair
        rows.append(
            FaultCost(
                fault=fault,
                extra_j=(float(energy[a] - energy[0]), float(energy[b] - energy[0])),
                backup_j=(float(backup[a]), float(backup[b])),
                cold_s=(float(np.min(cold[pair])), float(np.max(cold[pair]))),
                slots_j=(slots[a], slots[b]),
            )
        )
    return float(energy[0]), tuple(rows)
