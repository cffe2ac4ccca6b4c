"""A function's standing after a visit, and the evidence under it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Standing = Literal["shown", "prompted", "doubtful", "bypassed", "unseen", "failed"]

BEST_FIRST: Final[tuple[Standing, ...]] = ("shown", "prompted", "doubtful", "bypassed", "unseen")
"""The order of the design; `failed` stands apart and outweighs all."""

FUNCTIONS: Final = (
    "sensor_closes",
    "sensor_opens",
    "timer_counts",
    "defrost_starts",
    "valve_shifts",
    "fan_stops",
    "backup_runs",
    "coil_clears",
    "ends_by_sensor",
    "ends_safely",
    "valve_returns",
    "fan_returns",
    "heating_resumes",
)


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A number with its unit and expanded uncertainty (k = 2), both in that unit.

    `unit` is one of: degC, K, Pa, V, A, W, s, 1.
    """

    value: float
    unit: str
    expanded: float | None = None


@dataclass(frozen=True, kw_only=True)
class Limit:
    """What a number is held against, and where that comes from.

    `source` starts with one of: rating plate, unit file, default, published standard, common practice,
    physics, this record.
    """

    low: float | None
    high: float | None
    unit: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """One occasion on which a function could be seen, and what was seen."""

    standing: Standing
    start_s: float
    end_s: float
    channels: tuple[str, ...]
    what: str
    """One plain sentence: what was seen on this occasion."""
    measured: Measured | None = None
    limit: Limit | None = None
    probability: float | None = None
    """That the limit is met, from the measured number and its uncertainty."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """The standing of one function over the whole visit."""

    function: str
    standing: Standing
    sentence: str
    """For the customer."""
    evidence: tuple[Evidence, ...] = ()
    settle: str = ""
    """Which reading or act would settle it, where it is not `shown`."""
    remedy: str = ""
    """Where it `failed`: what a technician looks at next."""
