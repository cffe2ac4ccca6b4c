"""Writing what a run gives: a trace, marks, a unit file and the truth."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from firstfrost.bench.scenario.build import Played, play
from firstfrost.bench.scenario.look import Look
from firstfrost.bench.scenario.record import Record, record
from firstfrost.bench.scenario.scenario import Scenario
from firstfrost.bench.scenario.truth import truth
from firstfrost.errors import InputError
from firstfrost.trace.write import write_csv, write_marks

FILES: Final = ("trace.csv", "marks.csv", "unit.toml", "truth.json")


@dataclass(frozen=True, kw_only=True)
class Done:
    """A scenario run and recorded."""

    played: Played
    record: Record
    look: Look
    truth: Mapping[str, Any]


def run_scenario(scenario: Scenario, *, compiled: bool | None = None) -> Done:
    """Run a scenario, record it, and tell its truth.

    Raises
    ------
    FirstfrostError
        As `simulate`.
    """
    played = play(scenario, compiled=compiled)
    taken = record(played)
    look = Look(played=played, record=taken)
    return Done(played=played, record=taken, look=look, truth=truth(look))


def write_run(done: Done, folder: Path | str) -> tuple[Path, ...]:
    """Write the files of a run into a folder, which is made; the same run gives the same bytes.

    Returns
    -------
    tuple of Path
        What was written; no marks file where nobody wrote down what was done.

    Raises
    ------
    InputError
        If they cannot be written.
    """
    folder = Path(folder)
    scenario, taken = done.played.scenario, done.record
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # Marks of an earlier run into the same folder would tell a wrong tale.
        (folder / "marks.csv").unlink(missing_ok=True)
        write_csv(taken.trace, folder / "trace.csv", atmosphere_pa=scenario.unit.site.atmosphere_pa, digits=3)
        if taken.marks is not None:
            write_marks(taken.marks, folder / "marks.csv", trace=taken.trace)
        (folder / "unit.toml").write_text(unit_toml(scenario), encoding="utf-8")
        text = json.dumps(done.truth, indent=2, ensure_ascii=False, allow_nan=False)
        (folder / "truth.json").write_text(text + "\n", encoding="utf-8")
    except OSError as err:
        raise InputError(
            f"The run cannot be written to {folder}: {err.strerror or err}. "
            "Expected a folder that can be written to. Give another with -o."
        ) from err
    return tuple(folder / name for name in FILES if name != "marks.csv" or taken.marks is not None)


def unit_toml(scenario: Scenario) -> str:
    """The unit file of a scenario: its tables of that kind, as they stand."""
    lines = [
        f"# The unit of the practice bench's scenario {scenario.name}: invented. Every key: docs/unit-file.md"
    ]
    for table, content in scenario.unit_tables.items():
        lines += ["", f"[{table}]"]
        lines += [f"{key} = {_toml(value)}" for key, value in content.items()]
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    if isinstance(value, int | float) and not isinstance(value, bool):
        return json.dumps(value)
    # A basic TOML string escapes as a JSON one does.
    return json.dumps(str(value), ensure_ascii=False)
