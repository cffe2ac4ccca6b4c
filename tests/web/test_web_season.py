"""A unit's winter over the service: a region, an uploaded file, asking again, weather that is refused."""

import time

import pytest
from serving import alone, new_unit

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


def test_a_season_is_worked_out_beside_and_kept(monkeypatch):
    calls = []

    def slow(*asked):
        calls.append(asked)
        time.sleep(0.3)
        return {"us": {"in": "us"}, "si": {"in": "si"}}

    monkeypatch.setattr(work, "season", slow)
    shop = Workshop(0)
    asked = work.Weather(told="region:IV")
    assert shop.season("a unit", asked, "us", wait_s=0.01) is None
    assert shop.season("a unit", asked, "us", wait_s=5.0) == {"in": "us"}
    assert shop.season("a unit", asked, "si", wait_s=5.0) == {"in": "si"}
    assert len(calls) == 1
    shop.close()
