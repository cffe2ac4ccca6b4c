"""A visit over HTTP, from plan to signed report, alone on this machine."""

import io
import json
from importlib.resources import files

import jsonschema
import numpy as np
import pymupdf
import pytest
from serving import alone, new_unit, new_visit
from shop import DEMO, demo_plate, demo_trace, new
from shop import batches_of as batches

from firstfrost.cli.main import run as command
from firstfrost.store.batches import encode


@pytest.fixture
def client(store):
    with alone(store) as client:
        yield client


def send(client, visit, batch):
    return client.post(
        f"/api/visits/{visit}/batches", content=encode(batch), headers={"Content-Type": "application/json"}
    )


def demo(client, **over):
    _, trace, marks = demo_trace()
    visit = new_visit(client, new_unit(client, plate=demo_plate()), marks_complete=True, **over)
    for batch in batches(trace, marks):
        answer = send(client, visit, batch)
        assert answer.status_code == 200, answer.text
        assert answer.json()["problems"] == []
    return visit


def by_command(tmp_path):
    """The result of `firstfrost check` on the same files."""
    out = tmp_path / "result.json"
    command(
        [
            "check",
            str(DEMO / "trace.csv"),
            "--unit",
            str(DEMO / "unit.toml"),
            "--marks",
            str(DEMO / "marks.csv"),
            "--json",
            str(out),
        ]
    )
    return json.loads(out.read_text())


def test_the_result_is_that_of_the_command(client, tmp_path):
    visit = demo(client)
    told = client.get(f"/api/visits/{visit}/result").json()
    assert told["revision"] is None
    expected = by_command(tmp_path)
    for part in ("functions", "defrosts", "phases", "unit", "site", "assumptions", "warnings", "marks"):
        assert told["result"][part] == expected[part]
    schema = json.loads(files("firstfrost.visit").joinpath("result.schema.json").read_text())
    jsonschema.validate(told["result"], schema)


def test_a_visit_from_start_to_signed_report(client):
    visit = demo(client, technician="A. Person")
    assert client.get(f"/api/visits/{visit}").json()["state"] == "open"
    closed = client.post(f"/api/visits/{visit}/close", json={"marks_complete": True})
    assert closed.json() == {"revision": 1}
    picture = new()
    answer = client.put(
        f"/api/visits/{visit}/attachments/{picture}?name=../../sign.png", content=b"\x89PNG\r\n\x1a\nrest"
    )
    assert answer.status_code == 201
    sign = {"name": "A. <b>Person</b>", "role": "customer", "attachment_id": picture}
    assert client.post(f"/api/visits/{visit}/sign", json=sign).status_code == 200
    made = {}
    for ending, units in (("pdf", "us"), ("html", "si")):
        answer = client.post(f"/api/visits/{visit}/reports", json={"format": ending, "units": units})
        assert answer.status_code == 201, answer.text
        made[ending] = answer.json()["report"]
    report = client.get(f"/api/visits/{visit}/reports/{made['pdf']['id']}")
    assert report.headers["content-type"] == "application/pdf"
    assert "sandbox" in report.headers["content-security-policy"]
    text = "".join(page.get_text() for page in pymupdf.open(stream=report.content))
    assert "Alder Row 3" in text
    again = client.get(f"/api/visits/{visit}/reports/{made['pdf']['id']}")
    assert again.content == report.content
    view = client.get(f"/api/visits/{visit}").json()
    assert [one["role"] for one in view["signatures"]] == ["customer"]
    assert {one["format"] for one in view["reports"]} == {"pdf", "html"}
    back = client.get(f"/api/attachments/{picture}")
    assert back.headers["content-disposition"] == 'inline; filename="sign.png"'
    result = client.get(f"/api/visits/{visit}/result").json()
    assert (result["revision"], result["current"]) == (1, True)
    history = client.get(f"/api/units/{view['unit_id']}/history").json()
    assert len(history["visits"]) == 1


def test_what_comes_after_closing_is_kept_and_counted_when_reopened(client):
    visit = demo(client)
    client.post(f"/api/visits/{visit}/close", json={"marks_complete": True})
    before = client.get(f"/api/visits/{visit}/result").json()["result"]
    late = {
        "client": "late-phone", "sequence": 0,
        "typed": [{"id": new(), "time_s": 1_760_455_000.0, "channel": "outdoor_air_temp", "text": "50 degF"}],
    }  # fmt: skip
    assert client.post(f"/api/visits/{visit}/batches", json=late).json()["late"]
    assert client.get(f"/api/visits/{visit}/result").json()["result"] == before
    assert client.get(f"/api/visits/{visit}").json()["late"] == 1
    closed = client.post(f"/api/visits/{visit}/close", json={"marks_complete": True})
    assert closed.json()["error"]["code"] == "state"
    assert client.post(f"/api/visits/{visit}/reopen", json={"why": "late readings"}).json()["state"] == "open"
    assert client.post(f"/api/visits/{visit}/close", json={"marks_complete": True}).json() == {"revision": 2}
    files_read = client.get(f"/api/visits/{visit}/result").json()["result"]["input"]["files"]
    assert "typed readings" in files_read
    first = client.get(f"/api/visits/{visit}/result?revision=1").json()
    assert (first["result"], first["current"]) == (before, False)


def test_a_log_uploaded_gives_the_same_standings(client, tmp_path):
    visit = new_visit(client, new_unit(client, plate=demo_plate()), marks_complete=True)
    file = new()
    content = (DEMO / "trace.csv").read_bytes()
    answer = client.put(f"/api/visits/{visit}/files/{file}?name=trace.csv", content=content)
    assert (answer.status_code, answer.json()["problem"]) == (201, None)
    again = client.put(f"/api/visits/{visit}/files/{file}?name=trace.csv", content=content)
    assert again.status_code == 200
    _, _, marks = demo_trace()
    _, trace, _ = demo_trace()
    zero = trace.epoch.timestamp()
    acts = [{"id": new(), "time_s": m.time_s + zero, "act": m.act, "note": m.note} for m in marks]
    client.post(f"/api/visits/{visit}/batches", json={"client": "the-phone", "sequence": 0, "marks": acts})
    result = client.get(f"/api/visits/{visit}/result").json()["result"]
    assert result["functions"] == by_command(tmp_path)["functions"]
    assert client.get(f"/api/visits/{visit}/files/{file}").content == content


def test_a_log_that_cannot_be_read_is_kept_and_set_aside(client):
    visit = new_visit(client)
    file = new()
    answer = client.put(f"/api/visits/{visit}/files/{file}?name=log.csv", content=b"when,p1\n1,2\n3,4\n")
    assert answer.status_code == 422
    assert "It is kept" not in answer.text
    assert answer.json()["error"]["message"].startswith("The log is kept, and set aside")
    assert client.get(f"/api/visits/{visit}").json()["files"][0]["aside"]
    chart = '[columns]\n"p1" = "suction_pressure [psig]"\n[time]\ncolumn = "when"\nunit = "s"\n'
    answer = client.put(f"/api/visits/{visit}/files/{file}/use", json={"aside": False, "columns": chart})
    assert answer.status_code == 200, answer.text
    result = client.get(f"/api/visits/{visit}/result").json()["result"]
    assert result["record"]["samples"] == 2


def test_the_trace_comes_as_csv_and_parquet_that_the_reader_knows(client, tmp_path):
    visit = demo(client)
    unit, trace, _ = demo_trace()
    from firstfrost.trace.reader import read_trace

    for ending in ("csv", "parquet"):
        answer = client.get(f"/api/visits/{visit}/trace?format={ending}&units=si")
        path = tmp_path / f"x.{ending}"
        path.write_bytes(answer.content)
        back = read_trace([path], atmosphere_pa=unit.site.atmosphere_pa, zone=unit.site.zone).trace
        assert np.array_equal(
            back.columns["suction_pressure"], trace.columns["suction_pressure"], equal_nan=True
        )


def test_typed_readings_marks_and_problems(client):
    visit = new_visit(client)
    body = {
        "client": "the-phone", "sequence": 0,
        "samples": {"time_s": [1_795_600_000.0], "channels": {"suction_pressure": [118.0]},
                    "units": {"suction_pressure": "psig"}},
        "typed": [{"id": new(), "time_s": 1_795_600_001.0, "channel": "liquid_pressure", "text": "318 psig"},
                  {"id": new(), "time_s": 1_795_600_002.0, "channel": "liquid_pressure", "text": "much"}],
        "marks": [{"id": new(), "time_s": 1_795_600_003.0, "act": "pins-bridged", "note": "=1+1"}],
    }  # fmt: skip
    answer = client.post(f"/api/visits/{visit}/batches", json=body).json()
    assert [one["where"] for one in answer["problems"]] == ["typed[1].text"]
    told = client.get(f"/api/visits/{visit}/readings").json()
    assert [one["text"] for one in told["typed"]] == ["318 psig", "much"]
    assert told["typed"][1]["value"] is None
    # Gauge at 900 ft: the standard atmosphere there is 98.07 kPa (U.S. Standard Atmosphere, 1976).
    assert told["typed"][0]["value"] == pytest.approx(318 * 6894.757 + 98_070, abs=30)
    assert told["samples"][0]["channels"]["suction_pressure"][0] == pytest.approx(
        118 * 6894.757 + 98_070, abs=30
    )
    other = {**body, "typed": []}
    refused = client.post(f"/api/visits/{visit}/batches", json=other)
    assert (refused.status_code, refused.json()["error"]["code"]) == (409, "sequence")
    assert client.get(f"/api/visits/{visit}/readings").json()["conflicts"][-1]["kind"] == "sequence"
    assert client.get(f"/api/visits/{visit}/batches").json() == {
        "clients": [{"client": "the-phone", "have": [[0, 0]]}], "n": 1,
    }  # fmt: skip
    assert client.get(f"/api/visits/{visit}/readings?after=1").json()["typed"] == []


