"""What a plan says: titles, reasons, and the numbers it gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from firstfrost.bench.plan.runs import Failure, Way

Verdict = Literal["works", "near limit", "may fail", "no"]
"""`near limit`: it runs through as with `works`, but in too many units the peak passes the stop limit."""

TITLES: Final[dict[Way, str]] = {
    "natural": "Natural frost: touch nothing",
    "fan-stopped": "Outdoor fan stopped",
    "coil-covered": "Outdoor coil covered",
}

TOO_HOT: Final = (
    "Too warm outdoors to run heating at all: above 80 degF (26.7 degC) head pressure and compressor load "
    "leave what most makers allow (common practice, no source; the maker's own limit goes first)."
)

NOT_NEEDED: Final = (
    "Not needed: in this cold the coil sensor is closed before anything runs. Holding the air back would "
    "only starve the compressor."
)
OVER: Final = "In most runs the peak passes the stop limit before the sensor opens."
NEAR: Final = "It runs through, but a sound unit may have to be stopped before its sensor opens."

_REASONS: Final[dict[Failure, str]] = {
    "sensor": "The coil does not get cold enough to close its sensor in {minutes} minutes.",
    "pressure": "The high side meets the stop limit while the unit still heats.",
    "low": "The suction falls until the low-pressure switch stops the compressor before the test is through.",
    "high": "The high-pressure switch stops the compressor before the test is through.",
    "outside": "The circuit leaves the range that the refrigerant's tables cover.",
    "unended": "The defrost does not come to its end.",
}


def reason(failure: Failure, patience_s: float) -> str:
    """Why a method does not work."""
    return _REASONS[failure].format(minutes=round(patience_s / 60))


@dataclass(frozen=True, kw_only=True)
class Number:
    """A number that a plan foretells: its field in `runs.Seen`, its unit in memory, and what to call it.

    `saturation`: a pressure on a gauge, given with its saturation (dew) temperature.
    """

    key: str
    unit: Literal["s", "degC", "kg", "Pa"]
    title: str
    saturation: bool = False


NUMBERS: Final = (
    Number(key="base_suction_pa", unit="Pa", title="suction, heating steadily", saturation=True),
    Number(key="base_high_pa", unit="Pa", title="high side, heating steadily", saturation=True),
    Number(key="coldest_sensor_c", unit="degC", title="coil sensor at its coldest"),
    Number(key="closes_s", unit="s", title="sensor closes after the call"),
    Number(key="closing_suction_pa", unit="Pa", title="suction as it closes", saturation=True),
    Number(key="closing_high_pa", unit="Pa", title="high side as it closes", saturation=True),
    Number(key="lowest_suction_pa", unit="Pa", title="lowest suction until the defrost", saturation=True),
    Number(key="starts_s", unit="s", title="defrost starts after the call"),
    Number(key="frost_kg", unit="kg", title="frost on the coil by then"),
    Number(key="lasts_s", unit="s", title="defrost lasts"),
    Number(key="peak_pa", unit="Pa", title="high side at its peak, as it ends", saturation=True),
    Number(key="ends_s", unit="s", title="defrost ends after the call"),
)
BY_KEY: Final = {number.key: number for number in NUMBERS}
