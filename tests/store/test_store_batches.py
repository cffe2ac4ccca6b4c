"""Batches: each once, in any order, nothing lost."""

import random
import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shop import CLIENT, add_unit, add_visit, batches_of, demo_plate, demo_trace, demo_visit, new, send
from sqlalchemy import select

import firstfrost
from firstfrost.errors import DataError, InputError, Missing, StoreError
from firstfrost.store.batches import (
    Batch,
    MarkSent,
    Samples,
    Typed,
    Withdrawn,
    arrived,
    clashing,
    decode,
    encode,
    kept,
    sum_of,
)
from firstfrost.store.contents import contents
from firstfrost.store.judging import judge, result_of, sources
from firstfrost.store.schema import visits
from firstfrost.trace.reader import read_trace
from firstfrost.visit.as_json import as_json
from firstfrost.visit.check import check_trace

T0 = 1_795_600_000.0


def one(sequence=0, *, client=CLIENT, value=5.0, at=None, **over):
    samples = Samples(time_s=[T0 + sequence if at is None else at], channels={"outdoor_coil_temp": [value]})
    return Batch(client=client, sequence=sequence, samples=samples, **over)


def test_a_batch_sent_again_is_one(store):
    visit_id = add_visit(store)
    first = send(store, visit_id, one(0))
    assert (first.n, first.again, first.opened) == (1, False, True)
    again = send(store, visit_id, one(0, sent_s=T0 + 99))
    assert (again.n, again.again) == (1, True)
    assert len(store.read(lambda c: kept(c, visit_id))) == 1


def test_other_content_under_a_taken_number_is_kept_beside(store):
    visit_id = add_visit(store)
    send(store, visit_id, one(0, value=5.0))
    other = send(store, visit_id, one(0, value=6.0))
    assert other.clash
    send(store, visit_id, one(0, value=6.0))
    assert [item.batch.samples.channels for item in store.read(lambda c: kept(c, visit_id))] == [
        {"outdoor_coil_temp": [5.0]}
    ]
    beside = store.read(lambda c: clashing(c, visit_id))
    assert [batch.samples.channels for _, batch in beside] == [{"outdoor_coil_temp": [6.0]}]


def test_what_has_arrived_is_told_in_ranges(store):
    visit_id = add_visit(store)
    for sequence in (5, 0, 1, 4, 2, 9):
        send(store, visit_id, one(sequence))
    assert store.read(lambda c: arrived(c, visit_id)) == [(CLIENT, [[0, 2], [4, 5], [9, 9]])]


def test_a_visit_that_is_not_there_is_refused_and_others_are_taken(store):
    visit_id = add_visit(store)
    from firstfrost.store.batches import take

    bad = store.submit(lambda c: take(c, new(), one(0), store.by("command")))
    good = store.submit(lambda c: take(c, visit_id, one(0), store.by("command")))
    with pytest.raises(Missing, match="There is no visit"):
        bad.result()
    assert good.result().n == 1


def test_batches_in_any_order_with_repeats_give_the_same_result(store):
    unit, trace, marks = demo_trace()
    visit_id = demo_visit(store)
    shuffled = add_visit(
        store, store.read(lambda c: c.execute(select(visits.c.unit_id)).scalar()), marks_complete=True
    )
    batches = [item.batch for item in store.read(lambda c: kept(c, visit_id))]
    many = batches * 3
    random.Random(7).shuffle(many)
    for batch in many:
        send(store, shuffled, batch)
    results = [judge(store.read(lambda c, v=v: sources(c, v))).told for v in (visit_id, shuffled)]
    assert results[0] == results[1]
    # And it is that of the file, to the last digit.
    straight = as_json(check_trace(trace, unit, marks))
    assert results[0]["functions"] == straight["functions"]
    assert results[0]["defrosts"] == straight["defrosts"]


