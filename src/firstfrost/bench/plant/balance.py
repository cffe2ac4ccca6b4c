"""The balances of a run: what is held, what crossed the border, and what is missing.

Energy: U of the three vessels + C T of walls, shell and both coils + frost and water on the coil (zero for
liquid water at 0 degC) changes by compressor work + heat from outdoor air, vapor and drained water - heat
to the indoor air - heat lost by the shell. Water: frost + water + pan ice + drained = got from air.
Refrigerant: the three vessels hold what they held. These are sums over states, written apart from the
right-hand side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from firstfrost.bench.plant.layout import NAMES
from firstfrost.bench.plant.outdoor import C_ICE, C_WATER, FUSION
from firstfrost.bench.plant.parameters import Plant, pack
from firstfrost.bench.plant.saturation import node, table
from firstfrost.refrigerants.curves import Floats


@dataclass(frozen=True, kw_only=True)
class Balance:
    """What does not close, at each second (n,)."""

    energy_j: Floats
    """Stored less what came in. [J]"""
    energy_moved_j: float
    """Compressor work and the size of the heats that crossed by the end: what to measure by. [J]"""
    water_kg: Floats
    water_moved_kg: float
    """Water got from the air by the end, at least what was there at the start. [kg]"""
    refrigerant_kg: Floats
    charge_kg: float

    @property
    def energy_error(self) -> float:
        """Greatest miss over what was moved."""
        return float(np.abs(self.energy_j).max()) / self.energy_moved_j

    @property
    def water_error(self) -> float:
        """Greatest miss over what was moved."""
        return float(np.abs(self.water_kg).max()) / max(self.water_moved_kg, 1e-9)

    @property
    def refrigerant_error(self) -> float:
        """Greatest miss over the charge."""
        return float(np.abs(self.refrigerant_kg).max()) / self.charge_kg


def balance(plant: Plant, states: Floats) -> Balance:
    """Balances of states (n, states), which start with integrals at 0 or not."""
    y = {name: states[:, i] for i, name in enumerate(NAMES)}
    tab, p = table(plant.refrigerant).tolist(), pack(plant).tolist()
    held = (
        plant.acc_jk * y["t_wall"]
        + plant.shell_jk * y["t_shell"]
        + plant.coil_jk * y["t_coil"]
        + plant.plate_jk * y["t_plate"]
        + y["water"] * C_WATER * y["t_coil"]
        + y["frost"] * (C_ICE * _ice_temp(y["t_coil"]) - FUSION)
    )
    for mass, temp, volume in (
        ("m_out", "t_out", plant.out_m3),
        ("m_ind", "t_ind", plant.ind_m3),
        ("m_acc", "t_acc", plant.acc_m3),
    ):
        held = held + np.array(
            [node(tab, p, t, m, volume)[7] for t, m in zip(y[temp].tolist(), y[mass].tolist(), strict=True)]
        )
    came = y["e_comp"] + y["q_outdoor"] - y["q_indoor"] - y["q_shell"]
    water = y["frost"] + y["water"] + y["pan"] + y["w_drained"] - y["w_gained"]
    charge = y["m_out"] + y["m_ind"] + y["m_acc"]
    moved = sum(float(np.abs(np.diff(y[n])).sum()) for n in ("e_comp", "q_outdoor", "q_indoor", "q_shell"))
    return Balance(
        energy_j=(held - held[0]) - (came - came[0]),
        energy_moved_j=0.5 * moved,
        water_kg=water - water[0],
        water_moved_kg=max(
            float(y["w_gained"][-1] - y["w_gained"][0]), float((y["frost"] + y["water"] + y["pan"])[0])
        ),
        refrigerant_kg=charge - plant.charge_kg,
        charge_kg=plant.charge_kg,
    )


def _ice_temp(temp_c: Floats) -> Floats:
    """As the right-hand side has it: the metal's below 0 degC, 0 above, smooth within 0.1 K."""
    return 0.5 * (temp_c - np.sqrt(temp_c * temp_c + 0.01))
