# ruff: noqa: E501
"""Causes in what looks at the machine, and the answers that name no fault."""

from __future__ import annotations

from typing import Final

from firstfrost.causes.hypothesis import Hypothesis, signs

INSTRUMENT: Final[tuple[Hypothesis, ...]] = (
    Hypothesis(
        name="suction-gauge-zero-off",
        title="suction gauge's zero is off",
        kind="instrument",
        weight=1.5,
        does="The gauge reads high: superheat looks too low and the coil too warm, while the machine is sound.",
        signs=signs(rest_low_k="up", superheat_k="down", evaporating_approach_k="down", coil_to_dew_k="down"),
        remedy="Zero the gauge open to the air, hoses off, and read again.",
        twins=(),
        apart="gauge-zero",
    ),
    Hypothesis(
        name="high-gauge-zero-off",
        title="high-side gauges' zero is off",
        kind="instrument",
        weight=1.5,
        does="The gauges read low: subcooling and the margin to the limit look other than they are.",
        signs=signs(rest_high_k="down", subcooling_k="down", condensing_approach_k="down"),
        remedy="Zero the gauges open to the air, hoses off, and read again.",
        twins=(),
        apart="gauge-zero",
    ),
    Hypothesis(
        name="coil-clamp-loose",
        title="probe on the outdoor coil is loose",
        kind="instrument",
        weight=1.5,
        does="The probe feels the air and not the coil: the sensor seems to switch at odd temperatures.",
        signs=signs(coil_to_dew_k="up", coil_to_air_k="down"),
        remedy="Clean the tube, clamp and insulate the probe, and read again.",
        twins=("sensor-closes-cold",),
        apart="clamp-check",
    ),
    Hypothesis(
        name="vapor-clamp-loose",
        title="probe on the vapor line is loose",
        kind="instrument",
        weight=1.5,
        does="The probe feels outdoor air: the vapor line seems too cold in heating.",
        signs=signs(vapor_line_k="up", vapor_to_dew_k="down"),
        remedy="Clean the line, clamp and insulate the probe, and read again.",
        twins=(),
        apart="clamp-check",
    ),
    Hypothesis(
        name="clocks-apart",
        title="the marks' clock is ahead of the logger's",
        kind="instrument",
        weight=1.5,
        does="What was written down seems to come after what it did.",
        remedy="Put watch and logger on one time, and note the difference in this visit's marks.",
    ),
)
ANSWERS: Final[tuple[Hypothesis, ...]] = (
    Hypothesis(
        name="sound",
        title="no fault",
        kind="answer",
        does="The readings are what a sound machine shows, within what such machines and instruments differ by.",
    ),
    Hypothesis(
        name="none-of-these",
        title="none of these",
        kind="answer",
        does="Something is off, and no cause of this list explains it well.",
        remedy="Take nothing for found: look at the equipment maker's own procedure.",
    ),
)
