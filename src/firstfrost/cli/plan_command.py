"""`firstfrost plan`: how a unit can be tested today, and what to expect."""

from __future__ import annotations

import argparse
import sys

from firstfrost.cli import files

_WAYS = ("natural", "fan-stopped", "coil-covered")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "plan",
        help="how a unit can be tested today, and what to expect",
        description=(
            "Say how a unit's defrost can be tested in today's weather, step by step, what its gauges should "
            "show, and where to stop."
        ),
        epilog="Exit status: 0 a way works or may, 1 none does today, 2 the input could not be used.",
    )
    command.add_argument("--unit", required=True, metavar="UNIT.toml", help="what is known of the machine")
    command.add_argument("--outdoor", required=True, metavar="TEMP", help='outdoor air: "68 degF"')
    command.add_argument(
        "--humidity", metavar="RH", help='outdoor relative humidity: "60 %%RH" (default: 70)'
    )
    command.add_argument(
        "--indoor", default="70 degF", metavar="TEMP", help='indoor air (default: "70 degF")'
    )
    command.add_argument(
        "--way",
        action="append",
        default=[],
        choices=(*_WAYS, "all"),
        help="give this way in full; the first that works by default; can be repeated",
    )
    command.add_argument("--json", metavar="OUT.json", help="write the plan as JSON; - for standard output")
    command.add_argument(
        "--units", choices=("us", "si"), default="us", help="units of what is printed (default: us)"
    )
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Plan a test.

    Raises
    ------
    FirstfrostError
        If the unit, or the weather, cannot be used.
    """
    args.marks = args.columns = None
    args.report = []
    files.guard_outputs(args, [])
    from firstfrost.quantities.convert import parse

    outdoor_c = parse(args.outdoor, "temperature", where="--outdoor")
    indoor_c = parse(args.indoor, "temperature", where="--indoor")
    humidity = None if args.humidity is None else parse(args.humidity, "humidity", where="--humidity")
    unit = files.load_unit(args.unit, None)
    from firstfrost.bench.plan.plan import make_plan

    _say_if_slow()
    plan = make_plan(unit, outdoor_c=outdoor_c, humidity=humidity, indoor_c=indoor_c)
    if args.json is not None:
        from firstfrost.bench.plan.as_json import as_json

        files.write_json(as_json(plan), args.json)
    if args.json != "-":
        from firstfrost.report.plan import plan_text
        from firstfrost.report.terminal import wants_colour

        ways = _WAYS if "all" in args.way else tuple(args.way)
        print(
            plan_text(plan, ways, colour=wants_colour(), system=args.units, plain=files.ascii_only()),
            flush=True,
        )
    return 0 if plan.best else 1


def _say_if_slow() -> None:
    from importlib.util import find_spec

    if find_spec("numba") is None:
        print(
            "Without Numba this takes a minute or two; with it (firstfrost[fast]) seconds, and more runs.",
            file=sys.stderr,
        )
