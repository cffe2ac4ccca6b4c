"""What the phase finder gives: phases and defrosts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

PhaseName = Literal["off", "heating", "chilldown", "defrost", "recovery", "cooling", "unknown"]

OFF: Final = 0
HEATING: Final = 1
CHILLDOWN: Final = 2
DEFROST: Final = 3
RECOVERY: Final = 4
COOLING: Final = 5
UNKNOWN: Final = 6

NAMES: Final[tuple[PhaseName, ...]] = (
    "off", "heating", "chilldown", "defrost", "recovery", "cooling", "unknown",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Phase:
    """One phase of the record, [start_s, end_s) on the time base of the trace.

    `sure` is the finder's probability, 0 to 1, that the name is right; `decided_by` names the channels
    that decided. `gap` tells that readings are missing within it or at one of its edges.
    """

    name: PhaseName
    start_s: float
    end_s: float
    sure: float
    decided_by: tuple[str, ...] = ()
    gap: bool = False


EndedBy = Literal["sensor", "time", "pressure", "call", "unknown"]


@dataclass(frozen=True, kw_only=True)
class Defrost:
    """One defrost, from the controls' first change out of heating to their first change back.

    `whole` is False when the record cuts it at its start or its end. `start_half_width_s` and
    `end_half_width_s` say how far the true edge can lie from the one given. Peaks are None where no
    high-side pressure was read, and the half-width of the peak is its expanded uncertainty (k = 2).
    """

    start_s: float
    end_s: float
    whole: bool
    cut: Literal["", "start", "end", "both"]
    gap: bool
    start_half_width_s: float
    end_half_width_s: float
    sure: float
    decided_by: tuple[str, ...]
    ended_by: EndedBy
    peak_saturation_c: float | None = None
    peak_saturation_u_k: float | None = None
    peak_pressure_pa: float | None = None
    peak_time_s: float | None = None
    peak_channel: str | None = None

    @property
    def duration_s(self) -> float:
        """Length [s]."""
        return self.end_s - self.start_s
