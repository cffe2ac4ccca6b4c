# ruff: noqa: E501
"""The features that bear on causes, one row each: what it is, what kind, and how its evidence is worded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Group = Literal["circuit", "air", "electric", "rest", "sensor", "defrost", "standing", "typed", "level"]


@dataclass(frozen=True, kw_only=True)
class Feature:
    """One feature.

    A number is held against a sound machine's expectation; a word is one of `words`. `unit` is K, degC, s, or
    `log` for the natural logarithm of a ratio, shown in per cent.
    """

    name: str
    title: str
    group: Group
    unit: str = ""
    words: tuple[str, ...] = ()
    channels: tuple[str, ...] = ()
    """Without any of these it is not there."""

    @property
    def is_number(self) -> bool:
        """Whether it is a number, else a word."""
        return not self.words


def _n(name: str, title: str, group: Group, unit: str, *channels: str) -> Feature:
    return Feature(name=name, title=title, group=group, unit=unit, channels=channels)


def _w(name: str, title: str, group: Group, words: tuple[str, ...], *channels: str) -> Feature:
    return Feature(name=name, title=title, group=group, words=words, channels=channels)


_HELD: Final = ("holds", "doubtful", "failed")

_NAMED: Final = (
    _n("superheat_k", "superheat", "circuit", "K", "suction_pressure", "suction_line_temp"),
    _n("subcooling_k", "subcooling", "circuit", "K", "liquid_pressure", "liquid_line_temp"),
    _n(
        "evaporating_approach_k",
        "outdoor air above evaporating saturation",
        "circuit",
        "K",
        "suction_pressure",
        "outdoor_air_temp",
    ),
    _n(
        "condensing_approach_k",
        "condensing saturation above return air",
        "circuit",
        "K",
        "liquid_pressure",
        "return_air_temp",
    ),
    _n(
        "discharge_superheat_k", "discharge superheat", "circuit", "K", "discharge_pressure", "discharge_temp"
    ),
    _n("discharge_temp_c", "discharge line temperature", "circuit", "degC", "discharge_temp"),
    _n("discharge_excess_k", "discharge line above a usual compression's", "circuit", "K", "discharge_temp"),
    _n(
        "suction_above_coil_k",
        "suction line above the outdoor coil",
        "circuit",
        "K",
        "suction_line_temp",
        "outdoor_coil_temp",
    ),
    _n(
        "vapor_line_k",
        "discharge line above the vapor line",
        "circuit",
        "K",
        "discharge_temp",
        "vapor_line_temp",
    ),
    _n("frost_left_k", "approach outdoors after the defrost over before", "defrost", "K"),
    _n(
        "liquid_to_room_k",
        "liquid line above return air",
        "circuit",
        "K",
        "liquid_line_temp",
        "return_air_temp",
    ),
    _n(
        "coil_to_air_k",
        "outdoor air above the outdoor coil",
        "circuit",
        "K",
        "outdoor_coil_temp",
        "outdoor_air_temp",
    ),
    _n(
        "coil_to_dew_k",
        "outdoor coil above evaporating saturation",
        "circuit",
        "K",
        "outdoor_coil_temp",
        "suction_pressure",
    ),
    _n(
        "air_to_suction_k",
        "outdoor air above the suction line",
        "circuit",
        "K",
        "suction_line_temp",
        "outdoor_air_temp",
    ),
    _n(
        "vapor_to_dew_k",
        "vapor line above condensing saturation",
        "circuit",
        "K",
        "vapor_line_temp",
        "liquid_pressure",
    ),
    _n(
        "temperature_rise_k",
        "temperature rise of the supply air",
        "air",
        "K",
        "supply_air_temp",
        "return_air_temp",
    ),
    _n("capacity_air_log", "capacity on the air side", "air", "log", "airflow"),
    _n("airflow_log", "indoor airflow", "air", "log", "airflow"),
    _n("power_log", "power without backup heat", "electric", "log", "power"),
    _n("compressor_current_log", "compressor current", "electric", "log", "compressor_current"),
    _n("fan_current_log", "outdoor fan current", "electric", "log", "fan_current"),
    _n("line_voltage_log", "line voltage", "electric", "log", "line_voltage"),
    _n(
        "rest_low_k",
        "suction gauge's saturation at rest outside outdoor air to room",
        "rest",
        "K",
        "suction_pressure",
    ),
    _n(
        "rest_high_k",
        "high-side gauge's saturation at rest outside outdoor air to room",
        "rest",
        "K",
        "liquid_pressure",
    ),
    _n(
        "closes_off_k",
        "coil sensor's closing above its rating",
        "defrost",
        "K",
        "sensor_voltage",
        "outdoor_coil_temp",
    ),
    _n(
        "opens_off_k",
        "coil sensor's opening above its rating",
        "defrost",
        "K",
        "sensor_voltage",
        "outdoor_coil_temp",
    ),
    _n(
        "open_below_k",
        "coil below the closing rating with the sensor open",
        "sensor",
        "K",
        "sensor_voltage",
        "outdoor_coil_temp",
    ),
    _n(
        "closed_above_k",
        "coil above the opening rating with the sensor closed",
        "sensor",
        "K",
        "sensor_voltage",
        "outdoor_coil_temp",
    ),
    _n(
        "best_approach_k",
        "outdoor air above evaporating saturation at its best",
        "circuit",
        "K",
        "suction_pressure",
        "outdoor_air_temp",
    ),
    _n(
        "best_coil_k",
        "outdoor air above the outdoor coil at its best",
        "circuit",
        "K",
        "outdoor_coil_temp",
        "outdoor_air_temp",
    ),
    _n("marks_late_s", "marks behind the channels", "electric", "s"),
    _n("defrost_length_log", "length of the defrost", "defrost", "log"),
    _n("peak_c", "peak of condensing saturation in defrost", "defrost", "degC", "liquid_pressure"),
    _n("backup_log", "backup heat in defrost", "defrost", "log", "backup_current"),
    _n("defrost_low_c", "evaporating saturation in defrost", "defrost", "degC", "suction_pressure"),
    _n(
        "defrost_lift_k",
        "high side above low side in defrost",
        "defrost",
        "K",
        "suction_pressure",
        "liquid_pressure",
    ),
    _n("coil_end_c", "outdoor coil at the end of the defrost", "defrost", "degC", "outdoor_coil_temp"),
    _n(
        "supply_defrost_k",
        "supply air above return air in defrost",
        "defrost",
        "K",
        "supply_air_temp",
        "return_air_temp",
    ),
    _n("interval_log", "run time between defrosts over the setting", "defrost", "log"),
    _n("filter_drop_log", "pressure drop of the filter", "typed", "log"),
    _n("coil_drop_log", "air pressure drop of the indoor coil", "typed", "log"),
    _w(
        "called",
        "compressor on a call for heat",
        "electric",
        ("runs", "cycles", "rests"),
        "compressor_current",
    ),
    _w("steady", "heating", "circuit", ("steady", "moves")),
    _w(
        "air_side",
        "supply air in heating",
        "air",
        ("warms", "neither", "cools"),
        "supply_air_temp",
        "return_air_temp",
    ),
    _w(
        "pressures",
        "the two pressures in heating",
        "circuit",
        ("apart", "together"),
        "suction_pressure",
        "liquid_pressure",
    ),
    _w("vapor_line", "vapor line in heating", "circuit", ("hot", "tepid", "cold"), "vapor_line_temp"),
    _w(
        "valve_coil_heating",
        "reversing valve coil in heating",
        "electric",
        ("dead", "powered"),
        "valve_voltage",
    ),
    _w("backup_heating", "backup heat in heating", "electric", ("rests", "runs"), "backup_current"),
    _w("fan_heating", "outdoor fan in heating", "electric", ("turns", "stands"), "fan_current"),
    _w("ended_by", "what ended the defrost", "defrost", ("sensor", "time", "pressure", "call", "unknown")),
    _w("fan_defrost", "outdoor fan in defrost", "defrost", ("stands", "turns"), "fan_current"),
    _w(
        "valve_coil_defrost",
        "reversing valve coil in defrost",
        "defrost",
        ("powered", "dead"),
        "valve_voltage",
    ),
    _w("backup_defrost", "backup heat in defrost", "defrost", ("runs", "dead"), "backup_current"),
    _w("vapor_defrost", "vapor line in defrost", "defrost", ("cold", "warm"), "vapor_line_temp"),
    _w("pins", "bridged test pins", "defrost", ("answered", "unanswered", "contact open", "no answer")),
    _w("filter_look", "filter, looked at", "typed", ("clean", "dirty")),
    _w("outdoor_look", "outdoor coil, looked at", "typed", ("clean", "dirty")),
    _w("pan_look", "base pan, looked at", "typed", ("clear", "ice")),
    _w("fan_volts", "volts at the outdoor fan's leads while it should run", "typed", ("there", "none")),
    _w("line_drop", "liquid line across the drier", "typed", ("even", "colder after")),
    _w(
        "valve_ports", "suction line on both sides of the reversing valve", "typed", ("alike", "warmer after")
    ),
    _w("check_valve", "check valve's two sides in heating", "typed", ("differ", "alike")),
    _w("sensor_seat", "coil sensor's seat, looked at", "typed", ("seated", "loose")),
    _w("coil_clamp", "clamp on the outdoor coil, looked at", "typed", ("tight", "loose")),
    _w("vapor_clamp", "clamp on the vapor line, looked at", "typed", ("tight", "loose")),
    _w("suction_zero", "suction gauge open to the air", "typed", ("zero", "off")),
    _w("high_zero", "high-side gauge open to the air", "typed", ("zero", "off")),
    _w("second_stage", "backup heat on the thermostat's second stage", "typed", ("full", "short")),
    _w("clocks", "watch beside the logger's clock", "typed", ("alike", "apart")),
    _w("sensor_closes", "coil sensor closes", "standing", _HELD),
    _w("sensor_opens", "coil sensor opens", "standing", _HELD),
    _w("timer_counts", "timer counts", "standing", _HELD),
    _w("defrost_starts", "defrost starts", "standing", _HELD),
    _w("valve_shifts", "reversing valve shifts", "standing", _HELD),
    _w("fan_stops", "outdoor fan stops", "standing", _HELD),
    _w("backup_runs", "backup heat runs in defrost", "standing", _HELD),
    _w("coil_clears", "coil clears", "standing", _HELD),
    _w("ends_by_sensor", "defrost ends by the sensor", "standing", _HELD),
    _w("ends_safely", "defrost ends safely", "standing", _HELD),
    _w("valve_returns", "reversing valve returns", "standing", _HELD),
    _w("fan_returns", "outdoor fan returns", "standing", _HELD),
    _w("heating_resumes", "heating resumes", "standing", _HELD),
)

_PARTS: Final = {
    "low": "evaporating saturation",
    "high": "condensing saturation",
    "suction": "suction line",
    "liquid": "liquid line",
    "coil": "outdoor coil",
    "vapor": "vapor line",
    "discharge": "discharge line",
    "supply": "supply air",
}
_LEVELS: Final = (
    *(_n(f"{stem}_level_c", f"{title} in heating", "level", "degC") for stem, title in _PARTS.items()),
    *(
        _n(f"{stem}_drift_k_h", f"{_PARTS[stem]}: its change in an hour of heating", "level", "K")
        for stem in ("low", "high", "coil", "supply")
    ),
    *(
        _n(f"{stem}_chill_k", f"{_PARTS[stem]}: its change in a minute without outdoor air", "level", "K")
        for stem in ("low", "high", "coil", "suction")
    ),
    _n("chill_log", "time without outdoor air until the contact closed", "level", "log"),
    *(
        _n(f"{stem}_defrost_c", f"{title} late in the defrost", "level", "degC")
        for stem, title in _PARTS.items()
    ),
    _n("compressor_defrost_log", "compressor current in defrost", "level", "log"),
    _n("power_defrost_log", "power in defrost", "level", "log"),
    _n("closing_coil_k", "coil above the closing rating where the contact closed", "level", "K"),
    _n("closing_rate_k_s", "change of the coil in a second where the contact closed", "level", "K"),
    _n("opening_coil_k", "coil above the opening rating where the contact opened", "level", "K"),
    _n("opening_rate_k_s", "change of the coil in a second where the contact opened", "level", "K"),
    _n("rest_low_level_c", "suction gauge's saturation at rest", "level", "degC"),
    _n("rest_high_level_c", "high-side gauge's saturation at rest", "level", "degC"),
    _n("rest_apart_k", "high-side gauge's saturation above the suction gauge's at rest", "level", "K"),
    _n("rest_coil_k", "outdoor coil above outdoor air at rest", "level", "K"),
    _n("rest_suction_k", "suction line above the suction gauge's saturation at rest", "level", "K"),
)
"""What one channel reads by itself: for the ratios, where a difference of two cannot be had."""
FEATURES: Final[tuple[Feature, ...]] = (*_NAMED, *_LEVELS)
FEATURE: Final = {row.name: row for row in FEATURES}
GIVEN: Final[dict[str, tuple[str, ...]]] = {
    "filter_look": ("filter-blocked",),
    "outdoor_look": ("outdoor-coil-fouled",),
    "pan_look": ("drain-blocked",),
    "fan_volts": ("fan-relay-open",),
    "line_drop": ("liquid-line-restricted",),
    "valve_ports": ("reversing-valve-leaks",),
    "check_valve": ("check-valve-stuck-open",),
    "sensor_seat": ("sensor-out-of-place",),
    "coil_clamp": ("coil-clamp-loose",),
    "vapor_clamp": ("vapor-clamp-loose",),
    "suction_zero": ("suction-gauge-zero-off",),
    "high_zero": ("high-gauge-zero-off",),
    "second_stage": ("backup-stage-dead",),
    "clocks": ("clocks-apart",),
}
"""Features that a person looks up, and the causes under which the second word is expected. The bench knows none
of them: a part's look follows from what the cause is."""
SURE: Final = 0.95
"""Such a look is taken to be right so often. Model choice, no source."""
LEVELS: Final = tuple(row.name for row in _LEVELS)
NUMBERS: Final = tuple(row.name for row in _NAMED if row.is_number)
"""Those with a name in the trade: what evidence is told by, and further readings are asked for."""
WORDS: Final = tuple(row.name for row in FEATURES if not row.is_number)
