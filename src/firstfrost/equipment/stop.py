"""The stop limit: what the high side must stay below in a forced defrost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from firstfrost.equipment.unit import Unit
from firstfrost.refrigerants import refrigerant


@dataclass(frozen=True, kw_only=True)
class StopLimit:
    """Where a forced defrost must be stopped at the latest."""

    temp_c: float
    """Dew temperature of the high side."""
    pressure_pa: float
    """The same as a pressure, absolute."""
    gauge_pa: float
    """What a gauge at the site shows then."""
    by: Literal["ceiling", "cutout"]
    """The saturation ceiling, or the high-pressure cutout where that comes first."""


def stop_limit(unit: Unit) -> StopLimit:
    """The stop limit of a unit, for its refrigerant and the air pressure at its site."""
    fluid = refrigerant(unit.refrigerant)
    ceiling_c = min(unit.limits.saturation_ceiling_c, fluid.highest_temp_c)
    ceiling_pa = fluid.dew_pressure_pa(ceiling_c)
    cutout_pa = unit.limits.high_pressure_cutout_pa
    by: Literal["ceiling", "cutout"] = "cutout" if cutout_pa < ceiling_pa else "ceiling"
    pressure_pa = min(cutout_pa, ceiling_pa)
    return StopLimit(
        temp_c=fluid.dew_temp_c(pressure_pa) if by == "cutout" else ceiling_c,
        pressure_pa=pressure_pa,
        gauge_pa=pressure_pa - unit.site.atmosphere_pa,
        by=by,
    )
