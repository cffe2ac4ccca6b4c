"""Backup heat against its plate: what its stages should give, how many are on, their order, the lockouts.

A resistance element has one resistance, hot or cold within some 2 %, so its power goes as the volts squared::

    P = P_plate (V / V_plate)^2,     I = P / V = P_plate V / V_plate^2
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from firstfrost.equipment.plates import Backup
from firstfrost.errors import InputError
from firstfrost.instruments.budget import Value

ELEMENT_LIMIT: Final = (-0.10, 0.05)
"""What an element may differ from its plate: 10 % under to 5 % over (UL's limits for heating elements, from
memory)."""
ALIKE: Final = 0.12
"""Part of a stage's power by which a step may differ from it and still be that stage: common practice, no
source."""


def stage_power_w(plate_w: float, plate_voltage_v: float, volts: Value) -> Value:
    """Power that a stage should draw at a voltage: ``P_plate (V / V_plate)^2``. [W].

    Parameters
    ----------
    plate_w : float
        On the plate. [W]
    plate_voltage_v : float
        The volts it holds at. [V]
    volts : Value
        At the elements, with the stage on. [V]

    Raises
    ------
    InputError
        If the plate or its volts are not above zero.
    """
    if not (plate_w > 0.0 and plate_voltage_v > 0.0):
        raise InputError(
            f"The plate says {plate_w:g} W at {plate_voltage_v:g} V. Expected both above 0. Read the plate "
            "again."
        )
    ratio = volts / plate_voltage_v
    power = ratio * ratio * plate_w
    low, high = ELEMENT_LIMIT
    return power.with_source("make of the elements", (high - low) / 2.0 / math.sqrt(3.0) * power.value)


def expected_power_w(backup: Backup, volts: Value, stages: int | None = None) -> Value:
    """Power of the first `stages` stages, of all by default, at a voltage. [W].

    The elements are of one make, so their error is one source.

    Raises
    ------
    InputError
        If the plate gives no stages, or fewer.
    """
    n = len(backup.stages_w) if stages is None else stages
    if not 0 < n <= len(backup.stages_w):
        raise InputError(
            f"The unit file has {len(backup.stages_w)} stages of backup heat, and {n} are asked for. "
            'Read the plate, and write stages = ["5 kW", ...] under [backup].'
        )
    return stage_power_w(sum(backup.stages_w[:n]), backup.plate_voltage_v, volts)


@dataclass(frozen=True, kw_only=True)
class StagesOn:
    """Which stages a power fits."""

    fits: tuple[tuple[int, ...], ...]
    """Sets of stages, from 1, that fit; the first in order of switching comes first. Empty: none fits."""
    nearest: tuple[int, ...]
    """The set that comes closest; empty for no stage."""
    off_by: float
    """How far from it, as a part of its power; of the smallest stage where the set is empty."""


def stages_on(backup: Backup, power_w: Value, volts: Value) -> StagesOn:
    """Tell which stages a measured power fits, at a voltage.

    A set fits where the power lies within the elements' own limits and twice the uncertainty of the
    measurement. Sets in the order of switching come first; two equal stages cannot be told apart.

    Raises
    ------
    InputError
        If the plate gives no stages.
    """
    if not backup.stages_w:
        raise InputError(
            'The plate of the backup heat is not known. Write stages = ["5 kW", ...] under [backup].'
        )
    n = len(backup.stages_w)
    sets = sorted(
        (tuple(i + 1 for i in range(n) if mask >> i & 1) for mask in range(2**n)),
        key=lambda one: (one != tuple(range(1, len(one) + 1)), len(one), one),
    )
    fits: list[tuple[int, ...]] = []
    best: tuple[int, ...] = ()
    best_off = math.inf
    least = min(backup.stages_w) * (volts.value / backup.plate_voltage_v) ** 2
    low, high = ELEMENT_LIMIT
    for one in sets:
        full = sum(backup.stages_w[i - 1] for i in one)
        at_plate = Value(value=full / backup.plate_voltage_v**2) * volts * volts
        room = 2.0 * (power_w - at_plate).u
        if at_plate.value * (1.0 + low) - room <= power_w.value <= at_plate.value * (1.0 + high) + room:
            fits.append(one)
        off = (power_w.value - at_plate.value) / (at_plate.value or least)
        if abs(off) < abs(best_off):
            best, best_off = one, off
    return StagesOn(fits=tuple(fits), nearest=best, off_by=best_off)


@dataclass(frozen=True, kw_only=True)
class Step:
    """One change of the backup heat's power."""

    time_s: float
    rise_w: float
    """Above zero on, below zero off. [W]"""


