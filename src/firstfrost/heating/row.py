"""What a row of the heating check holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from firstfrost.heating.number import HeatingStanding
from firstfrost.heating.state import Reading, State
from firstfrost.proofs.finding import Limit

Measure = Callable[[State], Reading | None]
Hold = Callable[[State, Reading], Limit | None]


def with_high(*names: str) -> tuple[tuple[str, ...], ...]:
    """Sets of channels: `names` and one pressure of the high side."""
    return tuple((*names, high) for high in ("discharge_pressure", "liquid_pressure"))


def no_limit(state: State, reading: Reading) -> Limit | None:
    """For a number that nothing is known to hold against."""
    return None


@dataclass(frozen=True, kw_only=True)
class Row:
    """How one number is measured and judged.

    `needs` lists sets of channels, any one set of which will do. `says` has the sentence for each standing,
    `open` the one for a number with nothing to hold it against; `look_up` tells what to look up for it. A row
    that does not `fail` stays doubtful beyond its limit: there the readings are at odds, not the machine.
    `circuit` marks a remedy that may lead to work on the refrigerant circuit, which gets the caution that
    belongs to it.
    """

    name: str
    title: str
    unit: str
    needs: tuple[tuple[str, ...], ...]
    method: str
    limit: str
    source: str
    why: str
    says: Mapping[HeatingStanding, str]
    open: str
    settle: str
    look_up: str
    remedy: str
    measure: Measure
    hold: Hold = no_limit
    held_by: str = ""
    """The ratio that judges this number, too, where there is one: same standing, its limit scaled."""
    simple: bool = False
    """Whether the limit is meant for the measured value as it stands, uncertainty granted in it."""
    fails: bool = True
    circuit: bool = False
