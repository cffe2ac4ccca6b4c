"""A plan as JSON: every number with its unit in its key."""

from __future__ import annotations

from typing import Any

from firstfrost.bench.plan.plan import Band, Method, Plan
from firstfrost.bench.plan.steps import Step
from firstfrost.bench.plan.words import BY_KEY
from firstfrost.refrigerants import refrigerant


def as_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain objects; gauge pressures are those of the site."""
    unit, stop = plan.unit, plan.stop
    return {
        "made_by": {"version": plan.version},
        "unit": {"name": unit.name, "refrigerant": unit.refrigerant, "safety_class": plan.safety_class},
        "day": {
            "outdoor_c": plan.outdoor_c,
            "humidity_ratio_of_saturation": plan.humidity,
            "humidity_given": plan.humidity_given,
            "dew_point_c": plan.dew_point_c,
            "indoor_c": plan.indoor_c,
            "atmosphere_pa": unit.site.atmosphere_pa,
        },
        "stop": {
            "high_side_gauge_pa": stop.gauge_pa,
            "pressure_pa": stop.pressure_pa,
            "saturation_c": stop.temp_c,
            "by": stop.by,
            "default": unit.is_default(
                "limits.saturation_ceiling" if stop.by == "ceiling" else "limits.high_pressure_cutout"
            ),
        },
        "best": plan.best.way if plan.best else None,
        "methods": [_method(plan, method) for method in plan.methods],
        "runs": plan.runs,
        "defaults": [{"setting": row.setting, "value": row.value, "why": row.why} for row in unit.defaults],
    }


def _method(plan: Plan, method: Method) -> dict[str, Any]:
    return {
        "way": method.way,
        "title": method.title,
        "verdict": method.verdict,
        "why": method.why,
        "runs": method.runs,
        "runs_that_work": method.worked,
        "runs_over_stop_limit": method.over_limit,
        "runs_ended_by_time": method.by_time,
        "runs_with_frost_to_clear": method.frosted,
        "expect": _expect(plan, method),
        "shows_at_best": dict(method.shows),
        "steps": [_step(step) for step in method.steps],
    }


def _expect(plan: Plan, method: Method) -> dict[str, Any]:
    fluid = refrigerant(plan.unit.refrigerant)
    out: dict[str, Any] = {}
    for key, band in method.expect.items():
        if BY_KEY[key].unit != "Pa":
            out[key] = _band(band)
            continue
        atmosphere = plan.unit.site.atmosphere_pa
        values = (band.low, band.middle, band.high)
        gauge = Band(**dict(zip(_ORDER, (value - atmosphere for value in values), strict=True)))
        dew = Band(**dict(zip(_ORDER, (fluid.dew_temp_c(value) for value in values), strict=True)))
        out[key.removesuffix("_pa")] = {"gauge_pa": _band(gauge), "saturation_c": _band(dew)}
    return out


_ORDER = ("low", "middle", "high")


def _band(band: Band) -> dict[str, float]:
    return {name: getattr(band, name) for name in _ORDER}


def _step(step: Step) -> dict[str, Any]:
    return {
        "text": step.text,
        "caution": step.caution,
        "marks": list(step.marks),
        "at": step.at or None,
        "expect": list(step.expect),
        "stop_limit_applies": step.stop,
    }
