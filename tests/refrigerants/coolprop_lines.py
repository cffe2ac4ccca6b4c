"""CoolProp's saturation, called for the tests alone (the tables' script has its own way to it)."""

from __future__ import annotations

import CoolProp.CoolProp as CP
import numpy as np

ZERO_C = 273.15


def plain(fluid: str, quality: float, inputs: int, values: np.ndarray) -> np.ndarray:
    """Unseeded calls: (n, 4) temperature [K], pressure [Pa], density [kg/m3], enthalpy [J/kg]."""
    state = CP.AbstractState("HEOS", fluid)
    found = np.empty((len(values), 4))
    for i, value in enumerate(values):
        state.update(inputs, *((quality, value) if inputs == CP.QT_INPUTS else (value, quality)))
        found[i] = state.T(), state.p(), state.rhomass(), state.hmass()
    return found


def seeded(fluid: str, quality: float, inputs: int, values: np.ndarray) -> np.ndarray:
    """Like `plain` for a mixture, each point seeded by its neighbour, in order outwards from 0 degC.

    Only for many points lying close together; a lost line raises.
    """
    state = CP.AbstractState("HEOS", fluid)
    found = np.full((len(values), 4), np.nan)
    order = np.argsort(values)
    state.update(CP.QT_INPUTS, quality, ZERO_C)
    middle = np.searchsorted(values[order], ZERO_C if inputs == CP.QT_INPUTS else state.p())
    for side in (order[middle:], order[:middle][::-1]):
        state.update(CP.QT_INPUTS, quality, ZERO_C)
        for i in side:
            guess = CP.PyGuessesStructure()
            guess.T, guess.p = state.T(), state.p()
            guess.rhomolar_liq = state.saturated_liquid_keyed_output(CP.iDmolar)
            guess.rhomolar_vap = state.saturated_vapor_keyed_output(CP.iDmolar)
            guess.x, guess.y = state.mole_fractions_liquid(), state.mole_fractions_vapor()
            pair = (quality, values[i]) if inputs == CP.QT_INPUTS else (values[i], quality)
            state.update_with_guesses(inputs, *pair, guess)
            if not abs(state.p() / guess.p - 1) < 0.2:
                raise ArithmeticError(f"lost the line at {values[i]}")
            found[i] = state.T(), state.p(), state.rhomass(), state.hmass()
    return found
