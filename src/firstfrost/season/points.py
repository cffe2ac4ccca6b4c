"""Rating points: what a unit delivers and draws at one outdoor temperature."""

from __future__ import annotations

from dataclasses import dataclass

from firstfrost.errors import InputError


@dataclass(frozen=True, kw_only=True)
class Point:
    """A rating point; of a frost accumulation test the averages over its whole cycles."""

    capacity_w: float
    """Heat to the indoor air, the blower's included. [W]"""
    power_w: float
    """Electric power of the whole unit, without backup heat. [W]"""

    def __post_init__(self) -> None:
        if not (self.capacity_w > 0.0 and self.power_w > 0.0):
            raise InputError(
                f"A rating point of {self.capacity_w:g} W of heat for {self.power_w:g} W of power makes no "
                "sense. Expected both above 0. Look at the rating sheet."
            )

    @property
    def cop(self) -> float:
        """Heat over power."""
        return self.capacity_w / self.power_w
