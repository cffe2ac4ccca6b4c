"""`firstfrost serve`: the pages and the store, on a laptop alone or for a shop."""

from __future__ import annotations

import argparse
import logging
import os
from pathlib import Path
from typing import Final

from firstfrost.errors import InputError

STORE_ENV: Final = "FIRSTFROST_STORE"
"""The store's URL may hold a password, which has no place on a command line."""


def default_store() -> str:
    """Where the store lies if nothing else is said."""
    base = os.environ.get("XDG_DATA_HOME") or os.environ.get("LOCALAPPDATA")
    folder = Path(base) if base else Path.home() / ".local" / "share"
    return str(folder / "firstfrost" / "store.db")


def store_of(args: argparse.Namespace) -> str:
    """The store that is meant; the folder of the default one is made."""
    given: str | None = args.store or os.environ.get(STORE_ENV)
    if given:
        return given
    path = default_store()
    try:
        Path(path).parent.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise InputError(
            f"The folder of {path} cannot be made: {err.strerror or err}. Expected a place for the store. "
            "Give one with --store."
        ) from err
    return path


def add_store(command: argparse.ArgumentParser) -> None:
    """Add the option that names the store."""
    command.add_argument(
        "--store",
        metavar="FILE|URL",
        help=f"a file (SQLite), or postgresql://user@host/name (default: ${STORE_ENV}, else a file "
        "in the user's data folder)",
    )


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "serve",
        help="open the pages: visits at the unit, and what the shop keeps of them",
        description="Serve the pages and the store: for this machine alone, or with --shop for a shop with "
        "accounts, behind a proxy that speaks HTTPS (docs/shop.md).",
    )
    add_store(command)
    command.add_argument("--shop", action="store_true", help="with accounts; needs --public-url")
    command.add_argument("--public-url", metavar="URL", help="what people type: https://visits.example")
    command.add_argument("--host", default="127.0.0.1", help="address to listen on (default: 127.0.0.1)")
    command.add_argument("--port", type=int, default=8137, help="port (default: 8137; 0 takes a free one)")
    command.add_argument(
        "--proxy",
        action="append",
        default=[],
        metavar="ADDRESS",
        help="a proxy whose word on the caller's address is taken (default: this machine)",
    )
    command.add_argument("--mqtt", metavar="URL", help="also take readings from a broker: mqtt://host")
    command.add_argument("--pages", metavar="DIR", help="pages to serve in place of those built in")
    command.add_argument(
        "--limit",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="set a limit; --limits lists them; can be repeated",
    )
    command.add_argument("--limits", action="store_true", help="list the limits and end")
    command.add_argument("--demo", action="store_true", help="put the demo's visit into the store first")
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve until interrupted.

    Raises
    ------
    FirstfrostError
        If it cannot run like this.
    """
    need()
    from firstfrost.web.settings import LIMITS, PAGES, Settings, parse_limits

    if args.limits:
        for row in LIMITS:
            print(f"{row.name:<12}{row.default:>14,} {row.unit:<18} {row.help}")
        return 0
    settings = Settings(
        mode="shop" if args.shop else "alone",
        host=args.host,
        port=args.port,
        public_url=args.public_url,
        proxies=tuple(args.proxy) or ("127.0.0.1", "::1"),
        pages=Path(args.pages) if args.pages else PAGES,
        mqtt=args.mqtt,
        limits=parse_limits(args.limit),
    )
    logging.basicConfig(level=logging.WARNING, format="%(asctime)s %(levelname)s %(name)s: %(message)s")
    from firstfrost.web.serve import serve

    where = store_of(args)
    if args.demo:
        from firstfrost.web.demo import put_demo

        put_demo(where)
    serve(where, settings, say=lambda line: print(line, flush=True))
    return 0


def need() -> None:
    """Refuse, with the way out, where the packages of the service are not installed."""
    from importlib.util import find_spec

    lacking = [
        name
        for name in ("fastapi", "uvicorn", "sqlalchemy", "alembic", "msgspec", "argon2")
        if not find_spec(name)
    ]
    if lacking:
        raise InputError(
            f"The service needs {', '.join(lacking)}, which this installation lacks. Expected the extra "
            "serve. Install it: pip install 'firstfrost[serve]'."
        )
