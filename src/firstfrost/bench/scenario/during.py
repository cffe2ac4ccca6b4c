"""Occasions within a defrost, from the valve's place, the fan, the elements and the frost's mass."""

from __future__ import annotations

from typing import Final

import numpy as np

from firstfrost.bench.scenario.look import Look, TrueDefrost
from firstfrost.bench.scenario.occasion import Occasion, evident, of, seen_part
from firstfrost.refrigerants.refrigerant import refrigerant

FROSTED_KG: Final = 0.05


CLEAR_PART: Final = 0.15
"""A coil is clear with less than this part left of the frost it had."""


NEAR_MELTING_C: Final = 10.0
"""A coil that ends below this may carry frost where no probe sits."""


def valve_shifts(look: Look) -> list[Occasion]:
    """The reversing valve's own place."""
    valve = look.played.run.state("valve")
    found: list[Occasion] = []
    for defrost in look.defrosts:
        before = float(valve[look.at(defrost.start_s - 1.0)])
        inside = look.window(valve, defrost.start_s, defrost.end_s - 1.0)
        if not seen_part(look, defrost):
            found.append(of("The defrost lies in a hole of the record.", "unseen", "doubtful", "shown"))
        elif not defrost.ended and defrost.end_s - defrost.start_s < 60.0:
            found.append(of("The record breaks off as it begins.", "unseen", "doubtful", "shown", "failed"))
        elif before > 0.5:
            found.append(of("The valve lay in cooling before.", "unseen", "failed", "doubtful"))
        elif inside.max() > 0.9:
            if look.turn_channels:
                brief = () if defrost.end_s - defrost.start_s > 30.0 else ("doubtful", "unseen")
                found.append(of("The valve went over to cooling.", "shown", *brief))
            else:
                found.append(
                    of("The valve went over; the record hardly tells.", "shown", "doubtful", "unseen")
                )
        elif inside.max() > 0.2:
            found.append(of(f"The valve stopped at {inside.max():.0%} of its way.", "failed", "doubtful"))
        else:
            tells = look.turn_channels and evident(look, defrost)
            found.append(
                of("The valve never left heating.", "failed", *(() if tells else ("unseen", "doubtful")))
            )
    return found


def fan_stops(look: Look) -> list[Occasion]:
    """The outdoor fan's own turning."""
    if not look.has("fan_current"):
        return [of("The fan was not measured.", "unseen")]
    found: list[Occasion] = []
    for defrost in look.defrosts:
        whole = defrost.ended and defrost.end_s < look.last_s and seen_part(look, defrost)
        inside = look.window(look.fan_on, defrost.start_s + 12.0, defrost.end_s - 2.0)
        before = look.window(look.fan_on, defrost.start_s - 12.0, defrost.start_s - 1.0)
        lead = look.window(look.lead_off, defrost.start_s, defrost.end_s - 1.0)
        if inside.max() > 0.5:
            found.append(of("The fan turned during the defrost.", "failed"))
        elif lead.max() > 0.5:
            # Where the lead came back within, the board kept the fan off from then on.
            found.append(
                of(
                    "Its lead was off.",
                    "bypassed",
                    *(() if lead.min() > 0.5 and look.marks else ("unseen", "doubtful")),
                )
            )
        elif before.max() < 0.5:
            found.append(of("The fan stood still before as well.", "unseen", "bypassed", "doubtful"))
        else:
            found.append(
                of("The fan stopped and stayed off.", "shown", *(() if whole else ("doubtful", "unseen")))
            )
    return found


def backup_runs(look: Look) -> list[Occasion]:
    """The elements' own heat."""
    if not look.has("backup_current"):
        return [of("The backup heat was not measured.", "unseen")]
    heat = look.played.run.state("backup")
    found: list[Occasion] = []
    for defrost in look.defrosts:
        inside = look.window(heat, defrost.start_s + 20.0, defrost.end_s)
        before = look.window(heat, defrost.start_s - 60.0, defrost.start_s - 1.0)
        short = defrost.end_s - defrost.start_s < 30.0 + look.played.controls.start_delay_s
        if not seen_part(look, defrost) or (short and not defrost.ended):
            found.append(of("The defrost lies in a hole of the record.", "unseen", "doubtful", "shown"))
        elif np.mean(inside > 500.0) < 0.5:
            found.append(
                of("The elements stayed cold.", "failed", *(("unseen", "doubtful") if short else ()))
            )
        elif before.max() > 500.0:
            found.append(
                of(
                    "The elements were warm before as well.",
                    "doubtful",
                    *(("shown",) if before.min() < 500.0 else ()),
                )
            )
        else:
            found.append(
                of(
                    "The elements heated during the defrost.",
                    "shown",
                    *(("unseen", "doubtful") if short else ()),
                )
            )
    return found


