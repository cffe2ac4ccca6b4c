"""docs/bench.md says what the code does."""

import importlib.util
from pathlib import Path

import firstfrost
from firstfrost.bench.scenario import rows
from firstfrost.bench.scenario.read import shipped

ROOT = Path(firstfrost.__file__).parents[2]
PAGE = (ROOT / "docs" / "bench.md").read_text(encoding="utf-8")


def test_the_page_is_that_of_the_files_and_rows():
    spec = importlib.util.spec_from_file_location("make_bench_docs", ROOT / "scripts" / "make_bench_docs.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.page() == PAGE, "run: make docs"
    assert module.FIGURE.exists()


def test_every_key_and_lesson_is_on_it():
    for row in (*rows.KEYS, *rows.WORDS):
        assert f"| `{row.key}` |" in PAGE, row.name
    for table in rows.TABLES:
        assert f"[{table}]" in PAGE, table
    assert all(f"**`{name}`**" in PAGE for name in shipped())
