"""The true standing of each of the thirteen functions, from what no probe sees.

Contacts, the valve's place, frost mass, a person's hand, the board's own clock decide. Each occasion has the
standings that are right: the first is the truth, others stand where instruments of that worth, or a record
of that kind, cannot tell it from them. A run's standing is `failed` if any occasion failed, else the best
one. No rule that judges a visit is used here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from firstfrost.bench.scenario import after, during, starts
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.look import Look
from firstfrost.bench.scenario.occasion import Occasion, evident, of, worst


@dataclass(frozen=True, kw_only=True)
class TrueStanding:
    """The truth of one function over a run."""

    function: str
    standing: str
    also: tuple[str, ...]
    """Standings that the record cannot be told from the truth by."""
    why: str


APART_S: Final = 30.0
"""Marks further off than this cannot be put right by whoever reads them."""
BY_HAND: Final = (
    "sensor_closes",
    "sensor_opens",
    "timer_counts",
    "defrost_starts",
    "fan_stops",
    "fan_returns",
)
"""Functions that a jumper, the test pins or the fan's lead can stand in for."""


def standings(look: Look) -> dict[str, TrueStanding]:
    """The truth of each function, in the order of the visit's ledger."""
    return {name: _overall(name, _weakened(name, rule(look), look)) for name, rule in RULES.items()}


def _weakened(name: str, occasions: list[Occasion], look: Look) -> list[Occasion]:
    """The occasions, with what a hidden defrost, a weak fan or a lying instrument lets nobody tell."""
    more: tuple[str, ...] = ()
    if not all(evident(look, defrost) for defrost in look.defrosts):
        more += ("unseen", "doubtful")
    if name in ("fan_stops", "fan_returns") and look.played.plant.fan_weak >= 0.5:
        # It turns, and draws too little for a clamp meter.
        more += ("unseen", "doubtful", "failed")
    if name == "heating_resumes" and look.played.plant.fan_weak >= 0.5:
        more += ("doubtful",)
    lying = {
        channel
        for fault in look.played.scenario.faults
        if fault.name in INSTRUMENT_FAULTS and fault.severity > 0.0
        for channel in INSTRUMENT_FAULTS[fault.name].channels
    }
    if "outdoor_coil_temp" in lying and name in ("sensor_closes", "sensor_opens", "coil_clears"):
        more += ("unseen", "doubtful", "failed")
    if "discharge_pressure" in lying and name == "ends_safely":
        more += ("doubtful", "failed", "shown")
    if look.marks and abs(look.marks_apart_s) > APART_S and name in BY_HAND:
        # By these marks a hand was there when it was not, or was not when it was.
        more += ("unseen", "doubtful", "bypassed")
    return [replace(one, standings=tuple(dict.fromkeys((*one.standings, *more)))) for one in occasions]


def _overall(name: str, occasions: list[Occasion]) -> TrueStanding:
    if not occasions:
        occasions = [of("The run never came to where it could show.", "unseen")]
    truth = worst(tuple(one.standings[0] for one in occasions))
    distinct = list(dict.fromkeys(one.standings for one in occasions))
    every = dict.fromkeys(worst(mix) for mix in product(*distinct))
    why = next(one.why for one in occasions if one.standings[0] == truth)
    return TrueStanding(function=name, standing=truth, also=tuple(s for s in every if s != truth), why=why)


RULES: Final[dict[str, Callable[[Look], list[Occasion]]]] = {
    "sensor_closes": lambda look: starts.contact(look, closing=True),
    "sensor_opens": lambda look: starts.contact(look, closing=False),
    "timer_counts": starts.timer_counts,
    "defrost_starts": starts.defrost_starts,
    "valve_shifts": during.valve_shifts,
    "fan_stops": during.fan_stops,
    "backup_runs": during.backup_runs,
    "coil_clears": during.coil_clears,
    "ends_by_sensor": during.ends_by_sensor,
    "ends_safely": during.ends_safely,
    "valve_returns": after.valve_returns,
    "fan_returns": after.fan_returns,
    "heating_resumes": after.heating_resumes,
}
"""In the order of the visit's ledger."""
