"""The true phases of a run, from the board, the valve's place and the fan: no reading is looked at."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np

from firstfrost.bench.scenario.look import Look
from firstfrost.refrigerants.curves import Floats

PHASES: Final = ("off", "heating", "chilldown", "defrost", "recovery", "cooling")
_BACK: Final = 0.95
"""Recovery is over once the coil's heat stays above this part of what it is ten minutes after."""


def phases(look: Look) -> list[tuple[str, float, float]]:
    """Name, start and end [s of the run] of each phase, without gaps."""
    run = look.played.run
    n = len(look.times)
    name = np.full(n, "heating", dtype="<U9")
    held_back = (look.hand("fan") < 0.5) | (look.hand("cover") > 0.5)
    name[held_back] = "chilldown"
    for defrost in look.defrosts:
        if defrost.ended:
            a, b = look.at(defrost.end_s), _recovered(look, defrost.end_s)
            name[a:b] = "recovery"
    name[(run.state("valve") > 0.5) & (look.defrosting < 0.5) & (name != "recovery")] = "cooling"
    name[(look.compressor_on < 0.5) & (run.board("mode") == 0.0)] = "off"
    for defrost in look.defrosts:
        # The row of the end's own second belongs to what comes after.
        end = int(np.ceil(defrost.end_s)) if defrost.ended else n
        name[int(np.ceil(defrost.start_s)) : end] = "defrost"
    edges = [0, *(np.flatnonzero(name[1:] != name[:-1]) + 1).tolist(), n - 1]
    exact = {int(np.ceil(t)): t for d in look.defrosts for t in (d.start_s, d.end_s)}
    return [
        (str(name[a]), exact.get(a, float(a)), exact.get(b, float(b)))
        for a, b in itertools.pairwise(edges)
        if b > a
    ]


def _recovered(look: Look, end_s: float) -> int:
    """The second from which heat to the house stays near what it settles at after a defrost."""
    heat: Floats = look.played.run.derived("heat")
    a = look.at(end_s)
    later = [look.at(d.start_s) for d in look.defrosts if d.start_s > end_s]
    b = min([a + 600, *later, len(heat) - 1])
    if b - a < 60:
        return b
    settled = float(np.median(heat[b - 30 : b + 1]))
    low = np.flatnonzero(heat[a:b] < _BACK * settled)
    return a + (int(low[-1]) + 1 if len(low) else 0)
