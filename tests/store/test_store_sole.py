"""One service to one store: a second is refused, and one that was killed holds nothing."""

import os
import re
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from shop import add_site
from sqlalchemy import text

import firstfrost
from firstfrost.cli.main import run
from firstfrost.errors import StoreError
from firstfrost.store import sole
from firstfrost.store.backup import backup
from firstfrost.store.export import export
from firstfrost.store.schema import sites
from firstfrost.store.store import Store

SRC = Path(firstfrost.__file__).parent.parent
HOLD = """
import sys, time
from firstfrost.store.store import Store
store = Store(sys.argv[1])
print("held", flush=True)
time.sleep(600)
"""
REFUSED = (
    r"The store {name} is in use by another Firstfrost( \(.+\))?\. Expected one service to one store\. Use "
    r"the pages of the one that runs, or end it; a backup and an export can be made while it runs\."
)


@pytest.fixture(autouse=True)
def hurried(monkeypatch):
    monkeypatch.setattr(sole, "FILE_WAIT_S", 0.1)
    monkeypatch.setattr(sole, "SESSION_WAIT_S", 0.3)


@pytest.fixture
def holder(where):
    """Another process that has the store open."""
    env = {**os.environ, "PYTHONPATH": str(SRC)}
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, where], stdout=subprocess.PIPE, text=True, env=env
    )
    assert process.stdout.readline() == "held\n"
    yield process
    process.kill()
    process.communicate()


def count(store):
    return len(store.read(lambda c: c.execute(sites.select()).all()))


def test_a_second_one_is_refused_until_the_first_ends(where):
    with Store(where) as first:
        add_site(first)
        with pytest.raises(StoreError, match="^" + REFUSED.format(name=re.escape(first.name)) + "$"):
            Store(where)
        # Being refused has taken nothing from the first.
        add_site(first)
    with Store(where) as second:
        assert count(second) == 2


def test_who_holds_it_is_named(where, holder):
    named = f"process {holder.pid}" if "://" not in where else r"from 127\.0\.0\.1, since \d{4}-\d\d-\d\d"
    with pytest.raises(StoreError, match=named):
        Store(where)


def test_a_killed_one_holds_nothing(where, holder, monkeypatch):
    monkeypatch.setattr(sole, "SESSION_WAIT_S", 10.0)
    os.kill(holder.pid, signal.SIGKILL)
    holder.wait()
    with Store(where) as store:
        add_site(store)
        assert count(store) == 1


def test_one_that_is_about_to_end_is_waited_for(where, monkeypatch):
    monkeypatch.setattr(sole, "FILE_WAIT_S", 10.0)
    monkeypatch.setattr(sole, "SESSION_WAIT_S", 10.0)
    first = Store(where)
    timer = threading.Timer(0.4, first.close)
    timer.start()
    with Store(where) as second:
        assert count(second) == 0
    timer.join()


def test_what_only_reads_works_beside_it_and_writes_nothing(where, tmp_path):
    with Store(where) as first:
        add_site(first)
        with Store(where, write=False) as beside:
            assert count(beside) == 1
            assert backup(beside, tmp_path / "b.db")["sites"] == 1
            assert beside.read(lambda c: export(c, tmp_path / "e.zip"))["sites"] == 1
            with pytest.raises(StoreError, match="open for reading alone"):
                add_site(beside)
        add_site(first)


def test_what_only_reads_holds_nothing(where):
    with Store(where, write=False) as beside, Store(where) as first:
        add_site(first)
        assert count(beside) == 1


@pytest.mark.parametrize("words", [["serve"], ["serve", "--demo"], ["store", "restore"], ["store", "import"]])
def test_the_commands_that_write_are_refused_and_leave_it_as_it_is(where, words, holder, tmp_path, capsys):
    files = []
    if words[0] == "store":
        file = tmp_path / "taken"
        with Store(str(tmp_path / "other.db")) as other:
            add_site(other)
            if words[1] == "restore":
                backup(other, file)
            else:
                other.read(lambda c: export(c, file))
        files = [str(file)]
    assert run([*words, *files, "--store", where, *(["--port", "0"] if words[0] == "serve" else [])]) == 2
    assert "is in use by another Firstfrost" in capsys.readouterr().err
    assert run(["store", "backup", str(tmp_path / "b.db"), "--store", where]) == 0
    assert capsys.readouterr().out == "nothing\n"


@pytest.mark.skipif(os.name != "posix", reason="symbolic links need rights elsewhere")
def test_one_file_under_two_names_is_one_store(tmp_path):
    path, other = tmp_path / "s.db", tmp_path / "other.db"
    other.symlink_to(path)
    with Store(str(path)), pytest.raises(StoreError, match="in use by another"):
        Store(str(other))


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_to_is_told(tmp_path):
    with Store(str(tmp_path / "s.db")):
        pass
    (tmp_path / "s.db-lock").unlink()
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(StoreError, match="cannot be held"):
            Store(str(tmp_path / "s.db"))
    finally:
        tmp_path.chmod(0o700)


def test_a_disk_without_locks_is_told(tmp_path, monkeypatch):
    fcntl = pytest.importorskip("fcntl")

    def none(*_):
        raise OSError(37, "No locks available")

    monkeypatch.setattr(fcntl, "flock", none)
    with pytest.raises(StoreError, match=r"cannot be locked: No locks available\. Expected a disk of this"):
        Store(str(tmp_path / "s.db"))


def test_a_session_that_was_cut_off_writes_again_once_it_holds_the_store_again(postgres):
    url = postgres.database()
    try:
        with Store(url) as first:
            add_site(first)
            cut = "SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory'"
            assert first.read(lambda c: c.execute(text(cut)).scalar())
            with Store(url) as second:
                add_site(second)
                with pytest.raises(StoreError, match="in use by another Firstfrost"):
                    add_site(first)
                assert count(first) == 2
            add_site(first)
            assert count(first) == 3
    finally:
        postgres.drop(url)
