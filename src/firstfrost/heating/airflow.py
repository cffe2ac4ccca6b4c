"""Airflow over the indoor coil: by temperature rise, by traverse, by hood; and how much the unit needs.

From first principles, in SI: no constant with the sea level hidden in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.instruments.accuracy import Accuracy
from firstfrost.instruments.budget import Value, combine, measured
from firstfrost.quantities.constants import BTU_J, FOOT_M, ICE_POINT_K, POUND_KG

CP_DRY: Final = 1006.0
"""Heat capacity of dry air [J/(kg K)]. ASHRAE Handbook of Fundamentals (2017), chapter 1, equation 30."""
CP_VAPOR: Final = 1860.0
"""Heat capacity of water vapor [J/(kg K)]. The same."""
R_DRY: Final = 287.042
"""Gas constant of dry air [J/(kg K)]. The same, equation 1."""
VAPOR_RATIO: Final = 1.607858
"""Molar mass of dry air over that of water. The same, equation 26."""
STANDARD_DENSITY: Final = 0.075 * POUND_KG / FOOT_M**3
"""Standard air, 0.075 lb/ft3 [kg/m3]: as ratings and blower tables state airflow (ASHRAE 37, from memory)."""

TON_W: Final = 12_000.0 * BTU_J / 3600.0
CFM_M3_S: Final = FOOT_M**3 / 60.0

BLOWER_W_PER_M3_S: Final = (0.365 / CFM_M3_S, 0.441 / CFM_M3_S)
"""Blower power per airflow that the rating procedure takes where a unit has none of its own: 365 and,
since 2023, 441 W per 1000 cfm of standard air (AHRI 210/240, quoted in open code)."""
BLOWER_LIMIT: Final = 0.5
"""Half-width of what a real blower may differ from that, as a part: common practice, no source."""
MIXING_K: Final = 0.5
"""Standard uncertainty of the mean supply temperature that one probe finds behind elements [K]: common
practice, no source. Read several places across the duct, out of sight of the elements."""


@dataclass(frozen=True, kw_only=True)
class Airflow:
    """An airflow, and how it was found."""

    flow_m3_s: Value
    """At the density of the air where it was found: the return air, for a temperature rise. [m3/s]"""
    standard_m3_s: Value
    """The same mass as standard air: what ratings and blower tables speak of. [m3/s]"""
    dry_air_kg_s: Value
    """Mass flow of dry air, which carries the heat. [kg/s]"""
    how: str
    notes: tuple[str, ...] = ()


def specific_volume(temp_c: float, humidity_ratio: float, atmosphere_pa: float) -> float:
    """Volume of moist air per mass of dry air [m3/kg].

    ``v = R T (1 + 1.607858 W) / p`` (ASHRAE Handbook of Fundamentals 2017, chapter 1, equation 26).
    """
    return R_DRY * (temp_c + ICE_POINT_K) * (1.0 + VAPOR_RATIO * humidity_ratio) / atmosphere_pa


def heat_capacity(humidity_ratio: float) -> float:
    """Heat capacity of moist air per mass of dry air [J/(kg K)]: ``1006 + 1860 W`` (equation 30)."""
    return CP_DRY + CP_VAPOR * humidity_ratio


def airflow_by_rise(
    *,
    heat_w: Value,
    rise_k: Value,
    return_c: Value,
    humidity_ratio: Value,
    atmosphere_pa: Value,
    blower_w: Value | None = None,
    blower_between: bool = True,
    mixing_k: float = MIXING_K,
) -> Airflow:
    """Airflow from the temperature rise over electric heat **with the compressor off**.

    ``m = (P + P_blower) / (c_p (t_supply - t_return))``, with m the flow of dry air and c_p that of moist air
    per dry air. The blower's heat counts where the blower sits between the probes; where its power is not
    known it is taken as k m with k from the rating procedure, and m is solved for.

    Parameters
    ----------
    heat_w : Value
        Electric power of the elements alone, at the elements: volts times amps. Not the plate's. [W]
    rise_k : Value
        Supply less return, steady; probes that share an instrument share its error. [K]
    return_c : Value
        Return air, for the density. [degC]
    humidity_ratio : Value
        Of the return air. [kg/kg]
    atmosphere_pa : Value
        Ambient pressure at the site. [Pa]
    blower_w : Value, optional
        The blower's electric power. [W]
    blower_between : bool
        Whether its heat is in the rise.
    mixing_k : float
        Standard uncertainty of the supply probe's place. [K]

    Raises
    ------
    InputError
        If the rise is not above zero by twice its uncertainty, or the heat not above zero.

    Notes
    -----
    In inch-pound units with dry air at 70 degF and sea level this is the trade's
    cfm = 3.412 V A / (1.08 dT). Left out: heat lost from the cabinet and ducts between the probes, and air
    that leaks in between. Both make the rise smaller and so the airflow read too high.
    """
    rise = rise_k.with_source("supply air not well mixed", mixing_k)
    if not rise.value > 2.0 * rise.u:
        raise InputError(
            f"The temperature rise is {rise.value * 1.8:.1f} degF, and its uncertainty {rise.u * 3.6:.1f} "
            "degF. Expected a rise well above that, with backup heat on and the compressor off. Wait until "
            "it is steady, or switch on more stages."
        )
    if not heat_w.value > 0.0:
        raise InputError(
            f"The power of the backup heat is {heat_w.value:.0f} W. Expected it on. "
            "Measure volts and amps there."
        )
    c_p = heat_capacity(humidity_ratio.value)
    notes = ["compressor off, elements alone in the electric power, no heat lost between the probes"]
    per_flow = Value(value=0.0)
    blower = Value(value=0.0)
    if blower_between and blower_w is not None:
        blower = blower_w
    elif blower_between:
        k = sum(BLOWER_W_PER_M3_S) / 2.0 / STANDARD_DENSITY  # from a volume of standard air to its mass
        per_flow = Value(value=k, sources={"blower power not known": BLOWER_LIMIT * k / math.sqrt(3.0)})
        notes.append("the blower's power is not known, and was taken as the rating procedure does")
    # m = (P + B) / (c rise - k), and how it moves with each input.
    heat = heat_w + blower
    under = c_p * rise.value - per_flow.value
    m = heat.value / under
    dry = combine(
        m,
        [
            (heat, 1.0 / under),
            (rise, -m * c_p / under),
            (humidity_ratio, -m * CP_VAPOR * rise.value / under),
            (per_flow, m / under),
        ],
    )
    return _from_mass(dry, return_c, humidity_ratio, atmosphere_pa, "temperature rise", tuple(notes))


def airflow_by_volume(
    *,
    flow_m3_s: Value,
    temp_c: Value,
    humidity_ratio: Value,
    atmosphere_pa: Value,
    how: str,
    notes: tuple[str, ...] = (),
) -> Airflow:
    """Airflow that was read as a volume: a hood, a traverse, a grid.

    Parameters
    ----------
    flow_m3_s : Value
        At the density where it was read. [m3/s]
    temp_c, humidity_ratio, atmosphere_pa : Value
        Of the air there. [degC], [kg/kg], [Pa]
    how : str
        In words, for the result.
    notes : tuple of str
        What is to be known of it.
    """
    v = specific_volume(temp_c.value, humidity_ratio.value, atmosphere_pa.value)
    m = flow_m3_s.value / v
    dry = combine(m, [(flow_m3_s, 1.0 / v), *_density_parts(m, temp_c, humidity_ratio, atmosphere_pa)])
    return Airflow(flow_m3_s=flow_m3_s, standard_m3_s=_standard(dry), dry_air_kg_s=dry, how=how, notes=notes)


def airflow_by_standard(
    *, standard_m3_s: Value, temp_c: Value, humidity_ratio: Value, atmosphere_pa: Value, how: str
) -> Airflow:
    """Airflow that was read as standard air, as most ratings are printed.

    A blower moves a volume, so a blower *table* holds at the site as `airflow_by_volume`, at the density of
    the site; its print as standard air is the case of sea level.
    """
    dry = standard_m3_s * STANDARD_DENSITY
    return _from_mass(dry, temp_c, humidity_ratio, atmosphere_pa, how, ())


def _density_parts(
    m: float, temp_c: Value, humidity_ratio: Value, atmosphere_pa: Value
) -> list[tuple[Value, float]]:
    """How a mass flow m at a fixed volume moves with temperature, humidity and pressure."""
    wet = VAPOR_RATIO / (1.0 + VAPOR_RATIO * humidity_ratio.value)
    return [
        (temp_c, -m / (temp_c.value + ICE_POINT_K)),
        (humidity_ratio, -m * wet),
        (atmosphere_pa, m / atmosphere_pa.value),
    ]


def _from_mass(
    dry: Value, temp_c: Value, humidity_ratio: Value, atmosphere_pa: Value, how: str, notes: tuple[str, ...]
) -> Airflow:
    v = specific_volume(temp_c.value, humidity_ratio.value, atmosphere_pa.value)
    flow = dry.value * v
    parts = [(value, -slope) for value, slope in _density_parts(flow, temp_c, humidity_ratio, atmosphere_pa)]
    volume = combine(flow, [(dry, v), *parts])
    return Airflow(flow_m3_s=volume, standard_m3_s=_standard(dry), dry_air_kg_s=dry, how=how, notes=notes)


def _standard(dry: Value) -> Value:
    return dry / STANDARD_DENSITY


FEW_POINTS: Final = 25
"""Points that a traverse of a rectangular duct should have at least (ASHRAE 111, from memory)."""
AREA_LIMIT: Final = 0.02
"""Half-width of a duct's free area, as a part: common practice, no source."""

