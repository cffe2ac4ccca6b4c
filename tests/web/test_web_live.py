"""Live: batches in, events out, over a real socket."""

import math
import threading
import time

import numpy as np
import pytest
from serving import Events
from shop import PLATE, batches_of, demo_plate, demo_trace, new

from firstfrost.store.batches import Batch, Kept, MarkSent, Samples, encode
from firstfrost.store.judging import judge, sources
from firstfrost.trace.trace import Trace
from firstfrost.visit.check import check_trace
from firstfrost.web.following import Following
from firstfrost.web.mqtt import from_message


def unit_and_visit(client, plate=PLATE, **over):
    unit, visit = new(), new()
    assert client.put(f"/api/units/{unit}", json={"version": 0, "name": "A unit", "plate": plate}).is_success
    body = {"version": 0, "unit_id": unit, **over}
    assert client.put(f"/api/visits/{visit}", json=body).is_success
    return visit


def send(client, visit, batch):
    answer = client.post(
        f"/api/visits/{visit}/batches", content=encode(batch), headers={"Content-Type": "application/json"}
    )
    assert answer.status_code == 200, answer.text
    return answer.json()


def row(sequence, client="device-one", value=5.0, at=None):
    at = 1_795_600_000.0 + sequence if at is None else at
    return Batch(
        client=client,
        sequence=sequence,
        samples=Samples(time_s=[at], channels={"outdoor_coil_temp": [value]}),
    )


def test_each_viewer_gets_each_batch_once_and_in_order(live):
    visit = unit_and_visit(live)
    viewers = [Events(live, visit) for _ in range(3)]
    for sequence in range(30):
        send(live, visit, row(sequence))
        send(live, visit, row(sequence))  # again is nothing new
    for viewer in viewers:
        seen = viewer.until("batch", 30)
        assert [one["n"] for one in seen] == list(range(1, 31))
        assert [one["samples"]["channels"]["outdoor_coil_temp"] for one in seen] == [[5.0]] * 30
    time.sleep(0.2)
    assert all(len(viewer.until("batch")) == 30 for viewer in viewers)
    for viewer in viewers:
        viewer.close()


def test_who_comes_back_gets_what_was_missed(live):
    visit = unit_and_visit(live)
    for sequence in range(10):
        send(live, visit, row(sequence))
    viewer = Events(live, visit, **{"Last-Event-ID": "4"})
    assert [one["n"] for one in viewer.until("batch", 6)] == [5, 6, 7, 8, 9, 10]
    send(live, visit, row(10))
    assert [one["n"] for one in viewer.until("batch", 7)][-1] == 11
    viewer.close()
    fresh = Events(live, visit)
    hello = fresh.until("hello")[0]
    assert (hello["n"], hello["state"]) == (11, "open")
    assert fresh.seen[0][2] == "11"
    assert viewer.seen[0][2] == "4"
    send(live, visit, row(11))
    assert [one["n"] for one in fresh.until("batch")] == [12]
    fresh.close()


def test_the_live_view_tells_the_course_and_the_standings_of_the_demo(live, store):
    _, trace, marks = demo_trace()
    visit = unit_and_visit(live, demo_plate(), marks_complete=True)
    viewer = Events(live, visit)
    for batch in batches_of(trace, marks, rows=30):
        send(live, visit, batch)
    viewer.until("batch", math.ceil(len(trace) / 30))
    assert "turned" in [one["course"] for one in viewer.until("course", 3)]
    until = time.monotonic() + 10
    whole = judge(store.read(lambda c: sources(c, visit))).told["functions"]
    while time.monotonic() < until:
        latest = {}
        for one in viewer.until("standing"):
            latest[one["function"]] = one["standing"]
        if all(
            latest.get(name) == one["standing"] for name, one in whole.items() if one["standing"] == "shown"
        ):
            break
        time.sleep(0.1)
    assert latest["sensor_opens"] == whole["sensor_opens"]["standing"] == "shown"
    viewer.close()
    # One who comes later is told the same.
    later = Events(live, visit)
    standings = later.until("hello")[0]["standings"]
    assert standings["valve_shifts"] == "shown"
    later.close()


