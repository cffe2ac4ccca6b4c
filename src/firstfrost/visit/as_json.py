"""The JSON form of a result: SI inside, the unit in every key, missing as null, one order of keys.

The shape is fixed by `result.schema.json` beside this file (JSON Schema, draft 2020-12).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from datetime import UTC, date, datetime
from enum import Enum
from typing import Any, Final

import numpy as np

from firstfrost.causes.cause import Cause, Causes
from firstfrost.causes.evidence import Evidence as CauseEvidence
from firstfrost.equipment.unit import Unit
from firstfrost.heating.number import Heating
from firstfrost.heating.number import Number as HeatingNumber
from firstfrost.phases.phase import Defrost, Phase
from firstfrost.proofs.finding import Evidence, Finding, Limit, Measured
from firstfrost.trace.receipt import Receipt
from firstfrost.trace.trace import Trace
from firstfrost.visit.result import Result

FORMAT: Final = "firstfrost-result"
FORMAT_VERSION: Final = 1
SCHEMA_FILE: Final = "result.schema.json"


def as_json(result: Result) -> dict[str, Any]:
    """Return `result` as plain dicts, lists, strings, numbers and None, ready for `json.dumps`.

    A `start`, `end` or `time` is on the base of the trace: seconds as a number where the file gave bare
    seconds, else an ISO 8601 UTC string that ends in Z. Beside each stands the same in seconds of the trace
    (`start_s`, `end_s`, `time_s`). No NaN and no infinity comes out: what is missing is None.
    """
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "made_by": {
            "name": "firstfrost",
            "version": result.made_by.version,
            "property_tables": result.made_by.property_tables,
        },
        "unit": unit_json(result.unit),
        "site": site_json(result.unit),
        "assumptions": assumptions_json(result.unit),
        "record": _record(result.trace),
        "marks": None
        if result.marks is None
        else [
            {**_moment(result.trace, "time", mark.time_s), "act": mark.act, "note": mark.note}
            for mark in result.marks
        ],
        "phases": [_phase(result.trace, phase) for phase in result.phases],
        "defrosts": [_defrost(result, defrost) for defrost in result.defrosts],
        "functions": {finding.function: _finding(result.trace, finding) for finding in result.findings},
        "heating": None if result.heating is None else _heating(result.trace, result.heating),
        "causes": None if result.causes is None else causes_json(result.causes),
        "cautions": [{"code": caution.code, "text": caution.text} for caution in result.cautions],
        "warnings": list(result.warnings),
        "input": _input(result.receipt),
    }


def plain(value: Any) -> Any:
    """Return `value` with dataclasses, arrays, NumPy numbers, times and tuples made plain for JSON.

    NaN and infinity become None. Raises TypeError for what has no plain form.
    """
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return _number(float(value))
    if isinstance(value, datetime):
        return _stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, set | frozenset):
        return sorted(plain(item) for item in value)
    raise TypeError(f"A {type(value).__name__} has no JSON form here. Give numbers, strings, lists or dicts.")


def _number(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return float(value)


def _stamp(when: datetime) -> str:
    """ISO 8601 in UTC, to the millisecond where the second is not whole."""
    utc = when.astimezone(UTC)
    return utc.isoformat(timespec="milliseconds" if utc.microsecond else "seconds").replace("+00:00", "Z")


def _base(trace: Trace, time_s: float) -> float | str | None:
    """`time_s` on the base of the trace's own file."""
    if not math.isfinite(time_s):
        return None
    when = trace.instant(round(time_s, 3))
    return float(time_s) if when is None else _stamp(when)


def _moment(trace: Trace, name: str, time_s: float | None) -> dict[str, Any]:
    if time_s is None:
        return {name: None, f"{name}_s": None}
    return {name: _base(trace, time_s), f"{name}_s": _number(time_s)}


def _span(trace: Trace, start_s: float, end_s: float) -> dict[str, Any]:
    return {
        "start": _base(trace, start_s),
        "end": _base(trace, end_s),
        "start_s": _number(start_s),
        "end_s": _number(end_s),
    }


