"""Migrations, frozen traces, backup and restore, export and import."""

import csv
import io
import json
import os
import sqlite3
import zipfile

import numpy as np
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import add_site, add_unit, add_visit, demo_trace, demo_visit, new, send
from sqlalchemy import select, text
from test_store_batches import one
from test_store_records import close

from firstfrost.errors import DataError, InputError, StoreError
from firstfrost.store import visits
from firstfrost.store.accounts import hash_password, put_account
from firstfrost.store.backup import backup, restore
from firstfrost.store.export import export, guarded
from firstfrost.store.importing import import_
from firstfrost.store.migrate import current, migrate, newest
from firstfrost.store.schema import META, RECORDS, facts
from firstfrost.store.store import Store
from firstfrost.store.traces import freeze, thaw
from firstfrost.trace.reader import read_trace


def everything(store, *, but=()):
    """All rows of all tables."""
    return {
        table.name: store.read(
            lambda c, t=table: [tuple(row) for row in c.execute(select(t).order_by(*t.primary_key.columns))]
        )
        for table in RECORDS
        if table.name not in but
    }


def fill(store):
    """A store with something in each table."""
    site_id = add_site(store, name="=HYPERLINK(1)", address="Straße 1, 東京", note='two\nlines, "quoted"')
    unit_id = add_unit(store, site_id=site_id)
    visit_id = demo_visit(store, note="été")
    close(store, visit_id)
    by = store.by("command")
    send(store, visit_id, one(0, client="late-device"))
    send(store, visit_id, one(0, client="late-device", value=9.0))
    logged = add_visit(store, unit_id)
    store.write(
        lambda c: visits.put_file(
            c, logged, new(), name="../../x.csv", content=b"time,x\n", problem="no", by=by
        )
    )
    picture = new()
    store.write(
        lambda c: visits.put_attachment(
            c,
            picture,
            visit_id=visit_id,
            unit_id=None,
            name="n.png",
            media="image/png",
            content=b"\x89PNG",
            by=by,
        )
    )
    store.write(lambda c: visits.sign(c, visit_id, name="A", role="customer", attachment_id=picture, by=by))
    store.write(
        lambda c: visits.keep_report(
            c, visit_id, revision=1, ending="pdf", system="us", content=b"%PDF-", by=by
        )
    )
    hashed = hash_password("a quiet yard in autumn", name="lead")
    store.write(
        lambda c: put_account(c, new(), 0, name="Lead", role="lead", active=True, hashed=hashed, by=by)
    )
    store.write(lambda c: c.execute(facts.insert().values(key="store", value="made")))
    return visit_id


def test_the_migrations_make_the_tables_that_the_schema_says(store):
    def differences(connection):
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert current(connection) == newest()
        return compare_metadata(context, META)

    assert store.read(differences) == []


def test_opening_again_has_nothing_to_do_and_a_later_store_is_refused(where):
    with Store(where) as store:
        assert not migrate(store._write_engine)
        store.write(lambda c: c.execute(text("UPDATE alembic_version SET version_num = '9999'")))
    with pytest.raises(StoreError, match="'9999', which this version of Firstfrost does not know"):
        Store(where)


@pytest.mark.parametrize(
    ("where", "match"),
    [
        ("mysql://somewhere/x", "of kind mysql"),
        ("no such folder/x.db", "has no folder"),
        ("sqlite://", "keeps nothing"),
        ("postgresql://nobody@127.0.0.1:1/none", "cannot be opened"),
    ],
)
def test_a_store_that_cannot_be_opened_says_why(where, match):
    with pytest.raises((InputError, StoreError), match=match):
        Store(where)


@pytest.mark.skipif(os.name != "posix", reason="permissions are POSIX's")
def test_nobody_else_on_the_machine_reads_the_file(tmp_path):
    path = tmp_path / "x.db"
    with Store(str(path)) as store:
        add_site(store)
        backup(store, tmp_path / "b.db")
        assert {p.stat().st_mode & 0o077 for p in tmp_path.iterdir()} == {0}


def test_a_file_that_is_no_store_is_refused(tmp_path):
    path = tmp_path / "x.db"
    path.write_bytes(b"no database at all, but longer than a page header" * 40)
    with pytest.raises(StoreError, match="damaged or is no store"):
        Store(str(path))


def test_a_frozen_trace_comes_back_and_the_command_reads_it(tmp_path):
    unit, trace, _ = demo_trace()
    content, held = freeze(trace)
    assert freeze(held)[0] == content
    back = thaw(content)
    path = tmp_path / "trace.parquet"
    path.write_bytes(content)
    by_reader = read_trace([path], atmosphere_pa=unit.site.atmosphere_pa, zone=unit.site.zone).trace
    for got in (back, by_reader, held):
        assert np.array_equal(got.time_s, held.time_s)
        assert got.epoch == trace.epoch
        for name, column in trace.columns.items():
            assert np.array_equal(got.columns[name], column, equal_nan=True)
    assert np.abs(held.time_s - trace.time_s).max() < 1e-9


