"""Each of the thirteen functions: a record that fails it, one that shows it, one that lacks the reading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest
from drawn import (
    CLOSES_S,
    END_S,
    LAST_S,
    START_S,
    acts,
    check,
    cold_day,
    cold_trace,
    finding,
    later,
    steps,
    timed_out,
    two_defrosts,
    unit,
    with_gap,
)

from firstfrost.equipment.unit import Unit
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.proofs.rows import RULES
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

DAY: dict[str, Any] = cold_day()
NO_TURN: dict[str, Any] = {
    # The outputs move, the circuit goes on heating.
    "low": [(0, -3), (CLOSES_S, -6), (600, -13)],
    "high": 42.0,
    "vapor_line_temp": 61.0,
    "outdoor_coil_temp": [(0, 2), (CLOSES_S, -1), (600, -8)],
    "supply_air_temp": 38.0,
}
STAYS_TURNED: dict[str, Any] = {
    "low": [*DAY["low"][:7], (LAST_S, 3)],
    "high": [*DAY["high"][:6], (END_S + 60, 22), (LAST_S, 20)],
    "vapor_line_temp": [(0, 62), (START_S, 61), (START_S + 45, 4)],
    "outdoor_coil_temp": [*DAY["outdoor_coil_temp"][:7], (END_S + 60, 9), (LAST_S, 8)],
    "supply_air_temp": [(0, 38), (START_S, 38), (START_S + 60, 24), (END_S, 24), (END_S + 60, 12)],
}
NO_PLATEAU = [*DAY["outdoor_coil_temp"][:4], (END_S, 15), *DAY["outdoor_coil_temp"][7:]]
STILL_FROZEN = [*DAY["outdoor_coil_temp"][:5], (END_S, 0.4), *DAY["outdoor_coil_temp"][8:]]
HALF_WARM = [*DAY["outdoor_coil_temp"][:6], (END_S, 5.0), *DAY["outdoor_coil_temp"][8:]]
FROST_STAYS = {"outdoor_coil_temp": STILL_FROZEN}
WARM_COIL = [(0, 12), (START_S, 10), (START_S + 60, 14), (END_S, 22), (END_S + 100, 10), (LAST_S, 10)]
LEAD_OFF = steps(0.9, (700, 0.0))
NO_FAN_BACK = steps(0.9, (START_S, 0.0))
WEAK = {
    # After the defrost the machine gives half the heat that it gave.
    "high": [*DAY["high"][:7], (END_S + 90, 31), (LAST_S, 31)],
    "supply_air_temp": [*DAY["supply_air_temp"][:4], (END_S + 120, 29), (LAST_S, 29)],
}


BY_S = END_S + 2400.0 - START_S
RESTS_LOW = [
    *[p for p in DAY["low"] if p[0] <= END_S + 40], (1500, -9), (1560, 14), (2700, 10), (2730, -12),
    *later(DAY["low"], BY_S, from_s=START_S - 1),
]  # fmt: skip
RESTS_HIGH = [
    *[p for p in DAY["high"] if p[0] <= END_S + 200], (1500, 42), (1560, 15), (2700, 10), (2760, 40),
    *later(DAY["high"], BY_S, from_s=START_S - 1),
]  # fmt: skip
LATE_WITHOUT_VOLTS = cold_trace(
    "sensor_voltage", last_s=2400, **{k: v for k, v in timed_out().items() if k != "sensor_voltage"}
)


def peak(top_c: float) -> list[tuple[float, float]]:
    """The high side, with its peak at the end of the defrost at `top_c`."""
    return [*DAY["high"][:5], (END_S, top_c), *DAY["high"][6:]]


def through_start(trace: Trace) -> Trace:
    return with_gap(trace, START_S - 60, START_S + 60)


def through_end(trace: Trace) -> Trace:
    return with_gap(trace, END_S - 30, END_S + 30)


@dataclass(frozen=True, kw_only=True)
class Case:
    """One record and what it must say of one function."""

    name: str
    function: str
    standing: str
    trace: Trace
    what: str | None
    """The sentence of the occasion; None where there is none to be."""
    marks: Marks | None = ()
    machine: Unit | None = None


def case(
    function: str, standing: str, name: str, trace: Trace, what: str | None, marks: Marks | None = (),
    machine: Unit | None = None,
) -> Case:  # fmt: skip
    return Case(
        name=name, function=function, standing=standing, trace=trace, what=what, marks=marks, machine=machine
    )


CASES = [
    # sensor_closes
    case("sensor_closes", "shown", "by itself", cold_trace(),
         "The contact closed by itself, with the coil near its rating."),
    case("sensor_closes", "failed", "never, in the cold",
         cold_trace(sensor_voltage=25.0),
         "The coil stayed colder than the sensor's closing rating and its contact stayed open."),
    case("sensor_closes", "doubtful", "coil not read", cold_trace("outdoor_coil_temp"),
         "The contact closed, but no coil temperature was read to hold against its rating."),
    case("sensor_closes", "bypassed", "jumper, marked",
         cold_trace(sensor_voltage=steps(25.0, (100, 0.1), (END_S, 25.0))),
         "The contact closed by a person's hand: a jumper across the sensor.",
         acts((100, "sensor-jumpered"), (END_S + 60, "sensor-restored"))),
    case("sensor_closes", "bypassed", "jumper on a warm coil, no marks",
         cold_trace(outdoor_coil_temp=WARM_COIL, outdoor_air_temp=13.0),
         "The contact closed by a person's hand: a jumper across the sensor.", None),
    case("sensor_closes", "doubtful", "too cold, soon after missing readings",
         with_gap(cold_trace(outdoor_coil_temp=[(0, 12), (150, 12), (280, -10), (600, -12)],
                             low=[(0, 4), (300, -18)], outdoor_air_temp=13.0, last_s=800), 200, 285),
         "The contact closed soon after missing readings: how warm the sensor was cannot be told."),
    case("sensor_closes", "unseen", "volts not read", cold_trace("sensor_voltage"), None),
    # sensor_opens
    case("sensor_opens", "shown", "by itself", cold_trace(),
         "The contact opened by itself, with the coil near its rating."),
    case("sensor_opens", "failed", "never", cold_trace(last_s=2400, **timed_out()),
         "The coil stayed warmer than the sensor's opening rating and its contact stayed closed."),
    case("sensor_opens", "doubtful", "never, no marks", cold_trace(last_s=2400, **timed_out()),
         "The contact stayed closed in a warm coil; no marks tell whether a jumper lay across it.", None),
    case("sensor_opens", "doubtful", "coil not read", cold_trace("outdoor_coil_temp"),
         "The contact opened, but no coil temperature was read to hold against its rating."),
    case("sensor_opens", "bypassed", "jumper, marked", cold_trace(),
         "A jumper lay across the sensor: its own opening cannot be seen.",
         acts((600, "sensor-jumpered"), (END_S + 300, "sensor-restored"))),
    case("sensor_opens", "unseen", "volts not read", cold_trace("sensor_voltage"), None),
    # timer_counts
    case("timer_counts", "shown", "a whole interval", two_defrosts(1800.0),
         "From one defrost's end to the next one's start, the run time is the board's interval."),
    case("timer_counts", "shown", "a whole interval, rests left out",
         two_defrosts(2400.0, compressor_current=steps(9.0, (1800, 0.0), (2400, 9.0))),
         "From one defrost's end to the next one's start, the run time is the board's interval."),
    case("timer_counts", "failed", "too early", two_defrosts(1500.0),
         "The board started too early for the interval it is set to."),
    case("timer_counts", "failed", "too late", two_defrosts(2200.0),
         "The board started too late for the interval it is set to."),
    case("timer_counts", "doubtful", "too early, no marks", two_defrosts(1500.0),
         "The board started before its interval was over; no marks tell whether somebody bridged the pins.",
         None),
    case("timer_counts", "doubtful", "at the edge of the band", two_defrosts(2094.0),
         "The run time is near the board's interval, within what the record can tell apart."),
    case("timer_counts", "doubtful", "a quarter of an hour missing",
         with_gap(two_defrosts(1800.0), 1600.0, 2500.0),
         "The run time is near the board's interval, within what the record can tell apart."),
    case("timer_counts", "doubtful", "setting not known", two_defrosts(5400.0),
         "A whole interval was counted, but the board's setting is not in the unit file.",
         machine=unit(('interval = "30 min"\n', ""))),
    case("timer_counts", "doubtful", "too early, rests told by pressures alone",
         two_defrosts(2400.0, "compressor_current", "fan_current", "heating_call", low=RESTS_LOW,
                      high=RESTS_HIGH),
         "The run time cannot be read closely enough from these channels."),
    case("timer_counts", "prompted", "pins bridged between", two_defrosts(900.0),
         "The test pins ran the clock fast: the board acted, but did not count a whole interval.",
         acts((2050, "pins-bridged"), (2110, "pins-released"))),
    case("timer_counts", "failed", "closed for over an interval, and nothing",
         cold_trace(last_s=2900, **NO_TURN, sensor_voltage=steps(25.0, (CLOSES_S, 0.1)), fan_current=0.9,
                    backup_current=0.0, valve_voltage=0.1),
         "The sensor was closed for more than a whole interval of run time, and the board started nothing."),
    case("timer_counts", "failed", "closed for over an interval, and then a start",
         cold_trace(sensor_voltage=steps(0.1, (END_S, 25.0))),
         "The sensor was closed for more than a whole interval of run time before the board started.",
         machine=unit(('interval = "30 min"', 'interval = "10 min"'))),
    case("timer_counts", "unseen", "one defrost only", cold_trace(), None),
    case("timer_counts", "unseen", "a demand board", two_defrosts(1500.0), None,
         machine=unit(("time-temperature", "demand"))),
    # defrost_starts
    case("defrost_starts", "shown", "by itself", cold_trace(),
         "With the sensor closed, the board started a defrost by itself."),
    case("defrost_starts", "shown", "no marks, a whole interval",
         two_defrosts(1800.0),
         "With the sensor closed and a whole interval run, the board started a defrost.", None),
    case("defrost_starts", "failed", "with the contact open", cold_trace(sensor_voltage=25.0),
         "The board started a defrost although the sensor's contact was open."),
    case("defrost_starts", "failed", "pins bridged, and nothing",
         cold_trace(**NO_TURN, sensor_voltage=steps(25.0, (CLOSES_S, 0.1)), fan_current=0.9,
                    backup_current=0.0, valve_voltage=0.1),
         "With the sensor closed and the test pins bridged, the board started nothing.",
         acts((700, "pins-bridged"), (820, "pins-released"))),
    case("defrost_starts", "doubtful", "pins bridged not long enough",
         cold_trace(**NO_TURN, sensor_voltage=steps(25.0, (CLOSES_S, 0.1)), fan_current=0.9,
                    backup_current=0.0, valve_voltage=0.1),
         "The test pins were bridged with the sensor closed, but perhaps not long enough.",
         acts((700, "pins-bridged"), (760, "pins-released"))),
    case("defrost_starts", "prompted", "pins bridged", cold_trace(),
         "The board started a defrost with the test pins bridged.",
         acts((START_S - 20, "pins-bridged"), (START_S + 5, "pins-released"))),
    case("defrost_starts", "doubtful", "no marks", cold_trace(),
         "A defrost began with the sensor closed; no marks tell whether somebody bridged the test pins.",
         None),
    case("defrost_starts", "doubtful", "volts not read", cold_trace("sensor_voltage"),
         "A defrost began; whether the sensor had closed was not read."),
    case("defrost_starts", "unseen", "missing readings", through_start(cold_trace()),
         "Readings are missing where the defrost began."),
    case("defrost_starts", "unseen", "none due",
         cold_trace(last_s=800), None),
    # valve_shifts
    case("valve_shifts", "shown", "it does", cold_trace(),
         "The circuit turned over: the outdoor coil took the heat."),
    case("valve_shifts", "failed", "it does not", cold_trace(**NO_TURN),
         "The board ran a defrost, but the circuit kept heating: the valve did not shift."),
    case("valve_shifts", "doubtful", "the circuit lay turned before",
         cold_trace(low=-2.0, high=33.0, vapor_line_temp=8.0, outdoor_coil_temp=20.0, supply_air_temp=8.0),
         "The circuit was turned over before the defrost began: no turn of the valve can be seen."),
    case("valve_shifts", "doubtful", "missing readings", through_start(cold_trace()),
         "Readings are missing where the defrost began."),
    case("valve_shifts", "unseen", "circuit not read",
         cold_trace("low", "high", "vapor_line_temp", "outdoor_coil_temp", "supply_air_temp"),
         "The board ran a defrost; whether the circuit turned over was not read."),
    # fan_stops
    case("fan_stops", "shown", "it does", cold_trace(),
         "The outdoor fan stopped as the defrost began and stayed off to its end."),
    case("fan_stops", "failed", "it runs on", cold_trace(fan_current=0.9),
         "The outdoor fan ran on through the defrost."),
    case("fan_stops", "failed", "it runs as its lead comes back inside",
         cold_trace(fan_current=steps(0.9, (700, 0.0), (END_S - 12, 0.9))),
         "The outdoor fan ran in the defrost as soon as its lead was back.",
         acts((700, "fan-lead-off"), (END_S - 12, "fan-lead-on"))),
    case("fan_stops", "failed", "it starts again inside",
         cold_trace(fan_current=steps(0.9, (START_S, 0.0), (START_S + 100, 0.9), (START_S + 160, 0.0),
                                      (END_S, 0.9))),
         "The outdoor fan did not stay off through the defrost."),
    case("fan_stops", "bypassed", "lead off, marked", cold_trace(fan_current=LEAD_OFF),
         "The fan's lead was off: that the board would stop the fan cannot be seen.",
         acts((700, "fan-lead-off"))),
    case("fan_stops", "bypassed", "lead taken off as it begins", cold_trace(step_s=10.0),
         "The fan's lead was off: that the board would stop the fan cannot be seen.",
         acts((START_S - 8, "fan-lead-off"), (END_S + 90, "fan-lead-on"))),
    case("fan_stops", "shown", "lead back, and the fan runs, before it begins",
         cold_trace(step_s=10.0, fan_current=steps(0.9, (600, 0.0), (START_S - 15, 0.9), (START_S, 0.0),
                                                   (END_S, 0.9))),
         "The outdoor fan stopped as the defrost began and stayed off to its end.",
         acts((600, "fan-lead-off"), (START_S - 16, "fan-lead-on"))),
    case("fan_stops", "unseen", "it stood before", cold_trace(fan_current=LEAD_OFF),
         "The outdoor fan was standing still before the defrost began.", None),
    case("fan_stops", "doubtful", "the record ends inside", cold_trace(last_s=END_S - 60),
         "The outdoor fan stopped and stayed off to the end of the record."),
    case("fan_stops", "unseen", "not read", cold_trace("fan_current"), None),
    # backup_runs
    case("backup_runs", "shown", "it does", cold_trace(), "Backup heat came on with the defrost."),
    case("backup_runs", "failed", "it does not", cold_trace(backup_current=0.0),
         "Backup heat stayed off all through the defrost."),
    case("backup_runs", "doubtful", "on before", cold_trace(backup_current=21.0),
         "Backup heat was on in the defrost, but it had been on before it."),
    case("backup_runs", "doubtful", "for a part",
         cold_trace(backup_current=steps(0.0, (END_S - 60, 21.0), (END_S, 0.0))),
         "Backup heat was on for a part of the defrost only."),
    case("backup_runs", "unseen", "not read", cold_trace("backup_current"), None),
    # coil_clears
    case("coil_clears", "shown", "plateau, then a climb", cold_trace(),
         "The coil stood at the melting point while its frost went, then rose well above it."),
    case("coil_clears", "failed", "ends on the plateau", cold_trace(**FROST_STAYS),
         "The defrost ended while the coil was still at the melting point: frost is left."),
    case("coil_clears", "failed", "never warmed", cold_trace(**NO_TURN),
         "The coil was never warmed: whatever frost it carried is still there."),
    case("coil_clears", "doubtful", "ends at 5 degC", cold_trace(outdoor_coil_temp=HALF_WARM),
         "The coil ended near the melting point; whether it is clear cannot be told."),
    case("coil_clears", "unseen", "nothing to clear", cold_trace(outdoor_coil_temp=NO_PLATEAU),
         "Nothing to clear: the coil rose through the melting point without a stay, so it carried no frost."),
    case("coil_clears", "unseen", "a dry coil, never warmed",
         cold_trace(**NO_TURN, outdoor_humidity=0.35), "The coil was never warmed."),
    case("coil_clears", "failed", "a coil that frosts, never warmed",
         cold_trace(**NO_TURN, outdoor_humidity=0.7),
         "The coil was never warmed: whatever frost it carried is still there."),
    case("coil_clears", "unseen", "not read", cold_trace("outdoor_coil_temp"), None),
    # ends_by_sensor
    case("ends_by_sensor", "shown", "it does", cold_trace(),
         "The sensor opened and the board ended the defrost right then."),
    case("ends_by_sensor", "failed", "time ends it", cold_trace(last_s=2400, **timed_out()),
         "The board's time limit ended the defrost, not the sensor."),
    case("ends_by_sensor", "doubtful", "time ends it, no marks", cold_trace(last_s=2400, **timed_out()),
         "The board's time limit ended the defrost; no marks tell whether a jumper held the sensor.", None),
    case("ends_by_sensor", "doubtful", "as long as the limit, volts not read", LATE_WITHOUT_VOLTS,
         "The defrost lasted as long as the board's limit; whether the sensor opened was not read."),
    case("ends_by_sensor", "doubtful", "both at once", cold_trace(),
         "The sensor opened just as the board's time limit ran out.",
         machine=unit(('longest_defrost = "10 min"', 'longest_defrost = "5 min"'))),
    case("ends_by_sensor", "bypassed", "jumper, marked", cold_trace(last_s=2400, **timed_out()),
         "A jumper stood in the sensor's place: it could not end the defrost.",
         acts((600, "sensor-jumpered"))),
    case("ends_by_sensor", "failed", "pressure trip",
         cold_trace(high=peak(64.5), sensor_voltage=steps(25.0, (CLOSES_S, 0.1)),
                    compressor_current=steps(9.0, (END_S, 0.0))),
         "The high-pressure switch ended the defrost, not the sensor."),
    case("ends_by_sensor", "unseen", "call taken away",
         cold_trace(heating_call=steps(1.0, (END_S, 0.0)), sensor_voltage=steps(25.0, (CLOSES_S, 0.1))),
         "The call for heat was taken away before the defrost was over."),
    case("ends_by_sensor", "unseen", "missing readings", through_end(cold_trace()),
         "Readings are missing where the defrost ended."),
    case("ends_by_sensor", "unseen", "volts not read", cold_trace("sensor_voltage"), None),
    # ends_safely
    case("ends_safely", "shown", "well below", cold_trace(),
         "The pressure stayed below the limit to the end, with more in hand than the gauge can be off."),
    case("ends_safely", "shown", "just below", cold_trace(high=peak(53.5)),
         "The pressure stayed below the limit to the end, with more in hand than the gauge can be off."),
    case("ends_safely", "doubtful", "at the limit", cold_trace(high=peak(54.4)),
         "The peak came so near the limit that the gauge cannot tell on which side it lay."),
    case("ends_safely", "failed", "above", cold_trace(high=peak(56.5)),
         "The pressure rose beyond the limit before the defrost ended."),
    case("ends_safely", "unseen", "the record ends inside", cold_trace(last_s=END_S - 60),
         "The record ends inside the defrost, before its peak."),
    case("ends_safely", "unseen", "missing readings", through_end(cold_trace()),
         "Pressure readings are missing towards the end of the defrost, where the peak lies."),
    case("ends_safely", "unseen", "not read", cold_trace("high"), None),
    # valve_returns
    case("valve_returns", "shown", "it does", cold_trace(),
         "The circuit went back to heating as the defrost ended."),
    case("valve_returns", "failed", "it does not", cold_trace(**STAYS_TURNED),
         "After the defrost the circuit stayed turned over: the valve did not go back."),
    case("valve_returns", "doubtful", "missing readings", through_end(cold_trace()),
         "The circuit heats again, but readings are missing where it went back."),
    case("valve_returns", "unseen", "the record ends inside", cold_trace(last_s=END_S - 60), None),
    # fan_returns
    case("fan_returns", "shown", "it does", cold_trace(), "The outdoor fan ran again after the defrost."),
    case("fan_returns", "shown", "after a minute's delay",
         cold_trace(fan_current=steps(0.9, (START_S, 0.0), (END_S + 60, 0.9))),
         "The outdoor fan ran again after the defrost."),
    case("fan_returns", "failed", "it does not", cold_trace(fan_current=NO_FAN_BACK),
         "The outdoor fan did not come back after the defrost."),
    case("fan_returns", "bypassed", "lead off, marked", cold_trace(fan_current=LEAD_OFF),
         "The fan's lead was off: that the board would start the fan cannot be seen.",
         acts((700, "fan-lead-off"))),
    case("fan_returns", "doubtful", "stood before and after, no marks", cold_trace(fan_current=LEAD_OFF),
         "The fan stood still before and after the defrost; no marks tell whether its lead was off.", None),
    case("fan_returns", "unseen", "it came with its lead, before the end",
         cold_trace(fan_current=steps(0.9, (700, 0.0), (END_S - 12, 0.9))),
         "The outdoor fan ran before the defrost was over, so it could not come back.",
         acts((700, "fan-lead-off"), (END_S - 12, "fan-lead-on"))),
    case("fan_returns", "failed", "a stray reading",
         cold_trace(fan_current=steps(0.9, (START_S, 0.0), (END_S + 100, 0.6), (END_S + 101, 0.0))),
         "The outdoor fan did not come back after the defrost."),
    case("fan_returns", "unseen", "the record ends too soon",
         cold_trace(last_s=END_S + 45, fan_current=NO_FAN_BACK),
         "The record, or the run, ends before the fan had time to come back."),
    case("fan_returns", "unseen", "not read", cold_trace("fan_current"), None),
    # heating_resumes
    case("heating_resumes", "shown", "it does", cold_trace(),
         "Heating came back to what it was before the defrost."),
    case("heating_resumes", "failed", "half of it", cold_trace(**WEAK),
         "Ten minutes after the defrost, heating was not back to what it was before."),
    case("heating_resumes", "failed", "half of it, no marks, but the fan is seen to run", cold_trace(**WEAK),
         "Ten minutes after the defrost, heating was not back to what it was before.", None),
    case("heating_resumes", "doubtful", "half of it, no marks, fan not read",
         cold_trace("fan_current", **WEAK),
         "Heating did not come back; no marks tell whether a person kept the outdoor fan off.", None),
    case("heating_resumes", "failed", "valve stays", cold_trace(**STAYS_TURNED),
         "After the defrost the unit did not heat."),
    case("heating_resumes", "doubtful", "nearly",
         cold_trace("supply_air_temp", high=[*DAY["high"][:7], (END_S + 90, 39.1), (LAST_S, 39.1)]),
         "Heating came back nearly to what it was; the readings cannot tell more."),
    case("heating_resumes", "unseen", "the record ends too soon",
         cold_trace(last_s=END_S + 240, **WEAK),
         "The record, or the run, ends before heating had time to come back."),
    case("heating_resumes", "unseen", "nothing before",
         cold_trace(first_s=START_S - 30),
         "The record holds no steady heating before the defrost to compare with."),
    case("heating_resumes", "unseen", "not read", cold_trace("high", "supply_air_temp"), None),
]  # fmt: skip


@pytest.mark.parametrize("one", CASES, ids=[f"{c.function}: {c.standing}, {c.name}" for c in CASES])
def test_standing(one: Case) -> None:
    got = finding(check(one.trace, one.marks, one.machine), one.function)
    seen = [(e.standing, e.what) for e in got.evidence]
    assert got.standing == one.standing, seen
    rule = next(rule for rule in RULES if rule.function == one.function)
    assert got.sentence == rule.says[one.standing]
    if one.what is None:
        assert seen == []
        assert got.settle.startswith(("Not in the record: ", "The situation did not come: "))
    else:
        assert (one.standing, one.what) in seen
    assert bool(got.settle) is (one.standing != "shown")
    assert got.remedy == (rule.remedy if one.standing == "failed" else "")


def test_each_function_has_a_record_that_fails_it_one_that_shows_it_and_one_without_the_reading() -> None:
    for function in FUNCTIONS:
        standings = {one.standing for one in CASES if one.function == function}
        assert {"failed", "shown", "unseen"} <= standings, function


def test_each_standing_that_a_rule_has_a_sentence_for_has_a_record() -> None:
    for rule in RULES:
        standings = {one.standing for one in CASES if one.function == rule.function}
        assert standings <= set(rule.says), rule.function


def test_every_evidence_lies_in_time_and_names_real_channels() -> None:
    result = check(cold_trace())
    for one in result.findings:
        for evidence in one.evidence:
            assert evidence.start_s < evidence.end_s
            assert evidence.channels


def test_the_later_part_of_a_drawing_is_moved_whole() -> None:
    assert later([(0, 1.0), (10, 2.0)], 5.0, from_s=10) == [(15.0, 2.0)]


TEMPERATURES = (
    "vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp", "supply_air_temp", "return_air_temp",
)  # fmt: skip
OUTPUTS = ("fan_current", "backup_current", "valve_voltage", "compressor_current", "heating_call")


@pytest.mark.parametrize("more", [(), OUTPUTS], ids=["with the outputs", "gauges and volts alone"])
@pytest.mark.parametrize("step_s", [1.0, 5.0])
def test_two_gauges_and_the_volts_show_what_they_can(more: tuple[str, ...], step_s: float) -> None:
    result = check(cold_trace(*TEMPERATURES, *more, step_s=step_s))
    (defrost,) = result.defrosts
    assert (defrost.start_s, defrost.end_s, defrost.ended_by) == (START_S, END_S, "sensor")
    shown = {"defrost_starts", "valve_shifts", "ends_by_sensor", "ends_safely", "valve_returns"}
    assert shown <= {f.function for f in result.findings if f.standing == "shown"}
    assert "failed" not in {f.standing for f in result.findings}
    assert "cooling" not in {phase.name for phase in result.phases}


def test_gauges_alone_do_not_fail_a_valve_for_what_they_cannot_tell() -> None:
    # After the defrost the high side settles at 30 degC: a weak machine that heats, or one that cools?
    high = [*DAY["high"][:6], (END_S + 8, 20), (END_S + 90, 30), (LAST_S, 30)]
    result = check(cold_trace(*TEMPERATURES, high=high))
    assert result.standing("valve_returns") in ("unseen", "doubtful")


def test_nothing_is_back_after_a_trip_where_nothing_tells_that_the_compressor_ran() -> None:
    # The pressures fall from the trip and come together: for a while they look like those of heating.
    high = [*DAY["high"][:5], (END_S, 64.5), (END_S + 100, 26), (LAST_S, 20)]
    low = [*DAY["low"][:7], (END_S + 90, 22), (LAST_S, 20)]
    closed = steps(25.0, (CLOSES_S, 0.1))
    result = check(cold_trace(*TEMPERATURES, *OUTPUTS, high=high, low=low, sensor_voltage=closed))
    assert [d.ended_by for d in result.defrosts] == ["pressure"]
    assert result.standing("heating_resumes") == result.standing("valve_returns") == "unseen"
    assert result.standing("ends_safely") == "failed"
