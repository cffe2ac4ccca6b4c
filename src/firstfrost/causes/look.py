"""What a visit's record says that bears on causes, as features: numbers and words, each with its channels.

A feature that the record does not hold is left out: nothing is filled in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.compression import compressed_c
from firstfrost.causes.levels import levels, middle
from firstfrost.causes.seen import Seen
from firstfrost.heating.number import Heating
from firstfrost.phases import fold
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.contact import LAG_S, Contact, Switching
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Finding

Floats = NDArray[np.float64]
NOMINAL_V: Final = 230.0
"""Taken for the elements' volts where the line was not read."""
PLATE_SPREAD: Final = 0.06
"""Plates read 208 to 240 V. Common practice, no source."""
WINDOW_S: Final = 180.0
SETTLED_S: Final = 480.0
"""Heating this long after a start or a defrost is taken as it stands."""
REST_S: Final = 25.0
STANDING_WORDS: Final = {"shown": "holds", "prompted": "holds", "doubtful": "doubtful", "failed": "failed"}


def look(
    context: Context, findings: Sequence[Finding], contact: Contact, heating: Heating
) -> dict[str, Seen]:
    """The features of a visit, name -> what was seen.

    Parameters
    ----------
    context : Context
        The record with its phases.
    findings : sequence of Finding
        The standings of the thirteen functions.
    contact : Contact
        The coil sensor's contact over the record.
    heating : Heating
        The numbers of the heating check.
    """
    out: dict[str, Seen] = {}
    if len(context.trace) < 3:
        return out
    span = running_span(context, heating)
    if span is not None:
        numbers = unsteady(context, span)
        numbers.update({one.name: (one.value, 0.5 * one.expanded) for one in heating.numbers if one.measured})
        out.update(from_numbers(context, numbers))
        out.update(_running(context, span))
        out["steady"] = Seen(value="steady" if heating.steady is not None else "moves")
    out.update(_at_rest(context))
    out.update(_line(context))
    out.update(_answers_call(context))
    out.update(_sensor(context, contact))
    out.update(_best_approach(context))
    out.update(_marks_late(context))
    out.update(_defrosts(context))
    out.update(_interval(context))
    out.update(levels(context, contact, span, undisturbed(context)))
    word = pins_word(context)
    if word:
        out["pins"] = Seen(value=word)
    for finding in findings:
        held = STANDING_WORDS.get(finding.standing)
        if held is not None:
            out[finding.function] = Seen(value=held)
    return out


KEPT: Final = (
    "superheat_k", "subcooling_k", "evaporating_approach_k", "condensing_approach_k", "discharge_superheat_k",
    "discharge_temp_c", "temperature_rise_k", "suction_above_coil_k", "vapor_line_k", "frost_left_k",
    "discharge_excess_k",
)  # fmt: skip
LOGS: Final = {
    "capacity_air_w": "capacity_air_log",
    "power_w": "power_log",
    "airflow_m3_s": "airflow_log",
    "compressor_a": "compressor_current_log",
    "fan_a": "fan_current_log",
    "backup_power_w": "backup_log",
}
"""Taken as the logarithm over the nominal capacity."""
Numbers = dict[str, tuple[float, float]]


def from_numbers(context: Context, numbers: Numbers) -> dict[str, Seen]:
    """Features that numbers give: name -> value and standard uncertainty, in the unit its name says."""
    out: dict[str, Seen] = {}
    for name in KEPT:
        if name in numbers:
            value, u = numbers[name]
            out[name] = Seen(value=value, u=u)
    size = context.unit.nominal_capacity_w
    for name, feature in LOGS.items():
        if name in numbers and size:
            value, u = numbers[name]
            if value > 0.0:
                out[feature] = Seen(value=math.log(value / size), u=min(u / value, 1.0))
    return out


def _line(context: Context) -> dict[str, Seen]:
    """Line voltage over the plate's; with no plate in the unit file that of usual plates adds its spread."""
    _, values = context.window("line_voltage", context.first_s, context.last_s)
    values = values[values > 50.0]
    if len(values) < 3:
        return {}
    unit, volts = context.unit, float(np.median(values))
    u = unit.instruments["line_voltage"].u(volts) / volts
    if unit.is_default("supply.voltage"):
        u = math.hypot(u, PLATE_SPREAD)
    return {"line_voltage_log": Seen(value=math.log(volts / unit.supply.voltage_v), u=u)}