def test_a_change_of_the_visit_and_its_end_are_told(live):
    visit = unit_and_visit(live)
    viewer = Events(live, visit)
    send(live, visit, row(0))
    assert viewer.until("visit")[0]["state"] == "open"
    refused = live.post(
        f"/api/visits/{visit}/batches",
        content=encode(row(0, value=9.0)),
        headers={"Content-Type": "application/json"},
    )
    assert refused.status_code == 409
    assert viewer.until("conflict")[0]["kind"] == "sequence"
    assert live.post(f"/api/visits/{visit}/close", json={"marks_complete": False}).status_code == 200
    viewer.until("visit", 2)
    assert live.delete(f"/api/visits/{visit}").status_code == 200
    viewer.until("gone")
    assert Events(live, visit).status == 410


def rising(start_s=0.0, *, climb_k_s=0.5, seconds=120):
    """A defrost whose high side climbs: a visit in which to be warned."""
    from firstfrost.refrigerants import refrigerant

    fluid = refrigerant("R-410A")
    t = np.arange(float(seconds))
    turned = t >= 60
    high_c = np.where(turned, 20.0 + climb_k_s * (t - 60), 35.0)
    low_c = np.where(turned, 0.0, -5.0)
    return Trace(
        time_s=t,
        columns={
            "discharge_pressure": fluid.dew_pressures_pa(high_c),
            "suction_pressure": fluid.dew_pressures_pa(low_c),
            "vapor_line_temp": np.where(turned, 5.0, 50.0),
            "outdoor_coil_temp": np.where(turned, 20.0, -3.0),
            "outdoor_air_temp": np.full(seconds, 2.0),
            "valve_voltage": np.where(turned, 24.0, 0.0),
            "fan_current": np.where(turned, 0.0, 0.6),
            "compressor_current": np.full(seconds, 8.0),
        },
        epoch=demo_trace()[1].epoch,
    )


def kept_of(trace, *, sent=0.0):
    return [
        Kept(n=k + 1, received_s=b.samples.time_s[-1] + sent, late=False, batch=b)
        for k, b in enumerate(batches_of(trace, rows=1))
    ]


class TestFollowing:
    def unit(self):
        from firstfrost.equipment.read import unit_from

        return unit_from(demo_plate(), source="x")

    def events(self, following, items):
        return [event for item in items for event in following.take(item)]

    def test_a_stop_is_told_in_time_and_by_how_much(self):
        following = Following(unit=self.unit(), complete=True)
        trace = rising()
        events = self.events(following, kept_of(trace))
        stops = [data for name, data in events if name == "stop"]
        assert stops
        first = stops[0]
        limit = following.hello()["stop"]
        high = following.visit.limit.pressure_pa
        assert first["limit_gauge_pa"] == limit["gauge_pa"]
        at = first["time_s"] - trace.epoch.timestamp()
        assert trace.columns["discharge_pressure"][int(at)] < high
        assert following.danger is not None

    def test_old_readings_give_no_alarm_and_fresh_ones_do_at_once(self):
        following = Following(unit=self.unit(), complete=True)
        items = kept_of(rising(), sent=3600.0)
        events = self.events(following, items[:-1])
        assert not [name for name, _ in events if name == "stop"]
        fresh = Kept(
            n=items[-1].n, received_s=items[-1].batch.samples.time_s[-1], late=False, batch=items[-1].batch
        )
        assert [name for name, _ in following.take(fresh) if name == "stop"] == ["stop"]

    def test_a_clock_set_back_goes_on_after_the_last(self):
        following = Following(unit=self.unit(), complete=False)
        items = kept_of(rising(seconds=60))
        self.events(following, items)
        back = [row(100 + k, at=items[0].batch.samples.time_s[0] - 3600.0 + k) for k in range(20)]
        self.events(
            following, [Kept(n=100 + k, received_s=0.0, late=False, batch=b) for k, b in enumerate(back)]
        )
        assert len(following.visit) == 60 + 18
        assert following.late_rows == 2

    def test_late_batches_are_no_clock_set_back(self):
        following = Following(unit=self.unit(), complete=False)
        items = kept_of(rising(seconds=60))
        self.events(following, [*items[:20], *items[40:], *items[20:40]])
        assert following.late_rows == 20
        assert len(following.visit) == 40