LOG_TCHEBYCHEFF: Final[dict[int, tuple[float, ...]]] = {
    5: (0.074, 0.288, 0.500, 0.712, 0.926),
    6: (0.061, 0.235, 0.437, 0.563, 0.765, 0.939),
    7: (0.053, 0.203, 0.366, 0.500, 0.634, 0.797, 0.947),
}
"""Where to hold the probe along a side of a rectangular duct, as a part of the side, by points on it: 5 below
0.76 m (30 in), 6 up to 0.91 m (36 in), 7 above. The log-Tchebycheff rule as in the ASHRAE
Handbook of Fundamentals, from memory."""


def airflow_by_traverse(
    *,
    velocities_m_s: Sequence[float],
    area_m2: float,
    accuracy: Accuracy,
    temp_c: Value,
    humidity_ratio: Value,
    atmosphere_pa: Value,
    instrument: str = "velocity probe",
) -> Airflow:
    """Airflow from velocities over a duct's cross section: their mean times the area.

    Each velocity stands for an equal share, by the equal-area rule or the log-Tchebycheff rule
    (`LOG_TCHEBYCHEFF`) alike; average velocities, never velocity pressures.

    Parameters
    ----------
    velocities_m_s : (n,) sequence of float
        [m/s]
    area_m2 : float
        Free cross section. [m2]
    accuracy : Accuracy
        Of the probe, which reads all points, so that its error does not average out.
    temp_c, humidity_ratio, atmosphere_pa : Value
        Of the air there.
    instrument : str
        Its id.

    Raises
    ------
    InputError
        If there are fewer than four velocities, or the area is not above zero.

    Notes
    -----
    What so few points make of the profile is taken as s / sqrt(n), as if they lay at random: more than the
    rules leave in a smooth profile, and fair in a bad one.
    """
    n = len(velocities_m_s)
    if n < 4 or not area_m2 > 0.0:
        raise InputError(
            f"The traverse has {n} velocities and an area of {area_m2:g} m2. Expected 4 or more velocities "
            f"({FEW_POINTS} for a rectangular duct) and the free area. Read more points."
        )
    mean = sum(velocities_m_s) / n
    scatter = math.sqrt(sum((v - mean) ** 2 for v in velocities_m_s) / (n - 1) / n)
    velocity = measured(mean, accuracy, instrument).with_source("velocity profile", scatter)
    area = Value(value=area_m2, sources={"duct area": AREA_LIMIT * area_m2 / math.sqrt(3.0)})
    few = f"{n} points; {FEW_POINTS} or more are asked for in a rectangular duct"
    return airflow_by_volume(
        flow_m3_s=velocity * area,
        temp_c=temp_c,
        humidity_ratio=humidity_ratio,
        atmosphere_pa=atmosphere_pa,
        how="duct traverse",
        notes=(few,) if n < FEW_POINTS else (),
    )


