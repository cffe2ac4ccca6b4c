"""The stop limit as the number on the reader's own gauge."""

from __future__ import annotations

from firstfrost.errors import InputError, OutOfRange
from firstfrost.refrigerants import refrigerant
from firstfrost.report.numbers import Numbers
from firstfrost.report.text import clean
from firstfrost.visit.result import Result


def stop_limit(result: Result, numbers: Numbers) -> str:
    """Say at what reading of the high-side gauge a defrost must stop; nothing if it cannot be said.

    The ceiling is a dew temperature, so the pressure is the dew pressure at it, less the site's atmosphere.
    """
    unit = result.unit
    ceiling_c = unit.limits.saturation_ceiling_c
    try:
        pressure_pa = refrigerant(unit.refrigerant).dew_pressure_pa(ceiling_c)
    except (InputError, OutOfRange):
        return ""
    given = "a default, common practice without a published source" if _is_default(result) else "as set"
    return (
        f"Stop a forced defrost before the high-side gauge reads {numbers.value(pressure_pa, 'Pa')}: "
        f"the saturation ceiling of {numbers.bare(ceiling_c, 'degC')} ({given}) for {unit.refrigerant} "
        "at this site."
    )


def cautions_of(result: Result, numbers: Numbers) -> tuple[str, ...]:
    """The stop limit, and then the cautions of the result."""
    stop = stop_limit(result, numbers)
    return (*([stop] if stop else []), *(clean(caution.text) for caution in result.cautions))


def _is_default(result: Result) -> bool:
    return result.unit.is_default("limits.saturation_ceiling")