def test_a_backup_is_one_file_and_restores_all_of_it(store, tmp_path):
    fill(store)
    path = tmp_path / "backup.db"
    counts = backup(store, path)
    assert counts["batches"] > 30
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("backup")) == ["backup.db"]
    assert sqlite3.connect(path).execute("PRAGMA integrity_check").fetchone() == ("ok",)
    with Store(str(tmp_path / "again.db")) as again:
        restore(path, again)
        assert everything(again) == everything(store)
        with pytest.raises(InputError, match="not empty"):
            restore(path, again)
    with pytest.raises(InputError, match="is there already"):
        backup(store, path)


def test_a_backup_restores_into_either_database_and_work_goes_on(where, tmp_path):
    with Store(str(tmp_path / "first.db")) as first:
        fill(first)
        backup(first, tmp_path / "backup.db")
        expected = everything(first)
    with Store(where) as store:
        restore(tmp_path / "backup.db", store)
        assert everything(store) == expected
        add_site(store)


@pytest.mark.parametrize("content", [b"", b"no backup", b"SQLite format 3\0" + b"x" * 5000])
def test_what_is_no_backup_is_refused(content, tmp_path):
    path = tmp_path / "b.db"
    path.write_bytes(content)
    with Store(str(tmp_path / "s.db")) as store, pytest.raises((InputError, StoreError)):
        restore(path, store)


def test_an_export_comes_back_without_loss(store, tmp_path):
    fill(store)
    path = tmp_path / "export.zip"
    store.read(lambda c: export(c, path))
    with Store(str(tmp_path / "again.db"), clock=store.clock) as again:
        out = again.write(lambda c: import_(c, path, again.by("command")))
        assert out["differing"] == []
        but = ("sessions", "facts", "accounts", "audit")
        assert everything(again, but=but) == everything(store, but=but)
        # People come without their passwords; the trail comes whole, with the import at its end.
        assert [row[2:6] for row in everything(again)["accounts"]] == [("Lead", "lead", "lead", False)]
        trail = [row[1:] for row in everything(store)["audit"]]
        assert [row[1:] for row in everything(again)["audit"]][:-1] == trail
        # Once more is nothing more.
        once = everything(again, but=("audit", "blobs"))
        out = again.write(lambda c: import_(c, path, again.by("command")))
        assert out["taken"] == {}
        assert everything(again, but=("audit", "blobs")) == once
        second = tmp_path / "second.zip"
        again.read(lambda c: export(c, second))
    names = [set(zipfile.ZipFile(p).namelist()) for p in (path, second)]
    assert names[0] == names[1]


def test_an_export_is_readable_by_others_and_holds_no_secret(store, tmp_path):
    visit_id = fill(store)
    path = tmp_path / "export.zip"
    store.read(lambda c: export(c, path))
    archive = zipfile.ZipFile(path)
    assert b"argon2" not in b"".join(archive.read(name) for name in archive.namelist())
    rows = list(csv.DictReader(io.StringIO(archive.read("tables/sites.csv").decode("utf-8-sig"))))
    assert rows[0]["name"] == "'=HYPERLINK(1)"
    assert rows[0]["address"] == "Straße 1, 東京"
    import pyarrow.parquet as pq

    (trace,) = [name for name in archive.namelist() if name.endswith(".parquet")]
    assert pq.read_table(io.BytesIO(archive.read(trace))).num_rows == len(demo_trace()[1])
    lines = archive.read(f"batches/{visit_id}.jsonl").decode().splitlines()
    assert json.loads(lines[0])["batch"]["client"] == "device-one"


def test_what_was_deleted_is_not_brought_back_by_an_old_export(store, tmp_path):
    from firstfrost.store.erase import erase_visit

    visit_id = fill(store)
    path = tmp_path / "export.zip"
    store.read(lambda c: export(c, path))
    store.write(lambda c: erase_visit(c, visit_id, store.by("command")))
    store.write(lambda c: import_(c, path, store.by("command")))
    assert visit_id not in [row[0] for row in everything(store)["visits"]]
    assert not [row for row in everything(store)["batches"] if row[0] == visit_id]


def test_a_damaged_export_takes_nothing(store, tmp_path):
    fill(store)
    path = tmp_path / "export.zip"
    store.read(lambda c: export(c, path))
    bad = tmp_path / "bad.zip"
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(bad, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            target.writestr(name, content.replace(b"pins-bridged", b"pins-bridgex"))
    with Store(str(tmp_path / "again.db")) as again:
        before = everything(again)
        with pytest.raises(DataError, match="does not add up"):
            again.write(lambda c: import_(c, bad, again.by("command")))
        for content in (b"", b"PK\x03\x04", path.read_bytes()[:-3000]):
            bad.write_bytes(content)
            with pytest.raises(DataError):
                again.write(lambda c: import_(c, bad, again.by("command")))
        with pytest.raises(InputError, match="unpacks to"):
            again.write(lambda c: import_(c, path, again.by("command"), limit=1000))
        assert everything(again) == before


@given(st.text(max_size=30))
@settings(max_examples=300, deadline=None)
def test_no_cell_of_a_sheet_is_a_formula(cell):
    shown = guarded(cell)
    assert shown in (cell, "'" + cell)
    # What a spreadsheet takes for a formula: OWASP, "CSV Injection".
    assert not shown.strip(" \u00a0\u3000").startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
