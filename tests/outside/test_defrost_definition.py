"""Where a defrost begins and ends by the test procedure, melting ice, and figures of the trade."""

from __future__ import annotations

import pytest
from drawn import (
    CLOSES_S,
    END_S,
    MELT_S,
    MELTED_S,
    START_S,
    check,
    cold_day,
    cold_trace,
    finding,
    steps,
    two_defrosts,
    unit,
)

from firstfrost.proofs.coil import melt
from firstfrost.proofs.context import Context
from firstfrost.trace.trace import Trace
from firstfrost.visit.result import Result


def edges(trace: Trace) -> tuple[float, float]:
    (defrost,) = check(trace).defrosts
    return defrost.start_s, defrost.end_s


def test_a_defrost_runs_from_the_controls_first_change_to_their_first_change_back() -> None:
    """10 CFR 430 subpart B appendix M1, frost accumulation test; from memory, in our own words.

    Initiation is the moment at which the controls first change normal heating to remove frost; termination
    the moment of their first change from defrost back to heating. A board that stops the fan 6 s before it
    shifts the valve has begun with the fan; one that takes backup heat off and brings the fan back 20 s
    later has ended with the backup heat.
    """
    trace = cold_trace(
        fan_current=steps(0.9, (START_S - 6, 0.0), (END_S + 20, 0.9)),
        backup_current=steps(0.0, (START_S + 4, 21.0), (END_S, 0.0)),
        valve_voltage=steps(0.1, (START_S, 25.0), (END_S + 5, 0.1)),
    )
    start_s, end_s = edges(trace)
    assert start_s == pytest.approx(START_S - 6, abs=1.0)
    assert end_s == pytest.approx(END_S, abs=1.0)


@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0, 10.0])
def test_the_circuit_gives_the_same_edges_where_no_output_was_read(step_s: float) -> None:
    """The same definition: what the circuit does follows the controls within seconds."""
    outputs = ("fan_current", "backup_current", "valve_voltage", "compressor_current", "heating_call")
    start_s, end_s = edges(cold_trace(*outputs, step_s=step_s))
    assert start_s == pytest.approx(START_S, abs=2 * step_s)
    assert end_s == pytest.approx(END_S, abs=2 * step_s)


def test_the_official_period_from_termination_to_termination_holds_one_interval_and_one_defrost() -> None:
    """Appendix M1, from memory: the frost test's period runs from one termination to the next."""
    first, second = check(two_defrosts(1800.0)).defrosts
    assert second.end_s - first.end_s == pytest.approx(1800.0 + second.duration_s, abs=4.0)
    assert second.start_s - first.end_s == pytest.approx(1800.0, abs=4.0)


def melting(result: Result) -> Context:
    from firstfrost.phases.find import find_phases

    found = find_phases(trace=result.trace, cycle=result.cycle, unit=result.unit, marks=result.marks)
    return Context(trace=result.trace, cycle=result.cycle, unit=result.unit, marks=result.marks, found=found)


def test_ice_melts_at_0_degc_so_a_frosted_coil_stays_there() -> None:
    """Ice melts at 0 degC at any pressure met here (IAPWS, the melting curve; from memory)."""
    context = melting(check(cold_trace()))
    seen = melt(context, START_S, END_S)
    assert seen is not None
    assert seen.frost is True
    # The drawn plateau is 120 s long; the band of 2 K takes in a little of the ways up to it and away.
    assert seen.stay_s == pytest.approx(MELTED_S - MELT_S, abs=30.0)


@pytest.mark.parametrize(("level_c", "frost"), [(-0.8, True), (0.0, True), (1.5, True), (7.0, False)])
def test_a_plateau_elsewhere_is_not_melting_ice(level_c: float, frost: bool) -> None:
    """A probe on the pipe reads up to a kelvin or two off the ice; at 7 degC nothing melts."""
    coil = [*cold_day()["outdoor_coil_temp"][:4], (MELT_S, level_c), (MELTED_S, level_c + 0.3),  # type: ignore[index]
            *cold_day()["outdoor_coil_temp"][6:]]  # type: ignore[index]  # fmt: skip
    context = melting(check(cold_trace(outdoor_coil_temp=coil)))
    seen = melt(context, START_S, END_S)
    assert seen is not None
    assert (seen.frost is True) is frost


@pytest.mark.parametrize("minutes", [30, 60, 90])
def test_run_time_settings_of_30_60_and_90_minutes_are_judged(minutes: int) -> None:
    """Common practice, no source: the settings that boards offer."""
    machine = unit(('interval = "30 min"', f'interval = "{minutes} min"'))
    right, wrong = (
        finding(check(two_defrosts(60.0 * m), (), machine), "timer_counts") for m in (minutes, 0.8 * minutes)
    )
    assert right.standing == "shown"
    (evidence,) = right.evidence
    assert evidence.measured is not None
    assert evidence.measured.value == pytest.approx(60.0 * minutes, abs=10.0)
    assert wrong.standing == "failed"


@pytest.mark.parametrize(
    ("volts", "reads"), [(24.0, "open"), (28.0, "open"), (0.0, "closed"), (0.5, "closed")]
)
def test_24_to_28_volts_across_the_contact_is_open_and_about_none_is_closed(volts: float, reads: str) -> None:
    """Common practice, no source: the control transformer's volts stand across an open contact."""
    result = check(cold_trace(sensor_voltage=volts))
    start = finding(result, "defrost_starts")
    if reads == "open":
        assert "although the sensor's contact was open" in start.evidence[0].what
        assert start.standing == "failed"
        assert result.standing("sensor_closes") == "failed"
    else:
        assert start.standing == "shown"
        assert result.standing("sensor_closes") == "unseen"


def test_a_switch_half_way_is_left_where_it_was() -> None:
    """A contact that reads 9 V is neither; it keeps the state it had."""
    volts = steps(25.0, (CLOSES_S, 0.1), (500, 9.0), (560, 0.1), (END_S, 25.0))
    result = check(cold_trace(sensor_voltage=volts))
    assert len(finding(result, "sensor_closes").evidence) == 1
    assert len(finding(result, "sensor_opens").evidence) == 1
