"""A season as JSON: SI numbers with the unit in their names, sentences beside them.

The shape is fixed by `season.schema.json` beside this file (JSON Schema, draft 2020-12).
"""

from __future__ import annotations

import math
from typing import Any, Final

from firstfrost import __version__
from firstfrost.quantities.show import System
from firstfrost.season import words
from firstfrost.season.alternatives import alternatives
from firstfrost.season.faults import FaultCost
from firstfrost.season.lane import OUTPUTS
from firstfrost.season.season import Season

FORMAT: Final = "firstfrost-season"
FORMAT_VERSION: Final = 1
SCHEMA_FILE: Final = "season.schema.json"
_UNITS: Final = {"J": "_j", "s": "_s", "kg": "_kg", "degC": "_c", "1": ""}


def as_json(made: Season, system: System = "us", failed: tuple[str, ...] = ()) -> dict[str, Any]:
    """A season's numbers and sentences; a number that is not known is null."""
    both, found = made.comparison, made.comparison.found
    lost = both.lost_by_month_j()
    settings = []
    for n, row in enumerate(both.settings):
        one: dict[str, Any] = {
            "name": row.name,
            "offered": row.offered,
            "set_now": n == made.current,
            "best": n == both.best,
            "energy_j": _number(float(both.energy_j[n])),
            "above_best_j": _number(float(both.lead_j[n])),
            "above_best_expanded_j": _number(float(both.lead_u_j[n])) if both.turns else None,
            "defrosts_by_month": [round(x) for x in found.month("defrosts")[n].tolist()],
            "lost_by_month_j": lost[n].tolist(),
        }
        for at, (name, unit, _) in enumerate(OUTPUTS):
            one.setdefault(name + _UNITS[unit], _number(float(found.totals[n, at])))
        for name, values in both.lost_j().items():
            one["lost_to_" + name.replace(" ", "_") + "_j"] = _number(float(values[n]))
        settings.append(one)
    day = made.design
    case = made.prepared.case
    out: dict[str, Any] = {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "unit": made.unit.name,
        "weather": {
            "source": made.air.source,
            "place": made.air.place,
            "days": made.air.days,
            "southern": made.air.southern,
            "month_order": list(made.air.month_order),
            "notes": list(made.air.notes),
        },
        "advice": words.advice(made),
        "what_changes_it": words.turning(made),
        "settings": settings,
        "frost_free_energy_j": both.frost_free_j,
        "factors": [
            {
                "name": turn.factor.name,
                "bounds": turn.factor.bounds,
                "best_low": turn.best_low,
                "best_high": turn.best_high,
            }
            for turn in both.turns
        ],
        "frost_risk": {
            "says": words.risk(made),
            "hours": made.risk.hours,
            "split_k": made.risk.split_k,
            "hours_by_month_and_hour": made.risk.calendar.tolist(),
            "worst_outdoor_c": _number(made.risk.worst_c),
        },
        "load": {
            "heat_j": made.heat_j,
            "says": words.carrying(made, system),
            "balance_point_c": made.balance.temp_c,
            "balance_point_low_c": made.balance.low_c,
            "balance_point_high_c": made.balance.high_c,
            "design_temp_c": day.outdoor_c,
            "design_coverage": day.part.value,
            "design_coverage_expanded": day.part.expanded,
            "backup_needed_w": day.backup_needed_w.value,
        },
        "lockouts": [
            {"outdoor_c": None if t.value < -90 else t.value, "energy_j": t.energy_j, "backup_j": t.backup_j}
            for t in made.lockouts
        ],
        "droops": [
            {"below_setting_k": t.value, "energy_j": t.energy_j, "backup_j": t.backup_j} for t in made.droops
        ],
        "hspf2": {one.region.name: one.value for one in made.ratings} or None,
        "faults": [
            {
                "functions": list(cost.fault.functions),
                "what": cost.fault.what,
                "besides": cost.fault.besides,
                "measured": cost.fault.measured,
                "extra_low_j": cost.extra_j[0],
                "extra_high_j": cost.extra_j[1],
                "extra_low_cost": _cost(made, cost, 0),
                "extra_high_cost": _cost(made, cost, 1),
                "says": words.extra(made, cost),
            }
            for cost in made.fault_costs
        ],
        "taken": {
            "closes_at_c": case.closes_c,
            "opens_at_c": case.opens_c,
            "sensor_expanded_k": made.prepared.sensor_k,
            "measured": list(made.prepared.measured),
        },
        "measured": list(words.at_visit(made, system)),
        "householder": list(words.fault_lines(made, failed)),
        "assumed": [{"what": one.what, "better": one.better} for one in made.assumptions],
        "money": None,
        "made_by": f"Firstfrost {__version__}",
    }
    if made.prices is not None:
        slots = found.electricity_slots
        carbon = [made.prices.carbon(slots[n]) for n in range(len(both.settings))]
        out["money"] = {
            "currency": made.prices.currency,
            "source": made.prices.source,
            "by_setting": {
                row.name: float(made.prices.cost(slots[n])) for n, row in enumerate(both.settings)
            },
            "carbon_kg_by_setting": None
            if carbon[0] is None
            else {row.name: float(c) for row, c in zip(both.settings, carbon, strict=True) if c is not None},
            "electricity_mean_kwh": float(made.prices.price_kwh.mean()),
            "flat": made.prices.flat,
            "alternatives": [
                {
                    "name": one.name or None,
                    "cost": one.cost,
                    "carbon_kg": one.carbon_kg,
                    "equal_cop": _number(one.equal_cop),
                    "cheaper_below_c": None if one.everywhere else one.below_c,
                    "cheaper": "everywhere"
                    if one.everywhere
                    else "nowhere"
                    if one.below_c is None
                    else "below",
                }
                for one in alternatives(made)
            ],
        }
    return out


def _cost(made: Season, cost: FaultCost, bound: int) -> float | None:
    """Cost above the sound unit's at a bound; a dearer bound is the high one, whatever its energy."""
    if made.prices is None:
        return None
    sound = float(made.prices.cost(made.sound_slots_j))
    return sorted(float(made.prices.cost(slots)) - sound for slots in cost.slots_j)[bound]


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
