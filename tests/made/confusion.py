"""The confusion matrix over made visits: ``python -m made.confusion --visits 1000 --seed 1``.

Run from `tests/` with `src` on the path. The same seed gives the same table. `right` counts a standing that
the truth accepts (a second one only where instruments cannot tell), `exact` the first one alone.

A visit with wrong units in a header goes through its file, for the reader is what stands between such a
header and a judgement: a file that is refused is right, and counts in no standing.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from firstfrost.equipment.unit import Unit
from firstfrost.errors import DataError
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.trace.trace import Trace
from made.make import make
from made.situations import SITUATIONS
from made.visit import MadeVisit, TrueDefrost, write

STANDINGS = ("shown", "prompted", "doubtful", "bypassed", "unseen", "failed")


@dataclass(kw_only=True)
class Row:
    """What one visit gave."""

    situation: str
    seed: int
    sampling_s: float
    typed: bool
    quick: bool
    """Whether pressures or the board's outputs were read: channels that tell an edge to the second."""
    error: str = ""
    refused: str = ""
    """Why the reader refused the file, where that was the right thing to do."""
    found: dict[str, str] = field(default_factory=dict)
    accepted: dict[str, tuple[str, ...]] = field(default_factory=dict)
    defrosts_true: int = 0
    defrosts_found: int = 0
    edges_samples: list[tuple[str, float]] = field(default_factory=list)
    """Edge name and error [samples]; NaN where the defrost itself was not found."""
    edges_s: list[float] = field(default_factory=list)
    peaks_k: list[tuple[str, float]] = field(default_factory=list)
    """Channel, and found minus true peak saturation [K]."""
    wrong_end: list[str] = field(default_factory=list)


GAUGE_KITS = (
    ("suction_pressure", "liquid_pressure", "sensor_voltage"),
    ("suction_pressure", "discharge_pressure", "sensor_voltage", "fan_current", "backup_current"),
    ("suction_pressure", "liquid_pressure", "sensor_voltage", "return_air_temp", "supply_air_temp"),
)
"""Vans with two gauges and no probe on coil, vapor line or outdoor air."""


def gauges_alone() -> list[str]:
    """Give nearly every van a kit of `GAUGE_KITS`; return the situations that do not bring their own."""
    sys.modules["made.make"].KITS = GAUGE_KITS * 7  # type: ignore[attr-defined]
    return [name for name, row in SITUATIONS.items() if row.kit == "any"]


