"""A unit's winter over the service: a region, an uploaded file, asking again, weather that is refused."""

import time

import pytest
from serving import alone, new_unit, new_visit

from firstfrost.web import work
from firstfrost.web.work import Workshop

pytest.importorskip("numba", reason="without Numba a season takes a minute")

FIELDS = ("time", "temperature [degC]", "humidity [%]")


def weather_file(*, humid=True):
    """Sixty days of an invented winter, every hour, as CSV."""
    rows = [",".join(FIELDS if humid else FIELDS[:2])]
    for hour in range(60 * 24):
        month, day = (12, hour // 24 + 1) if hour < 31 * 24 else (1, hour // 24 - 30)
        year = 2026 if month == 12 else 2027
        temp = -2.0 + 5.0 * ((hour % 24) / 12.0 - 1.0)
        end = ",85" if humid else ""
        rows.append(f"{year}-{month:02d}-{day:02d}T{hour % 24:02d}:00,{temp:.1f}{end}")
    return "\n".join(rows[: 1 + 61 * 24]).encode()


@pytest.fixture
def client(store):
    with alone(store) as one:
        yield one


def until_ready(client, unit, **asked):
    """Ask as a page does: again without the file until it is worked out."""
    answer = client.post(f"/api/units/{unit}/season", **asked)
    until = time.monotonic() + 120
    while answer.status_code == 202:
        assert time.monotonic() < until
        assert answer.json()["season"] is None
        assert answer.headers["retry-after"] == "2"
        time.sleep(0.3)
        params = {**asked.get("params", {}), "weather": answer.json()["weather"]}
        params.pop("name", None)
        answer = client.post(f"/api/units/{unit}/season", params=params)
    return answer


def test_a_region_gives_what_the_command_gives(client):
    unit = new_unit(client)
    answer = until_ready(client, unit, params={"weather": "region:IV", "units": "si"})
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert (told["state"], told["weather"]) == ("ready", "region:IV")
    found = told["season"]
    assert {row["name"] for row in found["settings"]} >= {"30 min", "60 min", "90 min", "120 min", "demand"}
    assert "°C" in found["load"]["says"]
    from firstfrost.equipment.read import unit_from
    from firstfrost.season.as_json import as_json
    from firstfrost.season.region_year import region_air
    from firstfrost.season.season import season

    plate = client.get(f"/api/units/{unit}").json()["plate"]
    plate["unit"]["name"] = found["unit"]
    assert as_json(season(unit_from(plate, source="x"), region_air("IV")), "si") == found


def test_a_file_is_sent_once_and_asked_for_by_its_hash(client):
    unit = new_unit(client)
    answer = until_ready(client, unit, params={"name": "../yard.csv"}, content=weather_file())
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert told["weather"].startswith("sha256:")
    assert told["season"]["weather"]["source"] == "yard.csv"
    assert told["season"]["weather"]["days"] == 60.0
    again = client.post(f"/api/units/{unit}/season", params={"weather": told["weather"]})
    assert again.json() == told
    # What was worked out is of one unit in one weather: another unit has none of it.
    other = client.post(
        f"/api/units/{new_unit(client, name='Birch Row 1')}/season", params={"weather": told["weather"]}
    )
    assert (other.status_code, other.json()["error"]["code"]) == (404, "not-found")
    assert "Send the weather file again" in other.text


def test_a_file_without_humidity_says_what_to_do_and_takes_it(client):
    unit = new_unit(client)
    dry = weather_file(humid=False)
    answer = until_ready(client, unit, content=dry)
    assert answer.status_code == 422
    assert "humidity" in answer.json()["error"]["message"]
    answer = until_ready(client, unit, content=dry, params={"humidity": "85 %RH"})
    assert answer.status_code == 200, answer.text


@pytest.mark.parametrize(
    ("content", "params", "match"),
    [
        (b"", {}, "Give one of the two"),
        (b"x", {"weather": "region:IV"}, "Give one of the two"),
        (b"", {"weather": "region:IX"}, "weather"),
        (b"", {"weather": "../etc/passwd"}, "weather"),
        (b"", {"weather": "region:IV", "humidity": "wet"}, "humidity"),
        (b"\x00\xff\xfe" * 400, {}, "Expected"),
        (b"a\rb\r" * 400 + b'"' + b"x" * 200_000, {}, "Expected"),
        (b"LOCATION,somewhere\n", {"name": "x.epw"}, "Expected"),
    ],
)
def test_what_cannot_be_weather_is_refused(client, content, params, match):
    answer = until_ready(client, new_unit(client), content=content, params=params)
    assert answer.status_code == 422, answer.text
    assert match in answer.json()["error"]["message"]


def test_a_weather_file_is_held_to_its_limit(store):
    from firstfrost.web.settings import Settings

    with alone(store, Settings(workers=0, limits={"weather": 1000})) as client:
        answer = client.post(f"/api/units/{new_unit(client)}/season", content=b"x" * 1001)
        assert (answer.status_code, answer.json()["error"]["code"]) == (413, "too-large")
        assert "limit weather" in answer.text


PRICES = {
    "currency": "USD",
    "electricity": {"table": "month,hour,price\nall,all,0.12\nall,17-20,0.30\n", "carbon": 0.4},
    "fuel": [{"name": "propane", "price": 2.5, "per": "26.8 kWh", "efficiency": 0.9}],
}


def test_prices_are_sent_once_and_what_is_known_of_the_sensor_goes_along(client):
    unit = new_unit(client)
    kept = client.post("/api/prices", json=PRICES).json()
    assert (kept["currency"], kept["flat"]) == ("USD", False)
    params = {"weather": "region:IV", "prices": kept["prices"], "opens_at": "50 degF", "capacity": "80 %"}
    answer = until_ready(client, unit, params=params)
    assert answer.status_code == 200, answer.text
    found = answer.json()["season"]
    assert found["money"]["alternatives"][0]["name"] == "propane"
    assert found["money"]["carbon_kg_by_setting"]["90 min"] > 0.0
    assert found["taken"]["opens_at_c"] == pytest.approx(10.0)
    assert found["taken"]["measured"] == ["opens", "capacity"]
    other = client.post("/api/prices", json={**PRICES, "electricity": {"price": 0.1}}).json()["prices"]
    dear = until_ready(client, unit, params={**params, "prices": other}).json()["season"]
    assert dear["money"]["flat"]
    assert dear["settings"] == found["settings"]


def test_new_prices_do_not_need_the_weather_file_again(client):
    unit = new_unit(client)
    told = until_ready(client, unit, params={"name": "yard.csv"}, content=weather_file()).json()["weather"]
    key = client.post("/api/prices", json=PRICES).json()["prices"]
    answer = until_ready(client, unit, params={"weather": told, "prices": key})
    assert answer.json()["season"]["money"]["currency"] == "USD"
    assert answer.json()["season"]["weather"]["source"] == "yard.csv"


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        ({"currency": " "}, "currency is missing"),
        ({"electricity": {}}, "needs either price"),
        ({"electricity": {"price": -1.0}}, "Expected a number from 0"),
        ({"electricity": {"table": "month,hour,price\n1,1,0.1\n"}}, "has no price for month"),
        ({"fuel": [{"name": "x", "price": 1.0, "per": "3 psi", "efficiency": 0.9}]}, "unit of pressure"),
    ],
)
def test_prices_that_cannot_be_used_are_refused(client, spoil, told):
    answer = client.post("/api/prices", json={**PRICES, **spoil})
    assert answer.status_code == 422
    assert told in answer.text


