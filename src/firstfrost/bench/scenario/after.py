"""Occasions after a defrost, from the valve's place, the fan and the heat that the house gets."""

from __future__ import annotations

import numpy as np

from firstfrost.bench.scenario.look import Look
from firstfrost.bench.scenario.occasion import Occasion, of


def valve_returns(look: Look) -> list[Occasion]:
    """The reversing valve's own place, after."""
    valve = look.played.run.state("valve")
    found: list[Occasion] = []
    for defrost in look.defrosts:
        if not defrost.ended or defrost.end_s >= look.last_s - look.every_s:
            continue
        turned = look.window(valve, defrost.start_s, defrost.end_s - 1.0).max() > 0.5
        after_s = min(defrost.end_s + 240.0, look.last_s)
        back = float(valve[look.at(after_s)])
        ran = look.window(look.compressor_on, defrost.end_s + 1.0, after_s)
        rests, rests_long = ran.min() < 0.5, ran[-1] < 0.5
        if defrost.ended_by in ("call", "pressure"):
            # After a trip it may have started again by itself, in heating.
            again = back < 0.1 and not rests_long
            found.append(
                of("The unit stopped with the defrost.", "unseen", *(("shown", "doubtful") if again else ()))
            )
        elif not turned:
            found.append(of("The valve had never left heating.", "unseen", "doubtful"))
        elif not look.covered(defrost.end_s - 5.0, after_s):
            found.append(of("What came after lies in a hole of the record.", "unseen", "doubtful", "shown"))
        elif back > 0.5:
            brief = after_s - defrost.end_s < 150.0
            found.append(
                of(
                    "The valve stayed in cooling.",
                    "failed",
                    *(("unseen", "doubtful") if brief or rests else ()),
                )
            )
        else:
            sure = look.turn_channels and after_s - defrost.end_s > 120.0 and not rests and back < 0.1
            found.append(
                of("The valve went back to heating.", "shown", *(() if sure else ("doubtful", "unseen")))
            )
    return found


def fan_returns(look: Look) -> list[Occasion]:
    """The outdoor fan's own turning, after."""
    if not look.has("fan_current"):
        return [of("The fan was not measured.", "unseen")]
    found: list[Occasion] = []
    for defrost in look.defrosts:
        after_s = min(defrost.end_s + 120.0, look.last_s)
        if not defrost.ended or defrost.end_s >= look.last_s - look.every_s:
            continue
        back = look.window(look.fan_on, defrost.end_s + 1.0, after_s).max() > 0.5
        ran = look.window(look.fan_on, defrost.start_s + 12.0, defrost.end_s - 2.0).max() > 0.5
        lead = look.window(look.lead_off, defrost.end_s, after_s)
        if defrost.ended_by in ("call", "pressure"):
            later = (
                look.window(look.fan_on, defrost.end_s + 1.0, min(defrost.end_s + 300.0, look.last_s)).max()
                > 0.5
            )
            found.append(
                of("The unit stopped with the defrost.", "unseen", *(("shown", "doubtful") if later else ()))
            )
        elif not look.covered(defrost.end_s - 5.0, after_s):
            found.append(of("What came after lies in a hole of the record.", "unseen", "doubtful", "shown"))
        elif ran:
            found.append(of("The fan had never stopped.", "unseen", "doubtful"))
        elif np.mean(look.window(look.compressor_on, defrost.end_s + 1.0, after_s)) < 0.5:
            later = (
                look.window(look.fan_on, defrost.end_s + 1.0, min(defrost.end_s + 300.0, look.last_s)).max()
                > 0.5
            )
            found.append(
                of(
                    "The unit stood still after the defrost.",
                    "unseen",
                    "doubtful",
                    *(("shown",) if later else ()),
                )
            )
        elif lead.min() > 0.5:
            found.append(
                of(
                    "Its lead was off.",
                    "bypassed" if look.marks else "unseen",
                    *(() if look.marks else ("doubtful", "bypassed")),
                )
            )
        elif lead.max() > 0.5:
            found.append(
                of(
                    "Its lead came back after the end.",
                    "bypassed" if look.marks else "doubtful",
                    "shown",
                    "doubtful",
                    "unseen",
                )
            )
        elif back:
            # Without marks a fan that stood still before may have been held by hand.
            stood = look.window(look.fan_on, defrost.start_s - 12.0, defrost.start_s - 1.0).max() < 0.5
            found.append(
                of("The fan turned again.", "shown", *(("doubtful",) if stood and not look.marks else ()))
            )
        elif after_s - defrost.end_s < 119.0:
            found.append(of("The record breaks off before it must be back.", "unseen", "doubtful"))
        else:
            stood = look.window(look.fan_on, defrost.start_s - 12.0, defrost.start_s - 1.0).max() < 0.5
            found.append(
                of("The fan stayed off.", "failed", *(("doubtful",) if stood and not look.marks else ()))
            )
    return found


