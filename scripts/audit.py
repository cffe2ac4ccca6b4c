"""Ask an advisory service about what is installed, and never take silence for a clean answer.

`make audit` runs it: `python scripts/audit.py REQUIREMENTS`, exact versions, one a line. pip-audit does the
asking. It ends with 1 for a hole it found and with 1 where it reached no service, and a service without
advisories answers as one that knows of none, so what it says is read here. The status:

    0   every package was asked about, and no hole is known
    1   known holes, listed
    3   not known: no service could be reached, or it does not know its business, or some packages could not
        be asked about. That says nothing about holes.

That a service knows its business is seen on a control: a version whose hole was published long ago. One that
does not report it (a mirror without advisories, say) is not believed. make itself ends with 2 whatever went
wrong, and prints the status as "Error 1" or "Error 3".
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

CLEAN, FOUND, NOT_KNOWN = 0, 1, 3
CONTROL = "jinja2==2.11.2"
"""Has a published hole: CVE-2020-28493, fixed in 2.11.3 (from memory). Asked about, never installed."""
PATIENCE_S = 900
NOTHING = "This says nothing about holes: run it again where the internet can be reached."


def ask(requirements: str) -> tuple[Any, str]:
    """What pip-audit answers on exact versions, as JSON, or None; and its last words.

    Parameters
    ----------
    requirements : str
        Lines such as "idna==3.20".
    """
    with tempfile.TemporaryDirectory() as folder:
        wanted, told = Path(folder) / "wanted.txt", Path(folder) / "told.json"
        wanted.write_text(requirements, encoding="utf-8")
        command = [
            sys.executable, "-m", "pip_audit", "--no-deps", "--disable-pip", "--progress-spinner", "off",
            "--requirement", str(wanted), "--format", "json", "--output", str(told),
        ]  # fmt: skip
        try:
            done = subprocess.run(
                command, capture_output=True, text=True, errors="replace", check=False, timeout=PATIENCE_S
            )
        except subprocess.TimeoutExpired:
            return None, f"no answer within {PATIENCE_S} s"
        said = [line.strip() for line in done.stderr.splitlines() if line.strip()]
        try:
            return json.loads(told.read_text(encoding="utf-8")), ""
        except (OSError, ValueError):
            return None, (said[-1] if said else f"pip-audit ended with {done.returncode}")[:200]


def read(answer: Any, asked: set[str]) -> tuple[list[str], list[str]]:
    """Holes that an answer reports, a line each; and the packages that it says nothing about.

    Parameters
    ----------
    answer : Any
        JSON of pip-audit.
    asked : set of str
        Names of the packages, as pip writes them.

    Raises
    ------
    ValueError
        If it is of another form.
    """
    try:
        rows = {plain(row["name"]): row for row in answer["dependencies"]}
        known = {name: row["vulns"] for name, row in rows.items() if "skip_reason" not in row}
        holes = [
            f"{name} {rows[name]['version']}: {', '.join([hole['id'], *hole.get('aliases', ())])}; "
            f"fixed in {', '.join(hole['fix_versions']) or 'no version yet'}"
            for name in sorted(known)
            for hole in known[name]
        ]
    except (TypeError, KeyError, AttributeError) as err:
        raise ValueError(f"an answer of another form: {err!r}") from err
    return holes, sorted({plain(name) for name in asked} - set(known))


def plain(name: str) -> str:
    """A package's name in the one way that packages are compared by."""
    return name.lower().replace("_", "-").replace(".", "-")


def audit(requirements: str) -> tuple[int, list[str]]:
    """The status of exact versions, and what to tell.

    Parameters
    ----------
    requirements : str
        Lines such as "idna==3.20".
    """
    lines = [line.strip() for line in requirements.splitlines() if "==" in line]
    asked = {line.split("==")[0].strip() for line in lines}
    try:
        told, words = ask(CONTROL)
        if told is None:
            raise ValueError(words)
        holes, unknown = read(told, {CONTROL.split("==")[0]})
        if unknown:
            raise ValueError(f"what answers does not know {CONTROL}, which is published")
        if not holes:
            raise ValueError(f"what answers knows of no hole in {CONTROL}, which has a published one")
        told, words = ask("\n".join(lines) + "\n")
        if told is None:
            raise ValueError(words)
        holes, left = read(told, asked)
    except ValueError as err:
        return NOT_KNOWN, [f"NOT AUDITED: no advisory service gave a usable answer ({err}). {NOTHING}"]
    out = list(holes)
    if holes:
        out.append(f"KNOWN HOLES: {len(holes)}, of {len(asked)} packages.")
    if left or not asked:
        names = ", ".join(left) or "anything"
        out.append(f"NOT WHOLLY AUDITED: not asked about: {names}. On these nothing is known.")
    if holes:
        return FOUND, out
    return (NOT_KNOWN, out) if left or not asked else (CLEAN, [f"No known hole in {len(asked)} packages."])


def main(args: list[str]) -> int:
    """Run as a command."""
    if len(args) != 1 or args[0].startswith("-"):
        print(__doc__, file=sys.stderr)
        return 2
    status, lines = audit(Path(args[0]).read_text(encoding="utf-8"))
    print("\n".join(lines), file=sys.stdout if status == CLEAN else sys.stderr)
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
