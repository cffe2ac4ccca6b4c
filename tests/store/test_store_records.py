"""Records: versions, visits from plan to signature, history, deletion."""

import pytest
from shop import (
    PLATE,
    add_instrument,
    add_site,
    add_unit,
    add_visit,
    demo_visit,
    new,
    send,
    site_fields,
    unit_fields,
    visit_fields,
)
from sqlalchemy import func, select
from test_store_batches import one

from firstfrost.equipment.settings import FILES
from firstfrost.errors import Changed, Deleted, InputError, Missing, WrongState
from firstfrost.store import audit, blobs, schema, units, visits
from firstfrost.store.batches import Batch, Samples
from firstfrost.store.erase import erase_site
from firstfrost.store.history import attention, unit_history
from firstfrost.store.judging import judge, readings, sources
from firstfrost.store.records import SITE, put
from firstfrost.store.store import Store


def close(store, visit_id):
    source = store.read(lambda c: sources(c, visit_id))
    judged = judge(source)
    return store.write(lambda c: visits.close(c, visit_id, source, judged, store.by("command")))


def test_a_record_is_created_changed_and_not_overwritten_unseen(store):
    site_id = add_site(store)
    by = store.by("command")
    assert not store.write(lambda c: put(c, SITE, site_id, 0, site_fields(), by))
    assert store.write(lambda c: put(c, SITE, site_id, 1, site_fields(note="gate code at the desk"), by))
    with pytest.raises(Changed, match="at version 2, and this change was made from version 1") as caught:
        store.write(lambda c: put(c, SITE, site_id, 1, site_fields(note="other"), by))
    assert caught.value.current["note"] == "gate code at the desk"
    with pytest.raises(Missing, match="There is no site"):
        store.write(lambda c: put(c, SITE, new(), 3, site_fields(), by))
    told = store.read(lambda c: audit.entries(c))
    assert [(entry["act"], entry["detail"]) for entry in told] == [
        ("change", {"version": 2, "was": {"note": ""}}),
        ("create", {}),
    ]


def test_a_plate_with_mistakes_is_refused_with_all_of_them(store):
    plate = {"unit": {"refrigerant": "R-999"}, "board": {"interval": "60 bananas"}}
    with pytest.raises(InputError, match="2 mistakes"):
        add_unit(store, plate=plate)


@pytest.mark.parametrize("row", FILES, ids=lambda row: row.name)
def test_a_plate_names_no_file_of_this_machine(store, row):
    plate = {"unit": {"refrigerant": "R-410A"}}
    plate.setdefault(row.table, {})[row.key] = "/etc/passwd"
    with pytest.raises(InputError, match=f"names another file under {row.name}"):
        add_unit(store, plate=plate)


def test_altitude_and_zone_come_from_the_site_where_the_plate_has_none(store):
    site_id = add_site(store, altitude="5000 ft", zone="America/Denver")
    unit_id = add_unit(store, site_id=site_id, plate={"unit": {"refrigerant": "R-410A"}})
    read = store.read(lambda c: units.unit_view(c, unit_id))["read"]
    assert read["site"]["altitude_m"] == pytest.approx(1524.0)
    assert read["site"]["zone"] == "America/Denver"
    # 5000 ft in the standard atmosphere is 84.3 kPa (U.S. Standard Atmosphere, 1976: 84 307 Pa).
    assert read["site"]["atmosphere_pa"] == pytest.approx(84_307, abs=30)
    assert read["stop"]["gauge_pa"] == pytest.approx(
        read["stop"]["pressure_pa"] - read["site"]["atmosphere_pa"]
    )


def test_an_instrument_gives_its_accuracy_and_its_due_day(store):
    gauge = add_instrument(store, reads={"suction_pressure": "0.5 %"}, due_on="2020-01-01")
    visit_id = add_visit(store, instruments=[gauge])
    view = store.read(lambda c: visits.visit_view(c, visit_id))
    assert [one["id"] for one in view["instruments_overdue"]] == [gauge]
    unit = store.read(lambda c: sources(c, visit_id)).unit
    send(store, visit_id, one(0))
    told = judge(store.read(lambda c: sources(c, visit_id))).told
    assert "The calibration of gauges was due on 2020-01-01" in told["warnings"][0]
    assert unit.instruments["suction_pressure"].of_reading == pytest.approx(0.005)
    with pytest.raises(InputError, match="not in the store"):
        add_visit(store, instruments=[new()])
    with pytest.raises(InputError, match="is not a channel"):
        add_instrument(store, reads={"suction": "1 %"})


