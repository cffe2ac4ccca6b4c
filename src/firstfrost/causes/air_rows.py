# ruff: noqa: E501
"""Causes on the air side, indoors and out. Signs: physics reasoning, from memory."""

from __future__ import annotations

from typing import Final

from firstfrost.causes.hypothesis import LIVE, Hypothesis, signs

_INDOOR = "static-pressure"

AIR: Final[tuple[Hypothesis, ...]] = (
    Hypothesis(
        name="outdoor-coil-fouled",
        title="outdoor coil fouled",
        kind="machine",
        weight=3.0,
        does="Dirt between the fins holds the outdoor air back: the coil runs colder and frosts sooner.",
        signs=signs(evaporating_approach_k="up", condensing_approach_k="down", temperature_rise_k="down"),
        remedy="Clean the coil from inside outwards with water at low pressure, power off and locked out.",
        twins=("outdoor-fan-weak", "drain-blocked"),
        apart="fan-amps",
    ),
    Hypothesis(
        name="outdoor-fan-weak",
        title="outdoor fan weak or dead",
        kind="machine",
        weight=2.0,
        does="The outdoor fan moves too little air: the coil runs colder, the fan draws less.",
        signs=signs(
            evaporating_approach_k="up",
            condensing_approach_k="down",
            temperature_rise_k="down",
            fan_current_log="down",
        ),
        remedy=f"Check blade, capacitor and motor with the power locked out: the fan starts by itself. {LIVE}",
        twins=("outdoor-coil-fouled", "fan-relay-open"),
        apart="fan-volts",
    ),
    Hypothesis(
        name="drain-blocked",
        title="drain blocked by ice",
        kind="machine",
        does="Melt water finds no way out, freezes in the base pan and shuts the coil from below.",
        signs=signs(evaporating_approach_k="up"),
        remedy="Clear the drain and look why it froze; no tools on the ice near the coil.",
        twins=("outdoor-coil-fouled",),
        apart="look-outdoor",
    ),
    Hypothesis(
        name="filter-blocked",
        title="filter blocked",
        kind="machine",
        weight=3.0,
        does="Too little air over the indoor coil: condensing saturation and the temperature rise climb.",
        signs=signs(
            condensing_approach_k="up",
            temperature_rise_k="up",
            discharge_temp_c="up",
            power_log="up",
            filter_drop_log="up",
            airflow_log="down",
        ),
        remedy="Change the filter; then read the static pressure again.",
        twins=("indoor-coil-fouled", "blower-weak"),
        apart=_INDOOR,
    ),
    Hypothesis(
        name="indoor-coil-fouled",
        title="indoor coil fouled",
        kind="machine",
        weight=2.0,
        does="Dirt on the indoor coil holds both air and heat back: condensing saturation climbs.",
        signs=signs(
            condensing_approach_k="up",
            discharge_temp_c="up",
            power_log="up",
            coil_drop_log="up",
            airflow_log="down",
        ),
        remedy="Look at the coil's entering face with the power locked out; clean it as its maker says.",
        twins=("filter-blocked", "blower-weak"),
        apart=_INDOOR,
    ),
    Hypothesis(
        name="blower-weak",
        title="indoor blower weak or dead",
        kind="machine",
        weight=2.0,
        does="The blower turns too slowly: too little air indoors, at little pressure drop.",
        signs=signs(
            condensing_approach_k="up", temperature_rise_k="up", discharge_temp_c="up", airflow_log="down"
        ),
        remedy=f"Check the speed setting, wheel, capacitor and motor. {LIVE}",
        twins=("filter-blocked", "indoor-coil-fouled"),
        apart=_INDOOR,
    ),
)