def site_json(unit: Unit) -> dict[str, Any]:
    """Return where a unit stands, as in a result."""
    return {
        "altitude_m": _number(unit.site.altitude_m),
        "atmosphere_pa": _number(unit.site.atmosphere_pa),
        "zone": unit.site.zone,
    }


def assumptions_json(unit: Unit) -> list[dict[str, str]]:
    """Return what a unit file left to defaults, as in a result."""
    return [
        {"setting": default.setting, "value": default.value, "why": default.why} for default in unit.defaults
    ]


def unit_json(unit: Unit) -> dict[str, Any]:
    """Return what is known of a unit, as in a result."""
    return {
        "name": unit.name,
        "refrigerant": unit.refrigerant,
        "nominal_capacity_w": _number(unit.nominal_capacity_w),
        "metering": unit.metering,
        "coil_sensor": {
            "closes_at_c": _number(unit.coil_sensor.closes_at_c),
            "opens_at_c": _number(unit.coil_sensor.opens_at_c),
            "tolerance_k": _number(unit.coil_sensor.tolerance_k),
        },
        "board": {
            "kind": unit.board.kind,
            "interval_s": _number(unit.board.interval_s),
            "longest_defrost_s": _number(unit.board.longest_defrost_s),
            "pins_s": _number(unit.board.pins_s),
        },
        "limits": {
            "saturation_ceiling_c": _number(unit.limits.saturation_ceiling_c),
            "high_pressure_cutout_pa": _number(unit.limits.high_pressure_cutout_pa),
        },
    }


def _record(trace: Trace) -> dict[str, Any]:
    first, last = (float(trace.time_s[0]), float(trace.time_s[-1])) if len(trace) else (math.nan, math.nan)
    return {
        **_span(trace, first, last),
        "time_base": "seconds" if trace.epoch is None else "utc",
        "zone": trace.zone,
        "samples": len(trace),
        "sampling_s": _number(trace.sampling_s),
        "channels": [name for name in trace.columns if trace.has(name)],
    }


def _phase(trace: Trace, phase: Phase) -> dict[str, Any]:
    return {
        "name": phase.name,
        **_span(trace, phase.start_s, phase.end_s),
        "sure": _number(phase.sure),
        "decided_by": list(phase.decided_by),
        "gap": phase.gap,
    }


def _defrost(result: Result, defrost: Defrost) -> dict[str, Any]:
    limits = result.unit.limits
    peak_c, peak_pa = _number(defrost.peak_saturation_c), _number(defrost.peak_pressure_pa)
    return {
        **_span(result.trace, defrost.start_s, defrost.end_s),
        "duration_s": _number(defrost.duration_s),
        "start_half_width_s": _number(defrost.start_half_width_s),
        "end_half_width_s": _number(defrost.end_half_width_s),
        "ended_by": defrost.ended_by,
        "whole": defrost.whole,
        "cut": defrost.cut,
        "gap": defrost.gap,
        "sure": _number(defrost.sure),
        "decided_by": list(defrost.decided_by),
        "peak_saturation_c": peak_c,
        "peak_saturation_u_k": _number(defrost.peak_saturation_u_k),
        "peak_pressure_pa": peak_pa,
        **_moment(result.trace, "peak_time", defrost.peak_time_s),
        "peak_channel": defrost.peak_channel,
        "saturation_margin_k": None if peak_c is None else limits.saturation_ceiling_c - peak_c,
        "cutout_margin_pa": None if peak_pa is None else limits.high_pressure_cutout_pa - peak_pa,
    }


def _finding(trace: Trace, finding: Finding) -> dict[str, Any]:
    return {
        "standing": finding.standing,
        "sentence": finding.sentence,
        "settle": finding.settle,
        "remedy": finding.remedy,
        "evidence": [_evidence(trace, evidence) for evidence in finding.evidence],
    }


def _evidence(trace: Trace, evidence: Evidence) -> dict[str, Any]:
    return {
        "standing": evidence.standing,
        **_span(trace, evidence.start_s, evidence.end_s),
        "channels": list(evidence.channels),
        "what": evidence.what,
        "measured": _measured(evidence.measured),
        "limit": _limit(evidence.limit),
        "probability": _number(evidence.probability),
    }


