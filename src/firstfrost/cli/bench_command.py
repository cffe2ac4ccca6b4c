"""`firstfrost bench`: run the practice bench's scenarios."""

from __future__ import annotations

import argparse
import textwrap
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from firstfrost.bench.scenario.write import Done

WIDTH: Final = 80


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "bench",
        help="run a heat pump with frost in it, on the desk",
        description="A heat pump that frosts, defrosts and breaks, and tells the truth afterwards.",
    )
    parts = command.add_subparsers(title="parts", dest="part", required=True, metavar="PART")
    listing = parts.add_parser(
        "list", help="name the shipped scenarios", description="Name the shipped scenarios."
    )
    listing.add_argument("--long", action="store_true", help="with each lesson, and what to look for")
    listing.set_defaults(run=run_list)
    runs = parts.add_parser(
        "run",
        help="run a scenario: trace, marks, unit file and truth",
        description="Run a scenario and write trace.csv, marks.csv, unit.toml and truth.json.",
    )
    runs.add_argument("scenario", metavar="SCENARIO", help="a shipped name, or a TOML file of your own")
    runs.add_argument("-o", "--output", required=True, metavar="DIR", help="where to write the files")
    runs.set_defaults(run=run_run)
    plot = parts.add_parser(
        "plot",
        help="draw a run with what no probe shows",
        description="Draw a run with its hidden states: frost, coil metal, charge, the valve's place.",
    )
    plot.add_argument("scenario", metavar="SCENARIO", help="a shipped name, or a TOML file of your own")
    plot.add_argument("-o", "--output", required=True, metavar="PLOT.svg|png", help="the file to draw into")
    plot.add_argument("--units", choices=("us", "si"), default="us", help="units (default: us)")
    plot.add_argument("--from", dest="begin", metavar="TIME", help='draw from here on, such as "20 min"')
    plot.add_argument("--until", metavar="TIME", help='draw up to here, such as "35 min"')
    plot.set_defaults(run=run_plot)


def run_list(args: argparse.Namespace) -> int:
    """Print the shipped scenarios.

    Raises
    ------
    FirstfrostError
        If one cannot be read.
    """
    from firstfrost.bench.scenario.read import read_scenario, shipped

    names = shipped()
    wide = max(map(len, names))
    for name in names:
        scenario = read_scenario(name)
        print(f"{name:<{wide}}  {scenario.title}")
        if args.long:
            print(textwrap.fill(scenario.lesson, WIDTH, initial_indent="    ", subsequent_indent="    "))
            for line in scenario.look_for:
                print(textwrap.fill(line, WIDTH, initial_indent="    - ", subsequent_indent="      "))
            print()
    return 0


def run_run(args: argparse.Namespace) -> int:
    """Run a scenario and write its files.

    Raises
    ------
    FirstfrostError
        If it cannot be read, run or written.
    """
    from firstfrost.bench.scenario.write import write_run

    done = _done(args.scenario)
    paths = write_run(done, args.output)
    scenario = done.played.scenario
    print(scenario.title)
    print(textwrap.fill(scenario.lesson, WIDTH))
    for line in scenario.look_for:
        print(textwrap.fill(line, WIDTH, initial_indent="  - ", subsequent_indent="    "))
    print("Written:")
    for path in paths:
        print(f"  {path}")
    named = {path.name: path for path in paths}
    marks = f" --marks {named['marks.csv']}" if "marks.csv" in named else ""
    print("Judge it, and only then look at the truth:")
    print(f"  firstfrost check {named['trace.csv']} --unit {named['unit.toml']}{marks}")
    return 0


def run_plot(args: argparse.Namespace) -> int:
    """Draw a scenario's run.

    Raises
    ------
    FirstfrostError
        If it cannot be read, run or drawn.
    """
    from firstfrost.quantities.convert import parse
    from firstfrost.report.run_plot import write_run_plot

    path = write_run_plot(
        _done(args.scenario),
        args.output,
        system=args.units,
        from_s=0.0 if args.begin is None else parse(args.begin, "time", "--from"),
        until_s=None if args.until is None else parse(args.until, "time", "--until"),
    )
    print(path)
    return 0


def _done(name: str) -> Done:
    from firstfrost.bench.scenario.read import read_scenario
    from firstfrost.bench.scenario.write import run_scenario

    return run_scenario(read_scenario(name))
