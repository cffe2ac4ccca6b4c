"""Runs of the shipped scenarios and of scenarios with a fault put in, made once a session."""

import tomllib
from functools import cache
from pathlib import Path

from firstfrost.bench.scenario.read import find, read_scenario, scenario_from
from firstfrost.bench.scenario.write import run_scenario
from firstfrost.visit.check import check_trace


@cache
def shipped_run(name):
    return run_scenario(read_scenario(name))


@cache
def faulty_run(name, fault, severity, marks="given"):
    table = tomllib.loads(find(name).read_text(encoding="utf-8"))
    table["faults"] = {fault: severity}
    table["recording"] = {**table.get("recording", {}), "marks": marks}
    return run_scenario(scenario_from(table, name=name, source=name, folder=Path()))


def compared(done):
    """Function, true standing, all that the truth accepts, found standing."""
    result = check_trace(done.record.trace, done.played.scenario.unit, done.record.marks)
    for finding in result.findings:
        truth = done.truth["functions"][finding.function]
        yield finding.function, truth["standing"], {truth["standing"], *truth["also"]}, finding.standing
