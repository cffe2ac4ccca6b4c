"""Marks: what a person did to the machine, and when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

ACTS: Final = (
    "fan-lead-off",
    "fan-lead-on",
    "pins-bridged",
    "pins-released",
    "sensor-jumpered",
    "sensor-restored",
    "call-on",
    "call-off",
    "coil-covered",
    "coil-uncovered",
    "note",
)

ENDS: Final = {
    "fan-lead-off": "fan-lead-on",
    "pins-bridged": "pins-released",
    "sensor-jumpered": "sensor-restored",
    "coil-covered": "coil-uncovered",
    "call-off": "call-on",
}
"""Which act undoes which."""


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One act at one time, on the time base of the trace [s]."""

    time_s: float
    act: str
    note: str = ""


Marks = tuple[Mark, ...]


def spans(marks: Marks, act: str, *, until_s: float = float("inf")) -> list[tuple[float, float]]:
    """The half-open spans [start, end) in which `act` was in force.

    Parameters
    ----------
    marks : tuple of Mark
        In rising order of time.
    act : str
        One of the keys of `ENDS`.
    until_s : float
        The end given to a span that no mark closes. [s]
    """
    undo = ENDS[act]
    found: list[tuple[float, float]] = []
    start: float | None = None
    for mark in marks:
        if mark.act == act and start is None:
            start = mark.time_s
        elif mark.act == undo:
            if start is None and not found:
                start = float("-inf")
            if start is not None:
                found.append((start, mark.time_s))
                start = None
    if start is not None:
        found.append((start, until_s))
    return found
