"""Readings by MQTT through a real broker (amqtt, in this process)."""

import asyncio
import json
import logging
import socket
import warnings

import pytest
from serving import finished
from shop import add_visit, new
from test_web_live import row

from firstfrost.errors import StoreError
from firstfrost.store.batches import encode, kept
from firstfrost.store.store import Store
from firstfrost.web import mqtt
from firstfrost.web.hub import Hub
from firstfrost.web.mqtt import MqttFeed
from firstfrost.web.settings import Settings

aiomqtt = pytest.importorskip("aiomqtt", reason="the extra firstfrost[mqtt] is not installed")
with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    amqtt_broker = pytest.importorskip("amqtt.broker", reason="amqtt, the broker for tests, is not installed")

pytestmark = pytest.mark.filterwarnings("ignore")


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_messages_are_kept_once_and_acknowledged_after_the_commit(tmp_path, monkeypatch):
    monkeypatch.setattr(mqtt, "AGAIN_S", 0.1)
    logging.getLogger("amqtt").setLevel(logging.ERROR)
    port = free_port()
    with Store(str(tmp_path / "s.db")) as store:
        visit = add_visit(store)
        finished(scene(store, visit, port))
        items = store.read(lambda c: kept(c, visit))
    numbered = [item.batch.sequence for item in items if item.batch.client == "logger-01"]
    assert sorted(numbered) == list(range(30))
    senml = [item.batch for item in items if item.batch.client == "logger-02"]
    assert len(senml) == 1
    assert senml[0].samples.channels == {"outdoor_coil_temp": [-2.5]}


async def scene(store, visit, port):
    broker = amqtt_broker.Broker(
        {
            "listeners": {"default": {"type": "tcp", "bind": f"127.0.0.1:{port}"}},
            "plugins": {"amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}},
        }
    )
    await broker.start()
    try:
        hub = Hub(store, Settings(workers=0))
        feed = MqttFeed(hub, f"mqtt://127.0.0.1:{port}")
        feed.start()
        await asyncio.sleep(1.0)
        async with aiomqtt.Client("127.0.0.1", port) as sender:
            topic = f"firstfrost/{visit}/logger-01"
            for sequence in range(20):
                for _ in range(2):  # as a broker may deliver again
                    await sender.publish(topic, encode(row(sequence)), qos=1)
            pack = json.dumps([{"bt": 1_795_600_000, "n": "outdoor_coil_temp", "u": "Cel", "v": -2.5}])
            for _ in range(2):
                await sender.publish(f"firstfrost/{visit}/logger-02", pack, qos=1)
            for bad_topic, payload in (
                (topic, b"nonsense"),
                (f"firstfrost/{new()}/logger-01", encode(row(0))),
                ("firstfrost/no-id/logger-01", encode(row(0))),
                (f"firstfrost/{visit}/x", encode(row(0))),
            ):
                await sender.publish(bad_topic, payload, qos=1)
            await until(lambda: feed.taken >= 42 and feed.refused >= 4)
            # A store that is away for a moment: the message waits, and is acknowledged afterwards.
            whole, acknowledged = hub.take, feed.taken
            fails = [StoreError("The store is away."), StoreError("The store is away.")]

            async def away(*asked):
                if fails:
                    raise fails.pop()
                return await whole(*asked)

            hub.take = away
            for sequence in range(20, 30):
                await sender.publish(topic, encode(row(sequence)), qos=1)
            await until(lambda: feed.taken >= acknowledged + 10)
            assert not fails
        await feed.stop()
        hub.close()
    finally:
        await broker.shutdown()


async def until(true, timeout_s=20.0):
    end = asyncio.get_running_loop().time() + timeout_s
    while not true():
        assert asyncio.get_running_loop().time() < end
        await asyncio.sleep(0.05)


def test_a_retained_message_that_is_delivered_again_counts_once(tmp_path, monkeypatch):
    """A broker hands a retained message to each new subscription (MQTT 5.0, 3.3.1.3)."""
    monkeypatch.setattr(mqtt, "AGAIN_S", 0.1)
    logging.getLogger("amqtt").setLevel(logging.ERROR)
    port = free_port()
    with Store(str(tmp_path / "s.db")) as store:
        visit = add_visit(store)
        finished(retained(store, visit, port))
        items = store.read(lambda c: kept(c, visit))
    assert sorted(item.batch.client for item in items) == ["logger-01", "logger-02", "logger-03"]
    assert [len(item.batch.samples.time_s) for item in items] == [1, 1, 1]


async def retained(store, visit, port):
    broker = amqtt_broker.Broker(
        {
            "listeners": {"default": {"type": "tcp", "bind": f"127.0.0.1:{port}"}},
            "plugins": {"amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}},
        }
    )
    dated = json.dumps([{"bt": 1_795_600_000, "n": "outdoor_coil_temp", "u": "Cel", "v": -2.5}])
    # Without a time it is "now" (RFC 8428, 4.5.3), which is another one each time that it is handed out.
    now = json.dumps([{"n": "outdoor_coil_temp", "u": "Cel", "v": -2.5}])
    await broker.start()
    try:
        async with aiomqtt.Client("127.0.0.1", port) as sender:
            await sender.publish(f"firstfrost/{visit}/logger-01", encode(row(0)), qos=1, retain=True)
            await sender.publish(f"firstfrost/{visit}/logger-02", dated, qos=1, retain=True)
            for turn in range(3):
                hub = Hub(store, Settings(workers=0))
                feed = MqttFeed(hub, f"mqtt://127.0.0.1:{port}")
                feed.start()
                # Both are handed out again; the third, once it is there, is refused: it does not say when it
                # was sent.
                await until(lambda feed=feed, turn=turn: feed.taken >= 2 and feed.refused >= min(turn, 1))
                if not turn:
                    taken = feed.taken
                    await sender.publish(f"firstfrost/{visit}/logger-03", now, qos=1, retain=True)
                    await until(lambda feed=feed, taken=taken: feed.taken > taken)
                    assert feed.refused == 0
                await asyncio.sleep(0.3)
                await feed.stop()
                hub.close()
    finally:
        await broker.shutdown()
