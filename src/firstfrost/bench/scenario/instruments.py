"""Faults of instruments: of what looks at the machine, not of the machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost.quantities.convert import parse


@dataclass(frozen=True, kw_only=True)
class InstrumentFault:
    """A fault of a probe, or of the clock that marks are taken by.

    `shift`, in the channel's SI unit, is added at severity 1; `air` is the part of the probe that feels
    outdoor air then; `apart_s` is how far the marks' clock is ahead of the logger's.
    """

    name: str
    title: str
    at_one: str
    channels: tuple[str, ...] = ()
    shift: float = 0.0
    air: float = 0.0
    apart_s: float = 0.0
    usual: float = 0.5


INSTRUMENT_FAULTS: Final = {
    row.name: row
    for row in (
        InstrumentFault(
            name="suction-gauge-zero-off",
            title="suction gauge's zero is off",
            at_one="reads 30 psi high",
            channels=("suction_pressure",),
            shift=parse("30 psi", "pressure_difference"),
        ),
        InstrumentFault(
            name="high-gauge-zero-off",
            title="high-side gauges' zero is off",
            at_one="read 60 psi low",
            channels=("discharge_pressure", "liquid_pressure"),
            shift=-parse("60 psi", "pressure_difference"),
        ),
        InstrumentFault(
            name="coil-clamp-loose",
            title="probe on the outdoor coil is loose",
            at_one="feels nothing but air",
            channels=("outdoor_coil_temp",),
            air=1.0,
        ),
        InstrumentFault(
            name="vapor-clamp-loose",
            title="probe on the vapor line is loose",
            at_one="feels nothing but air",
            channels=("vapor_line_temp",),
            air=1.0,
        ),
        InstrumentFault(
            name="clocks-apart",
            title="the marks' clock is ahead of the logger's",
            at_one="by two minutes",
            apart_s=120.0,
        ),
    )
}
"""By name. Shifts are invented round numbers, no source."""
