"""From a situation's name and a seed to a made visit."""

from __future__ import annotations

from dataclasses import replace
from zlib import crc32

import numpy as np

from firstfrost.trace.marks import Mark
from made import record, truth
from made.board import BoardMaker, SensorMaker
from made.look import Look
from made.plant import Machine
from made.record import ALL, Recorder
from made.saturation import FLUIDS, dew_pressure_pa
from made.situations import KITS, SITUATIONS
from made.visit import Draft, MadeVisit, Truth, defrosts, phases, unit_toml
from made.world import Setting, World

RATINGS = ((-1.1, 15.6), (-2.2, 18.3), (0.0, 12.8), (-0.6, 21.1), (-1.1, 18.3))
COMMON = ("R-410A", "R-410A", "R-410A", "R-32", "R-454B", "R-22")


def draft(rng: np.random.Generator, marks: bool | None, kit: str) -> Draft:
    """A machine, its sensor and board, and the instruments, before the situation has its say."""

    def between(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    names = [*COMMON, *FLUIDS]
    machine = Machine(
        refrigerant=names[int(rng.integers(len(names)))],
        tons=float(rng.choice([1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0])),
        coil_heat_j_k_ton=between(9.0e3, 15.0e3),
        air_out_w_k_ton=between(320.0, 420.0),
        still_share=between(0.06, 0.1),
        frosting_kg_s_ton=between(0.12, 0.26),
        air_in_w_k_ton=between(140.0, 190.0),
        evaporating_w_ton=between(2400.0, 2800.0),
        compressor_w_ton=between(800.0, 1050.0),
        defrost_heat_share=between(0.85, 1.05),
        approach_defrost_k=between(8.0, 16.0),
        high_lag_s=between(20.0, 60.0),
        low_lag_s=between(6.0, 14.0),
        turn_lag_s=between(2.0, 9.0),
        swap_s=between(1.0, 6.0),
        fill_lag_s=between(15.0, 40.0),
        equalise_s=between(12.0, 60.0),
        supply_lag_s=between(8.0, 30.0),
        fan_w=between(120.0, 300.0),
        blower_w=between(250.0, 600.0),
        backup_w=float(rng.choice([5000.0, 8000.0, 10000.0])),
    )
    closes, opens = RATINGS[int(rng.integers(len(RATINGS)))]
    tolerance = float(rng.choice([1.7, 2.8]))
    sensor = SensorMaker(
        rated_closes_c=closes,
        rated_opens_c=opens,
        tolerance_k=tolerance,
        closes_c=closes + between(-0.5, 0.5) * tolerance,
        opens_c=opens + between(-0.5, 0.5) * tolerance,
        lag_s=between(0.0, 40.0),
    )
    interval = float(rng.choice([1800.0, 3600.0, 5400.0]))
    board = BoardMaker(
        interval_s=interval,
        real_interval_s=interval,
        speed=float(rng.choice([60.0, 120.0, 180.0, 256.0])),
        counts_only_closed=bool(rng.integers(2)),
        longest_s=float(rng.choice([600.0, 720.0, 840.0])),
        hold_off_s=30.0 if rng.uniform() < 0.2 else 0.0,
        fan_delay_s=between(0.0, 20.0) if rng.uniform() < 0.3 else 0.0,
        valve_type="O" if rng.uniform() < 0.7 else "B",
    )
    channels: tuple[str, ...] = ALL
    if kit == "any":
        k = int(rng.integers(len(KITS) + 2))
        channels = KITS[k] if k < len(KITS) else ALL
    us = rng.uniform() < 0.7
    recorder = Recorder(
        channels=channels,
        sampling_s=float(rng.choice([0.5, 1.0, 1.0, 1.0, 2.0, 5.0, 10.0])),
        units="US" if us else "SI",
        pressure_accuracy=float(rng.choice([0.005, 0.01])),
        temp_accuracy_k=float(rng.choice([0.3, 0.5, 0.6])),
        pressure_step=float(rng.choice([0.1, 0.5, 1.0])),
        temp_step=float(rng.choice([0.01, 0.1])),
        noise=between(0.3, 1.5),
        probe_lag_s=between(0.5, 5.0),
        dropout=float(rng.choice([0.0, 0.0, 0.002, 0.01])),
        altitude_m=float(rng.choice([0.0, 0.0, 274.0, 800.0, 1609.0])),
    )
    return Draft(
        rng=rng,
        machine=machine,
        sensor=sensor,
        board=board,
        recorder=recorder,
        indoor_c=between(19.0, 22.5),
        counted_s=between(0.1, 0.4) * interval,
        marks=bool(rng.integers(2)) if marks is None else marks,
    )


def make(situation: str, seed: int) -> MadeVisit:
    """Make one visit.

    Parameters
    ----------
    situation : str
        One of `SITUATIONS`.
    seed : int
        Everything that varies follows from it.
    """
    row = SITUATIONS[situation]
    rng = np.random.default_rng([seed, crc32(situation.encode())])
    d = draft(rng, row.marks, row.kit)
    play = row.maker(d)
    refrigerant = d.machine.refrigerant
    cutout_pa = float(dew_pressure_pa(refrigerant, np.asarray(d.cutout_dew_c)))
    faults = dict(d.faults)
    frost = float(faults.pop("frost_kg", 0.0))  # type: ignore[arg-type]
    setting = Setting(
        machine=d.machine,
        sensor=d.sensor,
        board=d.board,
        outdoor_c=d.outdoor_c,
        humidity=d.humidity,
        indoor_c=d.indoor_c,
        cutout_pa=cutout_pa,
        counted_s=d.counted_s,
        **faults,  # type: ignore[arg-type]
    )
    world = World(setting, rng)
    world.plant.frost = frost
    log = world.run(play(world))
    if d.finish is not None:
        d.finish(log)
    trace = record.read(log, d.recorder, rng)
    marks: tuple[Mark, ...] | None = None
    if d.marks:
        lowest = float(trace.time_s[0])
        marks = tuple(m for m in record.mark(log, d.recorder, rng) if m.time_s >= lowest)
    look = Look(log=log, recorder=d.recorder, marks=d.marks, ceiling_c=d.ceiling_c, demand=d.board.demand)

    def shift(time_s: float) -> float:
        jump = d.recorder.clock_jump
        return time_s + jump[1] if jump is not None and time_s >= jump[0] else time_s

    return MadeVisit(
        situation=situation,
        seed=seed,
        trace=trace,
        marks=marks,
        unit_toml=unit_toml(d, cutout_pa),
        truth=Truth(
            phases=tuple(
                replace(phase, start_s=shift(phase.start_s), end_s=shift(phase.end_s))
                for phase in phases(look)
            ),
            defrosts=defrosts(look, shift),
            standings=truth.standings(look),
        ),
        recorder=d.recorder,
        log=log,
    )
