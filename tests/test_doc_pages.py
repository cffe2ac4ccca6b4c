"""The pages of docs/: all in the index, each name and each source in its place, no line left out."""

import re
from pathlib import Path
from urllib.parse import unquote

import pytest

import firstfrost
from firstfrost.heating.rows import ROWS
from firstfrost.phases.phase import NAMES
from firstfrost.proofs.finding import BEST_FIRST, FUNCTIONS
from firstfrost.report.words import MEANINGS, SIGNS, TITLES
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS

ROOT = Path(firstfrost.__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted(DOCS.glob("*.md"))
CITED = re.compile(
    r"\b(?:JCGM \d+|ISO \d+(?:-\d)?|RFC \d+|NIST (?:SP|IR|TN) \d+|10 CFR \d+|ASHRAE Standard \d+)"
)


def page(name):
    return (DOCS / name).read_text(encoding="utf-8")


def test_each_page_has_its_line_in_the_index():
    rows = re.findall(r"^\| \[(.+?)\]\((.+?)\) \| (.+) \|$", page("README.md"), re.MULTILINE)
    assert sorted(link for _, link, _ in rows) == [path.name for path in PAGES if path.name != "README.md"]
    for label, link, line in rows:
        assert label == link
        assert 10 < len(line) < 90


def anchors(text):
    """The anchors that a heading gets on a forge: lower case, no signs, hyphens for blanks."""
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("path", [ROOT / "README.md", *PAGES], ids=lambda path: path.name)
def test_every_relative_link_works(path):
    for link in re.findall(r"\]\(([^)\s]+)\)", path.read_text(encoding="utf-8")):
        if "://" in link:
            continue
        name, _, anchor = unquote(link).partition("#")
        target = (path.parent / name).resolve() if name else path
        assert target.exists(), f"{path.name} links {link}"
        assert ROOT in target.parents, f"{path.name} links {link}, outside the project"
        if anchor:
            assert anchor in anchors(target.read_text(encoding="utf-8")), f"{path.name} links {link}"


def test_the_glossary_has_each_name():
    text = page("glossary.md")
    for name, channel in CHANNELS.items():
        assert f"| `{name}` | {channel.title}: " in text
    for name in (*NAMES, *ACTS, *FUNCTIONS):
        assert f"`{name}`" in text, name
    for row in ROWS:
        assert f"| `{row.name}` | {row.title} |" in text
    for name, title in TITLES.items():
        assert f"| `{name}` | {title} |" in text
    for standing in (*BEST_FIRST, "failed"):
        assert re.search(
            rf"\| `{standing}` \| {re.escape(SIGNS[standing])} \| . \| {re.escape(MEANINGS[standing])} \|",
            text,
        )


def test_each_source_that_code_or_tests_name_is_in_the_list():
    text = page("sources.md")
    files = [*(ROOT / "src").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]
    named = {cited for file in files for cited in CITED.findall(file.read_text(encoding="utf-8"))}
    assert len(named) > 8
    assert sorted(cited for cited in named if cited not in text) == []


def test_each_row_of_the_sources_says_how_far_it_was_seen():
    rows = re.findall(r"^\| (.+?) \| (.+?) \| (.+?) \|$", page("sources.md"), re.MULTILINE)
    rows = [row for row in rows if row[2] not in ("seen", "---")]
    assert len(rows) > 20
    words = (
        "read",
        "table",
        "quoted",
        "from memory",
        "the same",
        "run",
        "no source needed",
        "named",
        "shipped",
        "held by",
    )
    for row in rows:
        assert any(word in row[2] for word in words), row