def _answers_call(context: Context) -> dict[str, Seen]:
    """Whether the compressor runs while heat is called for, rests of some minutes after a defrost aside."""
    call = context.trace.get("heating_call")
    amps = context.trace.get("compressor_current")
    good = np.isfinite(call) & np.isfinite(amps) & (call > 0.5)
    if int(good.sum()) < 20:
        return {}
    part = float(np.mean(amps[good] > 1.0))
    return {"called": Seen(value="runs" if part > 0.75 else "cycles" if part > 0.1 else "rests")}


def unsteady(context: Context, span: tuple[float, float]) -> Numbers:
    """The circuit's numbers as medians over a span, steady or not: a gross fault lets nothing settle."""
    a, b = span
    instruments = context.unit.instruments

    def mid(name: str) -> float:
        return _median(context, name, a, b)

    cycle = context.cycle
    low, high = middle(context, cycle.low_dew_c, a, b), middle(context, cycle.high_dew_c, a, b)
    discharge, suction = mid("discharge_temp"), mid("suction_line_temp")
    backup = mid("backup_current")
    pairs = {
        "superheat_k": (suction - low, "suction_line_temp"),
        "subcooling_k": (middle(context, cycle.subcooling_k, a, b), "liquid_line_temp"),
        "evaporating_approach_k": (mid("outdoor_air_temp") - low, "outdoor_air_temp"),
        "condensing_approach_k": (high - mid("return_air_temp"), "return_air_temp"),
        "discharge_superheat_k": (discharge - high, "discharge_temp"),
        "discharge_temp_c": (discharge, "discharge_temp"),
        "discharge_excess_k": (discharge - _compressed_c(context, low, suction, high), "discharge_temp"),
        "suction_above_coil_k": (suction - mid("outdoor_coil_temp"), "suction_line_temp"),
        "vapor_line_k": (discharge - mid("vapor_line_temp"), "discharge_temp"),
        "compressor_a": (mid("compressor_current"), "compressor_current"),
        "fan_a": (mid("fan_current"), "fan_current"),
    }
    if not backup > 1.0:
        pairs["temperature_rise_k"] = (mid("supply_air_temp") - mid("return_air_temp"), "supply_air_temp")
        pairs["power_w"] = (mid("power"), "power")
    return {
        name: (value, 1.2 * instruments[channel].u(value))
        for name, (value, channel) in pairs.items()
        if math.isfinite(value) and not (name == "fan_a" and value < 0.15)
    }


def _compressed_c(context: Context, low_c: float, suction_c: float, high_c: float) -> float:
    """Discharge temperature of a compression of efficiency 0.7 from the suction port, no heat lost [degC]."""
    if not all(math.isfinite(x) for x in (low_c, suction_c, high_c)) or high_c <= low_c + 2.0:
        return math.nan
    return compressed_c(context.unit.refrigerant, low_c=low_c, superheat_k=suction_c - low_c, high_c=high_c)


def _median(context: Context, name: str, start_s: float, end_s: float) -> float:
    _, values = context.window(name, start_s, end_s)
    return float(np.median(values)) if len(values) >= 2 else math.nan


def undisturbed(context: Context) -> list[tuple[float, float]]:
    """Spans of heating that nobody touched, each with its first minutes left out [s]."""
    spans = []
    for phase in context.found.phases:
        if phase.name == "heating":
            spans.append((phase.start_s, phase.end_s))
    out = []
    for start, end in spans:
        for a, b in context.found.purpose:
            if a < end and b > start:
                end = min(end, a) if a > start else end
        if end - start >= WINDOW_S:
            out.append((start, end))
    return out


def heating_span(context: Context, heating: Heating | None = None) -> tuple[float, float] | None:
    """The steady window of the heating check; else the end of what had most time to settle [s]."""
    if heating is not None and heating.steady is not None:
        return heating.steady.start_s, heating.steady.end_s
    best: tuple[float, float] | None = None
    for start, end in undisturbed(context):
        if best is None or (end - start) > (best[1] - best[0]) + 60.0:
            best = (start, end)
    if best is None:
        return None
    end = best[1] - 2.0 * context.step_s
    return (max(best[0], end - WINDOW_S), end)


def running_span(context: Context, heating: Heating | None = None) -> tuple[float, float] | None:
    """As `heating_span`, or the end of any long stretch with the compressor on where nothing heats [s]."""
    span = heating_span(context, heating)
    if span is not None:
        return span
    names = ("heating", "cooling", "unknown", "recovery")
    spans = [
        (p.start_s, p.end_s)
        for p in context.found.phases
        if p.name in names and p.end_s - p.start_s > WINDOW_S
    ]
    if not spans:
        return None
    start, end = max(spans, key=lambda one: one[1] - one[0])
    return (max(start, end - WINDOW_S), end - 2.0 * context.step_s)


