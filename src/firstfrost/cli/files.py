"""What the commands that judge a visit have in common: their options, the unit, and where results go."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstfrost.errors import InputError

if TYPE_CHECKING:
    from firstfrost.equipment.unit import Unit
    from firstfrost.visit.result import Result


def add_options(command: argparse.ArgumentParser) -> None:
    """Add the options of a visit to a command."""
    command.add_argument("--unit", required=True, metavar="UNIT.toml", help="what is known of the machine")
    command.add_argument("--marks", metavar="MARKS.csv", help="what a person did, and when: time,act,note")
    command.add_argument("--columns", metavar="MAP.toml", help="which header is which channel")
    command.add_argument("--zone", metavar="NAME", help="the site's time zone, such as America/Denver")
    add_outputs(command)


def add_outputs(command: argparse.ArgumentParser) -> None:
    """Add the options that say where a result goes, and in which units."""
    command.add_argument("--json", metavar="OUT.json", help="write the result as JSON; - for standard output")
    command.add_argument(
        "--report",
        action="append",
        default=[],
        metavar="OUT.pdf|html",
        help="write the report; can be repeated",
    )
    command.add_argument(
        "--units", choices=("us", "si"), default="us", help="units of what is printed (default: us)"
    )


def guard_outputs(args: argparse.Namespace, inputs: list[str]) -> None:
    """Refuse, before any work, a result that would overwrite what it is made from.

    Raises
    ------
    InputError
        If an output is an input as well, or has no folder, or a report has an unknown ending.
    """
    sources = {Path(name).resolve() for name in (*inputs, args.unit, args.marks, args.columns) if name}
    outputs = [*([args.json] if args.json not in (None, "-") else []), *args.report]
    for name in outputs:
        path = Path(name)
        if path.resolve() in sources:
            raise InputError(
                f"{name} is both read and to be written. Expected an output of its own. Give it another name."
            )
        if not path.resolve().parent.is_dir():
            raise InputError(
                f"{name} cannot be written: there is no folder {path.parent}. "
                "Expected a folder that exists. Make it, or choose another."
            )
    for name in args.report:
        if Path(name).suffix.lower() not in (".html", ".pdf"):
            raise InputError(
                f"The report {name!r} has an ending that is not known. "
                "Expected a name that ends in .html or .pdf. Give it one of these endings."
            )


def load_unit(path: str, zone: str | None) -> Unit:
    """Read the unit; `zone` goes before the file's.

    Raises
    ------
    InputError, DataError
        If the file or the zone cannot be used.
    """
    from firstfrost.equipment.read import read_unit

    unit = read_unit(path)
    if zone is None:
        return unit
    from firstfrost.trace.times import zone_of

    zone_of(zone, where="--zone")
    return replace(
        unit,
        site=replace(unit.site, zone=zone),
        defaults=tuple(default for default in unit.defaults if default.setting != "site.zone"),
    )


def write_json(content: Any, target: str) -> None:
    """Write `content` to a file, or to standard output for `-`.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    if target == "-":
        print(json.dumps(content, indent=2, allow_nan=False))
        return
    text = json.dumps(content, indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    try:
        Path(target).write_text(text, encoding="utf-8")
    except OSError as err:
        raise InputError(
            f"{target} cannot be written: {err.strerror or err}. "
            "Expected a file that can be written. Choose another place."
        ) from err


def ascii_only() -> bool:
    """Tell whether standard output cannot take more than ASCII."""
    try:
        "●◐⊘○✖°±–·→".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return True
    return False


def hand_over(result: Result, args: argparse.Namespace, costs: tuple[str, ...] = ()) -> int:
    """Write the JSON, print the ledger, write the reports, and give the exit status.

    `costs` are sentences on what the failures cost over a winter.
    """
    if args.json is not None:
        from firstfrost.visit.as_json import as_json

        write_json(as_json(result), args.json)
    if args.json != "-":
        from firstfrost.report.terminal import ledger_text, wants_colour

        print(ledger_text(result, colour=wants_colour(), system=args.units, plain=ascii_only()), flush=True)
        if costs:
            from firstfrost.report.season_text import costs_text

            print("\n" + costs_text(costs, plain=ascii_only()), flush=True)
    if args.report:
        from firstfrost.report.write import write_report

        for name in args.report:
            write_report(result, name, system=args.units, costs=costs)
            print(f"Report: {name}", file=sys.stderr)
    return 1 if result.failed else 0
