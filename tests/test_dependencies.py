"""What is depended on: bounded from below, tested at exact versions, and without conflicts; asks no one."""

import subprocess
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path

import pytest

packaging = pytest.importorskip("packaging.requirements", reason="packaging is not installed")

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))
RANGES = [
    packaging.Requirement(text)
    for texts in (
        PROJECT["build-system"]["requires"],
        PROJECT["project"]["dependencies"],
        *PROJECT["project"]["optional-dependencies"].values(),
    )
    for text in texts
]
PINS = [packaging.Requirement(text) for texts in PROJECT["dependency-groups"].values() for text in texts]


@pytest.mark.parametrize("one", RANGES, ids=lambda one: one.name)
def test_each_range_has_a_lower_bound(one):
    assert [part for part in one.specifier if part.operator in (">=", "==", "~=")]


@pytest.mark.parametrize("one", PINS, ids=lambda one: one.name)
def test_each_version_that_is_tested_is_exact_and_inside_its_range(one):
    (only,) = one.specifier
    assert only.operator == "=="
    for row in RANGES:
        if row.name == one.name:
            assert only.version in row.specifier


def test_what_is_run_on_is_tested_at_an_exact_version():
    tested = {one.name for one in PINS}
    build = {packaging.Requirement(text).name for text in PROJECT["build-system"]["requires"]}
    assert {one.name for one in RANGES} - build <= tested


@pytest.mark.parametrize("one", RANGES, ids=lambda one: one.name)
def test_what_is_installed_lies_in_its_range(one):
    try:
        there = version(one.name)
    except PackageNotFoundError:
        pytest.skip(f"{one.name} is not installed")
    assert there in one.specifier


@pytest.mark.skipif(find_spec("pip") is None, reason="pip is not installed")
def test_what_is_installed_has_no_conflicts():
    done = subprocess.run(
        [sys.executable, "-m", "pip", "check", "--disable-pip-version-check"],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout
