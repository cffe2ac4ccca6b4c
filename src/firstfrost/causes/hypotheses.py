"""All hypotheses, by name, and what is taken of them before any reading."""

from __future__ import annotations

from typing import Final

from firstfrost.causes.air_rows import AIR
from firstfrost.causes.circuit_rows import CIRCUIT
from firstfrost.causes.control_rows import CONTROL
from firstfrost.causes.hypothesis import CHOICE, Hypothesis
from firstfrost.causes.instrument_rows import ANSWERS, INSTRUMENT

HYPOTHESES: Final[dict[str, Hypothesis]] = {
    row.name: row for row in (*CIRCUIT, *AIR, *CONTROL, *INSTRUMENT, *ANSWERS)
}
SOUND: Final = "sound"
NONE: Final = "none-of-these"
P_SOUND: Final = 0.5
P_NONE: Final = 0.02
P_TWO: Final = 0.05
"""Of the visits in which something is wrong, those with two faults at once."""
BASIS: Final = (
    f"{CHOICE}: half of the machines that are looked at have nothing wrong, two in a hundred something "
    "that is not on the list; the rest is shared by weights of 1 to 3, and one fault in twenty does not "
    "come alone"
)


def priors(*, fixed_orifice: bool) -> dict[str, float]:
    """Prior of each hypothesis, adding to 1; a fault of an expansion valve is out where there is none."""
    left = 1.0 - P_SOUND - P_NONE
    weights = {
        name: row.weight
        for name, row in HYPOTHESES.items()
        if row.kind != "answer" and not (row.needs_valve and fixed_orifice)
    }
    total = sum(weights.values())
    out = {name: left * weight / total for name, weight in weights.items()}
    return {**out, SOUND: P_SOUND, NONE: P_NONE}
