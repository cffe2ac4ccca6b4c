"""Every fixed word of the pages, in one place, so that a translation is one file.

Sentences about one visit are not here: they come with the findings.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost.proofs.finding import Standing

TITLES: Final[dict[str, str]] = {
    "sensor_closes": "Coil sensor closes cold",
    "sensor_opens": "Coil sensor opens warm",
    "timer_counts": "Board counts run time",
    "defrost_starts": "Board starts a defrost",
    "valve_shifts": "Reversing valve shifts",
    "fan_stops": "Outdoor fan stops",
    "backup_runs": "Backup heat comes on",
    "coil_clears": "Coil clears of frost",
    "ends_by_sensor": "Sensor ends the defrost",
    "ends_safely": "Ends below the limits",
    "valve_returns": "Valve returns to heating",
    "fan_returns": "Outdoor fan runs again",
    "heating_resumes": "Heating comes back",
}
"""Each function in plain trade words, at most 24 characters."""

SIGNS: Final[dict[Standing, str]] = {
    "shown": "●",
    "prompted": "◐",
    "doubtful": "?",
    "bypassed": "⊘",
    "unseen": "○",
    "failed": "✖",
}
"""A sign beside each standing, so that no meaning hangs on colour."""

MEANINGS: Final[dict[Standing, str]] = {
    "shown": "the record holds the function's own trigger and its effect",
    "prompted": "the effect is there, but a person supplied the trigger",
    "doubtful": "measured, but inside what the instruments can tell apart",
    "bypassed": "a person took the part out of circuit: the record says nothing about it",
    "unseen": "the situation, or the channel that would show it, is not in the record",
    "failed": "the situation came, and the function did not do its part",
}

COUNTED: Final[dict[Standing, str]] = {
    "shown": "shown",
    "prompted": "prompted",
    "doubtful": "doubtful",
    "bypassed": "bypassed",
    "unseen": "not seen",
    "failed": "FAILED",
}
"""How a number of them is said in a headline."""

PHASES: Final[dict[str, str]] = {
    "off": "off",
    "heating": "heating",
    "chilldown": "chilldown",
    "defrost": "defrost",
    "recovery": "recovery",
    "cooling": "cooling",
    "unknown": "not known",
}

ENDED_BY: Final[dict[str, str]] = {
    "sensor": "the sensor",
    "time": "the board's time limit",
    "pressure": "the high-pressure switch",
    "call": "the end of the call for heat",
    "unknown": "not known",
}

ACTS: Final[dict[str, str]] = {
    "fan-lead-off": "fan lead off",
    "fan-lead-on": "fan lead on",
    "pins-bridged": "test pins bridged",
    "pins-released": "test pins released",
    "sensor-jumpered": "sensor jumpered",
    "sensor-restored": "sensor restored",
    "call-on": "call for heat on",
    "call-off": "call for heat off",
    "coil-covered": "coil covered",
    "coil-uncovered": "coil uncovered",
    "note": "note",
}

DID: Final[dict[str, str]] = {
    "fan-lead-off": "The outdoor fan was stopped on purpose for {length}, so that the outdoor coil would get "
    "cold.",
    "pins-bridged": "The control board's clock was run fast by hand, so as not to wait for its own time.",
    "sensor-jumpered": "The sensor on the outdoor coil was taken out of the circuit for a while, so for that "
    "while nothing is known about it.",
    "coil-covered": "The outdoor coil was covered for {length}, so that it would get cold.",
    "call-off": "The call for heat was switched off by hand for a while.",
}
"""What a person did to the machine, for the householder."""


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question of the householder, and the functions that answer it."""

    text: str
    functions: tuple[str, ...]


QUESTIONS: Final = (
    Question(
        text="Does it notice when its outdoor coil is cold, and when it is warm again?",
        functions=("sensor_closes", "sensor_opens"),
    ),
    Question(
        text="Does it start to melt the frost by itself, at the right time?",
        functions=("timer_counts", "defrost_starts"),
    ),
    Question(
        text="Does it do so properly, with the house kept warm meanwhile?",
        functions=("valve_shifts", "fan_stops", "backup_runs"),
    ),
    Question(
        text="Does it stop in good time, with the frost gone and nothing strained?",
        functions=("coil_clears", "ends_by_sensor", "ends_safely"),
    ),
    Question(
        text="Does it go back to heating the house?",
        functions=("valve_returns", "fan_returns", "heating_resumes"),
    ),
)

