"""Work done in a process beside: results, reports, plans; and a process that is lost."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from shop import PLATE, add_visit, demo_visit

from firstfrost.equipment.read import unit_from
from firstfrost.errors import InputError
from firstfrost.store.judging import judge, sources
from firstfrost.store.store import Store
from firstfrost.web import work
from firstfrost.web.work import Workshop


@pytest.fixture(scope="module")
def workshop():
    shop = Workshop(1)
    yield shop
    shop.close()


def test_a_result_made_beside_is_the_same_and_a_lost_process_is_replaced(tmp_path, workshop):
    with Store(str(tmp_path / "s.db")) as store:
        visit = demo_visit(store)
        source = store.read(lambda c: sources(c, visit))
        empty = add_visit(store)
        nothing = store.read(lambda c: sources(c, empty))
    here = judge(source)
    assert workshop.judge(source) == here
    with pytest.raises(InputError, match="holds no reading yet"):
        workshop.judge(nothing)
    (pid,) = workshop._pool._processes
    os.kill(pid, signal.SIGKILL)
    assert workshop.judge(source) == here


def test_a_plan_is_worked_out_once_and_asked_for_again(monkeypatch):
    calls = []

    def slow(*asked):
        calls.append(asked)
        if asked[1] > 40:
            raise InputError("Too hot. Expected less. Wait.")
        import time

        time.sleep(0.3)
        return {"ready": True}

    monkeypatch.setattr(work, "plan", slow)
    workshop = Workshop(0)
    unit = unit_from(PLATE, source="x")
    assert workshop.plan(unit, 20.0, None, 21.0, wait_s=0.01) is None
    assert workshop.plan(unit, 20.0, None, 21.0, wait_s=5.0) == {"ready": True}
    assert workshop.plan(unit, 20.0, None, 21.0, wait_s=0.0) == {"ready": True}
    assert len(calls) == 1
    for _ in range(2):
        with pytest.raises(InputError, match="Too hot"):
            workshop.plan(unit, 50.0, None, 21.0, wait_s=5.0)
    assert len(calls) == 3
    workshop.close()


def test_the_plan_is_that_of_the_command():
    pytest.importorskip("numba", reason="without Numba a plan takes a minute")
    plan = work.plan(unit_from(PLATE, source="x"), 45.0, None, 21.0)
    assert [method["verdict"] for method in plan["methods"]] == ["no", "no", "no"]


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="looks at processes under /proc")
def test_the_process_beside_ends_with_a_service_that_is_killed(tmp_path):
    """SIGKILL leaves the service no time to end what it started."""
    code = (
        "import os, signal, multiprocessing\n"
        "from concurrent.futures import ProcessPoolExecutor\n"
        "from firstfrost.web.work import end_with_the_service\n"
        "if __name__ == '__main__':\n"
        "    pool = ProcessPoolExecutor(1, mp_context=multiprocessing.get_context('spawn'),\n"
        "                               initializer=end_with_the_service)\n"
        "    print(pool.submit(os.getpid).result(), flush=True)\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    script = tmp_path / "service.py"
    script.write_text(code, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(script)], stdout=subprocess.PIPE, text=True, timeout=60, check=False
    )
    beside = Path(f"/proc/{int(done.stdout)}")
    until = time.monotonic() + 10.0
    while beside.exists() and "zombie" not in (beside / "status").read_text() and time.monotonic() < until:
        time.sleep(0.05)
    assert not beside.exists() or "zombie" in (beside / "status").read_text()
