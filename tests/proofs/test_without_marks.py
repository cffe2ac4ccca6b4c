"""A trace without marks must not earn a better standing than the same trace with its marks (design).

Where nothing says what a person did, much is in doubt that the marks would call by its name: a record can
then be `doubtful` where the marks make it `bypassed` or leave it `unseen`. That is a word for not knowing,
and is let through. What must never come of leaving the marks away is a claim: `shown` or `prompted`.
"""

from __future__ import annotations

import tomllib
from functools import cache

import pytest
from made import SITUATIONS, make

from firstfrost.equipment.read import unit_from
from firstfrost.proofs.finding import BEST_FIRST
from firstfrost.visit.check import check_trace

RANK = {name: k for k, name in enumerate(BEST_FIRST)}
RANK["unseen"] = RANK["bypassed"]  # neither says anything about the part
SEEDS = (901, 904, 907)
KNOWN = {
    # A jumper laid over a contact that had closed by itself, and taken off just in the opening band: the
    # readings are those of the sensor itself. Only a mark can tell.
    ("jumper on a closed contact", "sensor_opens"),
    # A dozen typed lines: the marked lead keeps the fan from telling of a defrost that has little else.
    ("typed readings", "backup_runs"),
    ("typed readings", "fan_stops"),
}
"""Where a claim can come of leaving the marks away, and why."""


@cache
def changes(situation: str) -> list[tuple[str, str, str]]:
    """(function, standing with marks, standing without) where they differ."""
    out = []
    for seed in SEEDS:
        visit = make(situation, seed)
        if visit.marks is None:
            continue
        unit = unit_from(tomllib.loads(visit.unit_toml), source="the made unit")
        known, unknown = (check_trace(visit.trace, unit, marks) for marks in (visit.marks, None))
        for finding in known.findings:
            without = unknown.standing(finding.function)
            if without != finding.standing:
                out.append((finding.function, finding.standing, without))
    return out


@pytest.mark.parametrize("situation", SITUATIONS)
def test_no_claim_comes_of_leaving_the_marks_away(situation: str) -> None:
    claims = [
        (function, marked, without)
        for function, marked, without in changes(situation)
        if without in ("shown", "prompted")
        and (marked == "failed" or RANK[without] < RANK[marked])
        and (situation, function) not in KNOWN
    ]
    assert claims == []


@pytest.mark.parametrize("situation", SITUATIONS)
def test_what_is_better_without_marks_is_in_doubt_and_no_more(situation: str) -> None:
    better = {
        without
        for function, marked, without in changes(situation)
        if marked != "failed"
        and without != "failed"
        and RANK[without] < RANK[marked]
        and (situation, function) not in KNOWN
    }
    assert better <= {"doubtful"}
