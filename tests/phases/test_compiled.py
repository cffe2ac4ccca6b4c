import os
import subprocess
import sys
from dataclasses import asdict
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made.make import make
from made.situations import SITUATIONS

import firstfrost
from firstfrost.cycle.derive import derive
from firstfrost.equipment.read import default_unit
from firstfrost.phases import compiled, fold
from firstfrost.phases.events import find
from firstfrost.phases.samples import rows


def same(one, two):
    """Equal to the last bit; NaN equals NaN."""
    return repr(asdict(one)) == repr(asdict(two))


@pytest.mark.parametrize("situation", SITUATIONS)
def test_compiled_events_of_made_visits_are_those_of_the_plain_fold(situation):
    visit = make(situation, 11)
    samples = rows(visit.trace, derive(visit.trace, default_unit("R-410A").refrigerant), visit.marks)
    assert same(compiled.find_compiled(samples), find(samples.tolist()))


LEVELS = {
    fold.LOW: (-30.0, 25.0), fold.HIGH: (-20.0, 60.0), fold.VAPOR: (-20.0, 90.0), fold.COIL: (-25.0, 30.0),
    fold.OUT: (-20.0, 20.0), fold.SUPPLY: (5.0, 50.0), fold.RETURN: (15.0, 25.0), fold.VOLTS: (-28.0, 28.0),
    fold.FAN: (0.0, 2.0), fold.COMPRESSOR: (0.0, 18.0), fold.BACKUP: (0.0, 40.0), fold.VALVE: (0.0, 28.0),
    fold.POWER: (0.0, 6000.0), fold.CALL: (0.0, 1.0), fold.ON_PURPOSE: (0.0, 1.0),
}  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=st.integers(0, 2**32 - 1),
    n=st.integers(0, 400),
    step_s=st.sampled_from([0.5, 1.0, 10.0, 60.0]),
    missing=st.sampled_from([0.0, 0.1, 0.9]),
    jumps=st.sampled_from([0.0, 0.02, 0.3]),
)
def test_compiled_events_of_any_samples_are_those_of_the_plain_fold(seed, n, step_s, missing, jumps):
    rng = np.random.default_rng(seed)
    samples = np.full((n, fold.WIDTH), np.nan)
    samples[:, fold.T] = np.cumsum(
        step_s * np.where(rng.uniform(size=n) < 0.01, 200.0, rng.uniform(0.5, 1.5, n))
    )
    for column, (low, high) in LEVELS.items():
        if rng.uniform() < 0.25:
            continue
        held = np.cumsum(rng.uniform(size=n) < jumps)
        values = rng.uniform(low, high, n + 1)[held] + rng.normal(0.0, 0.05, n)
        samples[:, column] = np.where(rng.uniform(size=n) < missing, np.nan, values)
    assert same(compiled.find_compiled(samples), find(samples.tolist()))


def test_more_changes_than_there_is_room_for_come_all():
    n = 3 * compiled.ROOM
    samples = np.full((n, fold.WIDTH), np.nan)
    samples[:, fold.T] = 60.0 * np.arange(n)
    samples[:, fold.VOLTS] = 25.0 * (np.arange(n) % 2)
    events = compiled.find_compiled(samples)
    assert len(events.changes) == n - 1
    assert same(events, find(samples.tolist()))


def test_each_step_leaves_the_same_state_and_bits():
    visit = make("mild day", 11)
    samples = rows(visit.trace, derive(visit.trace, "R-410A"), visit.marks)
    plain, state, step = fold.fresh(), np.array(fold.fresh()), compiled.compiled_step()
    for sample in samples:
        assert fold.step(plain, sample.tolist()) == step(state, sample)
        assert np.array_equal(np.array(plain), state, equal_nan=True)


def test_the_plain_path_does_not_import_numba():
    code = "import sys, firstfrost.phases.compiled; sys.exit('numba' in sys.modules)"
    env = {**os.environ, "PYTHONPATH": str(Path(firstfrost.__file__).parents[1])}
    assert subprocess.run([sys.executable, "-c", code], check=False, env=env).returncode == 0


def test_without_numba_the_error_says_the_way_out(monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    with pytest.raises(
        compiled.InputError, match=r"Install firstfrost\[fast\], or use firstfrost\.phases\.events\.find"
    ):
        compiled._njit()
