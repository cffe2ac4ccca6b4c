# ruff: noqa: E501
"""Causes in the refrigerant circuit.

Signs marked published: heating-mode charge-fault correlations as coded in HPXML (same family as NIST TN 1848).
The others are the project's sign table for a unit with an expansion valve: physics reasoning, from memory, held
against no printed table.
"""

from __future__ import annotations

from typing import Final

from firstfrost.causes.hypothesis import CERTIFIED, Hypothesis, Sign, signs

_PUBLISHED = "published"

CIRCUIT: Final[tuple[Hypothesis, ...]] = (
    Hypothesis(
        name="charge-low",
        title="charge too low",
        kind="machine",
        weight=3.0,
        does="Too little refrigerant: the outdoor coil runs partly dry, and little liquid stands indoors.",
        signs=(
            Sign(feature="capacity_air_log", way="down", source="published"),
            Sign(feature="power_log", way="down", source="published"),
            *signs(
                evaporating_approach_k="up",
                superheat_k="up",
                condensing_approach_k="down",
                subcooling_k="down",
                temperature_rise_k="down",
            ),
        ),
        remedy=f"Look for the leak first; then the charge is weighed in to the plate. {CERTIFIED}",
        twins=("liquid-line-restricted", "valve-stuck-shut"),
        apart="line-drop",
    ),
    Hypothesis(
        name="charge-high",
        title="charge too high",
        kind="machine",
        weight=2.0,
        does="Too much refrigerant: liquid backs up in the indoor coil and drives the high side.",
        signs=(
            Sign(feature="power_log", way="up", source="published"),
            *signs(
                condensing_approach_k="up",
                subcooling_k="up",
                evaporating_approach_k="same",
                superheat_k="same",
            ),
        ),
        remedy=f"Have the charge recovered and weighed against the plate. {CERTIFIED}",
    ),
    Hypothesis(
        name="liquid-line-restricted",
        title="liquid line or drier restricted",
        kind="machine",
        weight=2.0,
        does="Liquid is held back before the metering device: the outdoor coil starves while liquid stands indoors.",
        signs=signs(
            evaporating_approach_k="up",
            superheat_k="up",
            condensing_approach_k="down",
            subcooling_k="up",
            temperature_rise_k="down",
        ),
        remedy=f"Feel and measure for a drop of temperature along the liquid line and across the drier. {CERTIFIED}",
        twins=("valve-stuck-shut", "charge-low"),
        apart="line-drop",
    ),
    Hypothesis(
        name="valve-stuck-shut",
        title="outdoor expansion valve stuck nearly shut",
        kind="machine",
        weight=1.5,
        needs_valve=True,
        does="The expansion valve feeds too little: high superheat, a cold outdoor coil.",
        signs=signs(
            evaporating_approach_k="up", superheat_k="up", subcooling_k="up", temperature_rise_k="down"
        ),
        remedy=f"Check the bulb's seat and insulation before the valve is condemned. {CERTIFIED}",
        twins=("liquid-line-restricted", "charge-low"),
        apart="line-drop",
    ),
    Hypothesis(
        name="valve-stuck-open",
        title="outdoor expansion valve stuck open",
        kind="machine",
        weight=1.5,
        needs_valve=True,
        does="The expansion valve feeds too much: superheat vanishes and liquid may reach the compressor.",
        signs=signs(superheat_k="down", discharge_superheat_k="down"),
        remedy=f"Check the bulb's seat and insulation; do not run long with no superheat. {CERTIFIED}",
        twins=("check-valve-stuck-open",),
        apart="check-valve-touch",
    ),
    Hypothesis(
        name="check-valve-stuck-open",
        title="check valve round the outdoor expansion valve stays open",
        kind="machine",
        does="Liquid goes round the metering device in heating: superheat vanishes.",
        signs=signs(superheat_k="down", discharge_superheat_k="down"),
        remedy=f"Compare temperatures on both sides of the check valve in heating. {CERTIFIED}",
        twins=("valve-stuck-open",),
        apart="check-valve-touch",
    ),
    Hypothesis(
        name="check-valve-stuck-shut",
        title="check valve round the outdoor expansion valve stays shut in defrost",
        kind="machine",
        does="In defrost liquid finds no way round the outdoor metering device: defrosts grow long and suction falls.",
        signs=signs(defrost_length_log="up", defrost_low_c="down"),
        remedy=f"Compare suction in defrost with the one in heating. {CERTIFIED}",
    ),
    Hypothesis(
        name="compressor-leaks",
        title="compressor's valves leak",
        kind="machine",
        weight=1.5,
        does="Gas slips back inside the compressor: the two pressures draw together, flow and capacity fall.",
        signs=signs(
            evaporating_approach_k="down",
            condensing_approach_k="down",
            temperature_rise_k="down",
            power_log="down",
        ),
        remedy=f"Rule the reversing valve out first by the temperature rise across it. {CERTIFIED}",
        twins=("reversing-valve-leaks",),
        apart="valve-ports",
    ),
    Hypothesis(
        name="reversing-valve-leaks",
        title="reversing valve leaks discharge into suction",
        kind="machine",
        weight=1.5,
        does="Hot gas slips into the suction inside the reversing valve.",
        signs=signs(
            suction_above_coil_k="up",
            evaporating_approach_k="down",
            condensing_approach_k="down",
            temperature_rise_k="down",
        ),
        remedy=f"Measure the suction line on both sides of the valve. {CERTIFIED}",
        twins=("compressor-leaks",),
        apart="valve-ports",
    ),
    Hypothesis(
        name="reversing-valve-stuck-heating",
        title="reversing valve stuck in heating",
        kind="machine",
        weight=1.5,
        does="The valve's coil is powered in defrost and the circuit does not turn.",
        remedy=f"With volts on its coil and no shift, the valve or its pilot is at fault: no blows on it. {CERTIFIED}",
        twins=("valve-relay-open",),
        apart="valve-volts",
    ),
    Hypothesis(
        name="reversing-valve-stuck-cooling",
        title="reversing valve stuck in cooling",
        kind="machine",
        does="The circuit cools the house on a call for heat, with no volts on the valve's coil.",
        remedy=f"Turn the call off and heat by other means until it is seen to. {CERTIFIED}",
        twins=("valve-relay-welded",),
        apart="valve-volts",
    ),
    Hypothesis(
        name="reversing-valve-half-way",
        title="reversing valve stuck between its ends",
        kind="machine",
        does="Discharge blows straight into suction: both pressures meet, and nothing is heated.",
        remedy=f"End the test: a compressor that pumps in a ring overheats. {CERTIFIED}",
    ),
)
