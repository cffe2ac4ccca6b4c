"""Occasions of the coil sensor, the clock and the start, from the contact and the board's own clock."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.scenario.look import Look, TrueDefrost
from firstfrost.bench.scenario.occasion import HIDDEN, Occasion, clock_sound, coil_doubt_k, is_demand, of

LAG_S: Final = 60.0
"""From coil to contact: what the sensor's own body may be behind by."""


def _flips(look: Look, name: str, up: bool) -> list[float]:
    return [t for t, v in look.played.run.switches(name) if (v > 0.5) == up and t > 0.0]


def _volts(look: Look, time_s: float) -> bool:
    return look.covered(time_s - 5.0, time_s + 5.0, "sensor_voltage")


def contact(look: Look, *, closing: bool) -> list[Occasion]:
    """Occasions of the coil sensor's closing, or opening."""
    rated = look.played.scenario.unit.coil_sensor
    rated_c = rated.closes_at_c if closing else rated.opens_at_c
    doubt, tolerance = coil_doubt_k(look), rated.tolerance_k
    run, word = look.played.run, "closed" if closing else "opened"
    coil, jumper, contact = run.state("t_clamp"), look.hand("jumper"), run.board("contact")
    if not look.has("sensor_voltage"):
        return [of("Nothing was read across the sensor.", "unseen")]
    knows = look.has("outdoor_coil_temp")
    found: list[Occasion] = []
    for time_s in _flips(look, "sensed", closing):
        i = look.at(np.floor(time_s))
        by_hand = jumper[min(i + 1, len(jumper) - 1)] > 0.5 if closing else jumper[max(i - 1, 0)] > 0.5
        if time_s >= look.last_s:
            continue
        if not _volts(look, time_s):
            found.append(
                of(f"The sensor {word} at {time_s:.0f} s, where the record has a hole.", "unseen", "doubtful")
            )
        elif by_hand:
            also = () if look.marks and knows else ("unseen", "doubtful")
            found.append(of(f"At {time_s:.0f} s it was a jumper, not the contact.", "bypassed", *also))
        elif not knows:
            found.append(of("The coil was not measured when the contact moved.", "unseen", "doubtful"))
        else:
            found.append(_moved(look, time_s, closing=closing))
    # A contact that should have moved and did not.
    stuck = (contact < 0.5) if closing else (contact > 0.5)
    stuck = stuck & (jumper < 0.5)
    beyond = coil < rated_c - tolerance - doubt if closing else coil > rated_c + tolerance + doubt
    long_s = _longest(look, stuck & beyond)
    if knows and long_s > 120.0:
        why = f"The coil lay beyond the rating for {long_s:.0f} s and the contact never moved."
        found.append(of(why, "failed", *(() if look.marks or closing else ("bypassed", "doubtful"))))
    elif knows and long_s > 35.0 and not _in_band(look, closing):
        found.append(of("The coil lay beyond the rating, not for long.", "unseen", "doubtful", "failed"))
    warm_jumper = (jumper > 0.5) & (coil > rated.opens_at_c + tolerance + doubt)
    if not found and (jumper > 0.5).any():
        found.append(of("A jumper lay across the contact.", "bypassed", "unseen"))
    elif not closing and knows and warm_jumper.sum() > 5.0:
        found.append(of("A jumper held the circuit closed on a warm coil.", "bypassed", "unseen", "doubtful"))
    return found


def _in_band(look: Look, closing: bool) -> bool:
    """Whether the contact's own rating, and its seat, are sound."""
    rated, controls = look.played.scenario.unit.coil_sensor, look.played.controls
    own = controls.closes_c - rated.closes_at_c if closing else controls.opens_c - rated.opens_at_c
    seated = look.played.plant.sensor_metal >= 0.9 * Plant().sensor_metal
    return abs(own) <= rated.tolerance_k and seated and controls.sensor_stuck < 0.0