def pick(visits: int, seed: int, only: Sequence[str] = ()) -> list[tuple[str, int]]:
    """The situations in turn, each with seeds of its own."""
    names = [name for name in SITUATIONS if not only or any(part in name for part in only)]
    return [(names[k % len(names)], seed * 1_000_003 + k // len(names)) for k in range(visits)]


def _compare(row: Row, visit: MadeVisit, found: Iterable[object]) -> None:
    left = list(found)
    for true in visit.truth.defrosts:
        best = max(left, key=lambda d: _overlap(true, d), default=None)
        if best is None or _overlap(true, best) <= 0.0:
            row.edges_samples += [(name, float("nan")) for name, seen in _edges(true) if seen]
            continue
        left.remove(best)
        step = visit.recorder.sampling_s
        for name, seen in _edges(true):
            if seen:
                error = float(getattr(best, name)) - float(getattr(true, name))
                row.edges_s.append(error)
                row.edges_samples.append((name, error / step))
        peak = getattr(best, "peak_saturation_c", None)
        if peak is not None and true.end_seen and true.start_seen and not visit.recorder.wrong_units:
            options = (peak - true.peak_dew_c, peak - true.peak_turned_dew_c)
            row.peaks_k.append((str(getattr(best, "peak_channel", "")), float(min(options, key=abs))))
        ended = str(getattr(best, "ended_by", ""))
        if true.end_seen and ended != true.ended_by:
            row.wrong_end.append(f"{true.ended_by} as {ended}")


def _edges(true: TrueDefrost) -> tuple[tuple[str, bool], ...]:
    return (("start_s", true.start_seen), ("end_s", true.end_seen))


def _overlap(true: TrueDefrost, found: object) -> float:
    return min(true.end_s, float(found.end_s)) - max(true.start_s, float(found.start_s))  # type: ignore[attr-defined]


def _through_its_file(visit: MadeVisit, unit: Unit) -> Trace:
    """The trace as the reader takes it from the visit's own file."""
    from firstfrost.trace.reader import read_trace

    with tempfile.TemporaryDirectory() as folder:
        path = write(visit, Path(folder))
        reading = read_trace([path], atmosphere_pa=unit.site.atmosphere_pa, refrigerant=unit.refrigerant)
    return reading.trace


def run_one(job: tuple[str, int], defrosts_only: bool = False) -> Row:
    """Make one visit, judge it, and compare; with `defrosts_only` the phase finder alone runs."""
    from firstfrost.equipment.read import unit_from

    visit = make(*job)
    row = Row(
        situation=job[0],
        seed=job[1],
        sampling_s=visit.recorder.sampling_s,
        typed=bool(visit.recorder.typed_s),
        quick=any(name in visit.trace for name in ("suction_pressure", "fan_current", "valve_voltage")),
        accepted=visit.truth.standings,
        defrosts_true=len(visit.truth.defrosts),
    )
    try:
        unit = unit_from(tomllib.loads(visit.unit_toml), source="the made unit")
        trace = visit.trace
        if visit.recorder.wrong_units:
            try:
                trace = _through_its_file(visit, unit)
            except DataError as err:
                row.refused = str(err)
                return row
        if defrosts_only:
            from firstfrost.cycle.derive import derive
            from firstfrost.phases.find import find_phases

            cycle = derive(trace, unit.refrigerant)
            defrosts = find_phases(trace=trace, cycle=cycle, unit=unit, marks=visit.marks).defrosts
        else:
            from firstfrost.visit.check import check_trace

            result = check_trace(trace=trace, unit=unit, marks=visit.marks)
            row.found = {function: result.standing(function) for function in FUNCTIONS}
            defrosts = result.defrosts
    except Exception as err:  # a lost visit is a row of the table, not the end of the run
        row.error = f"{type(err).__name__}: {err}"
        return row
    row.defrosts_found = len(defrosts)
    _compare(row, visit, defrosts)
    return row


def table(rows: list[Row]) -> list[str]:
    """The report's lines."""
    good = [row for row in rows if not row.error and not row.refused]
    lost, refused = [row for row in rows if row.error], [row for row in rows if row.refused]
    pairs = [
        (function, row.accepted[function], found, row)
        for row in good
        for function, found in row.found.items()
    ]
    units = f"{len(refused)} rightly refused for their units"
    lines = [f"{len(rows)} visits, {len(lost)} of them lost to an error, {units}, {len(pairs)} standings", ""]
    lines += [f"  lost: {row.situation} seed {row.seed}: {row.error[:200]}" for row in lost]
    matrix = Counter((accepted[0], found) for _, accepted, found, _ in pairs)
    lines.append("truth \\ found  " + "".join(f"{name:>10}" for name in STANDINGS))
    for name in STANDINGS:
        lines.append(f"{name:<15}" + "".join(f"{matrix[name, found]:>10}" for found in STANDINGS))
    total = max(1, len(pairs))
    right = sum(found in accepted for _, accepted, found, _ in pairs)
    exact = sum(found == accepted[0] for _, accepted, found, _ in pairs)
    lines += ["", f"right {100.0 * right / total:.3f} %, exact {100.0 * exact / total:.3f} %"]
    lines += ["", "function          right %  exact %   wrong: truth > found (times)"]
    for function in FUNCTIONS:
        mine = [(accepted, found) for name, accepted, found, _ in pairs if name == function]
        n = max(1, len(mine))
        ok = sum(found in accepted for accepted, found in mine)
        same = sum(found == accepted[0] for accepted, found in mine)
        wrong = Counter(f"{accepted[0]} > {found}" for accepted, found in mine if found not in accepted)
        what = ", ".join(f"{pair} ({count})" for pair, count in wrong.most_common(4))
        lines.append(f"{function:<17} {100.0 * ok / n:7.2f}  {100.0 * same / n:7.2f}   {what}")
    for standing in ("shown", "failed"):
        false = [
            f"  {row.situation} seed {row.seed}: {function} is {'/'.join(accepted)}"
            for function, accepted, found, row in pairs
            if found == standing and standing not in accepted
        ]
        lines += ["", f"false {standing}: {len(false)}", *false[:40]]
    lines += ["", *_defrost_lines(good), "", *_situation_lines(rows)]
    return lines


def _defrost_lines(rows: list[Row]) -> list[str]:
    counts = Counter(row.defrosts_found - row.defrosts_true for row in rows)
    lines = [
        "defrosts found minus true (visits): " + ", ".join(f"{k:+d}: {v}" for k, v in sorted(counts.items()))
    ]
    logged = [row for row in rows if not row.typed]
    for quick, word in ((True, "pressures or board outputs read"), (False, "temperatures or power alone")):
        for name in ("start_s", "end_s"):
            mine = [row for row in logged if row.quick is quick]
            errors = np.abs([e for row in mine for edge, e in row.edges_samples if edge == name])
            known = errors[np.isfinite(errors)]
            if len(known):
                share = 100.0 * float(np.mean(np.nan_to_num(errors, nan=np.inf) <= 2.0))
                lines.append(
                    f"{name[:-2]} edges, {word}: {len(errors)}, within two samples {share:.2f} %, "
                    f"p99 {np.percentile(known, 99.0):.1f}, max {known.max():.1f} samples"
                )
    for slow, word in ((False, "sampled at 2 s or faster"), (True, "sampled slower")):
        peaks = np.abs([k for row in logged for _, k in row.peaks_k if (row.sampling_s > 2.0) is slow])
        if len(peaks):
            lines.append(
                f"peak saturation error, {word}: {len(peaks)}, within 0.278 K "
                f"{100.0 * float(np.mean(peaks <= 0.278)):.2f} %, p99 {np.percentile(peaks, 99.0):.3f} K, "
                f"max {peaks.max():.3f} K"
            )
    wrong = Counter(why for row in rows for why in row.wrong_end)
    lines.append(
        "ended by, wrong: " + (", ".join(f"{why} ({n})" for why, n in wrong.most_common()) or "none")
    )
    return lines


def _situation_lines(rows: list[Row]) -> list[str]:
    lines = ["situation                            visits  right %  wrong"]
    for name in SITUATIONS:
        mine = [row for row in rows if row.situation == name]
        if not mine:
            continue
        wrong = Counter[str]()
        held = 0
        examples: dict[str, int] = {}
        for row in mine:
            if row.error:
                wrong[row.error[:60]] += 1
                examples.setdefault(row.error[:60], row.seed)
            for function, found in row.found.items():
                if found in row.accepted[function]:
                    held += 1
                else:
                    text = f"{function} {'/'.join(row.accepted[function])} > {found}"
                    wrong[text] += 1
                    examples.setdefault(text, row.seed)
            off = [f"{edge} off" for edge, e in row.edges_samples if not abs(e) <= 2.0 and not row.typed]
            if row.defrosts_found != row.defrosts_true and not row.error and not row.refused:
                off.append(f"defrosts {row.defrosts_true} > {row.defrosts_found}")
            for text in off:
                wrong[text] += 1
                examples.setdefault(text, row.seed)
        judged = sum(bool(row.found) or bool(row.error) for row in mine)
        share = f"{100.0 * held / (judged * len(FUNCTIONS)):7.2f}" if judged else "refused"
        lines.append(f"{name:<36} {len(mine):>6}  {share}")
        lines += [f"    {n} x {text} (seed {examples[text]})" for text, n in wrong.most_common(8)]
    return lines


def run(
    visits: int, seed: int, only: Sequence[str] = (), processes: int = 2, defrosts_only: bool = False
) -> list[Row]:
    """Judge `visits` made visits; the order and so the table do not hang on the processes."""
    jobs = pick(visits, seed, only)
    if processes <= 1:
        return [run_one(job, defrosts_only) for job in jobs]
    with ProcessPoolExecutor(max_workers=processes) as pool:
        return list(
            pool.map(
                run_one,
                jobs,
                [defrosts_only] * len(jobs),
                chunksize=max(1, min(25, len(jobs) // (4 * processes))),
            )
        )


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table. 0 if no false `shown` was found and 99 % were right, else 1."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--visits", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument(
        "--only", action="append", default=[], help="part of a situation's name; may be repeated"
    )
    parser.add_argument("--gauges", action="store_true", help="no probes but gauges, volts and currents")
    parser.add_argument("--defrosts-only", action="store_true", help="run the phase finder alone")
    options = parser.parse_args(arguments)
    begin = time.monotonic()
    only = gauges_alone() if options.gauges else options.only
    rows = run(options.visits, options.seed, only, options.processes, options.defrosts_only)
    print("\n".join(table(rows)))
    print(f"{time.monotonic() - begin:.0f} s", file=sys.stderr)
    pairs = [(row.accepted[f], found) for row in rows for f, found in row.found.items()]
    false_shown = any(found == "shown" and found not in accepted for accepted, found in pairs)
    right = sum(found in accepted for accepted, found in pairs)
    lost = any(row.error for row in rows)
    return int(false_shown or lost or right < 0.99 * len(pairs))


if __name__ == "__main__":
    sys.exit(main())
