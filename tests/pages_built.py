"""The built pages, for tests that need them; built once, whichever process comes first."""

from __future__ import annotations

import contextlib
import importlib.util
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def _script():
    path = ROOT / "scripts" / "build_pages.py"
    spec = importlib.util.spec_from_file_location("build_pages", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


PAGES = _script()


@contextlib.contextmanager
def alone() -> Iterator[None]:
    """One process of the test run at a time: npm and the build write into one folder."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    with (PAGES.FRONTEND / ".building").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def npm_or_skip():
    """npm in frontend/ with its packages there, or a skip with the reason."""
    try:
        with alone():
            PAGES.npm_command()
            PAGES.install()
    except PAGES.CannotBuild as err:
        pytest.skip(str(err))
    return PAGES.npm


def built_or_skip() -> Path:
    """The folder of pages as new as their sources, or a skip with the reason."""
    npm_or_skip()
    with alone():
        if not PAGES.is_fresh():
            PAGES.build()
    return PAGES.PAGES
