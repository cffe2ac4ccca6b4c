"""A hypothesis: a cause, what it does, how it shows, how often it is taken to come, what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Way = Literal["up", "down", "same"]
Source = Literal["published", "physics, from memory", "common practice, no source"]
Kind = Literal["machine", "control", "instrument", "answer"]

CHOICE: Final = "model choice, no source"
CERTIFIED: Final = (
    "Refrigerant work is for certified people where the law asks it: weighed and recovered, never vented."
)
LIVE: Final = (
    "De-energize, lock out and test before touching; live readings only by people qualified for them."
)


@dataclass(frozen=True, kw_only=True)
class Sign:
    """Which way a feature goes, against a sound machine under the same conditions, and who says so."""

    feature: str
    way: Way
    source: Source = "physics, from memory"


@dataclass(frozen=True, kw_only=True)
class Hypothesis:
    """One row of the causes."""

    name: str
    title: str
    kind: Kind
    does: str
    """One sentence: what it does to the machine, or to the record."""
    signs: tuple[Sign, ...] = ()
    weight: float = 1.0
    """How often it is taken to come, against the other faults, before any reading."""
    basis: str = CHOICE
    remedy: str = ""
    twins: tuple[str, ...] = ()
    """Causes that look alike unless the reading `apart` is had."""
    apart: str = ""
    """The reading, a row of `acts`, that tells it from its twins."""
    needs_valve: bool = False
    """It is of an expansion valve: no cause where a fixed orifice meters."""


def signs(source: Source = "physics, from memory", **ways: Way) -> tuple[Sign, ...]:
    """Signs by feature."""
    return tuple(Sign(feature=name, way=way, source=source) for name, way in ways.items())
