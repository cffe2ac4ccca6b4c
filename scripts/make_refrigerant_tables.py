"""Make, or check, src/firstfrost/refrigerants/tables.npz from CoolProp.

    python scripts/make_refrigerant_tables.py            write the tables
    python scripts/make_refrigerant_tables.py --check    their worst error at 10,000 random points a line

Needs CoolProp and SciPy, which Firstfrost itself does not.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import CoolProp
import numpy as np
from CoolProp import CoolProp as CP
from scipy.interpolate import CubicSpline

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.refrigerants import refrigerant  # noqa: E402
from firstfrost.refrigerants.refrigerant import TABLES  # noqa: E402
from firstfrost.refrigerants.rows import ROWS, Row  # noqa: E402

NODES = 256
FINER = 4
"""Slopes come from a spline through this many times as many points as the table keeps."""
MARGIN_K = 0.05
"""The tables reach this much past their valid range, so that rounding at its ends stays inside."""
ZERO_C = 273.15
CHECK_SEED = 410


class Truth:
    """CoolProp's saturation on one line of a fluid: quality 1 is dew, 0 is bubble."""

    def __init__(self, fluid: str, quality: float) -> None:
        self.state = CP.AbstractState("HEOS", fluid)
        self.quality = quality
        self.is_mixture = len(self.state.fluid_names()) > 1

    def at_temps(self, temps_c: np.ndarray) -> np.ndarray:
        """(n,) [degC] -> (n, 3): pressure [Pa], density [kg/m3], enthalpy [J/kg], CoolProp's own zero."""
        return self._walk(CP.QT_INPUTS, np.asarray(temps_c) + ZERO_C, 2.0)[:, 1:]

    def at_pressures(self, pressures_pa: np.ndarray) -> np.ndarray:
        """(n,) [Pa] -> (n,) temperature [degC]."""
        return self._walk(CP.PQ_INPUTS, np.asarray(pressures_pa), None)[:, 0] - ZERO_C

    def _walk(self, inputs: int, values: np.ndarray, longest: float | None) -> np.ndarray:
        """Solve at each value; a mixture from 0 degC outwards, each point seeded by its neighbour.

        Direct calls on a mixture fail here and there in the condensing range; seeded ones do not.
        """
        found = np.empty((len(values), 4))
        if not self.is_mixture:
            for i, value in enumerate(values):
                self.state.update(inputs, *self._pair(inputs, value))
                found[i] = self._got()
            return found
        self.state.update(CP.QT_INPUTS, self.quality, ZERO_C)
        middle = ZERO_C if inputs == CP.QT_INPUTS else self.state.p()
        order = np.argsort(values)
        first_above = int(np.searchsorted(values[order], middle))
        for side in (order[first_above:], order[:first_above][::-1]):
            self.state.update(CP.QT_INPUTS, self.quality, ZERO_C)
            last = middle
            for i in side:
                # Small steps between far-apart values keep the seed close.
                size = longest if longest is not None else 0.05 * last
                for value in np.linspace(last, values[i], 1 + max(1, int(abs(values[i] - last) / size)))[1:]:
                    before = self.state.p()
                    self.state.update_with_guesses(inputs, *self._pair(inputs, value), self._seed())
                    if not abs(self.state.p() - before) < 0.2 * before or self._collapsed():
                        raise ArithmeticError(f"lost the {self.quality} line at {value}")
                last = values[i]
                found[i] = self._got()
        return found

    def _pair(self, inputs: int, value: float) -> tuple[float, float]:
        return (self.quality, value) if inputs == CP.QT_INPUTS else (value, self.quality)

    def _got(self) -> tuple[float, float, float, float]:
        return self.state.T(), self.state.p(), self.state.rhomass(), self.state.hmass()

    def _seed(self) -> object:
        seed = CP.PyGuessesStructure()
        seed.T, seed.p = self.state.T(), self.state.p()
        seed.rhomolar_liq = self.state.saturated_liquid_keyed_output(CP.iDmolar)
        seed.rhomolar_vap = self.state.saturated_vapor_keyed_output(CP.iDmolar)
        seed.x, seed.y = self.state.mole_fractions_liquid(), self.state.mole_fractions_vapor()
        return seed

    def _collapsed(self) -> bool:
        liquid = self.state.saturated_liquid_keyed_output(CP.iDmass)
        return liquid - self.state.saturated_vapor_keyed_output(CP.iDmass) < 50.0


def liquid_zero(row: Row) -> float:
    """Enthalpy of saturated liquid at 0 degC, on CoolProp's own zero, in J/kg."""
    return float(Truth(row.coolprop, 0.0).at_temps(np.array([0.0]))[0, 2])


