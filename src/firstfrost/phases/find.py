"""Phases and defrosts of a record."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstfrost.cycle.channels import Cycle
from firstfrost.equipment.unit import Unit
from firstfrost.instruments.accuracy import Accuracy
from firstfrost.phases import assemble
from firstfrost.phases.ending import ended_by
from firstfrost.phases.events import Events, Stretch, find
from firstfrost.phases.peak import highest
from firstfrost.phases.phase import Defrost, Phase
from firstfrost.phases.samples import on_purpose_spans, rows
from firstfrost.refrigerants import refrigerant
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Found:
    """What the phase finder gives to the proofs."""

    phases: tuple[Phase, ...]
    defrosts: tuple[Defrost, ...]
    turned: tuple[assemble.Turned, ...]
    """Beside each defrost, what the circuit did in it."""
    events: Events
    stretches: tuple[Stretch, ...]
    purpose: tuple[tuple[float, float], ...]
    step_s: float


def find_phases(
    *, trace: Trace, cycle: Cycle, unit: Unit, marks: Marks | None, events: Events | None = None
) -> Found:
    """Find the phases and defrosts of a trace.

    `events` may bring what the live fold has found already in the same samples; without it the fold runs here.
    """
    samples = rows(trace, cycle, marks)
    if events is None:
        events = find(samples.tolist()) if len(trace) else Events(end_s=math.nan)
    purpose = on_purpose_spans(marks)
    step_s = trace.sampling_s if len(trace) > 1 else 1.0
    stretches = assemble.clean(events)
    assemble.hidden_in_rests(samples, events, stretches)
    assemble.rests_from_their_start(samples, events, stretches)
    turned = assemble.defrosts(trace, samples, events, stretches, marks, purpose)
    defrosts = [_defrost(one, trace, cycle, unit, marks, events, step_s) for one in turned]
    # After a trip, or with the call gone, pressures that are slow to come together are no stuck valve.
    turned = [
        replace(one, returned=None, stops=True)
        if (one.returned is False and defrost.ended_by in ("pressure", "call"))
        or (defrost.ended_by == "pressure" and one.back_s - defrost.end_s < 30.0)
        else one
        for one, defrost in zip(turned, defrosts, strict=True)
    ]
    phases = assemble.phases(trace, samples, events, stretches, turned, purpose)
    return Found(
        phases=tuple(phases),
        defrosts=tuple(defrosts),
        turned=tuple(turned),
        events=events,
        stretches=tuple(stretches),
        purpose=tuple(purpose),
        step_s=step_s,
    )


def peak_uncertainty_k(unit: Unit, channel: str, pressure_pa: float, scatter: float, step: float) -> float:
    """Standard uncertainty of a peak saturation [K].

    u^2 = (dT/dp u_p)^2 + u_property^2 + scatter^2 / 5 + step^2 / 3, with u_p from the accuracy statement of the
    instrument (JCGM 100:2008, 5.1.2), the scatter of single readings about the fitted curve, and the distance that the
    value can have moved within half a sample (rectangular).
    """
    fluid = refrigerant(unit.refrigerant)
    accuracy: Accuracy = unit.instruments[channel]
    u_p = float(accuracy.u(pressure_pa))
    slope = fluid.dew_slope_k_per_pa(pressure_pa)
    return math.sqrt((slope * u_p) ** 2 + fluid.saturation_u_k**2 + scatter**2 / 5.0 + step**2 / 3.0)


def _defrost(
    one: assemble.Turned, trace: Trace, cycle: Cycle, unit: Unit, marks: Marks | None, events: Events, step_s: float
) -> Defrost:
    cause = (
        "unknown"
        if one.cut in ("end", "both") or events.gap_in(one.end.time_s - step_s, one.end.time_s + step_s)
        else ended_by(
            trace=trace,
            cycle=cycle,
            unit=unit,
            marks=marks,
            events=events,
            start_s=one.start.time_s,
            end_s=one.end.time_s,
            start_known=one.cut == "",
            stops=one.stops,
            step_s=step_s,
        )
    )
    peak = u_k = pressure = when = None
    channel = cycle.high_channel
    if channel is not None:
        got = highest(
            trace.time_s,
            cycle.high_dew_c,
            one.start.time_s,
            one.end.time_s,
            turns=one.shifted is not False and one.cut not in ("start", "both"),
            ends=one.cut not in ("end", "both"),
        )
        if got is not None:
            peak, when = got.value, got.time_s
            pressure = refrigerant(unit.refrigerant).dew_pressure_pa(peak)
            u_k = 2.0 * peak_uncertainty_k(unit, channel, pressure, got.scatter, got.step)
    return Defrost(
        start_s=one.start.time_s,
        end_s=one.end.time_s,
        whole=one.cut == "",
        cut=one.cut,  # type: ignore[arg-type]
        gap=events.gap_in(one.start.time_s - step_s, one.end.time_s + step_s),
        start_half_width_s=one.start.half_width_s,
        end_half_width_s=one.end.half_width_s,
        sure=one.sure,
        decided_by=one.decided_by or (*one.start.channels, *one.end.channels),
        ended_by=cause,  # type: ignore[arg-type]
        peak_saturation_c=peak,
        peak_saturation_u_k=u_k,
        peak_pressure_pa=pressure,
        peak_time_s=when,
        peak_channel=channel if peak is not None else None,
    )
