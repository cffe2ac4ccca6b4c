"""Units that the plan's unit may be: what its file does not give, spread evenly.

Each row of `UNKNOWNS` is one thing the file leaves open and the range it is drawn from. The ranges are this
project's judgement of what is met in the field; no source. Draw i of N is a point of a rank-1 lattice
(Korobov),

    x_k = frac((i 5^k + 1/2) / N),   N = 23, k = 0...10

which puts each unknown once into each of its N equal slices and needs no random numbers: the same unit and
day always give the same plan. 5 is a primitive root of 23, so that no two of the eleven columns are alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.presets import RATED_W, unit
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError

POINTS: Final = 23
_ROOT: Final = 5
SMALLEST_W, LARGEST_W = 3000.0, 25000.0
"""What `presets.unit` makes."""


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """One thing a unit file does not give: `low` to `high` times its usual value, or as they stand."""

    title: str
    low: float
    high: float
    factor: bool = True

    def at(self, x: float) -> float:
        """The value at x from 0 to 1; factors are spread by ratio."""
        if self.factor:
            return self.low * float((self.high / self.low) ** x)
        return self.low + (self.high - self.low) * x


UNKNOWNS: Final = (
    Unknown(title="outdoor coil to air, and its airflow", low=0.75, high=1.3),
    Unknown(title="refrigerant to the metal of both coils", low=0.75, high=1.35),
    Unknown(title="weight of the outdoor coil's metal", low=0.6, high=1.6),
    Unknown(title="outdoor air that moves with the fan stopped or the coil covered", low=0.5, high=2.0),
    Unknown(title="charge", low=0.92, high=1.08),
    Unknown(title="compressor's efficiency", low=0.9, high=1.06),
    Unknown(title="indoor airflow and coil", low=0.82, high=1.15),
    Unknown(title="lag of the coil sensor [s]", low=15.0, high=120.0, factor=False),
    Unknown(title="part of the metal in what the coil sensor feels", low=0.5, high=0.85, factor=False),
    Unknown(title="where within its tolerance the sensor closes", low=-1.0, high=1.0, factor=False),
    Unknown(title="where within its tolerance the sensor opens", low=-1.0, high=1.0, factor=False),
)  # fmt: skip


def lattice(i: int) -> tuple[float, ...]:
    """Point i of the lattice, from 0 to 1 in each unknown."""
    step, out = 1, []
    for _ in UNKNOWNS:
        out.append(((i * step) % POINTS + 0.5) / POINTS)
        step = step * _ROOT % POINTS
    return tuple(out)


def usual(known: Unit) -> tuple[Plant, Controls]:
    """The generic unit that has all that is known of `known`, and usual values elsewhere.

    Raises
    ------
    InputError
        Its size or refrigerant is not one that the bench makes.
    """
    size = known.nominal_capacity_w if known.nominal_capacity_w is not None else RATED_W
    if not SMALLEST_W <= size <= LARGEST_W:
        raise InputError(
            f"The unit's nominal capacity is {size / 1000:.3g} kW; the bench can foretell units of "
            f"{SMALLEST_W / 1000:g} to {LARGEST_W / 1000:g} kW. Check unit.nominal_capacity, or go by the "
            "maker's instructions."
        )
    plant, controls = unit(known.refrigerant, capacity_w=size, metering=known.metering or "expansion valve")
    plant = replace(plant, atmosphere_pa=known.site.atmosphere_pa)
    cutout = {}
    if not known.is_default("limits.high_pressure_cutout"):
        opens = known.limits.high_pressure_cutout_pa
        cutout = {"hp_opens_pa": opens, "hp_closes_pa": 0.76 * opens}
    controls = replace(
        controls,
        demand=1.0 if known.board.kind == "demand" else 0.0,
        interval_s=known.board.interval_s,
        longest_s=known.board.longest_defrost_s,
        closes_c=known.coil_sensor.closes_at_c,
        opens_c=known.coil_sensor.opens_at_c,
        **cutout,
    )
    return plant, controls


def spread(known: Unit, count: int = POINTS + 1) -> tuple[tuple[Plant, Controls], ...]:
    """The usual unit first, then `count` - 1 others, evenly out of the lattice's points.

    Where the file does not say how refrigerant is metered, every second one has a fixed orifice.
    """
    first = usual(known)
    if not 1 <= count <= POINTS + 1:
        raise InputError(f"A plan runs 1 to {POINTS + 1} units; got {count}.")
    others = [round(1 + k * (POINTS - 1) / max(count - 2, 1)) for k in range(count - 1)]
    orifice = usual(replace(known, metering="fixed orifice")) if known.metering is None else first
    return (first, *(_one(known, *(orifice if i % 2 else first), lattice(i)) for i in others))


def _one(known: Unit, plant: Plant, controls: Controls, at: tuple[float, ...]) -> tuple[Plant, Controls]:
    air, film, metal, still, charge, work, indoor, lag, place, closes, opens = (
        row.at(x) for row, x in zip(UNKNOWNS, at, strict=True)
    )
    tolerance = known.coil_sensor.tolerance_k
    plant = replace(
        plant,
        ua_out_wk=plant.ua_out_wk * air,
        air_out_m3s=plant.air_out_m3s * air**0.5,
        out_evap_wk=plant.out_evap_wk * film,
        out_cond_wk=plant.out_cond_wk * film,
        ind_evap_wk=plant.ind_evap_wk * film,
        ind_cond_wk=plant.ind_cond_wk * film,
        coil_jk=plant.coil_jk * metal,
        air_still=plant.air_still * still,
        charge_kg=plant.charge_kg * charge,
        isen_eff=plant.isen_eff * work,
        air_ind_m3s=plant.air_ind_m3s * indoor,
        ua_ind_wk=plant.ua_ind_wk * indoor,
        sensor_s=lag,
        sensor_metal=place,
        sensor_refrigerant=1.0 - place,
    )
    closes_c = controls.closes_c + closes * tolerance
    controls = replace(
        controls,
        closes_c=closes_c,
        opens_c=max(controls.opens_c + opens * tolerance, closes_c + 3.0),
        cover_open=controls.cover_open * still,
    )
    return plant, controls