def nodes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Value and slope at every `FINER`-th point: (NODES, 2)."""
    slope = CubicSpline(x, y).derivative()(x)
    return np.stack([y, slope], axis=1)[::FINER]


def table(row: Row) -> tuple[np.ndarray, np.ndarray]:
    """Make the nodes (8, NODES, 2) and grids (8, 2): start and step, of a refrigerant."""
    fine = (NODES - 1) * FINER + 1
    temps = np.linspace(row.lowest_temp_c - MARGIN_K, row.highest_temp_c + MARGIN_K, fine)
    step = (temps[-1] - temps[0]) / (NODES - 1)
    zero = liquid_zero(row)
    curves, grids = [], []
    for quality in (1.0, 0.0):
        truth = Truth(row.coolprop, quality)
        pressure, density, enthalpy = truth.at_temps(temps).T
        roots = np.linspace(np.sqrt(pressure[0]), np.sqrt(pressure[-1]), fine)
        curves += [nodes(roots, truth.at_pressures(roots**2)), nodes(temps, pressure)]
        curves += [nodes(temps, density), nodes(temps, enthalpy - zero)]
        grids += [(roots[0], (roots[-1] - roots[0]) / (NODES - 1))] + 3 * [(temps[0], step)]
    return np.array(curves), np.array(grids)


def make() -> None:
    """Write the table file."""
    arrays: dict[str, np.ndarray] = {}
    about: dict[str, object] = {}
    for row in ROWS:
        print(f"{row.name} ...", flush=True)
        arrays[row.name], arrays[f"{row.name}.grid"] = table(row)
        state = CP.AbstractState("HEOS", row.coolprop)
        if len(state.fluid_names()) > 1:
            critical = next(point for point in state.all_critical_points() if point.stable)
            temp_k, pressure_pa = critical.T, critical.p
        else:
            temp_k, pressure_pa = state.T_critical(), state.p_critical()
        about[row.name] = {
            "coolprop": row.coolprop,
            "equation": row.equation,
            "coolprop_equation_keys": [CP.get_BibTeXKey(part, "EOS") for part in state.fluid_names()],
            "critical_temp_c": round(temp_k - ZERO_C, 4),
            "critical_pressure_pa": round(pressure_pa, 1),
        }
    text = json.dumps(
        {
            "coolprop": CoolProp.__version__,
            "made_by": "scripts/make_refrigerant_tables.py",
            "nodes": NODES,
            "refrigerants": about,
        }
    )
    np.savez_compressed(TABLES, about=np.frombuffer(text.encode(), dtype=np.uint8), **arrays)
    size_kb = TABLES.stat().st_size / 1000
    print(f"{TABLES.relative_to(ROOT)}: {size_kb:.0f} kB, CoolProp {CoolProp.__version__}")


def check(count: int) -> bool:
    """Print the worst errors at `count` random points a line; tell whether the bars hold."""
    print(f"CoolProp {CoolProp.__version__}, {count} random points a line, worst errors over the valid range")
    print("refrigerant line        temperature   pressure    density   enthalpy")
    holds = True
    for row in ROWS:
        ref = refrigerant(row.name)
        zero = liquid_zero(row)
        rng = np.random.default_rng(CHECK_SEED)
        for quality, line in ((1.0, ref.dew), (0.0, ref.bubble)):
            truth = Truth(row.coolprop, quality)
            pressures = rng.uniform(line.pressure_low_pa, line.pressure_high_pa, count)
            temps = rng.uniform(line.temp_low_c, line.temp_high_c, count)
            pressure, density, enthalpy = truth.at_temps(temps).T
            in_k = np.abs(line.temps_at(pressures) - truth.at_pressures(pressures)).max()
            in_pa = np.abs(line.pressures_at(temps) - pressure).max()
            in_density = np.abs(line.density.many(temps) / density - 1).max()
            in_enthalpy = np.abs(line.enthalpy.many(temps) - (enthalpy - zero)).max()
            holds = holds and bool(in_k < 1e-3 and in_pa < 20)
            print(
                f"{row.name:<11} {'dew' if quality else 'bubble':<7} {in_k:>13.1e} K {in_pa:>8.1e} Pa "
                f"{in_density:>8.1e} {in_enthalpy:>8.1e} J/kg",
                flush=True,
            )
    return holds


if __name__ == "__main__":
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--check", action="store_true", help="compare the shipped tables with CoolProp")
    options.add_argument("--count", type=int, default=10_000, help="random points a line for --check")
    chosen = options.parse_args()
    if chosen.check:
        sys.exit(0 if check(chosen.count) else 1)
    make()
