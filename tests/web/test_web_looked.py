"""Further readings for the causes over HTTP and MQTT: the next reading is answered, and the ranking moves."""

import json
import tomllib

import pytest
from bench.course import shipped_run
from serving import alone, new_unit, new_visit
from shop import new

from firstfrost.bench.scenario.write import write_run
from firstfrost.equipment.read import unit_from
from firstfrost.store.batches import Kept, decode
from firstfrost.web.hub import batch_line
from firstfrost.web.mqtt import from_message

T0 = 1_795_600_000.0


@pytest.fixture
def client(store):
    with alone(store) as client:
        yield client


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """The files of a visit whose filter nobody changed."""
    folder = tmp_path_factory.mktemp("run")
    write_run(shipped_run("27-dirty-filter"), folder)
    return folder


def visit_of(client, run):
    """An open visit with its log; its id."""
    plate = tomllib.loads((run / "unit.toml").read_text(encoding="utf-8"))
    visit = new_visit(client, new_unit(client, plate=plate))
    content = (run / "trace.csv").read_bytes()
    assert client.put(f"/api/visits/{visit}/files/{new()}?name=trace.csv", content=content).status_code == 201
    return visit


def look(name, text, *, at=T0):
    return {"id": new(), "time_s": at, "name": name, "text": text}


def post(client, visit, *looks, sender="phone-one", sequence=0, **more):
    body = {"client": sender, "sequence": sequence, "looked": list(looks), **more}
    return client.post(f"/api/visits/{visit}/batches", json=body)


def causes(client, visit):
    return client.get(f"/api/visits/{visit}/result").json()["result"]["causes"]


def filter_of(found):
    return sum(row["probability"] for row in found["answers"] if row["names"] == ["filter-blocked"])


def test_the_advised_reading_is_answered_and_the_ranking_moves(client, run):
    visit = visit_of(client, run)
    before = causes(client, visit)
    assert {row["name"] for row in before["next_readings"]} & {"look-filter", "static-pressure"}
    dirty = look("filter_look", "dirty")
    answer = post(client, visit, dirty)
    assert (answer.status_code, answer.json()["problems"], answer.json()["again"]) == (200, [], False)
    assert post(client, visit, dirty).json()["again"]
    post(client, visit, look("filter_drop", "1.1 inH2O"), sequence=1)
    after = causes(client, visit)
    assert filter_of(after) > filter_of(before) + 0.1
    assert [row["text"] for row in after["readings"]] == ["filter_look = dirty", "filter_drop = 1.1 inH2O"]
    assert "look-filter" not in {row["name"] for row in after["next_readings"]}
    assert any(one["typed"] for row in after["answers"] for one in row["speaks_for"])
    # Another device says otherwise, later: its word counts, and both are shown.
    post(client, visit, look("filter_look", "clean", at=T0 + 60), sender="phone-two")
    (row,) = client.get(f"/api/visits/{visit}/readings").json()["conflicts"]
    assert (row["kind"], row["channel"], row["values"]) == ("looked", "filter_look", ["clean", "dirty"])
    assert client.get(f"/api/visits/{visit}").json()["conflicts"] == 1
    assert causes(client, visit)["readings"][0]["text"] == "filter_look = clean"
    told = client.get(f"/api/visits/{visit}/readings").json()["looked"]
    clean = next(one for one in told if one["text"] == "clean")
    gone = [{"id": clean["id"], "time_s": T0 + 90, "why": "the other unit's"}]
    post(client, visit, sender="phone-two", sequence=1, withdrawn=gone)
    assert causes(client, visit) == after
    assert client.get(f"/api/visits/{visit}").json()["conflicts"] == 0


def test_the_same_by_command(client, run, tmp_path):
    from firstfrost.cli.main import run as command

    visit = visit_of(client, run)
    post(client, visit, look("filter_look", "dirty"))
    out = tmp_path / "result.json"
    files = [str(run / "trace.csv"), "--unit", str(run / "unit.toml")]
    command(["check", *files, "--reading", "filter_look = dirty", "--json", str(out)])
    assert causes(client, visit) == json.loads(out.read_text())["causes"]


def test_the_report_says_that_it_was_typed(client, run):
    visit = visit_of(client, run)
    post(client, visit, look("filter_look", "dirty"))
    body = {"format": "html", "units": "us"}
    report = client.post(f"/api/visits/{visit}/reports", json=body).json()["report"]
    assert "Typed in: filter_look = dirty" in client.get(f"/api/visits/{visit}/reports/{report['id']}").text


def test_a_closed_visit_keeps_its_causes_when_a_late_one_comes(client, run):
    visit = visit_of(client, run)
    client.post(f"/api/visits/{visit}/close", json={"marks_complete": False})
    before = causes(client, visit)
    assert post(client, visit, look("filter_look", "dirty")).json()["late"]
    assert causes(client, visit) == before
    client.post(f"/api/visits/{visit}/reopen", json={"why": "the filter"})
    client.post(f"/api/visits/{visit}/close", json={"marks_complete": False})
    assert filter_of(causes(client, visit)) > filter_of(before)


def test_what_cannot_be_read_is_taken_and_told(client, run):
    visit = visit_of(client, run)
    answer = post(client, visit, look("filter_look", "=1+1"), look("pan_look", "ice")).json()
    assert [row["where"] for row in answer["problems"]] == ["looked[0].text"]
    told = client.get(f"/api/visits/{visit}/readings").json()
    assert [(row["text"], row["value"], row["counts"]) for row in told["looked"]] == [
        ("=1+1", None, False),
        ("ice", "ice", True),
    ]
    assert client.get(f"/api/visits/{visit}/readings?after={told['n']}").json()["looked"] == []
    refused = post(client, visit, {"id": new(), "time_s": T0, "name": "pan_look"}, sequence=1)
    assert (refused.status_code, refused.json()["error"]["code"]) == (422, "invalid")


def test_the_contract_for_machines_names_them(client):
    told = client.get("/api/openapi.json").json()["components"]["schemas"]
    assert set(told["Looked"]["required"]) == {"id", "time_s", "name", "text"}
    assert told["Batch"]["properties"]["looked"]["items"] == {"$ref": "#/components/schemas/Looked"}
    assert "looked" in told["ReadingsOut"]["required"]


def test_they_come_by_mqtt_and_go_to_those_who_watch():
    unit = unit_from({"unit": {"refrigerant": "R-410A"}}, source="test")
    body = {"client": "phone-one", "sequence": 4, "looked": [look("filter_look", "dirty")]}
    batch = from_message(f"firstfrost/{new()}/phone-one", json.dumps(body).encode(), unit, T0)
    assert batch == decode(json.dumps(body).encode())
    item = Kept(n=7, received_s=T0, late=False, batch=batch)
    _, _, data = batch_line(item, 101_325.0).decode().partition("data: ")
    assert json.loads(data)["looked"] == body["looked"]
