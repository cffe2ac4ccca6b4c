"""The bench's generic unit in a test room, for the checks against published values."""

from dataclasses import replace

import numpy as np

from firstfrost.air.moist import humidity_from_wet_bulb
from firstfrost.bench.presets import unit
from firstfrost.bench.simulate import Setup, simulate
from firstfrost.bench.weather import constant

SEA_LEVEL = 101325.0
ROOM_C = 21.11
"""70 degF, as in all heating tests (10 CFR 430 subpart B appendix M1, through open code)."""


def celsius(temp_f):
    return (temp_f - 32.0) / 1.8


def humidity(dry_f, wet_f):
    """Relative humidity over ice below freezing, from dry and wet bulb in degF."""
    return float(humidity_from_wet_bulb(celsius(dry_f), celsius(wet_f), SEA_LEVEL))


def generic(refrigerant="R-410A", **given):
    """Plant in a test room and its board without backup heat."""
    plant, controls = unit(refrigerant, **given)
    return replace(plant, house_fixed=1.0), replace(controls, backup_defrost_w=0.0)


def steady(plant, controls, dry_f, wet_f=None):
    """A coil hardly frosted, long in heating: capacity with the blower's heat [W], power [W], and the run.

    Four minutes after it was clean; without a wet bulb the air is too dry for frost.
    """
    humid = 0.3 if wet_f is None else humidity(dry_f, wet_f)
    run = simulate(
        Setup(
            plant=plant,
            controls=replace(controls, dead=1.0),
            weather=constant(celsius(dry_f), humid),
            house_c=ROOM_C,
            settle_s=1500,
            duration_s=240,
        )
    )
    blower = plant.blower_w * run.state("blower")[-1] ** 2
    return run.derived("heat")[-1] + blower, run.derived("power")[-1], run


def gain(run, name, start_s, end_s):
    """Growth of an integral between two moments."""
    return float(np.diff(np.interp([start_s, end_s], run.times_s, run.state(name)))[0])


def defrosts(run):
    """Start and end of each whole defrost [s]."""
    starts = [t for t, value in run.switches("mode") if value == 3.0]
    ends = [t for t, value in run.switches("ended_by") if value > 0.0]
    return list(zip(starts, ends, strict=False))
