"""Further readings for the causes in a visit: kept once, withdrawn, told, counted, taken out and in."""

import csv
import io
import re
import zipfile

import pytest
from shop import CLIENT, PLATE, add_unit, add_visit, demo_visit, new, send
from test_store_batches import T0, one
from test_store_records import close

from firstfrost.errors import InputError
from firstfrost.store import visits
from firstfrost.store.backup import backup, restore
from firstfrost.store.batches import Batch, Looked, MarkSent, Typed, Withdrawn, decode, encode, kept, sum_of
from firstfrost.store.conflicts import conflict_counts
from firstfrost.store.contents import contents
from firstfrost.store.export import export
from firstfrost.store.importing import import_
from firstfrost.store.judging import judge, readings, result_of, sources
from firstfrost.store.schema import visits as visit_table
from firstfrost.store.store import Store

ID = "0b7f9a52-64c6-4f0e-9d5a-1f2e3d4c5b6a"


def look(name, text, *, at=T0, id=None):
    return Looked(id=id or new(), time_s=at, name=name, text=text)


def put(store, visit_id, *looks, client=CLIENT, sequence=0, withdrawn=()):
    batch = Batch(client=client, sequence=sequence, looked=list(looks), withdrawn=list(withdrawn))
    return send(store, visit_id, batch)


def counted(store, visit_id):
    """What the ranking takes, by feature."""
    result, _ = result_of(store.read(lambda c: sources(c, visit_id)))
    return {one.feature: one.text for one in result.causes.readings}


def share(told, name):
    """The probability of one cause in a result; 0 where it is not shown."""
    return sum(row["probability"] for row in told["causes"]["answers"] if row["names"] == [name])


def test_a_batch_without_them_is_the_batch_it_was():
    """The sums were worked out by the version before there were any."""
    batch = one(3, marks=[MarkSent(id=ID, time_s=T0, act="pins-bridged")])
    assert sum_of(batch) == "b49f65f69bb8d85ea482ab9a3a8f68ef51d1d14957dd25e0787fecdd9558904d"
    typed = Batch(client=CLIENT, sequence=0, typed=[Typed(id=ID, time_s=T0, channel="airflow", text="9 cfm")])
    assert sum_of(typed) == "a27cc1256942c3729825eb8138f0b0a4705334975c35b1b26ae8f6998d8f4097"
    assert b"looked" not in encode(typed)


def test_they_come_back_as_they_were_and_are_part_of_the_sum():
    batch = Batch(client=CLIENT, sequence=0, looked=[look("filter_look", "dirty", id=ID)])
    assert decode(encode(batch)) == batch
    other = Batch(client=CLIENT, sequence=0, looked=[look("filter_look", "clean", id=ID)])
    assert sum_of(other) != sum_of(batch)


@pytest.mark.parametrize("over", [{"id": "x"}, {"text": "x" * 201}, {"name": "x" * 101}, {"more": 1}])
def test_what_is_no_reading_is_refused(over):
    import json

    row = {"id": ID, "time_s": T0, "name": "filter_look", "text": "dirty", **over}
    raw = json.dumps({"client": CLIENT, "sequence": 0, "looked": [row]}).encode()
    with pytest.raises(InputError, match=r"looked"):
        decode(raw)


def test_a_reading_moves_the_causes_once_and_not_when_it_is_withdrawn(store):
    visit_id = demo_visit(store)
    first = store.read(lambda c: sources(c, visit_id))
    before = judge(first).told
    put(store, visit_id, look("filter_look", "dirty", id=ID), client="phone-one")
    put(store, visit_id, look("filter_look", "dirty", id=ID), client="phone-one")
    # The same entry in another batch, as after a device was set up anew from a backup.
    put(store, visit_id, look("filter_look", "dirty", id=ID), client="phone-one", sequence=1)
    then = store.read(lambda c: sources(c, visit_id))
    assert then.digest != first.digest
    after = judge(then).told
    assert [row["text"] for row in after["causes"]["readings"]] == ["filter_look = dirty"]
    # The machine is sound: a dirty filter makes that less sure.
    assert share(after, "sound") < share(before, "sound") - 0.001
    assert after["functions"] == before["functions"]
    gone = [Withdrawn(id=ID, time_s=T0 + 9, why="mistyped")]
    put(store, visit_id, client="phone-one", sequence=2, withdrawn=gone)
    last = judge(store.read(lambda c: sources(c, visit_id))).told
    assert last["causes"] == before["causes"]
    (row,) = store.read(lambda c: readings(c, visit_id))["looked"]
    assert (row["withdrawn"], row["counts"]) == (True, False)


