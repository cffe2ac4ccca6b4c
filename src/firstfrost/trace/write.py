"""Writing traces and marks so that they come back as they were."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, timedelta
from pathlib import Path
from typing import Final, Literal

import numpy as np

from firstfrost.errors import InputError
from firstfrost.quantities import from_si
from firstfrost.trace.channels import CHANNELS, Kind
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

System = Literal["us", "si"]

UNITS: Final[Mapping[System, Mapping[Kind, str]]] = {
    "us": {
        "pressure": "psig",
        "temperature": "degF",
        "humidity": "%",
        "voltage": "V",
        "current": "A",
        "power": "W",
        "flow": "cfm",
        "pressure_difference": "inH2O",
        "switch": "1",
    },
    "si": {
        "pressure": "Pa(a)",
        "temperature": "degC",
        "humidity": "1",
        "voltage": "V",
        "current": "A",
        "power": "W",
        "flow": "m3/s",
        "pressure_difference": "Pa",
        "switch": "1",
    },
}
"""The unit that each kind is written in."""


def _times(trace: Trace, times_s: list[float]) -> list[str]:
    """Times as text that reads back to the same floats: ISO 8601 in UTC, or bare seconds."""
    if trace.epoch is None:
        return [repr(float(t)) for t in times_s]
    epoch = trace.epoch.astimezone(UTC)
    zero = epoch.replace(microsecond=0)
    extra = epoch.microsecond / 1e6
    texts = []
    for t in times_s:
        whole = np.floor(t + extra)
        part = (t + extra) - whole
        stamp = f"{zero + timedelta(seconds=int(whole)):%Y-%m-%dT%H:%M:%S}"
        digits = np.format_float_positional(part, unique=True, trim="-")[1:] if part else ""
        texts.append(f"{stamp}{digits}Z")
    return texts


def write_csv(
    trace: Trace, path: Path | str, *, atmosphere_pa: float, system: System = "us", digits: int | None = None
) -> None:
    """Write a trace as a CSV that `read_trace` understands.

    Parameters
    ----------
    trace : Trace
        In memory units.
    path : path
        Where to; what is there is replaced.
    atmosphere_pa : float
        Taken from absolute pressures to give gauge. [Pa]
    system : {"us", "si"}
        The units of people, or those in memory, in which each float comes back exactly.
    digits : int, optional
        Digits after the point; left out, as many as the float has.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    names = [name for name in CHANNELS if name in trace.columns]
    headers = ["time" if trace.epoch is not None else "time [s]"]
    columns = [_times(trace, trace.time_s.tolist())]
    for name in names:
        kind = CHANNELS[name].kind
        unit_text = UNITS[system][kind]
        headers.append(f"{name} [{unit_text}]")
        values = trace.columns[name]
        if system == "us" or kind not in ("pressure", "temperature"):
            values = from_si(values, unit_text, kind, atmosphere_pa=atmosphere_pa)
        columns.append(
            [("" if v != v else repr(v) if digits is None else f"{v:.{digits}f}") for v in values.tolist()]
        )
    lines = [_comment(trace), ",".join(headers), *map(",".join, zip(*columns, strict=True))]
    _write(path, lines)


def _comment(trace: Trace) -> str:
    text = "# firstfrost trace"
    if trace.epoch is not None:
        text += f"; epoch {trace.epoch.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    return text + (f"; zone {trace.zone}" if trace.zone else "")


def write_marks(marks: Marks, path: Path | str, *, trace: Trace) -> None:
    """Write marks as a CSV that `read_marks` understands, their times on the base of `trace`.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    times = _times(trace, [mark.time_s for mark in marks])
    header = "time,act,note" if trace.epoch is not None else "time [s],act,note"
    rows = [f"{time},{mark.act},{_quoted(mark.note)}" for time, mark in zip(times, marks, strict=True)]
    _write(path, [header, *rows])


def _quoted(text: str) -> str:
    flat = " ".join(text.split())
    return '"' + flat.replace('"', '""') + '"' if any(c in flat for c in ',";') else flat


def _write(path: Path | str, lines: list[str]) -> None:
    try:
        Path(path).write_text("\n".join(lines) + "\n", encoding="utf-8")
    except OSError as err:
        raise InputError(
            f"{path} cannot be written: {err.strerror}. Give a place that can be written to."
        ) from err