def test_a_change_from_an_old_version_shows_what_is_there(client):
    unit = new_unit(client)
    body = {
        k: v for k, v in client.get(f"/api/units/{unit}").json().items() if k in ("name", "plate", "version")
    }
    assert client.put(f"/api/units/{unit}", json={**body, "note": "first"}).json()["version"] == 2
    refused = client.put(f"/api/units/{unit}", json={**body, "note": "second"})
    assert refused.status_code == 409
    assert refused.json()["error"]["code"] == "changed"
    assert refused.json()["error"]["current"]["note"] == "first"


def test_plates_both_ways(client):
    text = (DEMO / "unit.toml").read_text()
    told = client.post("/api/plates", json={"toml": text}).json()
    assert told["plate"] == demo_plate()
    again = client.post("/api/plates", json={"toml": told["toml"]}).json()
    assert again["plate"] == told["plate"]
    bad = client.post("/api/plates", json={"plate": {"unit": {"refrigerant": "R-1"}, "bord": {"x": "y"}}})
    assert bad.status_code == 422
    assert len(bad.json()["error"]["details"]) == 2


def test_deleting_needs_the_name_and_tells_the_device(client):
    site = new()
    client.put(f"/api/sites/{site}", json={"version": 0, "name": "Alder Row"})
    visit = new_visit(client, new_unit(client, site_id=site))
    assert client.delete(f"/api/sites/{site}?confirm=Elder+Row").status_code == 422
    done = client.delete(f"/api/sites/{site}?confirm=Alder+Row")
    assert done.json() == {"deleted": {"visits": 1, "units": 1, "sites": 1}}
    body = {"client": "the-phone", "sequence": 0, "marks": []}
    answer = client.post(f"/api/visits/{visit}/batches", json=body)
    assert (answer.status_code, answer.json()["error"]["code"]) == (410, "deleted")


def test_the_store_as_a_whole_goes_out_and_comes_back(client, tmp_path):
    visit = demo(client)
    client.post(f"/api/visits/{visit}/close", json={"marks_complete": True})
    exported = client.get("/api/export")
    assert exported.headers["content-type"] == "application/zip"
    assert client.get("/api/backup").content.startswith(b"SQLite format 3")
    from firstfrost.store.store import Store

    with Store(str(tmp_path / "other.db")) as other, alone(other) as there:
        out = there.post("/api/import", content=exported.content)
        assert out.status_code == 200, out.text
        assert out.json()["taken"]["visits"] == 1
        assert (
            there.get(f"/api/visits/{visit}/result").json()
            == client.get(f"/api/visits/{visit}/result").json()
        )
        bad = there.post("/api/import", content=io.BytesIO(b"PK\x03\x04nothing").getvalue())
        assert bad.status_code == 422


def test_the_device_tables_are_the_librarys(client):
    from firstfrost.refrigerants import REFRIGERANTS, refrigerant

    words = client.get("/api/words").json()
    assert words["refrigerants"] == list(REFRIGERANTS)
    for name in REFRIGERANTS:
        answer = client.get(f"/api/tables/{name}")
        told, fluid = answer.json(), refrigerant(name)
        for kind, line in (("dew", fluid.dew), ("bubble", fluid.bubble)):
            p = np.linspace(line.pressure_low_pa, line.pressure_high_pa, 4001)
            t = np.linspace(line.temp_low_c, line.temp_high_c, 4001)
            temps = hermite(told["curves"][f"{kind}_temp_c"], np.sqrt(p))
            pressures = hermite(told["curves"][f"{kind}_pressure_pa"], t)
            assert np.abs(temps - line.temps_at(p)).max() < 1e-3
            assert np.abs(pressures - line.pressures_at(t)).max() < 20.0
        tag = answer.headers["etag"]
        assert client.get(f"/api/tables/{name}", headers={"If-None-Match": tag}).status_code == 304
    assert client.get("/api/tables/R-1").status_code == 404


def hermite(curve, x):
    """As the contract says a device has to work it out."""
    y, dy, step = np.array(curve["y"]), np.array(curve["dy"]), curve["step"]
    s = (x - curve["start"]) / step
    i = np.clip(s.astype(int), 0, len(y) - 2)
    s = s - i
    a, b, da, db = y[i], y[i + 1], dy[i] * step, dy[i + 1] * step
    return a + s * (da + s * (3 * (b - a) - 2 * da - db + s * (2 * (a - b) + da + db)))


def test_a_plan_is_worked_out_beside_and_comes_when_it_is_ready(client, monkeypatch):
    from firstfrost.web import work

    monkeypatch.setattr(work, "plan", lambda *asked: {"asked": list(asked[1:])})
    unit = new_unit(client)
    weather = {"outdoor": "68 degF", "humidity": "60 %RH"}
    answer = client.post(f"/api/units/{unit}/plan", json=weather)
    assert answer.json()["state"] == "ready"
    assert answer.json()["plan"]["asked"] == [
        pytest.approx(20.0),
        pytest.approx(0.6),
        pytest.approx(21.11, abs=0.01),
    ]
    assert client.post(f"/api/units/{unit}/plan", json={"outdoor": "warm"}).status_code == 422
