"""A heating check made by hand, to lay out pages with: one number of each standing and of each unit."""

from __future__ import annotations

import math

from firstfrost.heating.number import Heating, HeatingStanding, Number, Steady
from firstfrost.heating.rows import ROWS
from firstfrost.proofs.finding import Limit

BY_NAME = {row.name: row for row in ROWS}
START_S, END_S = 120.0, 420.0


def limit(unit: str, low: float | None = None, high: float | None = None, source: str = "") -> Limit:
    return Limit(low=low, high=high, unit=unit, source=source or "common practice, no source")


def number(
    name: str,
    standing: HeatingStanding,
    value: float = math.nan,
    expanded: float = math.nan,
    held: Limit | None = None,
    how: str = "",
) -> Number:
    row = BY_NAME[name]
    measured = math.isfinite(value)
    return Number(
        name=name,
        standing=standing,
        unit=row.unit,
        sentence=row.open if measured and held is None else row.says[standing],
        value=value,
        expanded=expanded,
        sources={"a probe": expanded / 2} if measured else {},
        limit=held,
        probability={"shown": 0.99, "failed": 0.001}.get(standing, 0.5) if held else None,
        start_s=START_S if measured else None,
        end_s=END_S if measured else None,
        channels=("suction_pressure",) if measured else (),
        how=how,
        settle="" if standing == "shown" else (row.settle if held or not measured else row.look_up),
        remedy=row.remedy if standing == "failed" else "",
    )


PLATE = "unit file: the maker's target in heating"
FLOWS = "physics: heat flows from warm to cold"
MADE = {
    "superheat_k": number("superheat_k", "doubtful", 5.9, 0.7),
    "subcooling_k": number("subcooling_k", "failed", 1.4, 0.8, limit("K", 5.2, 8.6, PLATE)),
    "discharge_temp_c": number("discharge_temp_c", "shown", 88.0, 0.6, limit("degC", high=107.2)),
    "pressure_ratio": number("pressure_ratio", "doubtful", 3.21, 0.05),
    "evaporating_approach_k": number(
        "evaporating_approach_k", "shown", 14.0, 0.7, limit("K", 0.0, None, FLOWS)
    ),
    "airflow_m3_s": number("airflow_m3_s", "shown", 0.47, 0.03, limit("m3/s", 0.36), "flow hood"),
    "airflow_ratio": number("airflow_ratio", "shown", 0.93, 0.06, limit("1", 0.75), "flow hood"),
    "capacity_air_w": number("capacity_air_w", "failed", 5100.0, 450.0, limit("W", 6700.0), "flow hood"),
    "capacity_ratio": number("capacity_ratio", "failed", 0.65, 0.07, limit("1", 0.85), "flow hood"),
    "power_w": number("power_w", "doubtful", 2600.0, 120.0),
    "cop": number("cop", "shown", 1.96, 0.2, limit("W/W", 1.0)),
    "line_voltage_v": number("line_voltage_v", "doubtful", 217.0, 3.0, limit("V", 216.0, 264.0)),
    "backup_delay_s": number("backup_delay_s", "shown", 4.0, 2.0, limit("s", high=60.0)),
    "balance_point_c": number("balance_point_c", "doubtful", -2.1, 3.0),
}


def heating() -> Heating:
    """Low capacity, a subcooling far below its target, and the rest in order, near or not known."""
    return Heating(
        numbers=tuple(MADE.get(row.name) or number(row.name, "unseen") for row in ROWS),
        steady=Steady(
            start_s=START_S, end_s=END_S, since_s=660.0, waited=False, backup=False, share=0.4, least="power"
        ),
        steady_s=540.0,
    )


def nothing_steady() -> Heating:
    """A check that found no steady heating."""
    why = "Heating never went on for 5 minutes at a stretch."
    return Heating(numbers=tuple(number(row.name, "unseen") for row in ROWS), why_not=why)