def _running(context: Context, span: tuple[float, float]) -> dict[str, Seen]:
    """What runs, what heats and what does not, with the compressor running and no defrost on."""
    out: dict[str, Seen] = {}
    a, b = span

    def mid(name: str) -> float:
        return _median(context, name, a, b)

    room, vapor, backup = mid("return_air_temp"), mid("vapor_line_temp"), mid("backup_current")
    rise = mid("supply_air_temp") - room
    if math.isfinite(rise) and not backup > 1.0:
        out["air_side"] = Seen(value="warms" if rise > 3.0 else "cools" if rise < -1.5 else "neither")
    low, high = (
        middle(context, context.cycle.low_dew_c, a, b),
        middle(context, context.cycle.high_dew_c, a, b),
    )
    if math.isfinite(low) and math.isfinite(high):
        out["pressures"] = Seen(value="together" if high - low < 18.0 else "apart")
    if math.isfinite(vapor):
        base = room if math.isfinite(room) else 20.0
        word = "hot" if vapor > base + 12.0 else "cold" if vapor < base - 3.0 else "tepid"
        out["vapor_line"] = Seen(value=word)
    valve, fan = mid("valve_voltage"), mid("fan_current")
    if math.isfinite(valve):
        out["valve_coil_heating"] = Seen(value="powered" if abs(valve) > 12.0 else "dead")
    if math.isfinite(backup):
        out["backup_heating"] = Seen(value="runs" if backup > 1.5 else "rests")
    if math.isfinite(fan):
        out["fan_heating"] = Seen(value="turns" if fan > 0.15 else "stands")
    liquid, coil, air = mid("liquid_line_temp"), mid("outdoor_coil_temp"), mid("outdoor_air_temp")
    suction = mid("suction_line_temp")
    numbers = {
        "liquid_to_room_k": (liquid - room, "liquid_line_temp", "return_air_temp"),
        "coil_to_air_k": (air - coil, "outdoor_coil_temp", "outdoor_air_temp"),
        "coil_to_dew_k": (coil - low, "outdoor_coil_temp", "outdoor_coil_temp"),
        "air_to_suction_k": (air - suction, "suction_line_temp", "outdoor_air_temp"),
        "vapor_to_dew_k": (vapor - high, "vapor_line_temp", "vapor_line_temp"),
    }
    for name, (value, one, other) in numbers.items():
        if math.isfinite(value):
            out[name] = Seen(value=value, u=_two(context, one, other))
    return out


def _two(context: Context, one: str, other: str) -> float:
    u = context.unit.instruments
    return math.hypot(u[one].u(20.0), u[other].u(20.0))


def _at_rest(context: Context) -> dict[str, Seen]:
    """What gauges say of a circuit that has rested long: its saturation is the air's about it.

    Only the first readings count, where the compressor had not run yet: nobody knows how long a rest before
    the record was, so pressures that still move are left out.
    """
    out: dict[str, Seen] = {}
    rests = context.rests
    first = context.first_s
    if not rests or rests[0][0] > first + 5.0 * context.step_s or rests[0][1] >= context.last_s:
        return out
    end = min(rests[0][1] - 2.0 * context.step_s, first + 120.0)
    air = _median(context, "outdoor_air_temp", first, end)
    low, high = (middle(context, y, first, end) for y in (context.cycle.low_dew_c, context.cycle.high_dew_c))
    for name, value in (("rest_low_k", low), ("rest_high_k", high)):
        if math.isfinite(value - air):
            out[name] = Seen(value=value - air, u=context.u("outdoor_air_temp", air))
    for name, value in (
        ("rest_low_level_c", low),
        ("rest_high_level_c", high),
        ("rest_apart_k", high - low),
        ("rest_coil_k", _median(context, "outdoor_coil_temp", first, end) - air),
        ("rest_suction_k", _median(context, "suction_line_temp", first, end) - low),
    ):
        if math.isfinite(value):
            out[name] = Seen(value=value, u=0.4)
    return out


def _sensor(context: Context, contact: Contact) -> dict[str, Seen]:
    """How far from its ratings the contact switched, by itself."""
    out: dict[str, Seen] = {}
    rated = context.unit.coil_sensor
    for name, closes, at in (
        ("closes_off_k", True, rated.closes_at_c),
        ("opens_off_k", False, rated.opens_at_c),
    ):
        own: list[Switching] = [
            one for one in contact.switchings
            if one.closes is closes and one.kind == "own" and math.isfinite(one.coil_c)
        ]  # fmt: skip
        if own:
            middle = [0.5 * (one.sensor_c[0] + one.sensor_c[1]) for one in own]
            # The sensor's own lag is not known: its temperature lies anywhere between the two.
            wide = abs(own[0].sensor_c[1] - own[0].sensor_c[0]) / math.sqrt(12.0)
            out[name] = Seen(value=float(np.median(middle)) - at, u=math.hypot(own[0].u_k, wide))
    out.update(_held(context, contact))
    return out


