"""Constants, each with its unit and source, in one place.

What is exact by definition says so; the factors of unit conversion are in `units`.
"""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s2]. Exact: 3rd General Conference on Weights and Measures, 1901."""

STANDARD_ATMOSPHERE_PA: Final = 101_325.0
"""Pressure at sea level [Pa]. Exact: U.S. Standard Atmosphere, 1976, table 2."""

ICE_POINT_K: Final = 273.15
"""0 degC in kelvin [K]. Exact: definition of the degree Celsius, SI Brochure 9th edition, 2.3.1."""

FOOT_M: Final = 0.3048
"""International foot [m]. Exact: agreement of 1959, NIST SP 811 (2008) appendix B.8."""

INCH_M: Final = 0.0254
"""International inch [m]. Exact: as the foot."""

POUND_KG: Final = 0.45359237
"""Avoirdupois pound [kg]. Exact: as the foot."""

BTU_J: Final = 1055.05585262
"""International Table British thermal unit [J]. Exact: NIST SP 811 (2008) appendix B.8, footnote 9."""