def test_prices_that_are_not_at_hand_are_asked_for_again(client):
    params = {"weather": "region:IV", "prices": "sha256:" + "0" * 64}
    answer = client.post(f"/api/units/{new_unit(client)}/season", params=params)
    assert answer.status_code == 404
    assert "Send the prices again" in answer.text


def test_a_visit_without_readings_leaves_the_ratings(client):
    unit = new_unit(client)
    params = {"weather": "region:IV", "visit": new_visit(client, unit)}
    answer = until_ready(client, unit, params=params)
    assert answer.status_code == 200, answer.text
    assert answer.json()["season"]["taken"]["measured"] == []
    assert "holds no reading" in answer.json()["season"]["measured"][0]


def test_a_visit_of_another_unit_is_refused(client):
    unit, other = new_unit(client), new_unit(client, name="Birch Row 1")
    visit = new_visit(client, other)
    params = {"weather": "region:IV", "visit": visit}
    answer = client.post(f"/api/units/{unit}/season", params=params)
    assert answer.status_code == 422
    assert "is of another unit" in answer.text


def test_a_season_is_worked_out_beside_and_kept(monkeypatch):
    calls = []

    def slow(*asked):
        calls.append(asked)
        time.sleep(0.3)
        return {"us": {"in": "us"}, "si": {"in": "si"}}

    monkeypatch.setattr(work, "season", slow)
    shop = Workshop(0)
    asked = work.Weather(told="region:IV")
    assert shop.season("a unit", asked, work.Asked(), "us", wait_s=0.01) is None
    assert shop.season("a unit", asked, work.Asked(), "us", wait_s=5.0) == {"in": "us"}
    assert shop.season("a unit", asked, work.Asked(), "si", wait_s=5.0) == {"in": "si"}
    assert len(calls) == 1
    shop.close()