def _moved(look: Look, time_s: float, *, closing: bool) -> Occasion:
    rated = look.played.scenario.unit.coil_sensor
    rated_c = rated.closes_at_c if closing else rated.opens_at_c
    doubt, tolerance = coil_doubt_k(look), rated.tolerance_k
    near = look.window(look.played.run.state("t_clamp"), time_s - LAG_S, time_s + look.every_s)
    word = "closed" if closing else "opened"
    body = float(look.played.run.state("t_sensor")[look.at(time_s)])
    if _in_band(look, closing):
        why = (
            f"The contact {word} by itself at {time_s:.0f} s, its body at {body:.1f} degC, within its rating."
        )
        now = float(look.played.run.state("t_clamp")[look.at(time_s)])
        sharp = rated_c - tolerance + doubt < now < rated_c + tolerance - doubt
        return of(why, "shown") if sharp and look.marks else of(why, "shown", "doubtful")
    why = f"The contact {word} at {time_s:.0f} s, the coil at {near[-1]:.1f} degC: not as rated, or seated."
    beyond = max(near.min() - rated_c, rated_c - near.max()) - tolerance
    if beyond > 5.0 + doubt:
        return of(why, "failed", *(() if look.marks else ("bypassed", "doubtful")))
    if beyond > doubt:
        return of(why, "failed", "doubtful")
    # The coil passed through the rating within the sensor's own lag: no probe on the coil can tell.
    return of(f"{why} {HIDDEN}", "failed", "doubtful", "shown")


def _longest(look: Look, true: NDArray[np.bool_]) -> float:
    """The longest stretch [s] of `true` that the record holds without a hole."""
    spans = _spans(true & look.read("sensor_voltage"))
    return max((min(b, look.last_s) - a for a, b in spans), default=0.0)


def _bridged(look: Look, defrost: TrueDefrost) -> bool:
    """Whether test pins ran the clock fast since the defrost before."""
    # A trip or a missing call leaves the clock where the pins had brought it.
    before = [
        d.end_s for d in look.defrosts if d.end_s < defrost.start_s and d.ended_by in ("sensor", "time")
    ]
    return bool(look.window(look.hand("pins"), before[-1] if before else 0.0, defrost.start_s).max() > 0.5)


def _whole_interval(look: Look, defrost: TrueDefrost) -> bool:
    """Whether the record runs from the termination before to this start."""
    before = [d for d in look.defrosts if d.end_s < defrost.start_s and d.ended]
    # One that a trip or a missing call cut short leaves the clock where it was.
    if not before or before[-1].ended_by not in ("sensor", "time"):
        return False
    return look.covered(before[-1].end_s - 5.0, defrost.start_s + 5.0)


def _waited(look: Look) -> float:
    """The longest run time with the circuit closed and no start, in set intervals, that the record holds.

    What falls into holes of the record is left out.
    """
    run = look.played.run
    counts = (look.compressor_on > 0.5) & (look.defrosting < 0.5) & (run.board("sensed") > 0.5)
    read = (counts & look.read("sensor_voltage")).astype(float)
    if look.played.controls.count_always < 0.5 and look.played.controls.reset_on_open > 0.5:
        spans = _spans(counts)
    else:
        ends = [0.0, *(d.end_s for d in look.defrosts if d.ended)]
        spans = [(a, min([d.start_s for d in look.defrosts if d.start_s > a] or [look.last_s])) for a in ends]
    best = 0.0
    for a, b in spans:
        if b - a > 60.0:
            best = max(best, float(look.window(read, a, min(b, look.last_s)).sum()))
    return best / look.played.scenario.unit.board.interval_s


