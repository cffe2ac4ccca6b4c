"""Every fault in every shipped scenario: how often `check` is right on the bench's own runs.

    cd tests
    PYTHONPATH=../src python -m bench.sweep [SCENARIO ...] [--json ROWS.json]

A scenario's own faults give way to the one put in; fault "none" is the scenario as it is shipped. A run that
the bench refuses (a vessel empty) is counted apart. About a second a run.
"""

import argparse
import json
import sys
from collections import Counter
from pathlib import Path

from bench.course import compared, edges, faulty_run, shipped_run
from firstfrost.bench.faults import FAULTS
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.read import shipped
from firstfrost.errors import OutOfRange

EDGES = ("start", "end", "missed", "made up")
ORDER = ("shown", "prompted", "doubtful", "bypassed", "unseen", "failed")


NEAR_S = 2.0
"""An edge further off than this, and than two samples, is named."""


def rows(names):
    """Scenario, fault, function, true standing, all that the truth accepts, found standing.

    Edges, too: "start", "end", "missed" or "made up" for the function, with the true time and how far off.
    """
    faults = {**FAULTS, **INSTRUMENT_FAULTS}
    for name in names:
        for fault in ("none", *faults):
            try:
                done = shipped_run(name) if fault == "none" else faulty_run(name, fault, faults[fault].usual)
            except OutOfRange:
                yield name, fault, "refused", "", (), ""
                continue
            for function, true, accepted, found in compared(done):
                yield name, fault, function, true, tuple(sorted(accepted)), found
            for edge, time_s, off_s in edges(done):
                yield name, fault, edge, "", (), (time_s, off_s, done.record.trace.sampling_s)
        shipped_run.cache_clear()
        faulty_run.cache_clear()


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("names", nargs="*", metavar="SCENARIO")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    told = list(rows(asked.names or shipped()))
    if asked.json:
        asked.json.write_text(json.dumps(told), encoding="utf-8")
    show(told)


def show(told):
    """The table, and each standing that is wrong."""
    refused = [row for row in told if row[2] == "refused"]
    edged = [row for row in told if row[2] in EDGES]
    judged = [row for row in told if row[2] not in ("refused", *EDGES)]
    wrong = [row for row in judged if row[5] not in row[4]]
    table = Counter((row[3], row[5]) for row in judged)
    width = max(map(len, ORDER))
    sys.stdout.write(f"truth \\ found {' '.join(f'{one:>{width}}' for one in ORDER)}\n")
    for true in ORDER:
        cells = " ".join(f"{table[true, found]:>{width}}" for found in ORDER)
        sys.stdout.write(f"{true:>13} {cells}\n")
    runs = len(judged) // 13
    sys.stdout.write(
        f"{runs} runs, {len(refused)} refused; {len(judged)} standings, "
        f"{100 * (1 - len(wrong) / max(len(judged), 1)):.2f} % right, {len(wrong)} wrong: "
        f"{sum(row[5] == 'shown' for row in wrong)} falsely shown, "
        f"{sum(row[5] == 'failed' for row in wrong)} falsely failed\n"
    )
    far = [row for row in edged if row[2] not in EDGES[:2] or abs(row[5][1]) > max(NEAR_S, 2 * row[5][2])]
    for edge in EDGES:
        of_it, off = [[row for row in some if row[2] == edge] for some in (edged, far)]
        sys.stdout.write(f"{edge}: {len(of_it)}, {len(off)} of them off\n")
    for name, fault, edge, _, _, (time_s, off_s, _) in far:
        sys.stdout.write(f"  {name} + {fault}: {edge} at {time_s:.0f} s, {off_s:+.1f} s\n")
    for name, fault, function, _, accepted, found in wrong:
        sys.stdout.write(f"  {name} + {fault}: {function} is {'/'.join(accepted)}, found {found}\n")


if __name__ == "__main__":
    main()
