"""Units at the border, SI inside."""

from firstfrost.quantities.convert import from_si, parse, to_si
from firstfrost.quantities.show import show, show_measured, show_time
from firstfrost.quantities.units import SI, Kind, Unit, unit

__all__ = ["SI", "Kind", "Unit", "from_si", "parse", "show", "show_measured", "show_time", "to_si", "unit"]