def _held(context: Context, contact: Contact) -> dict[str, Seen]:
    """How far beyond its ratings the coil went with the contact standing still, by a body that lags.

    How far below the closing rating it came with the contact open, and above the opening rating with the
    contact closed and no jumper; 0 where it did not.
    """
    trace, rated = context.trace, context.unit.coil_sensor
    coil, volts = trace.get("outdoor_coil_temp"), trace.get("sensor_voltage")
    good = np.isfinite(coil) & np.isfinite(volts)
    if not contact.seen or int(good.sum()) < 10:
        return {}
    t, coil, is_open = trace.time_s[good], coil[good], np.abs(volts[good]) > 9.0
    slow = _lagging(t, coil, LAG_S)
    u = context.u("outdoor_coil_temp", 0.0)
    out: dict[str, Seen] = {}
    if is_open.any():
        out["open_below_k"] = Seen(value=max(rated.closes_at_c - float(np.min(slow[is_open])), 0.0), u=u)
    jumpered = np.zeros(len(t), dtype=bool)
    for span in contact.closed:
        for a, b in span.jumpered:
            jumpered |= (t >= a) & (t < b)
    closed = ~is_open & ~jumpered
    if closed.any():
        out["closed_above_k"] = Seen(value=max(float(np.max(slow[closed])) - rated.opens_at_c, 0.0), u=u)
    return out


def _lagging(t: Floats, y: Floats, tau_s: float) -> Floats:
    """A first-order body (n,) of time constant `tau_s` that was at rest with `y` at the start."""
    keep = np.exp(-np.diff(t, prepend=t[0]) / tau_s).tolist()
    out, now = np.empty_like(y), float(y[0])
    for i, (k, value) in enumerate(zip(keep, y.tolist(), strict=True)):
        now = k * now + (1.0 - k) * value
        out[i] = now
    return out


def _best_approach(context: Context) -> dict[str, Seen]:
    """Approach of the outdoor coil at its cleanest: frost widens it, and a defrost takes frost away.

    The lowest sixth over heating that nobody touched, the first four minutes of each stretch left out.
    """
    t = context.trace.time_s
    use = np.zeros(len(t), dtype=bool)
    for a, b in undisturbed(context):
        use |= (t >= a + 240.0) & (t <= b - 2.0 * context.step_s)
    air = context.trace.get("outdoor_air_temp")
    out: dict[str, Seen] = {}
    pairs = {
        "best_approach_k": (air - context.cycle.low_dew_c, "outdoor_air_temp"),
        "best_coil_k": (air - context.trace.get("outdoor_coil_temp"), "outdoor_coil_temp"),
    }
    for name, (y, channel) in pairs.items():
        values = y[use & np.isfinite(y)]
        if len(values) >= 5:
            out[name] = Seen(value=float(np.percentile(values, 16.0)), u=1.2 * context.u(channel, 0.0))
    return out


def _marks_late(context: Context) -> dict[str, Seen]:
    """How far what was written down lies behind what the channels show of it [s]."""
    wanted = {
        "fan-lead-off": (fold.SW_FAN, False),
        "fan-lead-on": (fold.SW_FAN, True),
        "call-off": (fold.SW_CALL, False),
        "call-on": (fold.SW_CALL, True),
    }
    late: list[float] = []
    for mark in context.marks or ():
        if mark.act in wanted:
            switch, on = wanted[mark.act]
            moments = [c.time_s for c in context.events.of(switch, on=on)]
            near = min((mark.time_s - at for at in moments), key=abs, default=math.inf)
            if abs(near) < 240.0:
                late.append(near)
    if not late:
        return {}
    return {"marks_late_s": Seen(value=float(np.median(late)), u=0.5 * context.near_s)}


def _backup_w(context: Context, start_s: float, end_s: float) -> float:
    amps = _median(context, "backup_current", start_s, end_s)
    volts = _median(context, "line_voltage", start_s, end_s)
    return amps * (volts if math.isfinite(volts) else NOMINAL_V)


