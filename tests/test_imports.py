"""One direction of imports, and what a single visit must not import."""

import ast
import importlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

import firstfrost

PACKAGE = Path(firstfrost.__file__).parent

FLOORS = (
    ("errors",),
    ("toml_file",),
    ("quantities",),
    ("refrigerants", "air", "instruments"),
    ("trace", "weather"),
    ("equipment",),
    ("cycle", "bench"),
    ("phases",),
    ("proofs",),
    ("heating",),
    ("causes", "season"),
    ("visit",),
    ("report", "store"),
    ("web",),
    ("cli",),
    ("__main__",),
)
"""From the ground up. A module may import from its own package and from floors below it."""
FLOOR = {name: number for number, names in enumerate(FLOORS) for name in names}
DATA = {"demo"}
"""Folders without code."""

HEAVY = (
    "CoolProp",
    "numba",
    "pint",
    "scipy",
    "pyarrow",
    "matplotlib",
    "psychrolib",
    "jinja2",
    "typst",
    "pandas",
    "sqlalchemy",
    "alembic",
    "fastapi",
    "msgspec",
)
"""Each costs more than reading an hour of readings."""


def modules():
    return sorted(path for path in PACKAGE.rglob("*.py") if path != PACKAGE / "__init__.py")


def package_of(path):
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imported(tree):
    """Each module that an import statement names, wherever it stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative import"
            # `from firstfrost import x` and `from firstfrost.phases import x` may name modules.
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def own(name):
    """The package of our own that `name` lies in; None for modules of others and names of the root."""
    parts = name.split(".")
    if parts[0] != "firstfrost" or parts[1:] in ([], ["__version__"]):
        return None
    return parts[1]


def test_every_package_has_its_floor():
    found = {package_of(path) for path in modules()}
    assert found == set(FLOOR)
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert folders - DATA <= set(FLOOR)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_go_down_only(path):
    here = package_of(path)
    for name in imported(ast.parse(path.read_text(encoding="utf-8"))):
        there = own(name)
        if there is not None and there != here:
            assert FLOOR[there] < FLOOR[here], f"{here} imports {name}"


def test_the_walk_finds_an_import_that_goes_up():
    tree = ast.parse(
        "def f():\n    from firstfrost.visit.check import check_trace\n    import firstfrost.cli.main\n"
    )
    assert [own(name) for name in imported(tree)] == ["visit", "cli"]


def loaded(code, folder):
    """Which heavy packages, and how many modules, are loaded after `code` has run in a fresh process."""
    code += (
        "\nimport sys; sys.stderr.write(' '.join(sorted({name.partition('.')[0] for name in sys.modules})))"
    )
    env = {**os.environ, "PYTHONPATH": str(PACKAGE.parent)}
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env=env,
        cwd=folder,
        check=True,
        timeout=120,
    )
    return set(done.stderr.split())


def test_the_command_starts_without_numpy(tmp_path):
    tops = loaded("import firstfrost.cli.main", tmp_path)
    assert not tops & {*HEAVY, "numpy", "tomllib"}


@pytest.mark.parametrize("command", ["check", "watch"])
def test_a_single_visit_imports_nothing_heavy(command, tmp_path):
    demo = PACKAGE / "demo"
    more = ["--until-idle", "0.1"] if command == "watch" else []
    argv = [command, str(demo / "trace.csv"), "--unit", str(demo / "unit.toml"), *more]
    argv += ["--marks", str(demo / "marks.csv"), "--json", "out.json"]
    tops = loaded(f"from firstfrost.cli.main import run\nassert run({argv!r}) == 0", tmp_path)
    assert "numpy" in tops
    assert not tops & set(HEAVY)


def _listing(path):
    """The names of `__all__` in a file, or None where it has none."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and [ast.unparse(target) for target in node.targets] == ["__all__"]:
            return ast.literal_eval(node.value)
    return None


@pytest.mark.parametrize("path", [p for p in modules() if _listing(p)], ids=lambda path: path.parent.name)
def test_public_names_are_listed_once_sorted_and_exist(path):
    names = _listing(path)
    assert names == sorted(set(names), key=lambda name: (not name.isupper(), not name[0].isupper(), name))
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    module = importlib.import_module(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
    assert [name for name in names if not hasattr(module, name)] == []
