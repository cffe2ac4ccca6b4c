"""`firstfrost demo`: the main job on the data of an invented visit."""

from __future__ import annotations

import argparse
import shutil
import time
from pathlib import Path
from typing import Final

from firstfrost.cli import check_command, files
from firstfrost.errors import InputError

DATA: Final = Path(__file__).parent.parent / "demo"
NAMES: Final = ("trace.csv", "marks.csv", "unit.toml")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "demo",
        help="run the main job on the data of an invented visit",
        description="Put the readings of an invented visit into a folder, judge them, and write the report.",
    )
    command.add_argument(
        "--folder", default="firstfrost-demo", metavar="DIR", help="where to (default: firstfrost-demo)"
    )
    command.add_argument("--units", choices=("us", "si"), default="us", help="units (default: us)")
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Run the demo.

    Raises
    ------
    InputError
        If the folder cannot be written to.
    """
    folder = Path(args.folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in NAMES:
            shutil.copyfile(DATA / name, folder / name)
    except OSError as err:
        raise InputError(
            f"The demo cannot be written to {folder}: {err.strerror or err}. "
            "Expected a folder that can be written to. Give another with --folder."
        ) from err
    trace, marks, unit = (str(folder / name) for name in NAMES)
    check = argparse.Namespace(
        trace=[trace], unit=unit, marks=marks, columns=None, zone=None,
        json=str(folder / "result.json"), report=[], units=args.units, reading=[], causes=False,
    )  # fmt: skip
    began = time.perf_counter()
    result = check_command.judge(check)
    spent = time.perf_counter() - began
    status = files.hand_over(result, check)
    print(f"\nJudged {len(result.trace)} samples in {spent:.2f} s. Writing the report ...", flush=True)
    from firstfrost.report.write import write_report

    reports = [folder / "report.html", folder / "report.pdf"]
    for report in reports:
        write_report(result, report, system=args.units)
    print("The report lies here, as a page to open and as paper to print:")
    for report in reports:
        print(f"  {report.resolve()}")
    print("The same again, or on your own files in their place:")
    print(f"  firstfrost check {trace} --unit {unit} --marks {marks} --report report.pdf")
    print("As if it were happening now:")
    print(f"  firstfrost watch - --unit {unit} --marks {marks} < {trace}")
    return status