def test_a_visit_goes_from_plan_to_signature(store):
    unit_id = add_unit(store)
    visit_id = add_visit(store, unit_id, planned_on="2026-11-20")
    view = store.read(lambda c: visits.visit_view(c, visit_id))
    assert (view["state"], view["n"], view["revision"]) == ("planned", 0, None)
    send(store, visit_id, one(0))
    assert store.read(lambda c: visits.visit_view(c, visit_id))["state"] == "open"
    assert close(store, visit_id) == 1
    with pytest.raises(WrongState, match="is closed"):
        store.write(
            lambda c: visits.put_visit(c, visit_id, 9, visit_fields(unit_id, note="x"), store.by("command"))
        )
    assert send(store, visit_id, one(1)).late
    view = store.read(lambda c: visits.visit_view(c, visit_id))
    assert (view["state"], view["late"], view["n"]) == ("closed", 1, 2)
    sign = {"name": "A. Person", "role": "technician", "attachment_id": None}
    store.write(lambda c: visits.sign(c, visit_id, by=store.by("command"), **sign))
    store.write(lambda c: visits.reopen(c, visit_id, "late readings", store.by("command")))
    assert close(store, visit_id) == 2
    view = store.read(lambda c: visits.visit_view(c, visit_id))
    assert view["late"] == 0
    assert [one["n"] for one in view["revisions"]] == [1, 2]
    assert [one["revision"] for one in view["signatures"]] == [1]
    first, last = (store.read(lambda c, k=k: visits.revision_result(c, visit_id, k)[1]) for k in (1, 2))
    assert (first["record"]["samples"], last["record"]["samples"]) == (1, 2)


def test_a_closed_visit_is_read_with_the_plate_of_then(store):
    unit_id = add_unit(store)
    visit_id = add_visit(store, unit_id)
    send(store, visit_id, one(0))
    close(store, visit_id)
    before = judge(store.read(lambda c: sources(c, visit_id))).told
    plate = {"unit": {"refrigerant": "R-32"}}
    by = store.by("command")
    store.write(lambda c: units.put_unit(c, unit_id, 1, unit_fields(plate=plate, name="Another"), by))
    assert judge(store.read(lambda c: sources(c, visit_id))).told == before
    store.write(lambda c: visits.reopen(c, visit_id, "the plate was wrong", by))
    assert judge(store.read(lambda c: sources(c, visit_id))).told["unit"]["refrigerant"] == "R-32"


def test_a_visit_that_changed_while_it_was_judged_is_not_closed_on_the_old(store):
    visit_id = demo_visit(store)
    source = store.read(lambda c: sources(c, visit_id))
    judged = judge(source)
    send(store, visit_id, one(0, client="another-device"))
    assert store.write(lambda c: visits.close(c, visit_id, source, judged, store.by("command"))) is None


def test_a_log_is_kept_once_and_can_be_set_aside(store):
    visit_id = add_visit(store)
    file_id = new()
    by = store.by("command")

    def put(content):
        return store.write(
            lambda c: visits.put_file(
                c, visit_id, file_id, name="log.csv", content=content, problem="no", by=by
            )
        )

    assert put(b"a")
    assert not put(b"a")
    with pytest.raises(Changed, match="came before with other content"):
        put(b"b")
    assert [f["aside"] for f in store.read(lambda c: visits.file_list(c, visit_id))] == [True]
    store.write(
        lambda c: visits.use_file(c, visit_id, file_id, aside=False, columns=None, problem=None, by=by)
    )
    assert len(store.read(lambda c: sources(c, visit_id)).logs) == 1


def test_a_blob_that_was_changed_underneath_is_found(store):
    key = store.write(lambda c: blobs.put(c, b"as it was", "text/plain"))
    store.write(lambda c: c.execute(schema.blobs.update().values(content=b"as it is not")))
    from firstfrost.errors import StoreError

    with pytest.raises(StoreError, match="does not add up"):
        store.read(lambda c: blobs.get(c, key))


def test_history_and_the_shop_list(store, clock):
    visit_id = demo_visit(store)
    unit_id = store.read(lambda c: c.execute(select(schema.visits.c.unit_id)).scalar())
    close(store, visit_id)
    story = store.read(lambda c: unit_history(c, unit_id))
    (visit,) = story["visits"]
    result = store.read(lambda c: visits.revision_result(c, visit_id, 1)[1])
    assert visit["defrost_s"]["value"] == result["defrosts"][0]["duration_s"]
    assert (
        visit["opens_c"]["value"] == result["functions"]["sensor_opens"]["evidence"][0]["measured"]["value"]
    )
    assert visit["heating"].keys() == result["heating"]["numbers"].keys()
    assert story["drift"]["closes_c"]["drifts"] is None
    other = add_unit(store, name="Never seen")
    practice = add_unit(store, practice=True)
    listed = store.read(lambda c: attention(c, clock()))
    assert [entry["unit_id"] for entry in listed] == [other, unit_id]
    assert practice not in [entry["unit_id"] for entry in listed]
    clock.now_s += 2 * 365 * 86_400
    listed = {entry["unit_id"]: entry for entry in store.read(lambda c: attention(c, clock()))}
    assert [reason["code"] for reason in listed[unit_id]["reasons"]] == ["due"]