def heating_resumes(look: Look) -> list[Occasion]:
    """The coil's own heat to the house, after against before."""
    if not look.some("discharge_pressure", "liquid_pressure", "supply_air_temp", "power"):
        return [of("Nothing tells how much heat came.", "unseen")]
    run = look.played.run
    heat, mode = run.derived("heat"), run.board("mode")
    plain = (
        (mode == 1.0) & (look.hand("fan") > 0.5) & (look.hand("cover") < 0.5) & (run.state("valve") < 0.1)
        & (run.board("run") > 300.0)
    )  # fmt: skip
    for defrost in look.defrosts:
        plain[look.at(defrost.start_s) : look.at(defrost.end_s) + 420] = False
    found: list[Occasion] = []
    for defrost in look.defrosts:
        if not defrost.ended or defrost.end_s >= look.last_s:
            continue
        before = np.flatnonzero(plain[: look.at(defrost.start_s)])
        limit_s = min(defrost.end_s + 600.0, look.last_s)
        held = look.window(np.maximum(look.lead_off, look.hand("cover")), defrost.end_s, limit_s)
        after = look.window(heat, defrost.end_s + 30.0, limit_s)
        full = limit_s - defrost.end_s >= 599.0
        called = (run.board("call") > 0.5) & (run.board("hand_call") > 0.5)
        uncalled = np.flatnonzero(~called[look.at(defrost.end_s) : look.at(limit_s) + 1])
        if len(uncalled):
            # A call that ends is no fault: heating is judged up to there.
            limit_s = defrost.end_s + float(uncalled[0]) - 3.0
            full = False
            after = look.window(heat, defrost.end_s + 30.0, max(limit_s, defrost.end_s + 30.0))
        stops = look.window(mode, defrost.end_s + 30.0, max(limit_s, defrost.end_s + 30.0)).min() < 1.0
        if defrost.ended_by == "call":
            found.append(of("The call for heat was taken away.", "unseen"))
            continue
        if held.min() > 0.5:
            found.append(of("A person kept the outdoor air away.", "bypassed", "unseen", "doubtful"))
            continue
        if len(before) < 240 or limit_s < defrost.end_s or not look.covered(defrost.end_s - 5.0, limit_s):
            found.append(
                of(
                    "The record lacks steady heating before, or the time after.",
                    "doubtful",
                    "unseen",
                    "shown",
                )
            )
            continue
        was = float(np.median(heat[before[-300:]]))
        parts = after / was
        last = float(np.median(parts[-60:])) if len(parts) >= 60 else 0.0
        why = f"The coil gave {was:.0f} W before and {last * was:.0f} W at the end of the ten minutes."
        stood = look.window(look.fan_on, defrost.start_s - 12.0, defrost.start_s - 1.0).max() < 0.5
        # Without marks a fan that stood still before may have been held, and given back, by hand.
        still = look.window(look.fan_on, max(limit_s - 60.0, defrost.end_s), limit_s).max() < 0.5
        unsure = ("doubtful",) if (stood and not look.marks) or still else ()
        valve = look.window(run.state("valve"), defrost.start_s, defrost.end_s - 1.0).max()
        if valve < 0.5:
            found.append(
                of(
                    f"Heating never left. {why}",
                    "shown",
                    "unseen",
                    "doubtful",
                    *(("failed",) if last < 0.9 else ()),
                )
            )
        elif last > 0.95 and not stops:
            found.append(of(why, "shown", *unsure, *(() if full else ("doubtful", "unseen"))))
        elif last > 0.86:
            found.append(
                of(
                    why,
                    "shown",
                    "doubtful",
                    *(("unseen",) if not full or stops else ()),
                    *(("failed",) if last < 0.92 else ()),
                )
            )
        elif full:
            found.append(of(why, "failed", *(("doubtful", "unseen") if stops or last > 0.8 else ())))
        else:
            found.append(of(why, "unseen", "doubtful", "failed"))
    return found
