"""The maker's tables in a plate: checked when they come, used in a visit, kept and handed on without loss."""

import csv
import io
import json
import tomllib
import zipfile

import pytest
from serving import alone, new_unit, new_visit
from shop import PLATE, batches_of, demo_plate, demo_trace, new

from firstfrost.equipment.read import unit_from
from firstfrost.heating.tables import blower, charging, performance, run_log
from firstfrost.store.backup import backup, restore
from firstfrost.store.batches import encode
from firstfrost.store.export import export
from firstfrost.store.importing import import_
from firstfrost.store.schema import RECORDS
from firstfrost.store.store import Store

TABLES = {
    ("maker", "performance"): (
        "# =1+1, as typed off the maker's paper\n"
        "outdoor_air_temp [degF],return_air_temp [degF],capacity [kBtu/h],power [kW]\n"
        "17,70,16.2,1.95\n47,70,27.0,2.26\n"
    ),
    ("maker", "blower"): (
        "external_static_pressure [inH2O];airflow [cfm]\r\n0,1;1060\r\n0,5;930\r\n0,8;790\r\n"
    ),
    ("targets", "table"): "outdoor_air_temp [degF],subcooling [delta_degF]\n17,12\n65,9\n",
    (
        "house",
        "run_time",
    ): "outdoor_air_temp [degF],run_fraction [%],date\n20,80,2025-01-08\n40,40,2025-02-02\n",
}
MAP = [133.5, 2.7, -0.46, 0.03, 0.001, 0.002, 1e-4, 0, 0, -1e-5]


def with_tables(plate=PLATE, tables=TABLES):
    out = {table: dict(content) for table, content in plate.items()}
    for (table, key), text in tables.items():
        out.setdefault(table, {})[key] = {"name": f"{key}.csv", "text": text}
    out.setdefault("compressor", {})["mass_flow"] = MAP
    return out


def read(client, unit):
    return client.get(f"/api/units/{unit}").json()


def test_a_plate_carries_every_table_and_comes_back_as_it_was(store):
    with alone(store) as client:
        plate = with_tables()
        unit = new_unit(client, plate=plate)
        assert read(client, unit)["plate"] == plate
        made = unit_from(plate, source="the plate")
        assert performance(made).source == "performance.csv"
        # 16.2 and 27.0 kBtu/h, as the table above has it.
        assert [round(w) for w in performance(made).grid.values["capacity"]] == [4748, 7913]
        assert blower(made).source == "blower.csv"
        assert charging(made).source == "table.csv"
        # 20 and 40 degF.
        assert run_log(made).outdoor_c == pytest.approx([-6.667, 4.444], abs=1e-3)
        assert made.compressor.mass_flow == tuple(MAP)
        # As a unit file it says the same to the commands.
        told = client.post("/api/plates", json={"plate": plate}).json()
        assert tomllib.loads(told["toml"]) == plate
        assert client.post("/api/plates", json={"toml": told["toml"]}).json()["plate"] == plate


@pytest.mark.parametrize(
    ("key", "text", "match"),
    [
        (("maker", "performance"), "outdoor_air_temp [degF],capacity\n17,16\n47,27\n", "has no unit"),
        (("maker", "performance"), "outdoor_air_temp [degF],capacity [kW]\n17,4.7\n47,n/a\n", "row 3"),
        (("maker", "performance"), "=cmd|'/c calc'!A0\n1\n", "is not understood"),
        (("maker", "blower"), "external_static_pressure [inH2O],airflow [cfm]\n0.5,930\n", "one static"),
        (("targets", "table"), "outdoor_air_temp [degF]\n17\n47\n", "none of the columns"),
        (("house", "run_time"), "outdoor_air_temp [degF],run_fraction [%]\n20,180\n", "0 to 100 %"),
    ],
)
def test_one_that_cannot_be_used_is_refused_in_the_readers_words(store, key, text, match):
    with alone(store) as client:
        unit = new()
        plate = with_tables(tables={key: text})
        for answer in (
            client.post("/api/plates", json={"plate": plate}),
            client.put(f"/api/units/{unit}", json={"version": 0, "name": "x", "plate": plate}),
        ):
            assert answer.status_code == 422
            message = answer.json()["error"]["message"]
            assert match in message
            assert f"{key[0]}.{key[1]}: {key[1]}.csv" in message
        assert client.get(f"/api/units/{unit}").status_code == 404


