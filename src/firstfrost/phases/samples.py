"""From a trace, its cycle and its marks to the rows that the fold reads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from firstfrost.cycle.channels import Cycle
from firstfrost.phases import fold
from firstfrost.trace.marks import Marks, spans
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]


def on_purpose_spans(marks: Marks | None) -> list[tuple[float, float]]:
    """When a mark says that the outdoor air was stopped on purpose: spans [start, end) in s."""
    if not marks:
        return []
    return sorted(spans(marks, "fan-lead-off") + spans(marks, "coil-covered"))


def rows(trace: Trace, cycle: Cycle, marks: Marks | None) -> Floats:
    """The samples of a trace, (n, fold.WIDTH), for the fold."""
    out = np.full((len(trace), fold.WIDTH), np.nan)
    out[:, fold.T] = trace.time_s
    out[:, fold.LOW] = cycle.low_dew_c
    out[:, fold.HIGH] = cycle.high_dew_c
    for column, name in (
        (fold.VAPOR, "vapor_line_temp"),
        (fold.COIL, "outdoor_coil_temp"),
        (fold.OUT, "outdoor_air_temp"),
        (fold.SUPPLY, "supply_air_temp"),
        (fold.RETURN, "return_air_temp"),
        (fold.VOLTS, "sensor_voltage"),
        (fold.FAN, "fan_current"),
        (fold.COMPRESSOR, "compressor_current"),
        (fold.BACKUP, "backup_current"),
        (fold.VALVE, "valve_voltage"),
        (fold.POWER, "power"),
        (fold.CALL, "heating_call"),
    ):
        out[:, column] = trace.get(name)
    if marks is not None:
        out[:, fold.ON_PURPOSE] = 0.0
        for start, end in on_purpose_spans(marks):
            out[(trace.time_s >= start) & (trace.time_s < end), fold.ON_PURPOSE] = 1.0
    return out