def test_the_latest_of_one_feature_counts_in_whatever_order_they_come(store):
    visit_id = demo_visit(store)
    put(store, visit_id, look("filter_look", "clean", at=T0 + 60), client="phone-one", sequence=1)
    put(store, visit_id, look("filter_look", "dirty", at=T0), client="phone-one", sequence=0)
    assert counted(store, visit_id) == {"filter_look": "filter_look = clean"}
    told = store.read(lambda c: readings(c, visit_id))
    assert [(row["text"], row["counts"]) for row in told["looked"]] == [("clean", True), ("dirty", False)]
    # One device that looks twice does not disagree with itself.
    assert told["conflicts"] == []


def test_two_devices_that_say_different_things_are_a_conflict_and_the_latest_counts(store):
    visit_id = demo_visit(store)
    wrong = new()
    put(store, visit_id, look("filter_look", "dirty", at=T0, id=wrong), client="phone-one")
    put(store, visit_id, look("filter_look", "clean", at=T0 + 60), client="phone-two")
    put(store, visit_id, look("airflow", "980 cfm", at=T0), client="phone-one", sequence=1)
    put(store, visit_id, look("airflow", "600 cfm", at=T0 + 60), client="phone-two", sequence=1)
    told = store.read(lambda c: readings(c, visit_id))["conflicts"]
    assert [(row["kind"], row["channel"], row["client"], row["other"], row["values"]) for row in told] == [
        ("looked", "filter_look", "phone-one", "phone-two", ("clean", "dirty")),
        ("looked", "airflow", "phone-one", "phone-two", ("600 cfm", "980 cfm")),
    ]
    assert counted(store, visit_id) == {
        "filter_look": "filter_look = clean",
        "airflow_log": "airflow = 600 cfm",
    }
    result, _ = result_of(store.read(lambda c: sources(c, visit_id)))
    assert any(
        "typed for the causes (airflow, filter_look); the latest was used" in w for w in result.warnings
    )
    rows = store.read(lambda c: c.execute(visit_table.select()).all())
    assert store.read(lambda c: conflict_counts(c, rows))[visit_id] == 2
    gone = [Withdrawn(id=wrong, time_s=T0 + 90)]
    put(store, visit_id, client="phone-one", sequence=2, withdrawn=gone)
    told = store.read(lambda c: readings(c, visit_id))["conflicts"]
    assert [row["channel"] for row in told] == ["airflow"]


def test_two_devices_that_agree_within_their_uncertainty_are_no_conflict(store):
    """6 % each (the row's): 980 and 900 cfm lie 80 apart, and twice their joint uncertainty is 160."""
    visit_id = demo_visit(store)
    put(store, visit_id, look("airflow", "980 cfm", at=T0), client="phone-one")
    put(store, visit_id, look("airflow", "900 cfm", at=T0 + 60), client="phone-two")
    assert store.read(lambda c: readings(c, visit_id))["conflicts"] == []


def test_what_cannot_be_read_is_kept_and_told(store):
    visit_id = demo_visit(store)
    looks = [
        look("filter_look", "grey"),
        look("mood", "good"),
        look("airflow", "980"),
        look("airflow", "90000 cfm"),
        look("pan_look", "ice", at=3.0),
        look("superheat", "12 delta_degF ± 2 delta_degF"),
    ]
    put(store, visit_id, *looks, client="phone-one")
    told = store.read(lambda c: readings(c, visit_id))
    problems = [
        (row["where"], re.split(r"\. Expected|, which", row["message"])[0]) for row in told["problems"]
    ]
    assert problems == [
        ("looked[0].text", "filter_look = 'grey': filter, looked at is 'grey'"),
        ("looked[1].text", "mood = 'good': 'mood' is no reading that can be typed"),
        ("looked[2].text", "airflow = '980' is '980', a number without a unit"),
        ("looked[3].text", "airflow = '90000 cfm' lies outside 20 cfm to 5000 cfm"),
        ("looked[4].time_s", "3 is no time of a visit"),
    ]  # fmt: skip
    assert [row["text"] for row in told["looked"]] == [one.text for one in looks]
    assert [row["counts"] for row in told["looked"]] == [False] * 5 + [True]
    last = told["looked"][-1]
    # 12 degF apart are 20/3 K (NIST SP 811, appendix B.8: 1 degF is 5/9 K).
    assert (last["value"], last["unit"]) == (pytest.approx(20 / 3), "delta_degC")
    assert counted(store, visit_id) == {"superheat_k": "superheat = 12 delta_degF ± 2 delta_degF"}