HEATS: Final = "Will it heat the house as it should?"
"""The question that the heating check answers."""
HEAT_ALONE: Final = (
    "The heat pump gave {amount} of heat; whether that is what it should give in this weather is not known."
)
HEAT_NOT_MEASURED: Final = "How much heat the house gets was not measured."
OUT_OF_BOUNDS: Final = "Out of bounds: {parts}."
HEAT_MATTERS: Final = frozenset(
    {"capacity_ratio", "cop", "airflow_ratio", "frost_left_k", "backup_power_ratio", "design_coverage"}
)
"""Numbers whose failing leaves the house short of heat; what else fails is to be looked at."""
_CIRCUIT: Final = "the refrigerant circuit"
_AIR: Final = "the air through the indoor unit"
_HEAT: Final = "the heat that it gives"
_POWER: Final = "the power that it takes"
_SUPPLY: Final = "the electric supply"
_BACKUP: Final = "the backup heat"
HEATING_PARTS: Final[dict[str, str]] = {
    "superheat_k": _CIRCUIT,
    "subcooling_k": _CIRCUIT,
    "discharge_temp_c": "the heat of the compressor",
    "discharge_superheat_k": _CIRCUIT,
    "pressure_ratio": _CIRCUIT,
    "evaporating_approach_k": _CIRCUIT,
    "condensing_approach_k": _CIRCUIT,
    "coil_to_suction_k": _CIRCUIT,
    "vapor_line_k": _CIRCUIT,
    "valve_temperature_rise_k": "the valve that turns heating into defrost",
    "frost_left_k": "frost left on the outdoor coil",
    "temperature_rise_k": _HEAT,
    "airflow_m3_s": _AIR,
    "airflow_ratio": _AIR,
    "capacity_air_w": _HEAT,
    "capacity_refrigerant_w": _HEAT,
    "capacity_agreement": _HEAT,
    "capacity_ratio": _HEAT,
    "power_w": _POWER,
    "power_ratio": _POWER,
    "cop": "the heat for each unit of power",
    "compressor_current_ratio": "the current of the compressor",
    "line_voltage_v": _SUPPLY,
    "voltage_sag": _SUPPLY,
    "backup_power_w": _BACKUP,
    "backup_power_ratio": _BACKUP,
    "backup_when_not_called": _BACKUP,
    "backup_delay_s": _BACKUP,
    "backup_out_of_turn": _BACKUP,
    "compressor_lockout_k": "the setting that rests the compressor in deep cold",
    "balance_point_c": _HEAT,
    "design_coverage": "the heat for the coldest day",
}
"""Each number of the heating check as the householder would name it."""
NONE_BEYOND: Final = "Nothing that could be checked was out of bounds ({count} reading{s})."
NOTHING_HELD: Final = "Nothing of it could be checked against a limit."
HEATING_WRONG: Final = (
    "Have a technician look at the heating: the part on heating that follows says what was out of bounds."
)
NO_LIMIT: Final = "no limit known"
LOOK_UP: Final = "Numbers without a limit have nothing to be held to yet: the report says what to look up."
COUNTS: Final = {5: "Five questions, answered", 6: "Six questions, answered"}

PARTS: Final[dict[str, str]] = {
    "sensor_closes": "the sensor noticing the cold",
    "sensor_opens": "the sensor noticing the warmth",
    "timer_counts": "the board's own clock",
    "defrost_starts": "the start of the melting",
    "valve_shifts": "the switch-over to melting",
    "fan_stops": "the outdoor fan stopping",
    "backup_runs": "the backup heat",
    "coil_clears": "the frost going away",
    "ends_by_sensor": "the sensor ending the melting",
    "ends_safely": "the pressure staying below its limits",
    "valve_returns": "the switch back to heating",
    "fan_returns": "the outdoor fan running again",
    "heating_resumes": "the heating coming back in full",
}
"""Each function as the householder would name it."""

ANSWERS: Final = {
    "yes": "Yes",
    "prompted": "Yes, once started by hand",
    "part": "In part",
    "unclear": "Not clear",
    "untested": "Not tested",
    "no": "No",
}
ANSWER_STANDING: Final[dict[str, Standing]] = {
    "yes": "shown",
    "prompted": "prompted",
    "part": "prompted",
    "little": "doubtful",
    "unclear": "doubtful",
    "untested": "unseen",
    "no": "failed",
}
"""Whose sign an answer carries."""

TODAY: Final[dict[Standing, str]] = {
    "prompted": "Only when started by hand",
    "doubtful": "Too close to tell",
    "bypassed": "Taken out of the circuit by hand, so not known",
    "unseen": "Not seen this time",
    "failed": "Did not work",
}
"""What is said of the parts of an answer that are not shown."""

FOUND: Final[dict[Standing, tuple[str, str]]] = {
    "prompted": (
        "worked, but only once a person had started it",
        "worked, but only once a person had started them",
    ),
    "doubtful": ("came out too close to call", "came out too close to call"),
    "bypassed": ("was taken out of the circuit by hand", "were taken out of the circuit by hand"),
    "unseen": ("was not seen", "were not seen"),
}
"""What is said of the steps with each standing but the best and the worst: of one, of several."""

BELOW: Final = "The questions below name them. That they work by themselves is not shown."
NONE_FOUND: Final = "None of the steps could be judged from this record."

VERDICTS: Final = {
    "yes": "It melts its frost and goes back to heating, all by itself.",
    "prompted": "It works, though part of it was started by hand.",
    "part": "Nothing was found broken, but not everything could be shown.",
    "little": "Nothing was found broken, but most of it could not be shown.",
    "untested": "This visit could not show whether it works.",
    "no": "Something did not work and should be put right.",
}

PUT_RIGHT: Final = (
    "Have a technician put this right before the cold season: {parts}. What to look at first is in the "
    "ledger that follows."
)
AGAIN: Final = (
    "Ask for another visit with more of the unit measured; the ledger that follows says what is needed."
)
REST: Final = "At the next visit, or on a day with frost, have the rest looked at: {parts}."
NOTHING: Final = "Nothing needs doing now."
IN_FROST: Final = (
    "In frost, call your technician if thick ice stays on the outdoor unit for hours, or the house does not "
    "stay warm. Do not chip at the ice, and keep hands away from the outdoor unit: its fan starts by itself."
)

WHY: Final = (
    "In cold weather frost grows on the outdoor part of a heat pump. The unit has to melt it off by itself: "
    "it runs in reverse for a few minutes, which warms its outdoor coil, and then goes back to heating the "
    "house. This visit checked, from what was measured, whether it does."
)

SAFETY: Final = (
    "The equipment maker's instructions, local codes, and the judgement of a licensed technician come before "
    "anything on this page."
)

LINES: Final = {
    "low": "suction saturation",
    "high": "high-side saturation",
    "coil": "outdoor coil",
    "air": "outdoor air",
    "supply": "supply air",
}
"""The lines of the plot of the visit."""