@pytest.mark.parametrize(
    "value", [{"name": "a.csv"}, {"name": "a.csv", "text": ""}, {"name": "a.csv", "text": "a", "more": "b"}]
)
def test_half_a_table_is_refused(store, value):
    with alone(store) as client:
        plate = {**PLATE, "maker": {"performance": value}}
        answer = client.put(f"/api/units/{new()}", json={"version": 0, "name": "x", "plate": plate})
        assert answer.status_code == 422


def demo_with(text):
    """The demo's plate, the maker's subcooling in a table in place of the figure."""
    plate = {table: dict(content) for table, content in demo_plate().items()}
    del plate["targets"]["subcooling"]
    return with_tables(plate, {("targets", "table"): text}) if text else plate


def test_a_visit_is_checked_with_the_units_tables_and_a_closed_one_with_those_of_then(store):
    _, trace, marks = demo_trace()
    text = "outdoor_air_temp [degF],subcooling [delta_degF]\n17,9\n100,9\n"
    with alone(store) as client:

        def closed(unit):
            visit = new_visit(client, unit, marks_complete=True)
            for batch in batches_of(trace, marks, rows=300):
                assert client.post(f"/api/visits/{visit}/batches", content=encode(batch)).status_code == 200
            assert client.post(f"/api/visits/{visit}/close", json={"marks_complete": True}).status_code == 200
            result = client.get(f"/api/visits/{visit}/result").json()["result"]
            return visit, result["heating"]["numbers"]["subcooling_k"], result

        _, number, _ = closed(new_unit(client, plate=demo_with("")))
        assert number["limit"] is None
        unit = new_unit(client, plate=demo_with(text))
        visit, number, before = closed(unit)
        assert "table.csv" in json.dumps(number["limit"])
        # Another table on the plate changes nothing of what was closed, and all of what comes.
        now = read(client, unit)
        body = {key: now[key] for key in ("version", "site_id", "name", "serial", "practice", "note")}
        body["plate"] = demo_with(text.replace(",9", ",30"))
        assert client.put(f"/api/units/{unit}", json=body).status_code == 200
        after = client.get(f"/api/visits/{visit}/result").json()
        assert after["result"] == before
        assert after["current"]
        _, later, _ = closed(unit)
        assert later["limit"] != number["limit"]


def test_they_go_through_backup_export_and_import_and_are_deleted_with_the_customer(store, tmp_path):
    with alone(store) as client:
        site, plate = new(), with_tables()
        client.put(f"/api/sites/{site}", json={"version": 0, "name": "Alder Row"})
        unit = new_unit(client, site_id=site, plate=plate)
        backup(store, tmp_path / "b.db")
        store.read(lambda c: export(c, tmp_path / "e.zip"))
        for name, fill in (
            ("restored.db", lambda to: restore(tmp_path / "b.db", to)),
            ("imported.db", lambda to: to.write(lambda c: import_(c, tmp_path / "e.zip", to.by("command")))),
        ):
            with Store(str(tmp_path / name)) as to, alone(to) as there:
                fill(to)
                assert read(there, unit)["plate"] == plate
        with zipfile.ZipFile(tmp_path / "e.zip") as archive:
            sheet = archive.read("tables/units.csv").decode("utf-8-sig")
        cells = [cell for row in csv.reader(io.StringIO(sheet)) for cell in row]
        assert any("as typed off the maker's paper" in cell for cell in cells)
        # OWASP, "CSV Injection": no cell begins as a formula does.
        assert not [cell for cell in cells if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
        client.delete(f"/api/sites/{site}", params={"confirm": "Alder Row"})
        for table in RECORDS:
            assert "as typed off" not in str(store.read(lambda c, t=table: c.execute(t.select()).all()))
