"""The bars of the main job over made visits of every situation, with a seed of its own.

`docs/accuracy.md` shows the whole table of a longer run, and where the tool is weak.
"""

from __future__ import annotations

import numpy as np
import pytest

from firstfrost.proofs.finding import FUNCTIONS
from made import SITUATIONS
from made.confusion import Row, run

VISITS, SEED = 450, 977


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return run(VISITS, SEED)


def _standings(rows: list[Row]) -> list[tuple[Row, str, str]]:
    return [(row, function, found) for row in rows for function, found in row.found.items()]


def _share(errors: np.ndarray, most: float) -> float:
    """The share within `most`; an edge that was not found at all (NaN) is not within."""
    return float(np.mean(np.nan_to_num(errors, nan=np.inf) <= most))


def test_every_situation_is_judged_and_none_is_lost(rows: list[Row]) -> None:
    assert [row.error for row in rows if row.error] == []
    assert {row.situation for row in rows} == set(SITUATIONS)
    refused = {row.situation for row in rows if row.refused}
    assert refused <= {"wrong units in a header"}
    assert all(set(row.found) == set(FUNCTIONS) for row in rows if not row.refused)


def test_a_file_with_wrong_units_is_refused_or_judged_right(rows: list[Row]) -> None:
    mine = [row for row in rows if row.situation == "wrong units in a header"]
    assert len(mine) >= 5
    for row in mine:
        wrong = [f for f, found in row.found.items() if found not in row.accepted[f]]
        assert row.refused or not wrong, f"seed {row.seed}: {wrong}"
        assert not row.refused or "kPa(g) would fit" in row.refused


def test_standings_are_right(rows: list[Row]) -> None:
    standings = _standings(rows)
    assert len(standings) > 5500
    wrong = [
        f"{row.situation} seed {row.seed}: {function} {'/'.join(row.accepted[function])} > {found}"
        for row, function, found in standings
        if found not in row.accepted[function]
    ]
    assert len(wrong) <= 0.01 * len(standings), "\n".join(wrong)


def test_nothing_is_called_shown_that_was_not(rows: list[Row]) -> None:
    false = [
        f"{row.situation} seed {row.seed}: {function} is {'/'.join(row.accepted[function])}"
        for row, function, found in _standings(rows)
        if found == "shown" and "shown" not in row.accepted[function]
    ]
    assert false == []


def test_next_to_nothing_is_called_failed_that_was_not(rows: list[Row]) -> None:
    standings = _standings(rows)
    false = [
        f"{row.situation} seed {row.seed}: {function} is {'/'.join(row.accepted[function])}"
        for row, function, found in standings
        if found == "failed" and "failed" not in row.accepted[function]
    ]
    assert len(false) <= 0.001 * len(standings), "\n".join(false)


@pytest.mark.parametrize("edge", ["start_s", "end_s"])
def test_edges_lie_within_two_samples_where_pressures_or_outputs_were_read(
    rows: list[Row], edge: str
) -> None:
    errors = np.abs(
        [e for row in rows if row.quick and not row.typed for name, e in row.edges_samples if name == edge]
    )
    assert len(errors) > 250
    assert _share(errors, 2.0) >= 0.98


def test_peaks_lie_within_half_a_degree_fahrenheit_at_two_seconds_or_faster(rows: list[Row]) -> None:
    errors = np.abs([k for row in rows if not row.typed and row.sampling_s <= 2.0 for _, k in row.peaks_k])
    assert len(errors) > 150
    assert _share(errors, 0.5 / 1.8) >= 0.94


def test_hardly_a_defrost_is_missed_or_invented(rows: list[Row]) -> None:
    judged = [row for row in rows if not row.refused]
    off = [row for row in judged if row.defrosts_found != row.defrosts_true]
    assert not [row.situation for row in off if row.defrosts_found > row.defrosts_true]
    assert len(off) <= 0.01 * len(judged)
