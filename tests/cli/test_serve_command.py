"""`firstfrost serve` and `firstfrost store` from the command line."""

import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

import firstfrost
from firstfrost.cli import serve_command
from firstfrost.cli.main import run

pytest.importorskip("fastapi", reason="the extra firstfrost[serve] is not installed")

SRC = Path(firstfrost.__file__).parent.parent


def test_it_opens_the_demo_visit_on_this_machine_and_ends_in_order(tmp_path):
    store = tmp_path / "s.db"
    command = [sys.executable, "-m", "firstfrost", "serve", "--demo", "--port", "0", "--store", str(store)]
    env = {**os.environ, "PYTHONPATH": str(SRC)}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env
    ) as process:
        try:
            first, _, third = (process.stdout.readline() for _ in range(3))
            url = re.fullmatch(r"The pages: (http://127\.0\.0\.1:\d+/)\n", first)
            assert url, first + process.stderr.read()
            assert third.startswith("For this machine only")
            with urllib.request.urlopen(f"{url[1]}api/visits", timeout=30) as answer:
                assert b"an invented visit" in answer.read()
        finally:
            process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=30)
        assert process.returncode in (0, 130), err
        assert "Traceback" not in err


def test_backup_restore_export_and_import(tmp_path, capsys):
    from firstfrost.web.demo import put_demo

    store = str(tmp_path / "s.db")
    assert put_demo(store) == put_demo(store)
    other, third = str(tmp_path / "other.db"), str(tmp_path / "third.db")
    backup, export = str(tmp_path / "backup.db"), str(tmp_path / "export.zip")
    for words in (
        ["backup", backup, "--store", store],
        ["restore", backup, "--store", other],
        ["export", export, "--store", other],
        ["import", export, "--store", third],
    ):
        assert run(["store", *words]) == 0
        assert "1 visits" in capsys.readouterr().out
    assert run(["store", "backup", backup, "--store", store]) == 2
    assert "is there already" in capsys.readouterr().err
    assert run(["store", "restore", backup, "--store", store]) == 2
    assert "not empty" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "match"),
    [
        (["--host", "0.0.0.0"], "this machine only"),
        (["--shop"], "beginning with https://"),
        (["--limit", "bach=1"], "is not a limit"),
        (["--port", "99999"], "cannot be listened on"),
        (["--store", "mysql://x/y"], "of kind mysql"),
    ],
)
def test_what_cannot_be_served_is_refused_with_the_way_out(words, match, tmp_path, capsys, monkeypatch):
    monkeypatch.setenv(serve_command.STORE_ENV, str(tmp_path / "s.db"))
    assert run(["serve", *words]) == 2
    assert match in capsys.readouterr().err


def test_the_limits_are_listed(capsys):
    assert run(["serve", "--limits"]) == 0
    assert "one batch of readings" in capsys.readouterr().out


def test_without_its_packages_it_says_what_to_install(capsys, monkeypatch):
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    assert run(["serve"]) == 2
    assert "pip install 'firstfrost[serve]'" in capsys.readouterr().err


def test_the_default_store_lies_with_the_users_data(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv(serve_command.STORE_ENV, raising=False)
    assert serve_command.store_of(type("A", (), {"store": None})()) == str(
        tmp_path / "firstfrost" / "store.db"
    )
    assert (tmp_path / "firstfrost").is_dir()