def test_jobs_from_many_threads_are_all_taken_once(store):
    visit_id = add_visit(store)

    def work(client):
        for sequence in range(40):
            for _ in range(2):
                send(store, visit_id, one(sequence, client=client))

    threads = [threading.Thread(target=work, args=(f"client-{k:03d}",)) for k in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    items = store.read(lambda c: kept(c, visit_id))
    assert [item.n for item in items] == list(range(1, 321))
    assert len({(item.batch.client, item.batch.sequence) for item in items}) == 320


def test_an_error_of_the_database_takes_nothing(store):
    visit_id = add_visit(store)
    from sqlalchemy import text

    with pytest.raises(StoreError, match="cannot be written to"):
        store.write(lambda c: c.execute(text("SELECT nothing FROM nowhere")))
    assert send(store, visit_id, one(0)).n == 1


@pytest.mark.parametrize(
    ("raw", "error", "match"),
    [
        (b"{", DataError, "not sound JSON"),
        (b"[]", InputError, "Expected `object`"),
        (b'{"client": "device-one"}', InputError, "sequence"),
        (b'{"client": "short", "sequence": 0}', InputError, "client"),
        (b'{"client": "device-one", "sequence": -1}', InputError, "sequence"),
        (b'{"client": "device-one", "sequence": 0, "marcs": []}', InputError, "marcs"),
        (b'{"client": "device-one", "sequence": 0, "samples": {"time_s": [1e999], "channels": {}}}',
        InputError, "out of range"), (b'\xff', DataError, "not sound JSON"),
    ],
)  # fmt: skip
def test_what_is_no_batch_is_refused(raw, error, match):
    with pytest.raises(error, match=match):
        decode(raw)


FINITE = st.floats(allow_nan=False, allow_infinity=False)


@given(
    times=st.lists(FINITE, max_size=5),
    value=st.one_of(st.none(), FINITE),
    note=st.text(max_size=20).filter(lambda s: s.isprintable()),
    sequence=st.integers(0, 2**53 - 1),
)
@settings(max_examples=200, deadline=None)
def test_a_batch_comes_back_as_it_was(times, value, note, sequence):
    batch = Batch(
        client=CLIENT,
        sequence=sequence,
        samples=Samples(time_s=times, channels={"power": [value] * len(times)}, units={"power": "W"}),
        marks=[MarkSent(id=new(), time_s=1.0, act="note", note=note)],
    )
    assert decode(encode(batch)) == batch
    assert sum_of(decode(encode(batch))) == sum_of(batch)


@given(order=st.lists(st.integers(0, 11), min_size=12, max_size=60))
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_replay_keeps_each_batch_once(tmp_path_factory, order):
    from firstfrost.store.store import Store

    with Store(str(tmp_path_factory.mktemp("replay") / "shop.db")) as store:
        visit_id = add_visit(store)
        for sequence in order:
            send(store, visit_id, one(sequence))
        items = store.read(lambda c: kept(c, visit_id))
        assert sorted(item.batch.sequence for item in items) == sorted(set(order))


class TestContents:
    def test_units_are_converted_and_problems_told(self):
        batch = Batch(
            client=CLIENT,
            sequence=0,
            samples=Samples(
                time_s=[T0],
                channels={
                    "suction_pressure": [100.0],
                    "nonsense": [1.0],
                    "power": [1.0, 2.0],
                    "airflow": [1.0],
                },
                units={"suction_pressure": "psig", "airflow": "psig"},
            ),
            typed=[
                Typed(id=new(), time_s=T0, channel="liquid_pressure", text="318 psig"),
                Typed(id=new(), time_s=T0, channel="liquid_line_temp", text="95"),
                Typed(id=new(), time_s=T0, channel="heating_call", text="on"),
                Typed(id=new(), time_s=3.0, channel="outdoor_air_temp", text="41 degF"),
            ],
            marks=[MarkSent(id=new(), time_s=T0, act="pins-brigded")],
        )
        from firstfrost.store.batches import Kept

        got = contents([Kept(n=1, received_s=T0, late=False, batch=batch)], 101_325.0)
        feed = got.feeds[0]
        # 1 psi is 6894.757 Pa (NIST SP 811, appendix B.8).
        assert feed.columns["suction_pressure"][0] == pytest.approx(100 * 6894.757 + 101_325.0, rel=1e-6)
        assert [entry["value"] for entry in got.typed] == [
            pytest.approx(318 * 6894.757 + 101_325.0, rel=1e-6), None, 1.0, None,
        ]  # fmt: skip
        assert [p["where"] for p in got.problems] == [
            "samples.channels.nonsense", "samples.channels.power", "samples.units.airflow",
            "typed[1].text", "typed[3].time_s", "marks[0].act",
        ]  # fmt: skip
        assert "Did you mean pins-bridged?" in got.problems[-1]["message"]
        assert got.acts == []

    def test_typed_readings_are_judged_as_the_same_in_a_file(self, store, tmp_path):
        """The readings that the guide types."""
        import csv
        import re

        guide = (Path(firstfrost.__file__).parents[2] / "docs" / "guide.md").read_text(encoding="utf-8")
        text = re.search(r"<!-- file: typed.csv -->\n```csv\n(.*?)```", guide, re.DOTALL)[1]
        path = tmp_path / "typed.csv"
        path.write_text(re.sub(r"(?m)^(\d\d:)", r"2025-10-14T\1", text))
        unit, _, _ = demo_trace()
        reading = read_trace(
            [path], atmosphere_pa=unit.site.atmosphere_pa, zone=unit.site.zone, refrigerant=unit.refrigerant
        )
        whole = check_trace(reading.trace, unit, None)
        rows = list(csv.reader(text.splitlines()))
        units = [re.fullmatch(r"(\w+)(?: \[(.+)\])?", header).groups() for header in rows[0]]
        zero = reading.trace.epoch.timestamp()
        visit_id = add_visit(store, add_unit(store, plate=demo_plate()))
        for sequence, row in enumerate(rows[1:]):
            typed = [
                Typed(
                    id=new(),
                    time_s=float(zero + reading.trace.time_s[sequence]),
                    channel=name,
                    text=f"{cell} {unit}",
                )
                for (name, unit), cell in zip(units[1:], row[1:], strict=True)
            ]
            send(store, visit_id, Batch(client=CLIENT, sequence=sequence, typed=typed))
        told = judge(store.read(lambda c: sources(c, visit_id))).told
        assert told["input"]["dropped"] == []
        assert told["record"]["samples"] == len(rows) - 1
        assert {name: one["standing"] for name, one in told["functions"].items()} == {
            finding.function: finding.standing for finding in whole.findings
        }
        assert "shown" in {finding.standing for finding in whole.findings}

    def test_what_is_withdrawn_stays_and_does_not_count(self, store):
        visit_id = add_visit(store)
        typed, mark = new(), new()
        send(store, visit_id, Batch(
            client=CLIENT, sequence=0,
            typed=[Typed(id=typed, time_s=T0, channel="outdoor_air_temp", text="410 degF")],
            marks=[MarkSent(id=mark, time_s=T0, act="pins-bridged")],
        ))  # fmt: skip
        gone = [Withdrawn(id=typed, time_s=T0 + 5, why="mistyped"), Withdrawn(id=mark, time_s=T0 + 6)]
        send(store, visit_id, Batch(client=CLIENT, sequence=1, withdrawn=gone))
        got = contents(store.read(lambda c: kept(c, visit_id)), 101_325.0)
        assert [entry["withdrawn"] for entry in (*got.typed, *got.marks)] == [True, True]
        assert got.acts == []
        assert got.feeds == []

    def test_two_devices_that_disagree_are_a_conflict_and_the_first_is_used(self, store):
        visit_id = add_visit(store)
        send(store, visit_id, one(0, client="device-one", value=5.0, at=T0))
        send(store, visit_id, one(0, client="device-two", value=6.0, at=T0))
        send(store, visit_id, one(1, client="device-two", value=7.0, at=T0 + 1))
        source = store.read(lambda c: sources(c, visit_id))
        got = contents(source.kept, 101_325.0)
        assert [(c.kind, c.client, c.other, c.values) for c in got.conflicts] == [
            ("value", "device-two", "device-one", (5.0, 6.0))
        ]
        result, _ = result_of(source)
        assert result.trace.columns["outdoor_coil_temp"].tolist() == [5.0, 7.0]
        assert any("Two devices disagree in 1 place" in text for text in result.warnings)

    def test_two_devices_are_joined_on_one_time_base(self, store):
        unit, trace, marks = demo_trace()

        visit_id = add_visit(store, add_unit(store, plate=demo_plate()), marks_complete=True)
        names = list(trace.columns)
        half = [names[::2], names[1::2]]
        from firstfrost.trace.trace import Trace

        for client, mine in zip(("device-one", "device-two"), half, strict=True):
            part = Trace(time_s=trace.time_s, columns={n: trace.columns[n] for n in mine}, epoch=trace.epoch)
            for batch in batches_of(part, marks if client == "device-one" else (), client=client):
                send(store, visit_id, batch)
        result, _ = result_of(store.read(lambda c: sources(c, visit_id)))
        assert np.array_equal(result.trace.time_s, trace.time_s)
        whole = check_trace(trace, unit, marks)
        assert [f.standing for f in result.findings] == [f.standing for f in whole.findings]
