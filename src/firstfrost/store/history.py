"""A unit over the years: what each visit measured, what drifts, and which units need attention."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from sqlalchemy import Connection, select

from firstfrost.instruments.drift import FEWEST, drift
from firstfrost.store.conflicts import conflict_counts
from firstfrost.store.records import UNIT, find
from firstfrost.store.schema import revisions, sites, units, visits
from firstfrost.store.times import day

YEAR_S: Final = 365.25 * 86_400.0
STALE_S: Final = 400.0 * 86_400.0
"""A unit not visited for so long is due: yearly before winter is common practice, no source."""
LEFT_OPEN_S: Final = 2.0 * 86_400.0


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One quantity that is followed over the years."""

    key: str
    title: str
    unit: str
    """As it is shown after a number."""


QUANTITIES: Final = (
    Quantity(key="closes_c", title="The coil sensor's closing temperature", unit="K"),
    Quantity(key="opens_c", title="The coil sensor's opening temperature", unit="K"),
    Quantity(key="defrost_s", title="The length of a defrost", unit="s"),
    Quantity(key="peak_c", title="The peak saturation in defrost", unit="K"),
    Quantity(key="capacity_ratio", title="Capacity against what is expected", unit=""),
)


def summary(result: Mapping[str, Any]) -> dict[str, Any]:
    """What of a result, as JSON, the lists and the history need: standings and the quantities measured."""
    functions = result["functions"]
    whole = [one for one in result["defrosts"] if one["whole"]]
    measured: dict[str, Any] = {
        "closes_c": _measured(functions["sensor_closes"], "degC"),
        "opens_c": _measured(functions["sensor_opens"], "degC"),
        "defrost_s": None,
        "peak_c": None,
        "peak_pa": None,
        "capacity_ratio": _number(result["heating"], "capacity_ratio"),
    }
    if whole:
        last = whole[-1]
        halves = math.hypot(last["start_half_width_s"] or 0.0, last["end_half_width_s"] or 0.0)
        # Each end lies anywhere within its half width: a rectangle, of standard uncertainty a / sqrt(3).
        measured["defrost_s"] = {"value": last["duration_s"], "expanded": 2.0 * halves / math.sqrt(3.0)}
        if last["peak_saturation_c"] is not None:
            measured["peak_c"] = {"value": last["peak_saturation_c"], "expanded": last["peak_saturation_u_k"]}
            measured["peak_pa"] = last["peak_pressure_pa"]
    return {
        "standings": {name: one["standing"] for name, one in functions.items()},
        "heating": {name: one["standing"] for name, one in _numbers(result["heating"]).items()},
        "measured": measured,
    }


def _measured(function: Mapping[str, Any], unit: str) -> dict[str, Any] | None:
    for evidence in function["evidence"]:
        found = evidence["measured"]
        if found is not None and found["unit"] == unit and found["value"] is not None:
            return {"value": found["value"], "expanded": found["expanded"]}
    return None


def _numbers(heating: Mapping[str, Any] | None) -> Mapping[str, Any]:
    """The numbers of the heating check by name; none where it was not made."""
    return {} if heating is None else heating["numbers"]


def _number(heating: Mapping[str, Any] | None, name: str) -> dict[str, Any] | None:
    found = _numbers(heating).get(name)
    if found is None or found["value"] is None:
        return None
    return {"value": found["value"], "expanded": found["expanded"]}


def unit_history(connection: Connection, unit_id: str) -> dict[str, Any]:
    """What a unit's closed visits measured, the latest first, and whether it drifts.

    Raises
    ------
    Missing, Deleted
        If there is no such unit.
    """
    find(connection, UNIT, unit_id)
    rows = _closed(connection, unit_id)
    return {
        "visits": [
            {
                "visit_id": row.id,
                "started_s": row.started_s,
                "state": row.state,
                "revision": row.revision,
                **row.summary["measured"],
                "standings": row.summary["standings"],
                "heating": row.summary["heating"],
            }
            for row in rows
        ],
        "drift": {quantity.key: _drift(quantity, rows) for quantity in QUANTITIES},
    }


def _closed(connection: Connection, unit_id: str) -> list[Any]:
    """Visits with a result, the latest first, with the summary of their last revision."""
    query = (
        select(
            visits.c.id,
            visits.c.started_s,
            visits.c.state,
            visits.c.late,
            visits.c.revision,
            revisions.c.summary,
        )
        .join(
            revisions,
            (revisions.c.visit_id == visits.c.id) & (revisions.c.revision == visits.c.revision),
        )
        .where(visits.c.unit_id == unit_id)
        .order_by(visits.c.started_s.desc(), visits.c.id)
    )
    return list(connection.execute(query))


