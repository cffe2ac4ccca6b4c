"""Runs of the shipped scenarios and of scenarios with a fault put in, made once a session."""

import tomllib
from functools import cache

import numpy as np

from firstfrost.bench.scenario.read import find, read_scenario, scenario_from
from firstfrost.bench.scenario.write import run_scenario
from firstfrost.visit.check import check_trace


@cache
def shipped_run(name):
    return run_scenario(read_scenario(name))


@cache
def faulty_run(name, fault, severity, marks="given"):
    path = find(name)
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    table["faults"] = {fault: severity}
    table["recording"] = {**table.get("recording", {}), "marks": marks}
    return run_scenario(scenario_from(table, name=name, source=name, folder=path.parent))


def edges(done):
    """Which edge, its true time and how far off it was found [s], of the defrosts that both hold.

    A true defrost that was not found, and one found that is none, come as "missed" and "made up".
    """
    result = check_trace(done.record.trace, done.played.scenario.unit, done.record.marks)
    times = done.record.trace.time_s, done.record.run_times_s
    found = [
        [float(np.interp(t, *times)) for t in (one.start_s, one.end_s)] + [one.cut] for one in result.defrosts
    ]
    last_s = float(times[1][-1])
    for true in done.look.defrosts:
        if true.start_s >= last_s:
            continue
        hit = next((one for one in found if one[0] < true.end_s and one[1] > true.start_s), None)
        if hit is None:
            yield "missed", true.start_s, true.end_s - true.start_s
            continue
        found.remove(hit)
        if hit[2] not in ("start", "both"):
            yield "start", true.start_s, hit[0] - true.start_s
        if true.ended and true.end_s < last_s and hit[2] not in ("end", "both"):
            yield "end", true.end_s, hit[1] - true.end_s
    for start_s, end_s, _ in found:
        yield "made up", start_s, end_s - start_s


def compared(done):
    """Function, true standing, all that the truth accepts, found standing."""
    result = check_trace(done.record.trace, done.played.scenario.unit, done.record.marks)
    for finding in result.findings:
        truth = done.truth["functions"][finding.function]
        yield finding.function, truth["standing"], {truth["standing"], *truth["also"]}, finding.standing
