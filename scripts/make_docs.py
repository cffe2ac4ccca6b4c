"""Make the pages that come from code: docs/standings.md and docs/heating.md, from their rows.

Run from the repository's root: `python scripts/make_docs.py`, or `make docs`.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.heating import steady  # noqa: E402
from firstfrost.heating.number import STANDINGS  # noqa: E402
from firstfrost.heating.row import Row  # noqa: E402
from firstfrost.heating.rows import ROWS  # noqa: E402
from firstfrost.heating.steady import SERIES  # noqa: E402
from firstfrost.proofs.finding import BEST_FIRST  # noqa: E402
from firstfrost.proofs.rows import RULES, Rule  # noqa: E402
from firstfrost.report.words import MEANINGS, SIGNS  # noqa: E402
from firstfrost.trace.channels import CHANNELS  # noqa: E402

PAGE = ROOT / "docs" / "standings.md"
HEATING_PAGE = ROOT / "docs" / "heating.md"
HEAD = """\
# How each standing is reached

<!-- Made by `make docs` from src/firstfrost/proofs/rows.py. Change that, not this. -->

Thirteen functions make a defrost. Each is judged on every occasion that the record holds: `failed` if it
failed on any, else the best standing that an occasion gave it. A number is held against its limit with the
uncertainty of the instrument that read it (k = 2), and with that of the refrigerant's own equation where
saturation comes in; where the two cannot be told apart, the function is `doubtful`.

A marks file that is given is taken as complete. Without one it is not known what a person did, and what a
person could have supplied is `doubtful` or `unseen`, never `shown`.

| standing | means |
|---|---|
"""


def section(rule: Rule) -> str:
    """One function."""
    needs = "; or ".join(" and ".join(f"`{name}`" for name in names) for names in rule.needs)
    rows = [
        ("Channels", needs),
        ("Counts when", rule.situation),
        ("Measured", rule.measure),
        ("Limit", rule.limit),
        ("Where the limit comes from", rule.source),
        ("What would settle it", rule.settle),
        ("Where to look if it failed", rule.remedy),
    ]
    lines = [f"## {rule.title}", "", f"`{rule.function}`", "", "| | |", "|---|---|"]
    lines += [f"| {label} | {text} |" for label, text in rows]
    lines += ["", "| standing | in the customer's words |", "|---|---|"]
    lines += [f"| {SIGNS[standing]} `{standing}` | {text} |" for standing, text in rule.says.items()]
    return "\n".join(lines) + "\n"


def page() -> str:
    """The whole page."""
    standings = (*BEST_FIRST, "failed")
    table = "".join(f"| {SIGNS[name]} `{name}` | {MEANINGS[name]} |\n" for name in standings)
    return HEAD + table + "\n" + "\n".join(section(rule) for rule in RULES)


HEATING_HEAD = """\
# How each number of the heating check is reached

<!-- Made by `make docs` from src/firstfrost/heating/rows_*.py and steady.py. Change those, not this. -->

The heating check reads the circuit, the air and the electric side of a unit that heats steadily, and gives
each number with its uncertainty (k = 2), what it is held against, where that comes from, and the window of
the record that it was read from. A number is `shown` where it lies within its limit with 95 % probability,
`failed` where it lies beyond it with 95 %, and `doubtful` in between; `doubtful`, too, where nothing is
known to hold it against. **No target is made up**: where the plate's or the maker's figure is not in the
[unit file](unit-file.md), the result says what to look up. `unseen` numbers are folded into one line of the
report; the JSON result has each with what would show it.

Some rows never fail: beyond their limit the readings are at odds with each other, not the machine with its
plate.

## Where heating is steady

{steady}

| series | standard deviation allowed |
|---|---|
{series}

A handful of typed readings cannot tell whether heating was steady; numbers from them are at best
`doubtful`.

## Uncertainty

Each number keeps its uncertainty by source: the instrument (one gauge used twice is one source, and nearly
cancels in a ratio), the scatter within the window (one independent reading each half minute at most), the
refrigerant's own equation, and what was assumed where something was not read. The JSON result lists them
under `sources`.

"""


def steady_rows() -> str:
    """The table of series whose scatter tells whether heating is steady."""
    lines = []
    for name, allowed in SERIES:
        title = CHANNELS[name].title if name in CHANNELS else name
        lines.append(f"| {title} | {'3 % of its mean' if name == 'power' else f'{allowed:g} K'} |")
    return "\n".join(lines)


def steady_text() -> str:
    """What the module that finds steady heating says of its criterion, formula and all."""
    return (steady.__doc__ or "").split("\n\n", 1)[1].strip()


def heating_section(row: Row) -> str:
    """One number."""
    needs = "; or ".join(" and ".join(f"`{name}`" for name in names) for names in row.needs)
    unit = {"1": "ratio"}.get(row.unit, row.unit)
    rows = [
        ("Unit", unit),
        ("Channels", needs or "see how it is measured"),
        ("Measured", row.method),
        ("Limit", row.limit + ("" if row.fails else " Beyond it the number is `doubtful`, never `failed`.")),
        ("Where the limit comes from", row.source),
        ("Why", row.why),
        ("What would settle it", row.settle),
        ("What to look up", row.look_up),
        ("Where to look if it failed", row.remedy),
    ]
    lines = [f"## {row.title}", "", f"`{row.name}`", "", "| | |", "|---|---|"]
    lines += [f"| {label} | {text} |" for label, text in rows if text]
    lines += ["", "| standing | in words |", "|---|---|"]
    lines += [f"| {SIGNS[standing]} `{standing}` | {row.says[standing]} |" for standing in STANDINGS]
    return "\n".join(lines) + "\n"


def heating_page() -> str:
    """The page on the heating check."""
    head = HEATING_HEAD.format(steady=steady_text(), series=steady_rows())
    return head + "\n".join(heating_section(row) for row in ROWS)


if __name__ == "__main__":
    for path, text in ((PAGE, page()), (HEATING_PAGE, heating_page())):
        path.write_text(text, encoding="utf-8")
        print(f"Wrote {path.relative_to(ROOT)}")
