"""The `firstfrost` command.

Start-up time counts in the yard, so a command imports what it needs when it runs.
"""

from __future__ import annotations

import argparse
import os
import sys
from contextlib import suppress

from firstfrost import __version__
from firstfrost.cli import (
    bench_command,
    check_command,
    demo_command,
    plan_command,
    rules_command,
    season_command,
    serve_command,
    store_command,
    watch_command,
)
from firstfrost.errors import FirstfrostError

HOLDS, FAILED, UNUSABLE = 0, 1, 2
"""Exit status: all that was judged holds; something failed; the input could not be used."""
INTERRUPTED = 130


def parser() -> argparse.ArgumentParser:
    """The parser of all commands."""
    top = argparse.ArgumentParser(
        prog="firstfrost",
        description="From a heat pump visit's readings to what they show of its defrost.",
        epilog="Exit status: 0 all that was judged holds, 1 something failed, 2 the input could not be used.",
    )
    top.add_argument("--version", action="version", version=f"firstfrost {__version__}")
    commands = top.add_subparsers(title="commands", dest="command", required=True, metavar="COMMAND")
    for command in (
        plan_command,
        check_command,
        watch_command,
        demo_command,
        season_command,
        bench_command,
        rules_command,
        serve_command,
        store_command,
    ):
        command.add(commands)
    return top


def run(argv: list[str] | None = None) -> int:
    """Run one command and return its exit status.

    Parameters
    ----------
    argv : list of str, optional
        Without the program's name; `sys.argv[1:]` by default.
    """
    try:
        args = parser().parse_args(argv)
    except SystemExit as stop:  # argparse has printed its help, or what is wrong
        return stop.code if isinstance(stop.code, int) else 0
    with suppress(AttributeError):  # a stream that is not a file's
        sys.stdout.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        status: int = args.run(args)
        sys.stdout.flush()
    except FirstfrostError as error:
        print(f"firstfrost: {error}", file=sys.stderr)
        return UNUSABLE
    except BrokenPipeError:
        # Whoever read our output has gone, as `head` does; nothing is left to say to them.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return UNUSABLE
    except KeyboardInterrupt:
        return INTERRUPTED
    return status
