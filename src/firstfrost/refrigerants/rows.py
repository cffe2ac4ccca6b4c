"""The refrigerants known here, one row each: what cannot be computed from an equation of state."""

from __future__ import annotations

from dataclasses import dataclass

_LEMMON = (
    "E. W. Lemmon, Pseudo-pure fluid equations of state for the refrigerant blends R-410A, R-404A, R-507A, "
    "and R-407C, Int. J. Thermophys. 24 (2003) 991"
)
_PSEUDO_PURE = (
    "Lemmon 2003 states 0.5 % for bubble and dew pressure: 0.23 K near 65 degC, where it weighs most, taken "
    "as the half-width of a rectangular distribution."
)
_PURE = (
    "0.1 % in vapor pressure covers what the equation's authors state (from memory): 0.05 K near 65 degC, "
    "taken as the half-width of a rectangular distribution."
)


@dataclass(frozen=True, kw_only=True)
class Row:
    """A refrigerant: names, class, the range worth tabulating, and what its equation is worth."""

    name: str
    coolprop: str
    """CoolProp's name for it, used by the script that makes the tables."""
    is_blend: bool
    composition: str
    """By mass."""
    safety_class: str
    """ASHRAE Standard 34, from memory: the cylinder's label and the unit's plate go first."""
    lowest_temp_c: float
    highest_temp_c: float
    """Some kelvin below the critical point, where saturation still means something."""
    saturation_u_k: float
    """Standard uncertainty (k = 1) of a saturation temperature from the equation itself. [K]"""
    worth: str
    """Where `saturation_u_k` comes from."""
    equation: str


ROWS: tuple[Row, ...] = (
    Row(
        name="R-134a",
        coolprop="R134a",
        is_blend=False,
        composition="1,1,1,2-tetrafluoroethane",
        safety_class="A1",
        lowest_temp_c=-60.0,
        highest_temp_c=98.0,
        saturation_u_k=0.03,
        worth=_PURE,
        equation="R. Tillner-Roth, H. D. Baehr, J. Phys. Chem. Ref. Data 23 (1994) 657",
    ),
    Row(
        name="R-22",
        coolprop="R22",
        is_blend=False,
        composition="chlorodifluoromethane",
        safety_class="A1",
        lowest_temp_c=-60.0,
        highest_temp_c=93.0,
        saturation_u_k=0.06,
        worth=(
            "0.2 % in vapor pressure covers what the equation's authors state (from memory): 0.1 K near "
            "65 degC, taken as the half-width of a rectangular distribution."
        ),
        equation="A. Kamei, S. W. Beyerlein, R. T. Jacobsen, Int. J. Thermophys. 16 (1995) 1155",
    ),
    Row(
        name="R-290",
        coolprop="R290",
        is_blend=False,
        composition="propane",
        safety_class="A3",
        lowest_temp_c=-60.0,
        highest_temp_c=93.0,
        saturation_u_k=0.03,
        worth=_PURE,
        equation="E. W. Lemmon, M. O. McLinden, W. Wagner, J. Chem. Eng. Data 54 (2009) 3141",
    ),
    Row(
        name="R-32",
        coolprop="R32",
        is_blend=False,
        composition="difluoromethane",
        safety_class="A2L",
        lowest_temp_c=-60.0,
        highest_temp_c=75.0,
        saturation_u_k=0.03,
        worth=_PURE,
        equation="R. Tillner-Roth, A. Yokozeki, J. Phys. Chem. Ref. Data 26 (1997) 1273",
    ),
    Row(
        name="R-404A",
        coolprop="R404A",
        is_blend=True,
        composition="R-125/143a/134a 44/52/4",
        safety_class="A1",
        lowest_temp_c=-60.0,
        highest_temp_c=70.0,
        saturation_u_k=0.13,
        worth=_PSEUDO_PURE,
        equation=_LEMMON,
    ),
    Row(
        name="R-407C",
        coolprop="R407C",
        is_blend=True,
        composition="R-32/125/134a 23/25/52",
        safety_class="A1",
        lowest_temp_c=-60.0,
        highest_temp_c=83.0,
        saturation_u_k=0.13,
        worth=_PSEUDO_PURE,
        equation=_LEMMON,
    ),
    Row(
        name="R-410A",
        coolprop="R410A",
        is_blend=True,
        composition="R-32/125 50/50",
        safety_class="A1",
        lowest_temp_c=-60.0,
        highest_temp_c=70.0,
        saturation_u_k=0.13,
        worth=_PSEUDO_PURE,
        equation=_LEMMON,
    ),
    Row(
        name="R-454B",
        coolprop="R454B.mix",
        is_blend=True,
        composition="R-32/1234yf 68.9/31.1",
        safety_class="A2L",
        # The equation of R-1234yf begins at 220 K (-53 degC).
        lowest_temp_c=-50.0,
        highest_temp_c=75.0,
        saturation_u_k=0.17,
        worth=(
            "Two published mixture models differ by 0.8-1.0 % in bubble and 0.4 % in dew pressure, about "
            "0.3 K. Taken as the half-width of a rectangular distribution: 0.3 K / sqrt(3)."
        ),
        equation=(
            "R-32: R. Tillner-Roth, A. Yokozeki, J. Phys. Chem. Ref. Data 26 (1997) 1273; R-1234yf: "
            "E. W. Lemmon, R. Akasaka, Int. J. Thermophys. 43 (2022) 119; mixing: I. H. Bell, "
            "J. Phys. Chem. Ref. Data (2023)"
        ),
    ),
)
