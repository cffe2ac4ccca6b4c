"""What the true standings are made of: occasions, and what a record lets one tell of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost.bench.scenario.look import Look, TrueDefrost

BEST_FIRST: Final = ("shown", "prompted", "doubtful", "bypassed", "unseen")


HIDDEN: Final = "The record cannot tell."
"""In the reason where the truth is `failed` and no instrument of the record could say so."""


@dataclass(frozen=True, kw_only=True)
class Occasion:
    """A moment at which a function could show itself: the right standings, the truth first, and why."""

    standings: tuple[str, ...]
    why: str


def of(why: str, *standings: str) -> Occasion:
    """An occasion: why, and its right standings, the truth first."""
    return Occasion(standings=tuple(dict.fromkeys(standings)), why=why)


def worst(standings: tuple[str, ...]) -> str:
    """What the standings of all occasions come to."""
    return "failed" if "failed" in standings else min(standings, key=BEST_FIRST.index)


def evident(look: Look, defrost: TrueDefrost) -> bool:
    """Whether the record shows that a defrost is on: by the circuit, the valve's coil, or the fan."""
    run = look.played.run
    turned = look.window(run.state("valve"), defrost.start_s, defrost.end_s).max() > 0.5
    powered = look.window(run.board("valve"), defrost.start_s, defrost.end_s).max() > 0.5
    fan = look.window(look.fan_on, defrost.start_s - 12.0, defrost.start_s - 1.0).max() > 0.5 and (
        look.window(look.fan_on, defrost.start_s + 12.0, defrost.end_s).max() < 0.5
    )
    return (
        (turned and look.turn_channels)
        or (powered and look.has("valve_voltage"))
        or (fan and look.has("fan_current"))
    )


def seen_part(look: Look, defrost: TrueDefrost) -> bool:
    """Whether the record holds a defrost without a hole, as far as it goes."""
    return look.covered(defrost.start_s - 5.0, min(defrost.end_s, look.last_s))


def coil_doubt_k(look: Look) -> float:
    """What the record's coil probe cannot tell apart."""
    return 2.0 * look.played.scenario.unit.instruments["outdoor_coil_temp"].u(0.0) + 0.6


def is_demand(look: Look) -> bool:
    """Whether the board watches the coil instead of the clock."""
    return look.played.scenario.unit.board.kind == "demand"


def clock_sound(look: Look) -> bool:
    """Whether the board's clock runs as set."""
    return abs(look.played.controls.timer_rate - 1.0) < 0.05 and look.played.controls.dead < 0.5
