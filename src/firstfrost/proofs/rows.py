"""The rules, one row a function: what it needs, when it counts, what is measured, what it is held against, and why.

The documentation page `docs/standings.md` is made from these rows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from firstfrost.proofs import after, during, ends, sensor, timing
from firstfrost.proofs.contact import Contact
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Evidence, Standing

Judge = Callable[[Context, Contact], list[Evidence]]


@dataclass(frozen=True, kw_only=True)
class Rule:
    """How one function is judged.

    `needs` lists sets of channels, any one set of which will do. `says` has the sentence for the customer for
    each standing that the rule can give.
    """

    function: str
    title: str
    needs: tuple[tuple[str, ...], ...]
    situation: str
    measure: str
    limit: str
    source: str
    says: dict[Standing, str]
    settle: str
    remedy: str
    judge: Judge


_ANY_TURN = (
    ("suction_pressure", "discharge_pressure"),
    ("vapor_line_temp",),
    ("outdoor_coil_temp", "outdoor_air_temp"),
)

RULES: tuple[Rule, ...] = (
    Rule(
        function="sensor_closes",
        title="Coil sensor closes when the coil is cold",
        needs=(("sensor_voltage", "outdoor_coil_temp"),),
        situation=(
            "The outdoor coil falls past the sensor's closing rating, in frost weather or with the "
            "outdoor air stopped on purpose."
        ),
        measure=(
            "Coil temperature when the volts across the contact vanish, with up to 30 s of lag between "
            "coil and sensor granted."
        ),
        limit="The closing rating, plus or minus its tolerance.",
        source="Rating plate (coil_sensor.closes_at); the lag is common practice, no source.",
        says={
            "shown": "The frost sensor on the outdoor unit switched on by itself when the coil got cold.",
            "doubtful": (
                "The frost sensor may have switched on as it should; the readings cannot tell for sure."
            ),
            "bypassed": "The frost sensor was bridged for the test, so its own switching on was not tested.",
            "unseen": "The frost sensor's switching on was not seen in this visit.",
            "failed": "The frost sensor did not switch on when it should have.",
        },
        settle=(
            "Read volts across the sensor and the coil temperature while the coil gets cold, with no "
            "jumper in place."
        ),
        remedy=(
            "Check the sensor's seat and strap on the coil, its wiring and its rating against the plate; "
            "replace it if it switches out of its band."
        ),
        judge=sensor.closes,
    ),
    Rule(
        function="sensor_opens",
        title="Coil sensor opens when the coil is warm",
        needs=(("sensor_voltage", "outdoor_coil_temp"),),
        situation="The coil is heated past the sensor's opening rating, as a rule near the end of a defrost.",
        measure="Coil temperature when the volts come back, with up to 30 s (and 10 K) of lag granted.",
        limit="The opening rating, plus or minus its tolerance.",
        source="Rating plate (coil_sensor.opens_at); the lag is common practice, no source.",
        says={
            "shown": "The frost sensor switched off by itself when the coil had got warm.",
            "doubtful": (
                "The frost sensor may have switched off as it should; the readings cannot tell for sure."
            ),
            "bypassed": "The frost sensor was bridged for the test, so its own switching off was not tested.",
            "unseen": "The frost sensor's switching off was not seen in this visit.",
            "failed": "The frost sensor did not switch off when it should have.",
        },
        settle=(
            "Record a whole defrost with volts across the sensor and the coil temperature, with no "
            "jumper in place."
        ),
        remedy=(
            "Check that the sensor sits where the maker puts it and touches the coil; replace it if it "
            "opens late, early or never."
        ),
        judge=sensor.opens,
    ),
    Rule(
        function="timer_counts",
        title="Board counts run time and acts at its setting",
        needs=(
            ("compressor_current", "sensor_voltage"),
            ("power",),
            ("suction_pressure", "discharge_pressure"),
        ),
        situation=(
            "A whole interval of compressor run time lies in the record, from one termination to the "
            "next start."
        ),
        measure=(
            "Compressor run time between them, rests left out (all of it, or only that with the contact "
            "closed: boards differ)."
        ),
        limit="The set interval, plus or minus 10 %.",
        source="Board setting (board.interval); 10 % is common practice, no source.",
        says={
            "shown": "The control counted its running time and acted when it was over.",
            "prompted": (
                "The control acted, but its clock was run fast by hand, so its own counting was not tested."
            ),
            "doubtful": (
                "The control may count its running time as it should; the readings cannot tell for sure."
            ),
            "unseen": (
                "The control's counting of running time was not tested: that takes a whole interval of "
                "running."
            ),
            "failed": "The control did not act when its running time was over.",
        },
        settle="Leave a recorder on for two defrosts in a row, with a marks file, even an empty one.",
        remedy=(
            "Check the board's interval setting, then its count with the sensor closed; a board that "
            "does not act is replaced."
        ),
        judge=timing.timer,
    ),
    Rule(
        function="defrost_starts",
        title="Board starts a defrost",
        needs=(
            ("sensor_voltage", "discharge_pressure"),
            ("sensor_voltage", "vapor_line_temp"),
            ("sensor_voltage", "outdoor_coil_temp"),
        ),
        situation=(
            "The contact is closed and the run time is out; or, with the contact open, no start at all."
        ),
        measure="Whether a defrost begins, with the contact closed at that moment, and who ran the clock.",
        limit="With the test pins bridged, within board.pins_time; else within the set interval plus 10 %.",
        source="Board setting (board.interval); pins_time is common practice, no source.",
        says={
            "shown": "The control started a defrost by itself when it was due.",
            "prompted": "The control started a defrost when the technician ran its clock fast.",
            "doubtful": "A defrost began; whether the control started it by itself the readings cannot tell.",
            "unseen": "No defrost was due in this visit, so its start was not seen.",
            "failed": "The control did not start a defrost as it should.",
        },
        settle=(
            "Record volts across the sensor up to a start that nobody prompted, and give a marks file, "
            "even an empty one."
        ),
        remedy=(
            "With the sensor closed and power on the board, follow the maker's test of the board; check "
            "its low-voltage supply first."
        ),
        judge=timing.starts,
    ),
    Rule(
        function="valve_shifts",
        title="Reversing valve shifts for defrost",
        needs=_ANY_TURN,
        situation="The board starts a defrost.",
        measure=(
            "Whether the circuit turns over: high-side saturation falls to the cold coil, the vapor line "
            "turns cold, the coil warms."
        ),
        limit="Log-odds of the signs beyond 1.2 for some seconds.",
        source="Thermodynamics of the circuit; weights are common practice, no source.",
        says={
            "shown": "The valve that turns heating into defrost shifted.",
            "doubtful": "The valve that turns heating into defrost seems to have shifted.",
            "unseen": "The valve that turns heating into defrost was not seen to be asked.",
            "failed": "The valve that turns heating into defrost did not shift.",
        },
        settle="Record both pressures, or the vapor line temperature, over the start of a defrost.",
        remedy=(
            "Check for voltage at the valve's coil in defrost; with voltage and no shift the coil or the "
            "valve is at fault."
        ),
        judge=during.valve_shifts,
    ),
    Rule(
        function="fan_stops",
        title="Outdoor fan stops for defrost",
        needs=(("fan_current",),),
        situation="The fan runs before a defrost and its lead is on.",
        measure="Fan current from the start of the defrost to its end.",
        limit="Less than 40 % of its running current, all through.",
        source="Common practice, no source.",
        says={
            "shown": "The outdoor fan stopped for the defrost and stayed off.",
            "doubtful": "The outdoor fan seems to have stopped for the defrost.",
            "bypassed": (
                "The outdoor fan was unplugged for the test, so its stopping by itself was not tested."
            ),
            "unseen": "The outdoor fan's stopping for defrost was not seen.",
            "failed": "The outdoor fan ran on during the defrost.",
        },
        settle="Record the fan's current with its lead on over the start of a defrost.",
        remedy="Check the board's fan relay (welded?) and that the fan is wired through it.",
        judge=during.fan_stops,
    ),
    Rule(
        function="backup_runs",
        title="Backup heat runs during defrost",
        needs=(("backup_current",),),
        situation="A defrost runs.",
        measure="Current of the backup heat during the defrost, and before it.",
        limit="On for at least half of the defrost, and off before.",
        source="Common practice, no source.",
        says={
            "shown": "The backup heat came on to carry the house during the defrost.",
            "doubtful": "The backup heat was on in the defrost, but perhaps not because of it.",
            "unseen": "The backup heat during defrost was not measured.",
            "failed": "The backup heat did not come on during the defrost: the house gets cold air.",
        },
        settle="Record the backup heat's current over a whole defrost, from before its start.",
        remedy=(
            "Check the board's output for backup heat, its wire to the indoor unit, the breaker and the "
            "elements."
        ),
        judge=during.backup_runs,
    ),
    Rule(
        function="coil_clears",
        title="Frost is gone at the end",
        needs=(("outdoor_coil_temp",),),
        situation="A frosted coil is defrosted, and so stays at the melting point for a while.",
        measure="The stay near 0 degC against the pace of the climb after it, and the warmest the coil gets.",
        limit="Above 8 degC at the end; below 2 degC frost is left.",
        source="Ice melts at 0 degC; the limit is common practice, no source.",
        says={
            "shown": "The frost on the outdoor coil melted and was gone at the end.",
            "doubtful": "The outdoor coil got warm; whether all frost was gone the readings cannot tell.",
            "unseen": "There was no frost to melt, or its melting was not measured.",
            "failed": "The defrost ended with frost left on the outdoor coil.",
        },
        settle="Record the coil temperature over a defrost of a frosted coil, in frost weather.",
        remedy=(
            "Look for a sensor that opens early or sits wrong, a time limit set too short, a low charge, "
            "or a blocked drain."
        ),
        judge=during.coil_clears,
    ),
    Rule(
        function="ends_by_sensor",
        title="Sensor ends the defrost, not the time limit",
        needs=(("sensor_voltage",),),
        situation="A defrost ends, with no jumper across the sensor.",
        measure=(
            "What came right before the end: the contact's opening, the board's time limit, a pressure "
            "trip, or the call's removal."
        ),
        limit="The contact opens within 15 s before the end, before the board's longest defrost.",
        source="Board setting (board.longest_defrost).",
        says={
            "shown": "The defrost ended because the frost sensor said the coil was warm.",
            "doubtful": "Whether the frost sensor or the clock ended the defrost the readings cannot tell.",
            "bypassed": "The frost sensor was bridged, so its ending of the defrost was not tested.",
            "unseen": "What ended the defrost was not seen.",
            "failed": "The defrost was not ended by the frost sensor.",
        },
        settle="Record volts across the sensor over the end of a defrost, with no jumper in place.",
        remedy=(
            "Check the sensor's opening, its place on the coil, the charge, and whether the coil carries "
            "more ice than one defrost can melt."
        ),
        judge=ends.ends_by_sensor,
    ),
    Rule(
        function="ends_safely",
        title="Defrost ends below the pressure limits",
        needs=(("discharge_pressure",), ("liquid_pressure",)),
        situation="A defrost runs to its own end.",
        measure=(
            "Highest condensing saturation (dew) and pressure in the defrost, with the gauge's "
            "uncertainty and the property's own."
        ),
        limit="Below the saturation ceiling and the high-pressure cutout, each with 95 % probability.",
        source=(
            "limits.saturation_ceiling (130 degF unless given: common practice, no source); "
            "limits.high_pressure_cutout from the plate."
        ),
        says={
            "shown": "The pressure stayed safely below its limit.",
            "doubtful": "The pressure came close to its limit, too close to call.",
            "unseen": "The highest pressure of the defrost was not measured.",
            "failed": "The pressure rose above its limit during the defrost.",
        },
        settle="Record the high-side pressure, every few seconds, to the end of a defrost.",
        remedy=(
            "Stop forcing defrosts. Find why the sensor opens late or the pressure climbs: sensor place, "
            "charge, fan, air in the circuit."
        ),
        judge=ends.ends_safely,
    ),
    Rule(
        function="valve_returns",
        title="Reversing valve returns to heating",
        needs=_ANY_TURN,
        situation="A defrost ends and the unit goes on running.",
        measure="Whether the circuit turns back.",
        limit="Log-odds of the signs beyond 1.2 for some seconds.",
        source="Thermodynamics of the circuit; weights are common practice, no source.",
        says={
            "shown": "The valve went back to heating after the defrost.",
            "doubtful": "The valve seems to have gone back to heating after the defrost.",
            "unseen": "The valve's return to heating was not seen.",
            "failed": "The valve did not go back to heating after the defrost.",
        },
        settle="Record both pressures, or the vapor line temperature, for some minutes after a defrost.",
        remedy=(
            "Check the voltage at the valve's coil after the defrost; a valve that sticks is the maker's "
            "and a licensed hand's business."
        ),
        judge=after.valve_returns,
    ),
    Rule(
        function="fan_returns",
        title="Outdoor fan returns after defrost",
        needs=(("fan_current",),),
        situation="A defrost ends, the unit goes on running, and the fan's lead is on.",
        measure="Time from the end of the defrost until the fan draws current.",
        limit="Within two minutes.",
        source="Common practice, no source.",
        says={
            "shown": "The outdoor fan ran again after the defrost.",
            "doubtful": "Whether the outdoor fan came back by itself the readings cannot tell.",
            "bypassed": "The outdoor fan was unplugged, so its coming back was not tested.",
            "unseen": "The outdoor fan's coming back was not seen.",
            "failed": "The outdoor fan did not come back after the defrost.",
        },
        settle="Record the fan's current, with its lead on, for some minutes after a defrost.",
        remedy="Check the board's fan relay, the fan's lead and its capacitor.",
        judge=after.fan_returns,
    ),
    Rule(
        function="heating_resumes",
        title="Heating is back to what it was",
        needs=(("discharge_pressure",), ("liquid_pressure",), ("supply_air_temp",), ("power",)),
        situation="Heating was steady before the defrost and the record goes on after it.",
        measure=(
            "High-side saturation above the room, else supply air above the room, else power: after "
            "against before."
        ),
        limit="At least 90 % of what it was, within ten minutes.",
        source=(
            "Ten minutes as the frost accumulation test leaves out after a termination (10 CFR 430 "
            "subpart B appendix M1, from memory); 90 % is common practice, no source."
        ),
        says={
            "shown": "Heating came back to full strength within minutes after the defrost.",
            "doubtful": "Heating came back nearly to what it was before.",
            "unseen": "Whether heating came back to full strength was not seen.",
            "failed": "Heating did not come back to what it was before.",
        },
        settle=(
            "Let the unit heat steadily for five minutes before the defrost and ten after it, and record "
            "both."
        ),
        remedy="See which of valve, outdoor fan and backup heat failed above; then check charge and airflow.",
        judge=after.heating_resumes,
    ),
)
