"""`firstfrost check`: judge the readings of a visit."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from firstfrost.cli import files
from firstfrost.errors import InputError

if TYPE_CHECKING:
    from firstfrost.trace.marks import Marks
    from firstfrost.visit.result import Result


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "check",
        help="judge the readings of a visit",
        description="Judge what the readings of a visit show of the thirteen functions of a defrost.",
        epilog="Exit status: 0 all that was judged holds, 1 something failed, 2 the input could not be used.",
    )
    command.add_argument("trace", nargs="+", metavar="TRACE", help="log of the visit: CSV, Parquet or JSON")
    files.add_options(command)
    command.add_argument(
        "--reading",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help='a reading taken by hand for the causes, such as "airflow = 980 cfm"; can be repeated',
    )
    command.add_argument("--causes", action="store_true", help="rank the causes even if nothing seems wrong")
    command.add_argument(
        "--weather", metavar="FILE", help="hours of a year: what failed is then costed over a winter"
    )
    command.add_argument("--prices", metavar="PRICES.toml", help="what energy costs, beside --weather")
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Judge a visit from its files.

    Raises
    ------
    FirstfrostError
        If they cannot be used.
    """
    if args.weather is None and args.prices is not None:
        raise InputError("--prices does nothing without --weather. Expected both. Give the weather as well.")
    files.guard_outputs(args, [name for name in (args.weather, args.prices) if name is not None])
    result = judge(args)
    costs: tuple[str, ...] = ()
    if args.weather is not None:
        from firstfrost.cli.season_command import costs_of

        costs = costs_of(result, args)
    return files.hand_over(result, args, costs)


def judge(args: argparse.Namespace) -> Result:
    """Read a visit's files and judge it.

    Raises
    ------
    FirstfrostError
        If they cannot be used.
    """
    files.guard_outputs(args, args.trace)
    unit = files.load_unit(args.unit, args.zone)
    from firstfrost.causes.readings import read_readings
    from firstfrost.trace.reader import read_trace

    typed = read_readings(args.reading, unit)
    reading = read_trace(
        args.trace,
        atmosphere_pa=unit.site.atmosphere_pa,
        columns=args.columns,
        zone=unit.site.zone,
        refrigerant=unit.refrigerant,
    )
    marks: Marks | None = None
    notes: tuple[str, ...] = ()
    if args.marks is not None:
        from firstfrost.trace.marks_file import read_marks

        got = read_marks(args.marks, trace=reading.trace, zone=unit.site.zone)
        marks, notes = got.marks, got.notes
    from firstfrost.visit.check import check_trace

    return check_trace(
        reading.trace, unit, marks, reading.receipt, notes=notes, readings=typed, ask_causes=args.causes
    )
