"""`firstfrost season`: which setting, what it costs, whether the unit carries the house."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstfrost.cli import files
from firstfrost.errors import InputError

if TYPE_CHECKING:
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
        "--visit", metavar="RESULT.json", help="result of a check: what failed there is costed"
    )
    command.add_argument("--humidity", metavar="RH", help='where the weather has none: "80 %%RH"')
    command.add_argument(
        "--closes-at", metavar="TEMP", help="the coil sensor's close temperature as measured"
    )
    command.add_argument("--opens-at", metavar="TEMP", help="the coil sensor's open temperature as measured")
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

    closes = None if args.closes_at is None else parse(args.closes_at, "temperature", where="--closes-at")
    opens = None if args.opens_at is None else parse(args.opens_at, "temperature", where="--opens-at")
    humid = None if args.humidity is None else parse(args.humidity, "humidity", where="--humidity")
    unit = files.load_unit(args.unit, None)
    failed, measured = _visit(args.visit)
    closes = measured.get("sensor_closes") if closes is None else closes
    opens = measured.get("sensor_opens") if opens is None else opens
    from firstfrost.season.money import read_prices
    from firstfrost.season.risk import COIL_SPLIT_K
    from firstfrost.season.season import season

    split = COIL_SPLIT_K
    if args.split is not None:
        split = parse(args.split, "temperature_difference", where="--split")
    air = _air(args.weather, unit.site.altitude_m, humid)
    prices = None if args.prices is None else read_prices(args.prices)
    _say_if_slow(args.quick)
    made = season(unit, air, prices=prices, split_k=split, closes_c=closes, opens_c=opens, quick=args.quick)
    return _hand_over(made, args, failed)


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

    failed = tuple(item.function for item in result.findings if item.standing == "failed")
    air = _air(args.weather, result.unit.site.altitude_m, None)
    prices = None if args.prices is None else read_prices(args.prices)
    if not failed:
        return ()
    _say_if_slow(quick=True)
    return fault_lines(season(result.unit, air, prices=prices, quick=True), failed)


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


def _visit(path: str | None) -> tuple[tuple[str, ...], dict[str, float]]:
    """Functions that failed in a check's result, and the sensor's temperatures that it measured [degC]."""
    if path is None:
        return (), {}
    try:
        data = json.loads(Path(path).read_text(encoding="utf-8"))
        functions = data["functions"]
        failed = tuple(name for name, found in functions.items() if found["standing"] == "failed")
        measured = {}
        for name in ("sensor_closes", "sensor_opens"):
            for item in functions[name]["evidence"]:
                value = item.get("measured")
                known = value is not None and value["unit"] == "degC" and value["value"] is not None
                if known and item["standing"] in ("shown", "failed"):
                    measured[name] = float(value["value"])
    except OSError as err:
        raise InputError(f"The result {path} cannot be read: {err.strerror or err}. Check its name.") from err
    except (ValueError, KeyError, TypeError, AttributeError) as err:
        raise InputError(
            f"{path} is not the result of a check. Expected the JSON that firstfrost check --json writes."
        ) from err
    return failed, measured


def _say_if_slow(quick: bool) -> None:
    from importlib.util import find_spec

    if find_spec("numba") is None:
        wait = "a minute" if quick else "some minutes; --quick makes it one"
        print(f"Without Numba (firstfrost[fast]) this takes {wait}.", file=sys.stderr)
