"""Faults: killed at random moments, the disk full, the database gone and back, clocks set back.

Whatever was acknowledged is there, once. `benchmarks/bench_service.py --kills 500` does the first at length.
"""

import random
import sqlite3
import sys
from pathlib import Path

import pytest
from serving import alone, finished, new_visit
from shop import batches_of, demo_trace, demo_visit
from sqlalchemy import text
from stores import ENV, start_server

from firstfrost.store import engine
from firstfrost.store.batches import arrived, encode, kept
from firstfrost.store.judging import judge, sources
from firstfrost.store.store import Store

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "benchmarks"))

from bench_service import Service, run

KILLS = 5


def send(client, visit, batch):
    return client.post(
        f"/api/visits/{visit}/batches", content=encode(batch), headers={"Content-Type": "application/json"}
    )


def there(store, visit):
    return {
        sequence
        for _, have in store.read(lambda c: arrived(c, visit))
        for a, b in have
        for sequence in range(a, b + 1)
    }


def test_killed_under_load_nothing_acknowledged_is_lost_and_nothing_is_there_twice(where):
    random.seed(3)
    service = Service(where)
    try:
        visits, told = finished(run(service, count=8, seconds=0, kills=KILLS, period_s=0.05))
    finally:
        service.stop()
    assert told["killed"] == KILLS
    assert told["acknowledged"] > 100
    assert (told["lost"], told["double"]) == (0, 0)
    # Every reading came to the screen in the end, and none twice.
    assert (told["unseen"], told["seen_twice"]) == (0, 0)
    # All that was sent was acknowledged in the end, and the content is as sent.
    with Store(where) as store:
        for visit in visits:
            assert visit.acknowledged == set(range(visit.sequence))
            from firstfrost.store.batches import decode

            items = store.read(lambda c, v=visit: kept(c, v.id))
            assert {item.batch.sequence: item.batch for item in items} == {
                number: decode(raw) for number, raw in visit.sent.items()
            }


def test_a_full_disk_refuses_keeps_what_it_has_and_goes_on_when_there_is_room(tmp_path):
    _, trace, marks = demo_trace()
    path = tmp_path / "s.db"
    with Store(str(path)) as store, alone(store) as client:
        visit = new_visit(client)
        pages = store.write(lambda c: c.execute(text("PRAGMA page_count")).scalar())
        # SQLite's own limit gives the very error that a full disk gives (SQLITE_FULL).
        store.write(lambda c: c.execute(text(f"PRAGMA max_page_count = {pages + 30}")).scalar())
        batches = batches_of(trace, marks, rows=20)
        acknowledged, refused = set(), []
        for batch in batches:
            answer = send(client, visit, batch)
            if answer.status_code == 200:
                acknowledged.add(batch.sequence)
            else:
                assert answer.status_code == 503
                assert answer.json()["error"]["code"] == "store"
                assert "Make room on the disk" in answer.json()["error"]["message"]
                assert "Retry-After" in answer.headers
                refused.append(batch)
        assert acknowledged
        assert refused
        assert there(store, visit) >= acknowledged
        assert client.get("/api/health").status_code == 200
        store.write(lambda c: c.execute(text("PRAGMA max_page_count = 1000000")).scalar())
        for batch in refused:
            assert send(client, visit, batch).status_code == 200
        assert there(store, visit) == set(range(len(batches)))
        assert len(store.read(lambda c: kept(c, visit))) == len(batches)
    assert sqlite3.connect(path).execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_database_that_goes_and_comes_back():
    import os

    if os.environ.get(ENV):
        pytest.skip(f"PostgreSQL: the server of {ENV} is not ours to kill")
    try:
        server = start_server(fsync=True)
    except LookupError as why:
        pytest.skip(f"PostgreSQL: {why}")
    _, trace, marks = demo_trace()
    batches = batches_of(trace, marks, rows=30)
    try:
        with Store(server.database()) as store, alone(store) as client:
            visit = new_visit(client)
            acknowledged = set()
            refusals = 0
            for k, batch in enumerate(batches):
                if k in (10, 30, 50):
                    server.kill()
                answer = send(client, visit, batch)
                if answer.status_code != 200:
                    refusals += 1
                    assert (answer.status_code, answer.json()["error"]["code"]) == (503, "store")
                    assert client.get("/api/health").status_code == 503
                    server.start()
                    answer = send(client, visit, batch)
                    if answer.status_code == 503:
                        # The pool may hold one more connection that is dead.
                        answer = send(client, visit, batch)
                assert answer.status_code == 200, answer.text
                acknowledged.add(batch.sequence)
            assert refusals == 3
            assert there(store, visit) == acknowledged == set(range(len(batches)))
            assert len(store.read(lambda c: kept(c, visit))) == len(batches)
            assert client.get("/api/health").status_code == 200
    finally:
        server.end()


def test_a_store_that_another_program_holds_is_waited_for_and_then_said(tmp_path, monkeypatch):
    monkeypatch.setattr(engine, "BUSY_MS", 200)
    path = tmp_path / "s.db"
    _, trace, _ = demo_trace()
    first, second = batches_of(trace, rows=30)[:2]
    with Store(str(path)) as store, alone(store) as client:
        visit = new_visit(client)
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        answer = send(client, visit, first)
        assert answer.status_code == 503
        assert "Another program holds the store" in answer.text
        assert client.get(f"/api/visits/{visit}").status_code == 200
        other.execute("ROLLBACK")
        other.close()
        for batch in (second, first, second):
            assert send(client, visit, batch).status_code == 200
        assert there(store, visit) == {0, 1}


def test_the_service_clock_set_back_changes_nothing_that_counts(store, clock):
    visit = demo_visit(store)
    before = judge(store.read(lambda c: sources(c, visit))).told
    clock.now_s -= 400 * 86_400
    other = demo_visit(store)
    clock.now_s += 800 * 86_400
    items = store.read(lambda c: kept(c, other))
    assert [item.n for item in items] == list(range(1, len(items) + 1))
    assert judge(store.read(lambda c: sources(c, other))).told == before


def test_a_recorder_whose_clock_is_set_back_keeps_its_readings_in_order(store):
    _, trace, _ = demo_trace()
    visit = demo_visit(store)
    plain = judge(store.read(lambda c: sources(c, visit))).told
    from shop import add_unit, add_visit, demo_plate
    from shop import send as put

    # An hour back in the steady heating before the defrost, as a clock that was corrected.
    moved = add_visit(store, add_unit(store, plate=demo_plate()), marks_complete=True)
    batches = batches_of(trace, rows=60)
    import msgspec

    for batch in batches:
        samples = batch.samples
        if batch.sequence < 4:
            samples = msgspec.structs.replace(samples, time_s=[t + 3600.0 for t in samples.time_s])
        put(store, moved, msgspec.structs.replace(batch, samples=samples))
    told = judge(store.read(lambda c: sources(c, moved))).told
    assert told["record"]["samples"] == plain["record"]["samples"]
    assert any("the clock was set back by" in note for note in told["input"]["notes"])
    assert [d["duration_s"] for d in told["defrosts"]] == [d["duration_s"] for d in plain["defrosts"]]
