"""Further readings for the causes: what a batch says of them, which hold, and where two devices disagree."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from firstfrost.causes.readings import TYPED, Reading, Stated, agree, reading_of, state
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.quantities.units import SI
from firstfrost.store.batches import Looked


@dataclass(frozen=True, kw_only=True)
class Look:
    """One further reading as it came, and what it says; None where it cannot be read."""

    n: int
    client: str
    at: str
    """Where in its batch."""
    sent: Looked
    said: Stated | None
    withdrawn: bool


def understand(one: Looked) -> Stated:
    """What a further reading says by itself.

    Raises
    ------
    InputError
        If it has an unknown name, unit or word, or lies outside what makes sense.
    """
    return state(one.name, one.text.strip(), f"{one.name} = {one.text!r}")


def holding(looks: Iterable[Look]) -> list[Look]:
    """Those that count: of each feature the latest by its time, of one time the first to arrive."""
    return list(_latest(looks).values())


def disputed(looks: Sequence[Look]) -> list[tuple[Look, Look]]:
    """Where the last words of two devices on one feature cannot both be so: what counts, and the other."""
    out = []
    for feature, used in _latest(looks).items():
        mine = [one for one in looks if one.said is not None and one.said.feature == feature]
        for client in dict.fromkeys(one.client for one in mine):
            last = _latest(one for one in mine if one.client == client).get(feature)
            if client == used.client or last is None or last.said is None or used.said is None:
                continue
            if not agree(used.said, last.said):
                out.append((used, last))
    return out


def _latest(looks: Iterable[Look]) -> dict[str, Look]:
    out: dict[str, Look] = {}
    for one in looks:
        if one.said is None or one.withdrawn:
            continue
        before = out.get(one.said.feature)
        if before is None or one.sent.time_s > before.sent.time_s:
            out[one.said.feature] = one
    return out


def readings_of(looks: Iterable[Look], unit: Unit) -> tuple[tuple[Reading, ...], list[tuple[Look, str]]]:
    """The readings of a unit that count, and those that cannot be used on it, with why."""
    out: list[Reading] = []
    left: list[tuple[Look, str]] = []
    for one in holding(looks):
        text = f"{one.sent.name} = {one.sent.text.strip()}"
        try:
            if one.said is not None:
                out.append(reading_of(one.said, unit, text=text, where=text))
        except InputError as err:
            left.append((one, str(err)))
    return tuple(out), left


def entry(one: Look, *, counts: bool) -> dict[str, Any]:
    """A further reading as the service answers it."""
    row = TYPED.get(one.sent.name)
    return {
        "n": one.n,
        "client": one.client,
        "id": one.sent.id,
        "time_s": one.sent.time_s,
        "name": one.sent.name,
        "text": one.sent.text,
        "value": None if one.said is None else one.said.value,
        "unit": None if row is None else SI[row.kind],
        "withdrawn": one.withdrawn,
        "counts": counts,
    }
