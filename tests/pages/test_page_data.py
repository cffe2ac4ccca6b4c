"""What the pages take from the library is what the library says now."""

import json
import re
from pathlib import Path

import pytest
from test_docs import script

import firstfrost
from firstfrost.refrigerants import REFRIGERANTS, refrigerant
from firstfrost.season.regions import REGIONS

ROOT = Path(firstfrost.__file__).parents[2]
FRONTEND = ROOT / "frontend"
MADE = script("make_page_data").files()


@pytest.mark.parametrize("path", MADE, ids=lambda path: path.name)
def test_the_file_is_made_from_the_library_as_it_is(path):
    have, want = json.loads(path.read_text(encoding="utf-8")), json.loads(MADE[path])
    assert close(have, want), "run: make docs"


def close(a, b):
    """Equal, but for the last digits of floats, which differ from one machine to the next."""
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(close(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(close, a, b))
    if isinstance(a, float) or isinstance(b, float):
        return a == pytest.approx(b, rel=1e-6, abs=1e-6)
    return a == b


def test_the_thinned_tables_are_the_library_to_a_millikelvin():
    tables = json.loads((FRONTEND / "src" / "data" / "saturation.json").read_text(encoding="utf-8"))
    assert set(tables) == set(REFRIGERANTS)
    for name, table in tables.items():
        fluid = refrigerant(name)
        for which, known in (("dew", fluid.dew), ("bubble", fluid.bubble)):
            line = table.get(which, table["dew"])
            worst = 0.0
            for i in range(2000):
                x = known.pressure_low_pa**0.5 + (i + 0.5) / 2000 * (
                    known.pressure_high_pa**0.5 - known.pressure_low_pa**0.5
                )
                worst = max(worst, abs(on_line(line, x) - known.temp_at(x * x)))
            assert worst < 1e-3, f"{name} {which}"


def on_line(line, x):
    """The pages' own interpolation, once more in Python."""
    steps = (x - line["start"]) / line["step"]
    i = min(int(steps), len(line["temp_c"]) - 2)
    s = steps - i
    y0, y1 = line["temp_c"][i : i + 2]
    d0, d1 = line["rise_k"][i : i + 2]
    return y0 + s * (d0 + s * (3 * (y1 - y0) - 2 * d0 - d1 + s * (2 * (y0 - y1) + d0 + d1)))


def test_no_file_names_a_registry():
    lock = (FRONTEND / "package-lock.json").read_text(encoding="utf-8")
    assert '"resolved"' not in lock
    assert '"integrity"' in lock
    settings = (FRONTEND / ".npmrc").read_text(encoding="utf-8")
    assert "omit-lockfile-registry-resolved=true" in settings
    assert "registry=" not in settings


def test_each_package_has_one_exact_version_and_a_reason():
    package = json.loads((FRONTEND / "package.json").read_text(encoding="utf-8"))
    page = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    for name, version in {**package["dependencies"], **package["devDependencies"]}.items():
        assert re.fullmatch(r"\d+\.\d+\.\d+", version), f"{name} {version}"
        assert f"`{name}`" in page, f"docs/dependencies.md gives no reason for {name}"


def test_texts_stand_in_one_file():
    """A word that a person reads comes from text/en.ts or the library, so that a translation is one file."""
    found = []
    for path in (FRONTEND / "src").rglob("*.tsx"):
        for line in path.read_text(encoding="utf-8").splitlines():
            # Text between tags, and labels given as plain strings.
            bare = re.findall(r">\s*([A-Z][a-z]+(?: [a-z]+)+[.!?]?)\s*<", line)
            bare += re.findall(r'(?:aria-label|alt|title|placeholder|label)="([^"{]+ [^"{]+)"', line)
            found += [f"{path.name}: {text}" for text in bare]
    assert found == []


def test_the_regions_to_choose_from_are_the_librarys():
    text = (FRONTEND / "src" / "model" / "season.ts").read_text(encoding="utf-8")
    rows = re.findall(r'\["([IV]+)", (-?\d+)\]', text)
    assert [(name, float(design)) for name, design in rows] == [(one.name, one.design_f) for one in REGIONS]