def test_live_and_whole_agree_when_batches_come_late_and_twice(live, store):
    unit, trace, marks = demo_trace()
    visit = unit_and_visit(live, demo_plate(), marks_complete=True)
    batches = batches_of(trace, marks)
    order = [*batches[::2], *batches[1::2], *batches]
    threads = [
        threading.Thread(target=lambda mine=order[k::4]: [send(live, visit, b) for b in mine])
        for k in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    told = live.get(f"/api/visits/{visit}/result").json()["result"]["functions"]
    whole = check_trace(trace, unit, marks)
    assert {name: one["standing"] for name, one in told.items()} == {
        finding.function: finding.standing for finding in whole.findings
    }


class TestMessages:
    """What comes by MQTT, without a broker."""

    def unit(self):
        from firstfrost.equipment.read import unit_from

        return unit_from(PLATE, source="x")

    def test_senml(self):
        # RFC 8428, section 5.1.2: base name, time and unit are those of all records.
        payload = b"""[{"bn":"hp1/","bt":1795600000,"n":"outdoor_coil_temp","u":"Cel","v":-2.5},
            {"n":"discharge_pressure","u":"Pa","v":2500000,"t":1}]"""
        batch = from_message("firstfrost/x/logger-01", payload, self.unit(), 0.0)
        assert batch.samples.time_s == [1_795_600_000.0, 1_795_600_001.0]
        assert batch.samples.channels["outdoor_coil_temp"] == [-2.5, None]
        assert batch == from_message("firstfrost/x/logger-01", payload, self.unit(), 5.0)

    def test_senml_from_now(self):
        payload = b"""[{"n":"outdoor_coil_temp","u":"Cel","v":-2.5,"t":-10},
            {"n":"outdoor_coil_temp","u":"Cel","v":-2.4}]"""
        batch = from_message("firstfrost/x/logger-01", payload, self.unit(), 1_795_600_000.0)
        assert batch.samples.time_s == [1_795_599_990.0, 1_795_600_000.0]

    def test_plain_json_and_a_batch(self):
        payload = b'{"time": "2026-11-25T10:00:00Z", "suction_pressure [psig]": 118.0}'
        batch = from_message("firstfrost/x/logger-01", payload, self.unit(), 0.0)
        assert batch.samples.channels["suction_pressure"] == [pytest.approx(118 * 6894.757 + 98_070, abs=30)]
        mark = MarkSent(id=new(), time_s=1.0, act="note")
        sent = Batch(client="someone-else", sequence=4, marks=[mark])
        batch = from_message("firstfrost/x/logger-01", encode(sent), self.unit(), 0.0)
        assert (batch.client, batch.sequence, batch.marks) == ("logger-01", 4, [mark])

    @pytest.mark.parametrize(
        "payload",
        [
            b"",
            b"hello",
            b"{}",
            b"[1]",
            b'{"time": 5, "power [W]": 1}',
            b'{"time": "10:00", "power [W]": 1}',
            b"\xff\xfe",
            b'{"sequence": "x"}',
        ],
    )
    def test_what_is_none_of_these_is_refused(self, payload):
        from firstfrost.errors import FirstfrostError

        with pytest.raises(FirstfrostError, match="Expected"):
            from_message("firstfrost/x/logger-01", payload, self.unit(), 0.0)