def test_conflicts_are_counted_in_the_lists_until_the_next_visit_is_closed(store, clock):
    unit_id = add_unit(store)

    def told(visit_id):
        (entry,) = store.read(lambda c: attention(c, clock()))
        listed = {row["id"]: row["conflicts"] for row in store.read(visits.visit_list)}
        assert store.read(lambda c: visits.visit_view(c, visit_id))["conflicts"] == listed[visit_id]
        found = [reason["sentence"] for reason in entry["reasons"] if reason["code"] == "conflicts"]
        return listed[visit_id], found

    def batch(client, sequence, value, at):
        samples = Samples(time_s=[at], channels={"outdoor_coil_temp": [value]})
        return Batch(client=client, sequence=sequence, samples=samples)

    start = clock()
    first = add_visit(store, unit_id, started_s=start)
    send(store, first, batch("device-one", 0, 5.0, start))
    send(store, first, batch("device-two", 0, 5.0, start))
    assert told(first) == (0, [])
    send(store, first, batch("device-one", 1, 5.0, start + 1))
    send(store, first, batch("device-two", 1, 6.0, start + 1))
    count, (sentence,) = told(first)
    assert count == 1
    assert sentence.startswith("Two devices disagree in one place of an open visit;")
    # Another content under a number that was taken is one more.
    send(store, first, batch("device-two", 1, 6.5, start + 1))
    assert told(first)[0] == len(store.read(lambda c: readings(c, first))["conflicts"]) == 2
    close(store, first)
    assert told(first)[1][0].startswith("Two devices disagree in 2 places of the last visit;")
    second = add_visit(store, unit_id, started_s=start + 86_400)
    send(store, second, batch("device-one", 0, 5.0, start + 86_400))
    close(store, second)
    assert told(first) == (2, [])
    assert told(second) == (0, [])


def test_what_was_deleted_is_not_in_the_file_any_more(tmp_path):
    """SQLite's `secure_delete` and an emptied log: the bytes are gone, not only the rows."""
    with Store(str(tmp_path / "s.db")) as store:
        secret = "Rowan-Quillfeather-17"
        site_id = add_site(store, name=secret, note=secret * 40)
        unit_id = add_unit(store, site_id=site_id, name=secret)
        visit_id = add_visit(store, unit_id, note=secret)
        send(store, visit_id, one(0))
        by = store.by("command")
        store.write(
            lambda c: visits.put_file(
                c, visit_id, new(), name=secret, content=secret.encode() * 900, problem=None, by=by
            )
        )
        store.tidy()
        before = b"".join(path.read_bytes() for path in tmp_path.iterdir())
        assert secret.encode() in before
        store.write(lambda c: erase_site(c, site_id, secret, by))
        store.tidy()
        after = b"".join(path.read_bytes() for path in tmp_path.iterdir())
        assert secret.encode() not in after


def test_deleting_a_customer_leaves_ids_and_nothing_else(store):
    site_id = add_site(store, name="To be forgotten")
    unit_id = add_unit(store, site_id=site_id, plate=PLATE)
    visit_id = add_visit(store, unit_id, note="lives alone")
    other = demo_visit(store)
    send(store, visit_id, one(0))
    close(store, visit_id)
    close(store, other)
    by = store.by("command")
    store.write(
        lambda c: visits.put_attachment(
            c,
            new(),
            visit_id=visit_id,
            unit_id=None,
            name="plate.png",
            media="image/png",
            content=b"png",
            by=by,
        )
    )
    store.write(lambda c: put(c, SITE, site_id, 1, site_fields(name="To be forgotten", note="secret"), by))
    with pytest.raises(InputError, match="not the name of the site"):
        store.write(lambda c: erase_site(c, site_id, "Another", by))
    done = store.write(lambda c: erase_site(c, site_id, "To be forgotten", by))
    assert done.visits == [visit_id]
    assert {name: done.counts[name] for name in ("sites", "units", "visits", "batches", "attachments")} == {
        "sites": 1, "units": 1, "visits": 1, "batches": 1, "attachments": 1,
    }  # fmt: skip
    # The other customer's trace and result are there, and no other bytes.
    held = store.read(lambda c: c.execute(select(func.count()).select_from(schema.blobs)).scalar())
    assert held == 2
    for name in ("sites", "units", "visits", "audit", "deleted", "attachments"):
        table = schema.META.tables[name]
        text = repr(store.read(lambda c, t=table: c.execute(select(t)).all()))
        assert "forgotten" not in text
        assert "lives alone" not in text
        assert "secret" not in text
    with pytest.raises(Deleted, match="deleted on request"):
        send(store, visit_id, one(1))
    with pytest.raises(Deleted, match="deleted on request"):
        store.write(lambda c: units.put_unit(c, unit_id, 0, unit_fields(), by))
