"""A shop at work: visits that send readings, viewers that watch, and a count of what was acknowledged.

Used by `bench_service.py` and by the tests of faults; it knows the service by its HTTP contract alone.
"""

from __future__ import annotations

import asyncio
import json
import random
import time
import uuid
from dataclasses import dataclass, field
from typing import Any

CHANNELS = (
    "suction_pressure",
    "liquid_pressure",
    "discharge_pressure",
    "vapor_line_temp",
    "liquid_line_temp",
    "suction_line_temp",
    "discharge_temp",
    "outdoor_coil_temp",
    "outdoor_air_temp",
    "fan_current",
    "compressor_current",
    "sensor_voltage",
)
MIDDLE = (9e5, 2.4e6, 2.5e6, 40.0, 30.0, 5.0, 70.0, -2.0, 5.0, 0.8, 8.0, 0.1)
PLATE = {"unit": {"refrigerant": "R-410A"}}


@dataclass
class Visit:
    """One visit, its recorder, and what the service said to it."""

    id: str
    client: str
    sequence: int = 0
    sent: dict[int, bytes] = field(default_factory=dict)
    acknowledged: set[int] = field(default_factory=set)
    sent_at: dict[int, float] = field(default_factory=dict)
    seen: dict[int, int] = field(default_factory=dict)
    """How often each sequence came to the viewer."""
    lags_s: list[float] = field(default_factory=list)
    errors: dict[str, int] = field(default_factory=dict)


class Http:
    """A connection that stays open and asks one thing at a time: plain HTTP/1.1, so that it costs little."""

    def __init__(self, host: str, port: int) -> None:
        self.host, self.port = host, port
        self._streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(
        self, method: str, path: str, body: bytes = b"", headers: dict[str, str] | None = None
    ) -> tuple[int, bytes]:
        """Ask and return status and body; raises OSError or EOFError where the service is away."""
        try:
            if self._streams is None:
                self._streams = await asyncio.open_connection(self.host, self.port)
            reader, writer = self._streams
            lines = [
                f"{method} {path} HTTP/1.1",
                f"Host: {self.host}:{self.port}",
                f"Content-Length: {len(body)}",
            ]
            lines += [f"{name}: {value}" for name, value in (headers or {}).items()]
            writer.write("\r\n".join(lines).encode() + b"\r\n\r\n" + body)
            await writer.drain()
            head = await reader.readuntil(b"\r\n\r\n")
            status = int(head.split(b" ", 2)[1])
            length = 0
            for line in head.lower().split(b"\r\n"):
                if line.startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
            return status, await reader.readexactly(length)
        except (OSError, EOFError):
            self.close()
            raise

    def close(self) -> None:
        """Let go of the connection."""
        if self._streams is not None:
            self._streams[1].close()
            self._streams = None


async def token_of(http: Http) -> str:
    """The CSRF token of a service for one person, once it answers."""
    while True:
        try:
            status, body = await http.ask("GET", "/api/session")
            if status == 200:
                return str(json.loads(body)["csrf"])
        except (OSError, EOFError):
            pass
        await asyncio.sleep(0.02)


async def set_up(host: str, port: int, count: int) -> list[Visit]:
    """Units and visits in the service."""
    http = Http(host, port)
    headers = {"X-CSRF-Token": await token_of(http), "Content-Type": "application/json"}
    out = []
    for k in range(count):
        unit, visit = str(uuid.uuid4()), str(uuid.uuid4())
        for path, body in (
            (f"/api/units/{unit}", {"version": 0, "name": f"Unit {k}", "plate": PLATE}),
            (f"/api/visits/{visit}", {"version": 0, "unit_id": unit}),
        ):
            status, answer = await http.ask("PUT", path, json.dumps(body).encode(), headers)
            assert status == 200, answer
        out.append(Visit(id=visit, client=f"recorder-{k:04d}"))
    http.close()
    return out


def batch_of(visit: Visit, number: int, at_s: float) -> bytes:
    """One second of twelve channels."""
    channels = {
        name: [round(middle * (1.0 + 0.02 * random.random()), 4)]
        for name, middle in zip(CHANNELS, MIDDLE, strict=True)
    }
    body = {
        "client": visit.client,
        "sequence": number,
        "sent_s": at_s,
        "samples": {"time_s": [at_s], "channels": channels},
    }
    return json.dumps(body).encode()


class Token:
    """The CSRF token, which is another one after each start of the service."""

    value = ""


