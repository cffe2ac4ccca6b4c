"""Make the pages that come from code: docs/standings.md, from the rule rows.

Run from the repository's root: `python scripts/make_docs.py`, or `make docs`.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.proofs.finding import BEST_FIRST  # noqa: E402
from firstfrost.proofs.rows import RULES, Rule  # noqa: E402
from firstfrost.report.words import MEANINGS, SIGNS  # noqa: E402

PAGE = ROOT / "docs" / "standings.md"
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


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"Wrote {PAGE.relative_to(ROOT)}")
