"""`firstfrost store`: backup, restore, export and import of what the service keeps."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from firstfrost.cli.serve_command import add_store, need, store_of

if TYPE_CHECKING:
    from collections.abc import Mapping


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "store",
        help="back up, restore, export or import what the service keeps",
        description="What to do with the store as a whole. backup and restore keep all of it, and work from "
        "SQLite to PostgreSQL and back; export and import are open formats, without passwords.",
    )
    acts = command.add_subparsers(dest="act", required=True, metavar="ACT")
    for act, target, text in (
        ("backup", "FILE", "write all of it into one new file; while the service runs, too"),
        ("restore", "FILE", "fill an empty store from a backup; no service may run on it"),
        (
            "export",
            "FILE.zip",
            "write everything in open formats (JSON, CSV, Parquet); while the service runs, too",
        ),
        ("import", "FILE.zip", "take an export in; what is here stays as it is; no service may run on it"),
    ):
        one = acts.add_parser(act, help=text, description=f"{text[0].upper()}{text[1:]}.")
        one.add_argument("file", metavar=target)
        add_store(one)
        one.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do it, and tell how much there was.

    Raises
    ------
    FirstfrostError
        If it cannot be done.
    """
    need()
    from firstfrost.store.store import COMMAND, Store

    path = Path(args.file)
    # What only reads can be done while the service runs.
    with Store(store_of(args), write=args.act in ("restore", "import")) as store:
        if args.act == "backup":
            from firstfrost.store.backup import backup

            told = backup(store, path)
        elif args.act == "restore":
            from firstfrost.store.backup import restore

            told = restore(path, store)
        elif args.act == "export":
            told = _export(store, path)
        else:
            from firstfrost.store.importing import import_

            out = store.write(lambda c: import_(c, path, store.by(COMMAND)))
            for one in out["differing"]:
                print(f"Here otherwise, and left as it is: {one['kind']} {one['id']}")
            told = out["taken"]
    print(_words(told) or "nothing")
    return 0


def _export(store: object, path: Path) -> dict[str, int]:
    from firstfrost.errors import InputError
    from firstfrost.store.export import export
    from firstfrost.store.store import Store

    assert isinstance(store, Store)
    if path.exists():
        raise InputError(f"{path} is there already. Expected a new file. Give another name.")
    try:
        return store.read(lambda c: export(c, path))
    except OSError as err:
        raise InputError(
            f"The export cannot be written to {path}: {err.strerror or err}. Expected a disk with room. "
            "Choose another place."
        ) from err


def _words(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {name}" for name, count in counts.items() if count)