def test_what_needs_the_units_size_says_so(store):
    plate = {**PLATE, "unit": {"refrigerant": "R-410A"}}
    visit_id = add_visit(store, add_unit(store, plate=plate))
    send(store, visit_id, one(0))
    put(store, visit_id, look("airflow", "980 cfm"), look("filter_look", "dirty"), client="phone-one")
    told = store.read(lambda c: readings(c, visit_id))
    (problem,) = told["problems"]
    assert (problem["where"], problem["client"]) == ("looked[0].text", "phone-one")
    assert "Write nominal_capacity under [unit]" in problem["message"]
    assert [row["counts"] for row in told["looked"]] == [False, True]
    result, _ = result_of(store.read(lambda c: sources(c, visit_id)))
    assert any(
        text.startswith("Not used for the causes: airflow = 980 cfm means") for text in result.warnings
    )
    assert store.read(lambda c: readings(c, visit_id, after=2))["problems"] == []


def test_late_ones_wait_until_the_visit_is_opened_again(store):
    visit_id = demo_visit(store)
    close(store, visit_id)
    before = judge(store.read(lambda c: sources(c, visit_id))).told
    taken = put(store, visit_id, look("filter_look", "dirty"), client="phone-one")
    assert taken.late
    assert judge(store.read(lambda c: sources(c, visit_id))).told == before
    store.write(lambda c: visits.reopen(c, visit_id, "the filter", store.by("command")))
    assert counted(store, visit_id) == {"filter_look": "filter_look = dirty"}


def test_an_entry_that_says_two_things_is_a_conflict(store):
    visit_id = add_visit(store)
    put(store, visit_id, look("filter_look", "dirty", id=ID), client="phone-one")
    put(store, visit_id, look("filter_look", "clean", id=ID), client="phone-two")
    (found,) = contents(store.read(lambda c: kept(c, visit_id)), 101_325.0).conflicts
    assert (found.kind, found.values) == ("entry", ("dirty", "clean"))


def test_they_go_out_and_come_back_without_loss(store, tmp_path):
    visit_id = demo_visit(store)
    looks = [look("filter_look", "dirty"), look("mood", "=HYPERLINK(1)")]
    put(store, visit_id, *looks, client="phone-one")
    gone = [Withdrawn(id=looks[0].id, time_s=T0 + 9, why="+1 mistyped")]
    put(store, visit_id, client="phone-one", sequence=1, withdrawn=gone)
    before = store.read(lambda c: readings(c, visit_id))["looked"]
    path = tmp_path / "export.zip"
    store.read(lambda c: export(c, path))
    archive = zipfile.ZipFile(path)
    rows = list(csv.DictReader(io.StringIO(archive.read("tables/looked.csv").decode("utf-8-sig"))))
    told = [(row["name"], row["text"], row["withdrawn"], row["why"]) for row in rows]
    assert told == [
        ("filter_look", "dirty", "true", "'+1 mistyped"),
        ("mood", "'=HYPERLINK(1)", "false", ""),
    ]
    assert {row["visit_id"] for row in rows} == {visit_id}
    backup(store, tmp_path / "backup.db")
    for name in ("imported", "restored"):
        with Store(str(tmp_path / f"{name}.db"), clock=store.clock) as again:
            if name == "imported":
                again.write(lambda c, a=again: import_(c, path, a.by("command")))
            else:
                restore(tmp_path / "backup.db", again)
            assert again.read(lambda c: readings(c, visit_id))["looked"] == before