def _spans(true: NDArray[np.bool_]) -> list[tuple[float, float]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], true.astype(int), [0])))).astype(float)
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def timer_counts(look: Look) -> list[Occasion]:
    """The board's own clock against the set interval."""
    if is_demand(look):
        return [of("Demand control: no interval is set.", "unseen")]
    if not look.some("compressor_current", "power") and not look.has("suction_pressure"):
        return [of("Nothing tells whether the compressor ran.", "unseen")]
    volts = look.has("sensor_voltage")
    found: list[Occasion] = []
    for defrost in look.defrosts:
        if _bridged(look, defrost):
            also = () if look.marks else ("unseen", "doubtful")
            found.append(of("The test pins ran the clock.", "prompted" if look.marks else "unseen", *also))
        elif not _whole_interval(look, defrost):
            found.append(of("No whole interval lies in the record.", "unseen", "doubtful"))
        elif clock_sound(look):
            weak = () if volts and look.some("compressor_current", "power") else ("doubtful", "unseen")
            found.append(of("A whole interval lies in the record, and the clock ran true.", "shown", *weak))
        else:
            found.append(
                of(
                    "The board's clock does not run at its set rate.",
                    "failed",
                    *(() if look.marks else ("doubtful",)),
                )
            )
    return found + _overdue(look)


def _overdue(look: Look) -> list[Occasion]:
    """Run time that ran out and no start came."""
    if not look.has("sensor_voltage"):
        return []
    waited = _waited(look)
    if waited > 1.15 and not clock_sound(look):
        return [
            of(f"The sensor was closed for {waited:.1f} intervals of run time and nothing came.", "failed")
        ]
    if waited > 1.02 and not clock_sound(look):
        return [of("The interval was hardly over.", "unseen", "doubtful", "failed")]
    return []


def defrost_starts(look: Look) -> list[Occasion]:
    """Who started a defrost."""
    volts, jumper = look.has("sensor_voltage"), look.hand("jumper")
    contact = look.played.run.board("contact")
    found: list[Occasion] = []
    for defrost in look.defrosts:
        i = look.at(defrost.start_s)
        jumpered = jumper[i] > 0.5
        if defrost.start_s >= look.last_s or not look.covered(defrost.start_s - 5.0, defrost.start_s + 5.0):
            found.append(of("The start lies in a hole of the record.", "unseen", "doubtful"))
        elif jumpered and contact[i] > 0.5:
            found.append(
                of("A jumper lay across a contact that had closed.", "prompted", "doubtful", "shown")
            )
        elif jumpered or _bridged(look, defrost):
            also = () if look.marks else ("doubtful", "unseen")
            found.append(
                of("A person supplied the trigger.", "prompted" if look.marks else "doubtful", *also)
            )
        elif not volts:
            found.append(of("The board started it; the record cannot say why.", "doubtful", "unseen"))
        elif not look.marks and (is_demand(look) or not _whole_interval(look, defrost)):
            found.append(
                of(
                    "The board started it, but nobody says that no hand helped.",
                    "doubtful",
                    *(() if clock_sound(look) else ("failed",)),
                )
            )
        elif not clock_sound(look):
            # Early or late by its clock, which is the timer's fault: the start itself came when that ran out.
            found.append(of("The board started it, not at its set time.", "shown", "doubtful", "failed"))
        else:
            found.append(of("The board started it with the sensor closed and its time out.", "shown"))
    if look.marks and volts:
        tried = _longest(
            look,
            (look.hand("pins") > 0.5)
            & (look.played.run.board("sensed") > 0.5)
            & (look.hand("call") > 0.5)
            & (look.compressor_on > 0.5)
            & (look.defrosting < 0.5),
        )
        if tried > look.played.scenario.unit.board.pins_s + 5.0:
            found.append(
                of(
                    f"Pins bridged for {tried:.0f} s of run time with the sensor closed, and no start.",
                    "failed",
                )
            )
    late = [] if is_demand(look) else _overdue(look)
    if found:
        # It was late, and came.
        late = [
            of(one.why, "shown", "failed", "doubtful") for one in late if found[-1].standings[0] == "shown"
        ]
    return found + late