async def record(
    host: str, port: int, visit: Visit, token: Token, *, period_s: float, end: asyncio.Event
) -> None:
    """Send one batch each period until `end`, then what is left; what is not acknowledged is sent again."""
    http = Http(host, port)
    offset = random.random() * period_s
    start = time.monotonic() + offset
    waiting: list[int] = []
    try:
        while True:
            if not end.is_set():
                due = start + visit.sequence * period_s
                if time.monotonic() >= due:
                    number = visit.sequence
                    visit.sent[number] = batch_of(visit, number, time.time())
                    visit.sent_at[number] = time.monotonic()
                    waiting.append(number)
                    visit.sequence += 1
                elif not waiting:
                    await asyncio.sleep(max(0.0, due - time.monotonic()))
                    continue
            elif not waiting:
                return
            if not waiting:
                continue
            number = waiting[0]
            try:
                status, answer = await http.ask(
                    "POST",
                    f"/api/visits/{visit.id}/batches",
                    visit.sent[number],
                    {"X-CSRF-Token": token.value, "Content-Type": "application/json"},
                )
            except (OSError, EOFError) as err:
                name = type(err).__name__
                visit.errors[name] = visit.errors.get(name, 0) + 1
                await asyncio.sleep(0.05)
                continue
            if status == 200:
                visit.acknowledged.add(number)
                waiting.pop(0)
            else:
                code = json.loads(answer)["error"]["code"] if answer else str(status)
                visit.errors[code] = visit.errors.get(code, 0) + 1
                if code == "csrf":
                    token.value = await token_of(http)
                await asyncio.sleep(0.05)
    finally:
        http.close()


async def watch(host: str, port: int, visit: Visit, end: asyncio.Event) -> None:
    """Watch a visit; come back where the stream ends, from the last event that came."""
    last: str | None = None
    while not end.is_set():
        try:
            reader, writer = await asyncio.open_connection(host, port)
        except OSError:
            await asyncio.sleep(0.05)
            continue
        more = f"Last-Event-ID: {last}\r\n" if last is not None else ""
        writer.write(
            f"GET /api/visits/{visit.id}/events HTTP/1.1\r\nHost: {host}:{port}\r\n{more}\r\n".encode()
        )
        event = number = ""
        stop = asyncio.create_task(end.wait())
        try:
            while not end.is_set():
                read = asyncio.create_task(reader.readline())
                await asyncio.wait({read, stop}, return_when=asyncio.FIRST_COMPLETED)
                if not read.done():
                    read.cancel()
                    break
                line = read.result()
                if not line:
                    break
                if line.startswith(b"event: "):
                    event = line[7:].strip().decode()
                elif line.startswith(b"id: "):
                    number = line[4:].strip().decode()
                elif line.startswith(b"data: ") and event == "hello":
                    last = number
                elif line.startswith(b"data: ") and event == "batch":
                    now = time.monotonic()
                    data = json.loads(line[6:])
                    sequence = data["sequence"]
                    visit.seen[sequence] = visit.seen.get(sequence, 0) + 1
                    if sequence in visit.sent_at:
                        visit.lags_s.append(now - visit.sent_at[sequence])
                    last = number
        except (OSError, EOFError, ValueError):
            pass
        finally:
            stop.cancel()
            writer.close()


async def arrived(host: str, port: int, visit: Visit) -> tuple[set[int], int]:
    """Which sequences the service has of a visit, and how many batches in all."""
    http = Http(host, port)
    status, body = await http.ask("GET", f"/api/visits/{visit.id}/batches")
    assert status == 200, body
    http.close()
    told = json.loads(body)
    have: set[int] = set()
    for client in told["clients"]:
        for low, high in client["have"]:
            have.update(range(low, high + 1))
    return have, told["n"]


async def tally(host: str, port: int, visits: list[Visit]) -> dict[str, Any]:
    """What was lost and what came twice, of what was acknowledged."""
    lost = double = stored = acknowledged = unseen = seen_twice = 0
    for visit in visits:
        have, n = await arrived(host, port, visit)
        lost += len(visit.acknowledged - have)
        double += n - len(have)
        stored += n
        acknowledged += len(visit.acknowledged)
        unseen += len(visit.acknowledged - visit.seen.keys())
        seen_twice += sum(times - 1 for times in visit.seen.values())
    return {
        "acknowledged": acknowledged,
        "stored": stored,
        "lost": lost,
        "double": double,
        "unseen": unseen,
        "seen_twice": seen_twice,
    }
