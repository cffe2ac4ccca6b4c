"""What a visit found that a winter hangs on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Found:
    """A number as measured at a visit."""

    value: float
    """Of the coil sensor [degC]; of capacity and power over what the ratings say of that day [1]."""
    expanded: float
    """k = 2, in the same unit; for the sensor with its lag behind the coil."""
    failed: bool = False
    """Outside its limit: the part is to be replaced, and the number says what it costs until then."""


@dataclass(frozen=True, kw_only=True)
class AtVisit:
    """What a visit found; None where the ratings tell as much."""

    when: str = ""
    """Its day, where the record has one."""
    failed: tuple[str, ...] = ()
    """Functions that failed, as in `proofs.finding.FUNCTIONS`."""
    closes: Found | None = None
    opens: Found | None = None
    capacity: Found | None = None
    power: Found | None = None
    left_out: tuple[str, ...] = ()
    """A sentence on each number that was measured and not taken."""
