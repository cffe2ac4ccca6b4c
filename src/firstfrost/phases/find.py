"""Phases and defrosts of a record."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstfrost.cycle.channels import Cycle
from firstfrost.equipment.unit import Unit
from firstfrost.instruments.accuracy import Accuracy
from firstfrost.instruments.budget import Value, measured
from firstfrost.phases import assemble, fold
from firstfrost.phases.ending import ended_by
from firstfrost.phases.events import Events, Stretch, find
from firstfrost.phases.peak import Peak, highest
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

    `events` may bring what the live fold has found already in the same samples; without it the fold runs
    here.
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
    run_known = events.first[fold.SW_COMPRESSOR] is not None or trace.has("power")
    # After a trip, or with the call gone, pressures that are slow to come together are no stuck valve.
    turned = [
        replace(one, returned=None, stops=True)
        if (one.returned is False and defrost.ended_by in ("pressure", "call"))
        or (defrost.ended_by == "pressure" and (one.back_s - defrost.end_s < 30.0 or not run_known))
        else one
        for one, defrost in zip(turned, defrosts, strict=True)
    ]
    phases = assemble.phases(trace, samples, events, stretches, turned, purpose)
    return Found(
        phases=tuple(replace(p, decided_by=real(p.decided_by, trace, cycle)) for p in phases),
        defrosts=tuple(replace(d, decided_by=real(d.decided_by, trace, cycle)) for d in defrosts),
        turned=tuple(turned),
        events=events,
        stretches=tuple(stretches),
        purpose=tuple(purpose),
        step_s=step_s,
    )


def real(names: tuple[str, ...], trace: Trace, cycle: Cycle) -> tuple[str, ...]:
    """The channels of the record behind the names that the fold uses, without those it does not hold."""
    known = [cycle.high_channel if name == "high_pressure" else name for name in names]
    return tuple(dict.fromkeys(name for name in known if name is not None and name in trace))


def peak_value(unit: Unit, channel: str, peak: Peak) -> Value:
    """A peak saturation with its uncertainty by source [degC, K].

    The gauge, through dT/dp at the peak; the property itself; what the scatter of single readings leaves in
    the fitted curve; and how far the value can have moved in the step in which the peak lies (rectangular).
    Combined as JCGM 100:2008, 5.1.2.
    """
    fluid = refrigerant(unit.refrigerant)
    pressure_pa = fluid.dew_pressure_pa(peak.value)
    accuracy: Accuracy = unit.instruments[channel]
    gauge = measured(pressure_pa, accuracy, unit.shared.get(channel, channel))
    value = gauge.through(peak.value, fluid.dew_slope_k_per_pa(pressure_pa))
    value = value.with_source(f"saturation of {fluid.name}", fluid.saturation_u_k)
    value = value.with_source("scatter of readings", peak.noise)
    return value.with_source("time between readings", peak.step / math.sqrt(3.0))


def _defrost(
    one: assemble.Turned,
    trace: Trace,
    cycle: Cycle,
    unit: Unit,
    marks: Marks | None,
    events: Events,
    step_s: float,
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
            start_half_width_s=one.start.half_width_s,
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
            fluid = refrigerant(unit.refrigerant)
            # A fit next to the end of the property tables may reach a little beyond it.
            got = replace(got, value=min(max(got.value, fluid.lowest_temp_c), fluid.highest_temp_c))
            peak, when = got.value, got.time_s
            pressure = fluid.dew_pressure_pa(peak)
            u_k = peak_value(unit, channel, got).expanded
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
        ended_by=cause,
        peak_saturation_c=peak,
        peak_saturation_u_k=u_k,
        peak_pressure_pa=pressure,
        peak_time_s=when,
        peak_channel=channel if peak is not None else None,
    )
