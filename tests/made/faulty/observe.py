"""Run a case and see what the tool sees of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from firstfrost.bench.scenario.build import Played, play
from firstfrost.bench.scenario.look import Look
from firstfrost.bench.scenario.record import record
from firstfrost.bench.scenario.standings import standings
from firstfrost.causes.conditions import Conditions, conditions
from firstfrost.causes.features import FEATURE
from firstfrost.causes.look import look
from firstfrost.causes.seen import Seen
from firstfrost.cycle.derive import derive
from firstfrost.errors import OutOfRange
from firstfrost.heating.check import check_heating
from firstfrost.phases.find import find_phases
from firstfrost.proofs.contact import examine
from firstfrost.proofs.context import Context
from firstfrost.proofs.judge import judge
from firstfrost.refrigerants.curves import Floats
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace
from made.faulty.cases import KIT, Case, half_of_it


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What was seen with the whole van, and with the van's kit."""

    full: dict[str, Seen]
    full_at: Conditions
    kit: dict[str, Seen]
    kit_at: Conditions
    capacity_w: float
    """True heat to the air over plain heating, the better quarter of it. [W]"""
    failed: tuple[str, ...] = ()
    """The functions that truly failed."""
    backup_w: float = 0.0
    """Most heat from the elements. [W]"""
    backup_heating_w: float = 0.0
    """Mean heat from the elements in plain heating. [W]"""
    cop: float = float("nan")
    """True heat of the coil over power without the elements, in plain heating."""
    more: tuple[tuple[dict[str, Seen], Conditions], ...] = ()
    """What would have been seen with other kits, half of the channels missing in each."""


def observe(one: Case, *, kit: bool = True, more: int = 0) -> Observed | None:
    """Run a case, looked at with `more` other kits; None where the bench cannot follow so gross a fault."""
    try:
        played = play(one.scenario, compiled=True)
    except OutOfRange:
        return None
    taken = record(played)
    full, full_at = features(one, taken.trace, taken.marks)
    full = {**full, **drops(one, played)}
    own, own_at = {k: seen for k, seen in full.items() if not _extra(k)}, full_at
    if kit and len(one.kit) < len(KIT):
        own, own_at = features(one, only(taken.trace, one.kit), taken.marks)
    others = np.random.default_rng([one.seed, 81])
    return Observed(
        full=full,
        full_at=full_at,
        kit=own,
        kit_at=own_at,
        capacity_w=true_capacity_w(played),
        failed=tuple(
            name
            for name, one in standings(Look(played=played, record=taken)).items()
            if one.standing == "failed"
        ),
        backup_w=float(played.run.state("backup").max()),
        backup_heating_w=mean_heating(played, played.run.state("backup")),
        cop=mean_heating(played, played.run.derived("heat"))
        / max(mean_heating(played, played.run.derived("power")), 1.0),
        more=tuple(features(one, only(taken.trace, half_of_it(others)), taken.marks) for _ in range(more)),
    )


def only(trace: Trace, names: tuple[str, ...]) -> Trace:
    """A trace with some of its channels."""
    return replace(trace, columns={name: y for name, y in trace.columns.items() if name in names})


CLEAN_PA = 60.0
"""Pressure drop of a clean filter, and of a clean indoor coil, at the nominal airflow. Invented."""


def drops(one: Case, played: Played) -> dict[str, Seen]:
    """What a manometer would read across filter and coil: the bench has the airflow, and not these.

    Each goes with the square of the flow, and with the inverse square of what is open; units differ by 15 %.
    """
    run = played.run
    plain = run.board("mode") == 1.0
    if not plain.any():
        return {}
    flow = float(np.median(run.derived("airflow_ind")[plain])) / played.plant.air_ind_m3s
    rng = np.random.default_rng([one.seed, 79])
    shut = {
        "filter_drop_log": one.faults.get("filter-blocked", 0.0),
        "coil_drop_log": 0.5 * one.faults.get("indoor-coil-fouled", 0.0),
    }
    out = {}
    for name, closed in shut.items():
        clean = float(np.exp(0.15 * rng.standard_normal()))
        pa = clean * flow**2 / (1.0 - min(closed, 0.95)) ** 2 * (1.0 + 0.03 * float(rng.standard_normal()))
        out[name] = Seen(value=float(np.log(max(pa, 0.01))), u=0.05)
    return out


def _extra(feature: str) -> bool:
    """Whether a feature takes more than a van that carries all has: a hood, or a manometer."""
    row = FEATURE[feature]
    return row.group == "typed" or row.channels == ("airflow",)


def mean_heating(played: Played, values: Floats) -> float:
    """Mean of a series over settled plain heating; 0 where there is none."""
    plain = (played.run.board("mode") == 1.0) & (played.run.times_s > 600.0)
    return float(values[plain].mean()) if plain.any() else 0.0


def true_capacity_w(played: Played) -> float:
    """Heat from the coil to the air where the unit was left to heat, median of the settled part."""
    run = played.run
    mode, since = run.board("mode"), run.times_s
    plain = (mode == 1.0) & (since > 600.0)
    heat = run.derived("heat")[plain]
    return float(np.percentile(heat, 75.0)) if len(heat) else float("nan")


def features(one: Case, trace: Trace, marks: Marks | None) -> tuple[dict[str, Seen], Conditions]:
    """What the tool sees of a trace."""
    unit = one.machine.unit
    cycle = derive(trace, unit.refrigerant)
    found = find_phases(trace=trace, cycle=cycle, unit=unit, marks=marks)
    context = Context(trace=trace, cycle=cycle, unit=unit, marks=marks, found=found)
    heating = check_heating(context)
    return look(context, judge(context), examine(context), heating), conditions(context, heating)