def coil_clears(look: Look) -> list[Occasion]:
    """The frost's own mass."""
    if not look.has("outdoor_coil_temp"):
        return [of("The coil was not measured.", "unseen")]
    run = look.played.run
    frost, coil = run.state("frost"), run.state("t_coil")
    found: list[Occasion] = []
    for defrost in look.defrosts:
        at_start = float(frost[look.at(defrost.start_s)])
        i = look.at(np.floor(defrost.end_s))
        left = float(frost[i])
        near_zero = look.window(frost > 1e-3, defrost.start_s, defrost.end_s) & (
            np.abs(look.window(coil, defrost.start_s, defrost.end_s)) < 3.0
        )
        plateau_s = float(near_zero.sum())
        whole = defrost.ended and defrost.end_s < look.last_s and seen_part(look, defrost)
        why = f"{at_start:.2f} kg of frost at the start, {left:.2f} kg at the end."
        if at_start < FROSTED_KG:
            found.append(of(why, "unseen"))
        elif not whole:
            found.append(of(f"The record does not hold the end. {why}", "unseen", "doubtful", "shown"))
        elif left > CLEAR_PART * at_start:
            also = ("doubtful",) if float(coil[i]) > 1.0 else ()
            found.append(of(why, "failed", *also, *(("unseen",) if defrost.ended_by == "call" else ())))
        elif plateau_s < max(35.0, 5.0 * look.every_s):
            found.append(
                of(f"{why} It melted too soon to be told from a dry coil.", "shown", "unseen", "doubtful")
            )
        elif (
            float(look.window(run.state("t_clamp"), defrost.end_s - 5.0, defrost.end_s).max())
            < NEAR_MELTING_C
        ):
            found.append(of(f"{why} The coil ended too near the melting point to tell.", "shown", "doubtful"))
        else:
            found.append(of(why, "shown"))
    return found


def ends_by_sensor(look: Look) -> list[Occasion]:
    """The board's own reason."""
    volts, jumper = look.has("sensor_voltage"), look.hand("jumper")
    opens_c = look.played.scenario.unit.coil_sensor.opens_at_c
    found: list[Occasion] = []
    for defrost in look.defrosts:
        if not defrost.ended or defrost.end_s >= look.last_s:
            continue
        i = look.at(np.floor(defrost.end_s))
        jumpered = look.window(jumper, defrost.end_s - 8.0, defrost.end_s).max() > 0.5
        warm = float(look.played.run.state("t_clamp")[i]) > opens_c
        if not look.covered(defrost.end_s - 5.0, defrost.end_s + 5.0):
            found.append(of("The end lies in a hole of the record.", "unseen", "doubtful"))
        elif defrost.ended_by == "call":
            found.append(of("The call for heat was taken away.", "unseen"))
        elif jumpered:
            found.append(
                of(
                    "A jumper held the circuit.",
                    "bypassed",
                    *(() if look.marks and volts else ("unseen", "doubtful", "failed")),
                )
            )
        elif defrost.ended_by == "pressure":
            found.append(
                of("The high pressure switch ended it.", "failed", *(() if volts else ("doubtful", "unseen")))
            )
        elif defrost.ended_by == "time":
            also = () if volts else ("doubtful", "unseen")
            found.append(
                of(
                    "The board's longest time ended it.",
                    "failed",
                    *also,
                    *(("bypassed",) if warm and not look.marks else ()),
                )
            )
        else:
            # Without marks a jumper may have been taken away just then.
            found.append(
                of("The sensor opened and ended it.", "shown", *(() if look.marks else ("doubtful",)))
                if volts
                else of("The sensor ended it, unread.", "unseen", "doubtful")
            )
    return found


def peak_c(look: Look, defrost: TrueDefrost) -> float:
    """Highest true dew saturation at the compressor's outlet in a defrost [degC].

    Where the valve shifts, after it has: the first second still has the heating's own pressure.
    """
    run, end_s = look.played.run, min(defrost.end_s, look.last_s)
    pressure = look.window(run.derived("p_discharge"), defrost.start_s, end_s)
    turned = look.window(run.state("valve"), defrost.start_s, end_s) > 0.5
    pressure = pressure[turned] if turned.any() else pressure
    return float(refrigerant(look.played.plant.refrigerant).dew_temp_c(float(pressure.max())))


def ends_safely(look: Look) -> list[Occasion]:
    """The true high side against both limits."""
    ports = [name for name in ("discharge_pressure", "liquid_pressure") if look.has(name)]
    if not ports:
        return [of("No high-side pressure was read.", "unseen")]
    about = look.played.scenario.unit
    fluid = refrigerant(look.played.plant.refrigerant)
    cutout_c = fluid.dew_temp_c(about.limits.high_pressure_cutout_pa)
    ceiling = min(about.limits.saturation_ceiling_c, cutout_c)
    found: list[Occasion] = []
    for defrost in look.defrosts:
        peak = peak_c(look, defrost)
        pressure = fluid.dew_pressure_pa(peak)
        per_pa = 1.0 / (fluid.dew_pressure_pa(peak + 0.5) - fluid.dew_pressure_pa(peak - 0.5))
        band = 2.0 * about.instruments[ports[0]].u(pressure) * per_pa + 0.8
        last = look.window(look.played.run.derived("p_discharge"), defrost.end_s - 3.0, defrost.end_s - 1.0)
        band += abs(float(last[-1] - last[0])) / 2.0 * per_pa * look.every_s
        margin = ceiling - peak
        why = f"The true saturation rose to {peak:.1f} degC; the lower of the limits is {ceiling:.1f} degC."
        valve = look.window(look.played.run.state("valve"), defrost.start_s, defrost.end_s - 1.0).max()
        whole = defrost.ended and defrost.end_s < look.last_s and seen_part(look, defrost)
        if not whole:
            found.append(
                of(
                    f"The record does not hold the end. {why}",
                    "unseen",
                    "doubtful",
                    *(("failed",) if margin < band else ()),
                )
            )
        elif defrost.ended_by == "pressure":
            found.append(of("The high pressure switch ended it.", "failed"))
        elif margin < -band:
            found.append(of(why, "failed"))
        elif margin < band:
            found.append(of(why, "failed" if margin < 0 else "shown", "doubtful"))
        elif defrost.ended_by == "call" or valve < 0.5:
            found.append(of(why, "shown", "unseen", "doubtful"))
        else:
            found.append(of(why, "shown"))
    return found
