"""`firstfrost rules`: how each standing is reached, from the rows that judge."""

from __future__ import annotations

import argparse
import textwrap
from typing import Final

WIDTH: Final = 80


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "rules",
        help="how each standing is reached",
        description="Print, for each function, when it counts, what is measured, the limit and its source.",
    )
    command.add_argument("function", nargs="*", metavar="FUNCTION", help="only these, such as sensor_opens")
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the rules.

    Raises
    ------
    InputError
        If a function is not known.
    """
    from firstfrost.errors import InputError
    from firstfrost.proofs.finding import BEST_FIRST, FUNCTIONS
    from firstfrost.proofs.rows import RULES
    from firstfrost.report.words import MEANINGS, SIGNS

    unknown = [name for name in args.function if name not in FUNCTIONS]
    if unknown:
        raise InputError(
            f"{unknown[0]!r} is not a function. Expected one of: {', '.join(FUNCTIONS)}. "
            "Leave it out to see all."
        )
    lines: list[str] = []
    if not args.function:
        lines += ["A standing, from best to least; failed stands apart:", ""]
        lines += [
            line
            for standing in (*BEST_FIRST, "failed")
            for line in _item(f"{SIGNS[standing]} {standing}", MEANINGS[standing])
        ]
        lines.append("")
    for rule in RULES:
        if args.function and rule.function not in args.function:
            continue
        lines += [f"{rule.title} ({rule.function})"]
        needs = "; or ".join(" and ".join(names) for names in rule.needs)
        for label, text in (
            ("needs", needs),
            ("when", rule.situation),
            ("measure", rule.measure),
            ("limit", rule.limit),
            ("source", rule.source),
            *((f"{SIGNS[standing]} {standing}", text) for standing, text in rule.says.items()),
            ("to settle", rule.settle),
            ("if failed", rule.remedy),
        ):
            lines += _item(label, text)
        lines.append("")
    print("\n".join(lines[:-1]))
    return 0


def _item(label: str, text: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"  {label:12}",
        subsequent_indent=" " * 14,
        break_on_hyphens=False,
    )
