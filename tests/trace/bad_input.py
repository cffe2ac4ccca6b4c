"""The cases of bad input: running one, and the page made from them (`python tests/trace/bad_input.py`)."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from firstfrost.errors import FirstfrostError
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "bad-input.md"
INTRO = """# What a bad file gets

Made from `tests/trace/bad_input.toml` by `python tests/trace/bad_input.py`. Each row is a test that holds
the whole text. A file that cannot be used gets one error, which says what was met, where, what was expected,
and the way out; `firstfrost check` then ends with status 2. What can be used in part is used, and what was
left out is said in the result under `input`.

The file of each row is called `visit.csv` unless its text says another name.
"""


def cases() -> list[dict[str, Any]]:
    """The cases of the file."""
    return list(tomllib.loads((HERE / "bad_input.toml").read_text(encoding="utf-8"))["case"])


def _content(case: dict[str, Any]) -> bytes:
    if "hex" in case:
        return bytes.fromhex(case["hex"])
    text = (case.get("text") or "") + ("1" * case["long"] + "\n" if "long" in case else "")
    return text.encode(case.get("encoding", "utf-8"))


def run(case: dict[str, Any], folder: Path) -> str:
    """What the user is told for a case: the error, or the last note where the case is read."""
    path = folder / case.get("name", "visit.csv")
    special = case.get("special")
    if special == "directory":
        path.mkdir()
    elif special != "missing":
        path.write_bytes(_content(case))
    if special == "forbidden":
        path.chmod(0)
    paths = [path]
    if "other" in case:
        paths.append(folder / "other.csv")
        paths[1].write_text(case["other"], encoding="utf-8")
    chart = None
    if "map" in case or special == "no map":
        chart = folder / "map.toml"
        if "map" in case:
            chart.write_text(case["map"], encoding="utf-8")
    try:
        reading = read_trace(
            paths, atmosphere_pa=98_000.0, columns=chart, zone=case.get("zone"), refrigerant="R-410A"
        )
        notes = reading.receipt.notes
        if "marks" in case:
            (folder / "marks.csv").write_text(case["marks"], encoding="utf-8")
            notes = read_marks(folder / "marks.csv", trace=reading.trace).notes
    except FirstfrostError as err:
        return str(err).replace(str(folder), "{folder}")
    return "\n".join(notes) or "nothing"


def page() -> str:
    """The page of the documentation."""
    rows = ["| what | what it gets |", "|---|---|"]
    for case in cases():
        lines = case["says"].replace("|", "\\|").replace("<", "&lt;").split("\n")
        told = lines[0] + "".join(
            f"<br>`{line.strip()}`" if line.strip()[:1] in '["' or " = " in line[:20] else f"<br>{line}"
            for line in lines[1:]
        )
        rows.append(f"| {case['kind']} | {told} |")
    return INTRO + "\n" + "\n".join(rows) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
