"""One service to one store on Windows: for real there, and elsewhere with a stand-in for its locks."""

import os
import subprocess
import sys
from pathlib import Path

import msvcrt_stand_in
import pytest

import firstfrost
from firstfrost.errors import StoreError
from firstfrost.store import sole

HERE = Path(__file__).parent
SRC = Path(firstfrost.__file__).parent.parent
HOLD = """
import sys, time
if sys.platform != "win32":
    import msvcrt_stand_in
    msvcrt_stand_in.install()
from firstfrost.store.sole import FileLock
held = FileLock(sys.argv[1])
print("held", flush=True)
time.sleep(600)
"""


@pytest.fixture(autouse=True)
def hurried(monkeypatch):
    monkeypatch.setattr(sole, "FILE_WAIT_S", 0.1)


@pytest.fixture
def stand_in(monkeypatch):
    """The calls that the stand-in got."""
    if not msvcrt_stand_in.CAN:
        pytest.skip("the stand-in is made of Linux' locks")
    modules = {}
    calls = msvcrt_stand_in.install(modules)
    for name, module in modules.items():
        monkeypatch.setitem(sys.modules, name, module)
    # Nor has Windows this.
    monkeypatch.delattr(os, "pread")
    return calls


def one_at_a_time(store):
    """Taken within a process and between two, told by whom, freed at the end and by a kill."""
    first = sole.FileLock(store)
    for _ in range(2):
        with pytest.raises(StoreError, match=rf"is in use by another Firstfrost \(process {os.getpid()}\)\."):
            sole.FileLock(store)
    first.release()
    first.release()
    second = sole.FileLock(store)
    second.release()
    env = {**os.environ, "PYTHONPATH": os.pathsep.join((str(SRC), str(HERE)))}
    holder = subprocess.Popen([sys.executable, "-c", HOLD, store], stdout=subprocess.PIPE, text=True, env=env)
    try:
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(StoreError, match=rf"\(process {holder.pid}\)\. Expected one service"):
            sole.FileLock(store)
    finally:
        holder.kill()
        holder.communicate()
    sole.FileLock(store).release()


def test_with_a_stand_in_for_the_locks_of_windows_there_is_one_at_a_time(tmp_path, stand_in):
    one_at_a_time(str(tmp_path / "s.db"))
    # One byte, far behind those that say who holds it (locked bytes cannot be read on Windows), and let go of
    # before the file is closed, as Microsoft asks for (LockFile, "Remarks").
    lock, unlock = (msvcrt_stand_in.LK_NBLCK, 1 << 30, 1), (msvcrt_stand_in.LK_UNLCK, 1 << 30, 1)
    assert set(stand_in) == {lock, unlock}
    assert stand_in.count(unlock) == 3


def test_with_a_stand_in_the_file_tells_the_holder_and_stays(tmp_path, stand_in):
    held = sole.FileLock(str(tmp_path / "s.db"))
    beside = tmp_path / "s.db-lock"
    assert beside.read_text().strip() == str(os.getpid())
    held.release()
    assert beside.read_bytes() == b""


@pytest.mark.skipif(sys.platform != "win32", reason="for real on Windows alone")
def test_on_windows_itself_there_is_one_at_a_time(tmp_path):
    one_at_a_time(str(tmp_path / "s.db"))
