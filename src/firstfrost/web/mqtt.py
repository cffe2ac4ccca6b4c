"""Readings by MQTT: a batch, SenML or plain JSON on `firstfrost/<visit>/<client>`.

A message is acknowledged to the broker only when it is on the disk (QoS 1, MQTT 3.1.1 section 4.3.2), and the
session is kept at the broker, so that what comes while the service is away comes afterwards. A message that
can never be taken is acknowledged as well, and told in the log: it would come again for ever.
"""

from __future__ import annotations

import asyncio
import json
import logging
import re
from contextlib import suppress
from typing import Any, Final
from urllib.parse import unquote, urlsplit

import msgspec

from firstfrost.equipment.unit import Unit
from firstfrost.errors import FirstfrostError, InputError, StoreError
from firstfrost.store.batches import Batch, Samples, decode, unnumbered
from firstfrost.store.judging import visit_unit
from firstfrost.store.records import VISIT, find
from firstfrost.visit.gather import Log, read_log
from firstfrost.web.bodies import UUID
from firstfrost.web.hub import Hub
from firstfrost.web.work import in_thread

LOG: Final = logging.getLogger("firstfrost.web.mqtt")
ROOT: Final = "firstfrost"
AGAIN_S: Final = 2.0
_CLIENT: Final = re.compile(r"[A-Za-z0-9_-]{8,64}")
_ID: Final = re.compile(UUID)


def from_message(topic: str, payload: bytes, unit: Unit, received_s: float | None) -> Batch:
    """The batch that a message brings.

    Parameters
    ----------
    topic : str
        `firstfrost/<visit>/<client>`.
    payload : bytes
        A batch (with `sequence`), SenML, or JSON objects with a time.
    unit : Unit
        Of the visit: gauge pressures are of its site.
    received_s : float, optional
        For SenML whose times count from now (RFC 8428, section 4.5.3); None where the broker kept the
        message, and when it was sent is not known. [s since 1970]

    Raises
    ------
    FirstfrostError
        If it is none of these.
    """
    client = topic.rsplit("/", 1)[-1]
    if not _CLIENT.fullmatch(client):
        raise InputError(
            f"The topic ends in {client!r}. Expected a client of 8 to 64 letters, digits, _ or -. Name it so."
        )
    head = payload.lstrip()[:1]
    if head == b"{":
        with suppress(ValueError):
            content = json.loads(payload)
            if "sequence" in content:
                return decode(msgspec.json.encode({**content, "client": client}))
    table, _ = read_log(Log(name=f"{client}.json", content=payload), unit)
    times = table.times
    if times.base == "instant":
        time_s = times.whole + times.part
    elif times.base == "seconds" and head == b"[":
        if received_s is None:
            raise InputError(
                "The broker had kept the message (retained), and its times count from when it was sent, "
                "which is not told. Expected times since 1970 in what is kept. Send those, or do not have it "
                "kept."
            )
        time_s = received_s + times.whole + times.part
    else:
        raise InputError(
            "The message gives no date. Expected times such as 2026-11-25T10:00:00Z. Send those."
        )
    good = times.good
    channels = {
        one.channel.name: [None if v != v else v for v in one.values[good].tolist()] for one in table.columns
    }
    return unnumbered(
        Batch(client=client, sequence=0, samples=Samples(time_s=time_s[good].tolist(), channels=channels))
    )


class MqttFeed:
    """Takes what a broker has for this service, for as long as it runs."""

    def __init__(self, hub: Hub, url: str) -> None:
        self.hub = hub
        self.url = urlsplit(url)
        if self.url.scheme not in ("mqtt", "mqtts") or not self.url.hostname:
            raise InputError(
                f"--mqtt is {url!r}. Expected mqtt://host or mqtts://host, with :port where it is another "
                "than 1883 and 8883. Give one."
            )
        self._task: asyncio.Task[None] | None = None
        self.taken = 0
        self.refused = 0

    def start(self) -> None:
        """Begin."""
        self._task = asyncio.get_running_loop().create_task(self._run())

    async def stop(self) -> None:
        """End."""
        if self._task is not None:
            self._task.cancel()
            with suppress(asyncio.CancelledError):
                await self._task

    def _client(self) -> Any:
        import ssl

        import aiomqtt

        secure = self.url.scheme == "mqtts"
        return aiomqtt.Client(
            self.url.hostname or "",
            self.url.port or (8883 if secure else 1883),
            username=unquote(self.url.username) if self.url.username else None,
            password=unquote(self.url.password) if self.url.password else None,
            identifier="firstfrost-service",
            clean_session=False,
            tls_context=ssl.create_default_context() if secure else None,
        )

    async def _run(self) -> None:
        import aiomqtt

        while True:
            try:
                async with self._client() as client:
                    # aiomqtt would acknowledge a message when it comes; ours is safe only after the commit.
                    client._client.manual_ack_set(True)
                    await client.subscribe(f"{ROOT}/+/+", qos=1)
                    LOG.info("Listening to %s", self.url.hostname)
                    async for message in client.messages:
                        await self._take(client, message)
            except aiomqtt.MqttError as err:
                LOG.warning("The MQTT broker %s is away: %s. Trying again.", self.url.hostname, err)
                await asyncio.sleep(AGAIN_S)

    async def _take(self, client: Any, message: Any) -> None:
        topic = str(message.topic)
        while True:
            try:
                await self._keep(topic, bytes(message.payload), retained=bool(message.retain))
                self.taken += 1
                break
            except StoreError as err:
                LOG.warning("%s: %s Trying again.", topic, err)
                await asyncio.sleep(AGAIN_S)
            except FirstfrostError as err:
                self.refused += 1
                LOG.warning("%s: %s", topic, err)
                break
        client._client.ack(message.mid, message.qos)

    async def _keep(self, topic: str, payload: bytes, *, retained: bool) -> None:
        visit_id = topic.split("/")[1]
        if not _ID.fullmatch(visit_id):
            raise InputError(f"The topic names the visit {visit_id!r}. Expected its id. Name it so.")
        store = self.hub.store
        limit = self.hub.settings.limit("batch")
        if len(payload) > limit:
            raise InputError(
                f"The message has {len(payload)} bytes. Expected at most {limit}. Send less at once."
            )
        by = store.by("mqtt")

        def read() -> Batch:
            unit = store.read(lambda c: visit_unit(c, find(c, VISIT, visit_id)))
            return from_message(topic, payload, unit, None if retained else by.at_s)

        taken = await self.hub.take(visit_id, await in_thread(read), by)
        if taken.clash:
            LOG.warning("%s: a sequence came twice with different content; both are kept.", topic)