@dataclass(frozen=True, kw_only=True)
class StageOrder:
    """How the stages came on, against the unit file."""

    stages: tuple[int | None, ...]
    """The stage that each step on fits, from 1; None where none does."""
    delays_s: tuple[float, ...]
    """From the call to the first step, and from each step to the next."""
    in_order: bool | None
    """None where a step fits no stage, or equal stages leave it open."""
    late: tuple[int, ...]
    """Places, from 1, of steps later than the first delay allows."""
    early: tuple[int, ...]
    """Places of steps sooner after the one before than the stage delay allows."""


def sequence(
    backup: Backup, *, call_s: float, steps: Sequence[Step], volts: float, slack_s: float = 5.0
) -> StageOrder:
    """Match the steps after a call for backup heat with the stages on the plate.

    Parameters
    ----------
    backup : Backup
        Stages and delays.
    call_s : float
        When backup heat was called for. [s]
    steps : sequence of Step
        In order of time; those that switch off, and those before the call, are left out.
    volts : float
        At the elements. [V]
    slack_s : float
        What the times are worth: the step of the record, at least. [s]
    """
    on = [step for step in steps if step.rise_w > 0.0 and step.time_s >= call_s - slack_s]
    scale = (volts / backup.plate_voltage_v) ** 2
    left = list(range(1, len(backup.stages_w) + 1))
    found: list[int | None] = []
    for step in on:
        near = [i for i in left if abs(step.rise_w / (backup.stages_w[i - 1] * scale) - 1.0) <= ALIKE]
        found.append(near[0] if near else None)
        if near:
            left.remove(near[0])
    times = [call_s, *(step.time_s for step in on)]
    delays = tuple(b - a for a, b in itertools.pairwise(times))
    equal = len(set(backup.stages_w)) < len(backup.stages_w)
    told = [one for one in found if one is not None]
    in_order: bool | None = None
    if found and None not in found and not equal:
        in_order = told == sorted(told)
    late: tuple[int, ...] = ()
    if backup.first_delay_s is not None and delays and delays[0] > backup.first_delay_s + slack_s:
        late = (1,)
    early: tuple[int, ...] = ()
    if backup.stage_delay_s is not None:
        early = tuple(
            place for place, delay in enumerate(delays[1:], start=2) if delay < backup.stage_delay_s - slack_s
        )
    return StageOrder(stages=tuple(found), delays_s=delays, in_order=in_order, late=late, early=early)


Lockout = Literal["kept", "broken", "cannot tell", "not set"]


def compressor_lockout(backup: Backup, outdoor_c: Value, running: bool) -> Lockout:
    """Tell whether the compressor keeps off below its lockout temperature.

    "broken" only where it runs while the outdoor air is surely colder, by twice the uncertainty; "kept"
    where it rests then. At or above the lockout there is nothing to see: "cannot tell".
    """
    limit = backup.compressor_lockout_c
    if limit is None:
        return "not set"
    if outdoor_c.value + 2.0 * outdoor_c.u < limit:
        return "broken" if running else "kept"
    return "cannot tell"


def backup_lockout(backup: Backup, outdoor_c: Value, running: bool, *, excused: bool) -> Lockout:
    """Tell whether backup heat keeps off above its lockout temperature.

    Parameters
    ----------
    backup : Backup
        With the lockout.
    outdoor_c : Value
        As the control's own sensor should read it. [degC]
    running : bool
        Whether backup heat is on although the house calls for heat.
    excused : bool
        Whether a defrost or emergency heat asks for it, which no lockout forbids.
    """
    limit = backup.backup_lockout_c
    if limit is None:
        return "not set"
    if excused or not outdoor_c.value - 2.0 * outdoor_c.u > limit:
        return "cannot tell"
    return "broken" if running else "kept"