def _heating(trace: Trace, heating: Heating) -> dict[str, Any]:
    steady = heating.steady
    return {
        "steady": None
        if steady is None
        else {
            **_span(trace, steady.start_s, steady.end_s),
            "since_s": _number(steady.since_s),
            "waited": steady.waited,
            "backup": steady.backup,
            "share": _number(steady.share),
            "least": steady.least,
        },
        "steady_s": _number(heating.steady_s),
        "why_not": heating.why_not,
        "numbers": {number.name: _heating_number(trace, number) for number in heating.numbers},
    }


def _heating_number(trace: Trace, number: HeatingNumber) -> dict[str, Any]:
    return {
        "standing": number.standing,
        "value": _number(number.value),
        "expanded": _number(number.expanded),
        "unit": number.unit,
        "sources": {name: _number(part) for name, part in number.sources.items()},
        "limit": _limit(number.limit),
        "probability": _number(number.probability),
        **_moment(trace, "start", number.start_s),
        **_moment(trace, "end", number.end_s),
        "channels": list(number.channels),
        "how": number.how,
        "sentence": number.sentence,
        "settle": number.settle,
        "remedy": number.remedy,
    }


def causes_json(causes: Causes) -> dict[str, Any]:
    """The causes as the result's JSON has them."""
    return {
        "verdict": causes.verdict,
        "sentence": causes.sentence,
        "answers": [_cause(one) for one in causes.answers],
        "together": list(causes.together),
        "apart": causes.apart,
        "next_readings": [
            {
                "name": one.act.name,
                "title": one.act.title,
                "how": one.act.how,
                "bits": _number(one.bits),
                "minutes": _number(one.act.minutes),
                "danger": one.act.danger,
                "caution": one.act.caution,
                "tells_apart": list(one.tells_apart),
            }
            for one in causes.next_readings
        ],
        "readings": [
            {
                "text": one.text,
                "feature": one.feature,
                "value": _value(one.seen.value),
                "u": _number(one.seen.u),
            }
            for one in causes.readings
        ],
        "features": causes.features,
        "basis": causes.basis,
    }


def _cause(one: Cause) -> dict[str, Any]:
    return {
        "names": list(one.names),
        "title": one.title,
        "prior": _number(one.prior),
        "log_likelihood": _number(one.log_likelihood),
        "probability": _number(one.probability),
        "does": one.does,
        "remedy": one.remedy,
        "speaks_for": [_cause_evidence(item) for item in one.speaks_for],
        "against": [_cause_evidence(item) for item in one.against],
    }


def _cause_evidence(one: CauseEvidence) -> dict[str, Any]:
    return {
        "feature": one.feature,
        "log_ratio": _number(one.log_ratio),
        "value": _value(one.value),
        "expected": _value(one.expected),
        "spread": _number(one.spread),
        "predicted": _value(one.predicted),
        "typed": one.typed,
    }


def _value(value: float | str) -> float | str | None:
    return value if isinstance(value, str) else _number(value)


def _measured(measured: Measured | None) -> dict[str, Any] | None:
    if measured is None:
        return None
    return {
        "value": _number(measured.value),
        "expanded": _number(measured.expanded),
        "unit": measured.unit,
    }


def _limit(limit: Limit | None) -> dict[str, Any] | None:
    if limit is None:
        return None
    return {
        "low": _number(limit.low),
        "high": _number(limit.high),
        "unit": limit.unit,
        "source": limit.source,
    }


def _input(receipt: Receipt) -> dict[str, Any]:
    return {
        "files": list(receipt.files),
        "rows": receipt.rows,
        "columns": [
            {
                "source": column.source,
                "header": column.header,
                "channel": column.channel,
                "unit": column.unit,
                "readings": column.readings,
                "dropped": column.dropped,
                "why": column.why,
            }
            for column in receipt.columns
        ],
        "ignored": list(receipt.ignored),
        "dropped": list(receipt.dropped),
        "notes": list(receipt.notes),
    }
