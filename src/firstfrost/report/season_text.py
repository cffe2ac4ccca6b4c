"""A season for a terminal, in 80 columns."""

from __future__ import annotations

import textwrap
from typing import Final

from firstfrost.quantities.show import System
from firstfrost.report.season_fields import Row, season_fields
from firstfrost.report.terminal import WIDTH, to_ascii
from firstfrost.season.season import Season

_BOLD, _END = "\x1b[1m", "\x1b[0m"
_HEAD: Final = (
    f"  {'setting':9} {'energy':>11} {'above best':>15} {'defrosts':>9} {'needless':>9} {'backup':>10}"
)


def season_text(
    made: Season,
    *,
    colour: bool,
    system: System = "us",
    plain: bool = False,
    failed: tuple[str, ...] = (),
) -> str:
    """A season as lines of at most 80 characters; arguments as for `report.terminal.ledger_text`."""
    width = WIDTH - 2 if plain else WIDTH
    fields = season_fields(made, system, failed)

    def title(text: str) -> str:
        return f"{_BOLD}{text}{_END}" if colour else text

    def hang(text: str, first: str = "  ") -> list[str]:
        return textwrap.wrap(
            text, width, initial_indent=first, subsequent_indent=" " * len(first), break_on_hyphens=False
        )

    lines = [title(fields.unit_name), *hang(fields.about, ""), *hang(fields.where, ""), ""]
    lines += [title("The board's setting"), *hang(fields.advice), *hang(fields.turning), ""]
    lines += [_HEAD, *(_row(row) for row in fields.rows), ""]
    lines += [title("Frost"), *hang(fields.risk), *hang(fields.comfort)]
    lines += [f"  {what:50} {value:>12}" for what, value in fields.lost] + [""]
    lines += [
        title("Will it heat the house?"),
        *hang(fields.carrying),
        *hang(fields.lockout),
        *hang(fields.droop),
        "",
    ]
    for head, pairs in (("Ratings", fields.ratings), ("Money and carbon", fields.money)):
        if pairs:
            lines += [title(head), *(f"  {what:46} {value:>28}" for what, value in pairs), ""]
    lines += [title("What a fault costs over this winter")]
    for fault in fields.faults:
        mark = "X " if fault.failed else "  "
        lines += hang(f"{', '.join(fault.titles)}: {fault.cost}", mark)
        lines += hang(f"{fault.what}.", "      ")
    lines.append("")
    if fields.house_lines:
        lines += [
            title("For the householder"),
            *(line for text in fields.house_lines for line in hang(text)),
            "",
        ]
    if fields.assumptions:
        lines.append(title("Assumed"))
        for what, better in fields.assumptions:
            lines += hang(f"{what} Better: give {better}.", "  - ")
        lines.append("")
    for note in fields.notes:
        lines += hang(note, "Weather: ")
    lines += hang(fields.model, "")
    text = "\n".join(lines)
    return to_ascii(text) if plain else text


def costs_text(costs: tuple[str, ...], *, plain: bool = False) -> str:
    """What failures cost over a winter, below a ledger."""
    lines = ["What it costs to leave it"]
    for text in costs:
        lines += textwrap.wrap(
            text, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
        )
    text = "\n".join(lines)
    return to_ascii(text) if plain else text


def _row(row: Row) -> str:
    mark = "*" if row.best else ">" if row.now else " "
    lead = row.lead or ("best" if row.best else "")
    cells = (
        f"{row.name:9}",
        f"{row.energy:>11}",
        f"{lead:>15}",
        f"{row.defrosts:>9}",
        f"{row.needless:>9}",
        f"{row.backup:>10}",
    )
    return f"{mark} {' '.join(cells)}"
