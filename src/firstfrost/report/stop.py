"""The stop limit as the number on the reader's own gauge."""

from __future__ import annotations

from firstfrost.equipment import stop
from firstfrost.errors import InputError, OutOfRange
from firstfrost.report.numbers import Numbers
from firstfrost.report.text import clean
from firstfrost.visit.result import Result


def stop_limit(result: Result, numbers: Numbers) -> str:
    """Say at what reading of the high-side gauge a defrost must stop; nothing if it cannot be said.

    The ceiling is a dew temperature, so its pressure is the dew pressure at it; the cutout counts where it
    comes first. Either is less the site's atmosphere, as on the gauge.
    """
    unit = result.unit
    try:
        limit = stop.stop_limit(unit)
    except (InputError, OutOfRange):
        return ""
    given = "a default, common practice without a published source" if _is_default(result) else "as set"
    why = f"the saturation ceiling of {numbers.bare(limit.temp_c, 'degC')} ({given})"
    if limit.by == "cutout":
        why = "the high-pressure cutout, which comes before the saturation ceiling"
    return (
        f"Stop a forced defrost before the high-side gauge reads {numbers.value(limit.pressure_pa, 'Pa')}: "
        f"{why} for {unit.refrigerant} at this site."
    )


def cautions_of(result: Result, numbers: Numbers) -> tuple[str, ...]:
    """The stop limit, and then the cautions of the result."""
    said = stop_limit(result, numbers)
    return (*([said] if said else []), *(clean(caution.text) for caution in result.cautions))


def _is_default(result: Result) -> bool:
    return result.unit.is_default("limits.saturation_ceiling")