def _defrosts(context: Context) -> dict[str, Seen]:
    """What happened in the defrosts: the first whole one, else the first."""
    found = context.found.defrosts
    if not found:
        return {}
    one = next((d for d in found if d.whole and not d.gap), found[0])
    out: dict[str, Seen] = {}
    size = context.unit.nominal_capacity_w
    a, b = one.start_s, one.end_s
    if one.whole and b - a > 5.0:
        out["defrost_length_log"] = Seen(
            value=math.log(b - a), u=min(0.5, (one.end_half_width_s + 1.0) / (b - a))
        )
        out["ended_by"] = Seen(value=one.ended_by)
    if one.peak_saturation_c is not None and one.whole:
        out["peak_c"] = Seen(value=one.peak_saturation_c, u=(one.peak_saturation_u_k or 0.0) / 2.0)
    late = b - min(20.0, 0.3 * (b - a))
    mid_a = a + min(25.0, 0.3 * (b - a))
    out.update(_in_defrost(context, one, mid_a, late, size))
    return out


def _in_defrost(
    context: Context, one: Defrost, start_s: float, late_s: float, size: float | None
) -> dict[str, Seen]:
    out: dict[str, Seen] = {}
    touched = any(a < one.end_s and b > one.start_s - 30.0 for a, b in context.marked("fan-lead-off"))
    fan = _median(context, "fan_current", start_s, one.end_s)
    if math.isfinite(fan) and not touched and (context.marks_known or fan > 0.15):
        out["fan_defrost"] = Seen(value="turns" if fan > 0.15 else "stands")
    valve = _median(context, "valve_voltage", start_s, one.end_s)
    if math.isfinite(valve):
        out["valve_coil_defrost"] = Seen(value="powered" if abs(valve) > 12.0 else "dead")
    backup = _backup_w(context, start_s, one.end_s)
    if math.isfinite(backup) and size:
        out["backup_defrost"] = Seen(value="runs" if backup > 350.0 else "dead")
        if backup > 350.0:
            out["backup_log"] = Seen(value=math.log(backup / size), u=0.04)
    vapor, room = (
        _median(context, "vapor_line_temp", late_s, one.end_s),
        _median(context, "return_air_temp", late_s, one.end_s),
    )
    if math.isfinite(vapor):
        out["vapor_defrost"] = Seen(
            value="cold" if vapor < (room if math.isfinite(room) else 20.0) - 3.0 else "warm"
        )
    low, high = (
        middle(context, y, start_s, one.end_s) for y in (context.cycle.low_dew_c, context.cycle.high_dew_c)
    )
    if math.isfinite(low):
        out["defrost_low_c"] = Seen(value=low, u=context.u("outdoor_coil_temp", 0.0) * 0.5)
    if math.isfinite(low) and math.isfinite(high):
        out["defrost_lift_k"] = Seen(value=high - low, u=0.5)
    coil = _median(context, "outdoor_coil_temp", one.end_s - 8.0, one.end_s + 4.0)
    if math.isfinite(coil) and one.whole:
        out["coil_end_c"] = Seen(value=coil, u=context.u("outdoor_coil_temp", coil))
    supply = _median(context, "supply_air_temp", late_s, one.end_s)
    if math.isfinite(supply) and math.isfinite(room):
        out["supply_defrost_k"] = Seen(
            value=supply - room, u=_two(context, "supply_air_temp", "return_air_temp")
        )
    return out


def _interval(context: Context) -> dict[str, Seen]:
    """Run time between one defrost's end and the next one's start, over the board's setting.

    Without marks nobody knows whether pins brought the second.
    """
    if context.unit.board.kind != "time-temperature" or not context.marks_known:
        return {}
    for one, two in zip(context.found.defrosts, context.found.defrosts[1:], strict=False):
        if not one.cut and two.cut in ("", "end") and not context.found.events.gap_in(one.end_s, two.start_s):
            bridged = any(a < two.start_s and b > one.end_s for a, b in context.marked("pins-bridged"))
            if bridged:
                continue
            run_s = context.seconds(one.end_s, two.start_s)
            if run_s > 1.0:
                return {"interval_log": Seen(value=math.log(run_s / context.unit.board.interval_s), u=0.02)}
    return {}


def pins_word(context: Context) -> str:
    """Whether pins bridged long enough brought a defrost; empty where they were not tried."""
    out = ""
    for a, b in context.marked("pins-bridged"):
        if any(d.start_s < b + 10.0 and d.end_s > a for d in context.found.defrosts):
            return "answered"
        end = min(b, context.last_s)
        if end - a > context.unit.board.pins_s:
            state = context.events.state_at(fold.SW_CONTACT, end)
            # An open contact explains the board's silence by itself.
            out = {False: "unanswered", True: "contact open", None: "no answer"}[state]
    return out