def _drift(quantity: Quantity, rows: list[Any]) -> dict[str, Any]:
    points = [
        (row.started_s / YEAR_S, found["value"], found["expanded"])
        for row in rows
        if (found := row.summary["measured"][quantity.key]) is not None and found["expanded"]
    ]
    got = drift([p[0] for p in points], [p[1] for p in points], [p[2] for p in points])
    out: dict[str, Any] = {"per_year": None, "expanded": None, "visits": len(points), "drifts": None}
    if got is None:
        return {
            **out,
            "sentence": f"{quantity.title} was measured on {len(points)} visit(s); a drift shows "
            f"from {FEWEST} on.",
        }
    unit = f" {quantity.unit}" if quantity.unit else ""
    told = f"{got.per_year:+.2g}{unit} a year (± {got.expanded:.1g})"
    verdict = "drifts" if got.drifts else "shows no drift beyond its uncertainty"
    sentence = f"{quantity.title} {verdict}: {told} over {len(points)} visits."
    return {
        **out,
        "per_year": got.per_year,
        "expanded": got.expanded,
        "drifts": got.drifts,
        "sentence": sentence,
    }


@dataclass(frozen=True, kw_only=True)
class Reason:
    """Why a unit needs attention."""

    code: str
    score: int
    """How pressing, from safety down to housekeeping."""
    sentence: str


def attention(connection: Connection, now_s: float) -> list[dict[str, Any]]:
    """Each unit with what asks for attention, the most pressing first; practice units are left out."""
    query = (
        select(units.c.id, units.c.name, sites.c.name.label("site"))
        .join(sites, sites.c.id == units.c.site_id, isouter=True)
        .where(units.c.practice.is_(False))
    )
    out = []
    for unit in connection.execute(query).all():
        last, reasons = _reasons(connection, unit.id, now_s)
        out.append(
            {
                "unit_id": unit.id,
                "name": unit.name,
                "site": unit.site,
                "last_visit_s": last,
                "score": sum(reason.score for reason in reasons),
                "reasons": [{"code": reason.code, "sentence": reason.sentence} for reason in reasons],
            }
        )
    out.sort(key=lambda one: (-one["score"], one["name"].casefold(), one["unit_id"]))
    return out


def _reasons(connection: Connection, unit_id: str, now_s: float) -> tuple[float | None, list[Reason]]:
    rows = _closed(connection, unit_id)
    out: list[Reason] = []
    last = rows[0].started_s if rows else None
    if rows:
        out += _of_last(rows[0].summary)
        for quantity in QUANTITIES:
            told = _drift(quantity, rows)
            if told["drifts"]:
                out.append(Reason(code="drift", score=40, sentence=told["sentence"]))
        if now_s - rows[0].started_s > STALE_S:
            months = (now_s - rows[0].started_s) / YEAR_S * 12.0
            out.append(Reason(code="due", score=30, sentence=f"The last visit was {months:.0f} months ago."))
    else:
        out.append(Reason(code="never", score=20, sentence="No visit of this unit has been closed yet."))
    today = day(now_s)
    every = connection.execute(select(visits).where(visits.c.unit_id == unit_id)).all()
    # Of closed ones the last alone: those before it were closed with theirs in sight.
    asked = [row for row in every if row.state == "open" or (rows and row.id == rows[0].id)]
    conflicts = conflict_counts(connection, asked)
    for row in every:
        out += _of_visit(row, now_s, today)
        if conflicts.get(row.id):
            out.append(_of_conflicts(row, conflicts[row.id]))
    return last, sorted(out, key=lambda reason: -reason.score)


def _of_conflicts(visit: Any, count: int) -> Reason:
    devices = "Two devices disagree in one place" if count == 1 else f"Two devices disagree in {count} places"
    last = "an open visit" if visit.state == "open" else "the last visit"
    return Reason(
        code="conflicts",
        score=45 if visit.state == "open" else 15,
        sentence=f"{devices} of {last}; what arrived first is used, and both are kept.",
    )


def _of_last(last: Mapping[str, Any]) -> list[Reason]:
    # Many a number of the heating check is in doubt by nature, until there is a last year to compare with.
    standings = last["standings"]
    failed = [name for name, one in {**standings, **last["heating"]}.items() if one == "failed"]
    doubtful = [name for name, standing in standings.items() if standing == "doubtful"]
    out = []
    if failed:
        names = ", ".join(failed)
        safety = 100 if "ends_safely" in failed else 0
        sentence = f"Failed on the last visit: {names}."
        out.append(Reason(code="failed", score=100 + 10 * len(failed) + safety, sentence=sentence))
    if doubtful:
        names = ", ".join(doubtful)
        out.append(Reason(code="doubtful", score=10, sentence=f"In doubt after the last visit: {names}."))
    return out


def _of_visit(row: Any, now_s: float, today: date) -> list[Reason]:
    if row.state == "closed" and row.late:
        sentence = (
            f"{row.late} batch(es) of readings came after a visit was closed; reopen it to take them in."
        )
        return [Reason(code="late", score=60, sentence=sentence)]
    if row.state == "open" and row.started_s is not None and now_s - row.started_s > LEFT_OPEN_S:
        days = (now_s - row.started_s) / 86_400.0
        return [Reason(code="left-open", score=50, sentence=f"A visit has been open for {days:.0f} days.")]
    if row.state == "planned" and row.planned_on is not None and row.planned_on < today.isoformat():
        return [Reason(code="missed", score=35, sentence=f"A visit was planned for {row.planned_on}.")]
    return []
