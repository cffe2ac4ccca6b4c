"""Pages that come from code, and the README, say what the code does."""

import importlib.util
import re
import tomllib
from pathlib import Path

import firstfrost
from firstfrost.cli.main import parser
from firstfrost.equipment.read import unit_from
from firstfrost.trace.marks import ACTS

ROOT = Path(firstfrost.__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def script(name):
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_of_standings_is_that_of_the_rules():
    made = script("make_docs").page()
    assert (ROOT / "docs" / "standings.md").read_text(encoding="utf-8") == made, "run: make docs"


def test_the_page_of_the_heating_check_is_that_of_its_rows():
    made = script("make_docs").heating_page()
    assert (ROOT / "docs" / "heating.md").read_text(encoding="utf-8") == made, "run: make docs"


def test_every_page_that_is_linked_is_there():
    for page in (ROOT / "README.md", *(ROOT / "docs").glob("*.md")):
        for link in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
            assert "://" in link or (page.parent / link).exists(), f"{page.name} links {link}"


def test_the_readme_knows_the_acts_the_commands_and_a_sound_unit_file():
    words = " ".join(README.split())
    assert f"Acts: {', '.join(ACTS)}." in words
    commands = set(re.findall(r"firstfrost (\w+)", "\n".join(re.findall(r"(?m)^    .*", README))))
    known = set(next(a for a in parser()._actions if a.dest == "command").choices)
    assert commands == known
    block = re.search(r"(?ms)^      \[unit\].*?\n\n", README)
    unit = unit_from(tomllib.loads(block.group()), source="README")
    assert unit.refrigerant == "R-410A"
    assert unit.site.zone == "America/Denver"


def test_the_job_comes_first():
    assert re.match(r"# Firstfrost\n\n(?:.+\n){4,}\n## Quick start", README)


def test_each_dependency_has_its_reason():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    page = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    groups = project["dependency-groups"]
    named = [
        *project["project"]["dependencies"],
        *(name for extra in project["project"]["optional-dependencies"].values() for name in extra),
        *(name for group in groups.values() for name in group),
    ]
    for name in {re.split(r"[\[<>=]", text)[0] for text in named}:
        assert re.search(rf"\b{re.escape(name)}\b", page), name
    assert all("==" in name for group in groups.values() for name in group)