def velocity_m_s(velocity_pressure_pa: float, density_kg_m3: float) -> float:
    """Velocity behind a Pitot tube's velocity pressure: ``sqrt(2 p / rho)`` (Bernoulli). [m/s]."""
    return math.sqrt(2.0 * max(velocity_pressure_pa, 0.0) / density_kg_m3)


@dataclass(frozen=True, kw_only=True)
class NeededAirflow:
    """How much air a unit needs, as standard air [m3/s]."""

    low_m3_s: float
    target_m3_s: float
    high_m3_s: float
    source: str


RATED_BAND: Final = 0.15
"""Part of the design airflow that may be missing or too much: ±15 % (ACCA 5 QI, and grade I of
ANSI/RESNET/ACCA 310, both from memory)."""


def needed_airflow(unit: Unit) -> NeededAirflow | None:
    """What airflow a unit needs: its rating ±15 %, else 350 to 450 cfm per ton; None where neither is known.

    A ton is 12 000 Btu/h of rated cooling capacity, else of nominal capacity, else of heating at 47 degF.
    """
    rated = unit.ratings.airflow_m3_s
    if rated is not None:
        return NeededAirflow(
            low_m3_s=(1.0 - RATED_BAND) * rated,
            target_m3_s=rated,
            high_m3_s=(1.0 + RATED_BAND) * rated,
            source="rated airflow within 15 % (ACCA 5 QI, from memory)",
        )
    at_47 = unit.ratings.points.get(47)
    of = (
        (unit.ratings.cooling_capacity_w, "rated cooling capacity"),
        (unit.nominal_capacity_w, "nominal capacity"),
        (at_47.capacity_w if at_47 else None, "heating capacity at 47 degF"),
    )
    for capacity_w, name in of:
        if capacity_w is not None:
            ton = capacity_w / TON_W * CFM_M3_S
            return NeededAirflow(
                low_m3_s=350.0 * ton,
                target_m3_s=400.0 * ton,
                high_m3_s=450.0 * ton,
                source=f"350 to 450 cfm per ton of {name}: common practice, no source",
            )
    return None
