"""`firstfrost season`: which setting, what it costs, whether the unit carries the house."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from firstfrost.cli import files

if TYPE_CHECKING:
    from firstfrost.season.at_visit import AtVisit
    from firstfrost.visit.result import Result
    from firstfrost.weather.hours import Air


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "season",
        help="what a winter asks of a unit: setting, energy, cost, cold days",
        description=(
            "Work out a winter of a unit in the weather of a file: frost and defrosts at each setting of the "
            "board, energy and cost, the balance point, and what each fault would cost."
        ),
        epilog="Exit status: 0 done, 2 the input could not be used.",
    )
    command.add_argument("--unit", required=True, metavar="UNIT.toml", help="what is known of the machine")
    command.add_argument(
        "--weather", required=True, metavar="FILE", help="hours of a year: EPW, TMY3, CSV, or region:IV"
    )
    command.add_argument("--prices", metavar="PRICES.toml", help="what electricity and fuels cost")
    command.add_argument(
        "--visit",
        metavar="RESULT.json",
        help="result of a check: sensor, heat and power as measured there; what failed is costed",
    )
    command.add_argument("--humidity", metavar="RH", help='where the weather has none: "80 %%RH"')
    command.add_argument(
        "--closes-at", metavar="TEMP", help="the coil sensor's close temperature as measured"
    )
    command.add_argument("--opens-at", metavar="TEMP", help="the coil sensor's open temperature as measured")
    command.add_argument("--capacity", metavar="PART", help='heat measured over rated, as "92 %%"')
    command.add_argument(
        "--split", metavar="DIFF", help='outdoor air over clean coil as measured: "8 delta_degF"'
    )
    command.add_argument("--quick", action="store_true", help="leave out how sure the order is")
    files.add_outputs(command)
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Work out a season.

    Raises
    ------
    FirstfrostError
        If the unit, the weather or the prices cannot be used.
    """
    args.marks = args.columns = None
    files.guard_outputs(args, [name for name in (args.weather, args.prices, args.visit) if name])
    from firstfrost.quantities.convert import parse

    humid = None if args.humidity is None else parse(args.humidity, "humidity", where="--humidity")
    unit = files.load_unit(args.unit, None)
    visit = _visit(args)
    from firstfrost.season.money import read_prices
    from firstfrost.season.risk import COIL_SPLIT_K
    from firstfrost.season.season import season

    split = COIL_SPLIT_K
    if args.split is not None:
        split = parse(args.split, "temperature_difference", where="--split")
    air = _air(args.weather, unit.site.altitude_m, humid)
    prices = None if args.prices is None else read_prices(args.prices)
    _say_if_slow(args.quick)
    made = season(unit, air, prices=prices, split_k=split, visit=visit, quick=args.quick)
    return _hand_over(made, args, () if visit is None else visit.failed)


def _air(source: str, altitude_m: float, humidity: float | None) -> Air:
    """Hours of a file, or of a region by its name."""
    if source.lower().startswith("region:"):
        from firstfrost.season.region_year import region_air

        return region_air(source.partition(":")[2], humidity=humidity)
    from firstfrost.weather.hours import air_of
    from firstfrost.weather.read import read_weather

    return air_of(read_weather(source, altitude_m=altitude_m), humidity=humidity)


def costs_of(result: Result, args: argparse.Namespace) -> tuple[str, ...]:
    """What the functions that failed at a visit cost over a winter, in sentences for a householder.

    Raises
    ------
    FirstfrostError
        If the weather or the prices cannot be used.
    """
    from firstfrost.season.money import read_prices
    from firstfrost.season.season import season
    from firstfrost.season.words import fault_lines
    from firstfrost.visit.as_json import as_json
    from firstfrost.visit.for_season import at_visit

    visit = at_visit(as_json(result), "the result")
    air = _air(args.weather, result.unit.site.altitude_m, None)
    prices = None if args.prices is None else read_prices(args.prices)
    if not visit.failed:
        return ()
    _say_if_slow(quick=True)
    return fault_lines(season(result.unit, air, prices=prices, visit=visit, quick=True), visit.failed)


def _hand_over(made: Any, args: argparse.Namespace, failed: tuple[str, ...]) -> int:
    if args.json is not None:
        from firstfrost.season.as_json import as_json

        files.write_json(as_json(made, args.units, failed), args.json)
    if args.json != "-":
        from firstfrost.report.season_text import season_text
        from firstfrost.report.terminal import wants_colour

        print(
            season_text(
                made,
                colour=wants_colour(),
                system=args.units,
                plain=files.ascii_only(),
                failed=failed,
            ),
            flush=True,
        )
    if args.report:
        from firstfrost.report.season_write import write_season_report

        for name in args.report:
            write_season_report(made, name, system=args.units, failed=failed)
            print(f"Report: {name}", file=sys.stderr)
    return 0


def _visit(args: argparse.Namespace) -> AtVisit | None:
    """What the visit's result says, and before it what was typed."""
    from firstfrost.visit.for_season import read_at_visit, typed

    visit = None if args.visit is None else read_at_visit(args.visit)
    return typed(
        visit,
        closes=(args.closes_at, "--closes-at"),
        opens=(args.opens_at, "--opens-at"),
        capacity=(args.capacity, "--capacity"),
    )


def _say_if_slow(quick: bool) -> None:
    from importlib.util import find_spec

    if find_spec("numba") is None:
        wait = "a minute" if quick else "some minutes; --quick makes it one"
        print(f"Without Numba (firstfrost[fast]) this takes {wait}.", file=sys.stderr)
