"""The hub: what is committed goes to those who watch, and to the live fold.

A batch is published the moment its commit is on the disk, whoever sent it and whether or not they still
wait for the answer. The fold, and the standings that it works out now and then, run in threads beside; what
they tell follows as events of its own. A viewer that comes back says the last event that it has, and gets
the rest from the store; one that is too slow is let go, and comes back.
"""

from __future__ import annotations

import asyncio
import logging
import threading
import time
from collections import deque
from collections.abc import AsyncIterator, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any, Final

import msgspec
from sqlalchemy import Connection

from firstfrost.errors import FirstfrostError
from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA
from firstfrost.store.batches import Batch, Kept, Taken, kept, take
from firstfrost.store.contents import read
from firstfrost.store.judging import sources, trace_of, visit_unit
from firstfrost.store.records import VISIT, find
from firstfrost.store.store import By, Store
from firstfrost.web.errors import Refused
from firstfrost.web.following import Following
from firstfrost.web.settings import Settings

LOG: Final = logging.getLogger("firstfrost.web.hub")
BEAT_S: Final = 15.0
AGAIN_S: Final = 10.0
"""Rows that came out of order are taken in by following the visit anew, but not more often than this. [s]"""
IDLE_S: Final = 1800.0
"""A visit that nothing came to and nobody watches is followed no longer after this. [s]"""


def line(event: str, data: Any, n: int | None = None) -> bytes:
    """One event of a stream (WHATWG HTML, "Server-sent events")."""
    head = b"" if n is None else b"id: %d\n" % n
    return head + b"event: %s\ndata: %s\n\n" % (event.encode(), msgspec.json.encode(data))


@dataclass(eq=False)
class _Viewer:
    queue: asyncio.Queue[tuple[int | None, bytes] | None]
    slow: bool = False


@dataclass(eq=False)
class _Room:
    """One visit that someone watches or sends to."""

    viewers: set[_Viewer] = field(default_factory=set)
    waiting: deque[Kept] = field(default_factory=deque)
    busy: bool = False
    judging: bool = False
    lock: threading.Lock = field(default_factory=threading.Lock)
    """Held while the fold takes samples, and while standings are worked out from it."""
    following: Following | None = None
    standings: dict[str, str] = field(default_factory=dict)
    """As they were last told."""
    begun_s: float = 0.0
    seen_n: int = 0
    """The last batch that the fold has read."""
    used_s: float = 0.0
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA
    """At the site; set before anyone watches."""


class Hub:
    """Takes batches to the store and tells those who watch.

    Made on the loop that the service runs on.
    """

    def __init__(self, store: Store, settings: Settings) -> None:
        self.store, self.settings = store, settings
        self._loop = asyncio.get_running_loop()
        self._rooms: dict[str, _Room] = {}
        self._threads = ThreadPoolExecutor(2, thread_name_prefix="live")
        # Apart, so that no warning waits for the standings of other visits.
        self._judges = ThreadPoolExecutor(1, thread_name_prefix="judge")
        self._viewers = 0
        self._closed = False

    def close(self) -> None:
        """Let every viewer go."""
        self._closed = True
        for room in self._rooms.values():
            for viewer in room.viewers:
                with suppress(asyncio.QueueFull):
                    viewer.queue.put_nowait(None)
        for pool in (self._threads, self._judges):
            pool.shutdown(wait=False, cancel_futures=True)

    async def take(self, visit_id: str, batch: Batch, by: By) -> Taken:
        """Keep a batch; returns once it is on the disk.

        Raises
        ------
        FirstfrostError
            If it was not kept.
        """
        future: Future[Taken] = self.store.submit(lambda c: take(c, visit_id, batch, by))
        future.add_done_callback(lambda done: self._committed(visit_id, batch, by, done))
        return await asyncio.wrap_future(future)

    def _committed(self, visit_id: str, batch: Batch, by: By, done: Future[Taken]) -> None:
        """In the writer's thread, right after the commit: pass it on to the loop."""
        if done.cancelled() or done.exception() is not None or self._closed:
            return
        taken = done.result()
        if taken.again:
            return
        self._loop.call_soon_threadsafe(self._publish, visit_id, batch, by, taken)

    def _publish(self, visit_id: str, batch: Batch, by: By, taken: Taken) -> None:
        if taken.clash:
            self.tell(
                visit_id,
                "conflict",
                {"kind": "sequence", "client": batch.client, "sequence": batch.sequence, "time_s": by.at_s},
            )
            return
        room = self._rooms.setdefault(visit_id, _Room())
        room.used_s = time.monotonic()
        item = Kept(n=taken.n, received_s=by.at_s, late=taken.late, batch=batch)
        if room.viewers:
            self._send(room, batch_line(item, room.atmosphere_pa), taken.n)
        if taken.opened:
            self.tell(visit_id, "visit", {"state": "open"})
        if not taken.late:
            room.waiting.append(item)
            self._work(visit_id, room)
        if len(self._rooms) > 50:
            self._sweep()

    def atmosphere_pa(self, visit_id: str) -> float:
        """Ambient pressure at a visit's site; the standard atmosphere until it is known here, in Pa."""
        room = self._rooms.get(visit_id)
        return STANDARD_ATMOSPHERE_PA if room is None else room.atmosphere_pa

    def tell(self, visit_id: str, event: str, data: dict[str, Any]) -> None:
        """Publish an event that is no batch. On the loop."""
        room = self._rooms.get(visit_id)
        if room is not None:
            self._send(room, line(event, data), None)

    def tell_soon(self, visit_id: str, event: str, data: dict[str, Any]) -> None:
        """As `tell`, from any thread."""
        if not self._closed:
            self._loop.call_soon_threadsafe(self.tell, visit_id, event, data)

    def changed(self, visit_id: str | None = None) -> None:
        """A plate, an instrument or the like has changed: follow the visit anew. From any thread."""
        if not self._closed:
            self._loop.call_soon_threadsafe(self._anew, visit_id)

    def _anew(self, visit_id: str | None) -> None:
        for key, room in self._rooms.items():
            if visit_id in (None, key):
                room.following = None

    def _send(self, room: _Room, text: bytes, n: int | None) -> None:
        for viewer in list(room.viewers):
            try:
                viewer.queue.put_nowait((n, text))
            except asyncio.QueueFull:
                viewer.slow = True
                room.viewers.discard(viewer)

    def _work(self, visit_id: str, room: _Room) -> None:
        if room.busy or self._closed or not room.waiting:
            return
        room.busy = True
        items = list(room.waiting)
        room.waiting.clear()
        work = self._loop.run_in_executor(self._threads, self._follow, visit_id, room, items)
        work.add_done_callback(lambda done: self._worked(visit_id, room, done))

    def _worked(self, visit_id: str, room: _Room, done: asyncio.Future[list[bytes]]) -> None:
        room.busy = False
        if done.cancelled():
            return
        err = done.exception()
        if err is not None:
            LOG.warning("The live view of visit %s fails: %s", visit_id, err)
            room.following = None
        else:
            for text in done.result():
                self._send(room, text, None)
            if room.following is not None and room.following.visit.due and not room.judging:
                room.judging = True
                work = self._loop.run_in_executor(self._judges, self._judge, room)
                work.add_done_callback(lambda done: self._judged(visit_id, room, done))
        self._work(visit_id, room)

    def _judge(self, room: _Room) -> list[bytes]:
        """In a thread beside: work out the standings of one visit."""
        with room.lock:
            following = room.following
            events = [] if following is None else following.judge()
            return [line(event, data) for event, data in self._news(room, events)]

    def _judged(self, visit_id: str, room: _Room, done: asyncio.Future[list[bytes]]) -> None:
        room.judging = False
        if done.cancelled():
            return
        err = done.exception()
        if err is not None:
            LOG.warning("The standings of visit %s fail: %s", visit_id, err)
            room.following = None
            return
        for text in done.result():
            self._send(room, text, None)

    def _follow(self, visit_id: str, room: _Room, items: list[Kept]) -> list[bytes]:
        """In a thread, one at a time for each room: read batches into the fold."""
        with room.lock:
            out: list[tuple[str, dict[str, Any]]] = []
            if room.following is None:
                out += self._begin(visit_id, room)
            following = room.following
            if following is not None:
                for item in items:
                    if item.n > room.seen_n:
                        out += following.take(item, judge=False)
                        room.seen_n = item.n
                if following.late_rows and time.monotonic() - room.begun_s > AGAIN_S:
                    out += self._begin(visit_id, room)
            return [line(event, data) for event, data in self._news(room, out)]

    def _news(
        self, room: _Room, events: list[tuple[str, dict[str, Any]]]
    ) -> Iterator[tuple[str, dict[str, Any]]]:
        """The events, without standings that were told already."""
        for event, data in events:
            if event == "standing":
                was = room.standings.get(data["function"], "unseen")
                if was == data["standing"]:
                    continue
                room.standings[data["function"]] = data["standing"]
                data = {**data, "was": was}
            yield event, data

    def _begin(self, visit_id: str, room: _Room) -> list[tuple[str, dict[str, Any]]]:
        """Follow a visit from all that the store has of it."""
        source = self.store.read(lambda c: sources(c, visit_id))
        following = Following(unit=source.unit, complete=source.marks_complete)
        try:
            trace = trace_of(source)
        except FirstfrostError:
            # A log that cannot be joined is told of with the result; what is recorded now does not wait for
            # it.
            trace = trace_of(replace(source, logs=()))
        following.load(source.kept, trace)
        room.atmosphere_pa = source.unit.site.atmosphere_pa
        room.seen_n = max((item.n for item in source.kept), default=0)
        room.begun_s = time.monotonic()
        room.following = following
        return following.judge()

    def _sweep(self) -> None:
        now = time.monotonic()
        for key, room in list(self._rooms.items()):
            if not room.viewers and not room.busy and not room.waiting and now - room.used_s > IDLE_S:
                del self._rooms[key]

    async def watch(self, visit_id: str, after: int | None) -> AsyncIterator[bytes]:
        """The stream of a visit: where it stands, what came after event `after`, then what comes.

        Raises
        ------
        Refused
            If too many watch.
        Missing, Deleted
            If there is no such visit.
        """
        if self._viewers >= self.settings.limit("viewers"):
            raise Refused(
                429,
                "too-often",
                f"{self._viewers} live views are open, and that is the limit (viewers). Close one, or "
                "raise it.",
                retry_after_s=10,
            )
        room = self._rooms.setdefault(visit_id, _Room())
        viewer = _Viewer(queue=asyncio.Queue(self.settings.limit("backlog")))
        room.viewers.add(viewer)
        room.used_s = time.monotonic()
        try:
            hello, n = await self._loop.run_in_executor(None, self._hello, visit_id, room)
            last = n if after is None else min(after, n)
        except BaseException:
            room.viewers.discard(viewer)
            raise
        # Its id is what the viewer has by then: a break right after it loses nothing.
        return self._stream(visit_id, room, viewer, line("hello", hello, last), last)

    def _hello(self, visit_id: str, room: _Room) -> tuple[dict[str, Any], int]:
        def job(connection: Connection) -> tuple[Any, float]:
            row = find(connection, VISIT, visit_id)
            return row, visit_unit(connection, row).site.atmosphere_pa

        row, room.atmosphere_pa = self.store.read(job)
        if row.state == "open" and row.n and room.following is None:
            asyncio.run_coroutine_threadsafe(self._prime(visit_id, room), self._loop).result()
        following = room.following
        stands: dict[str, Any] = {"course": None, "standings": {}, "stop": None, "danger": None}
        if following is not None:
            stands = following.hello()
        return {"n": row.n, "state": row.state, **stands}, int(row.n)

    async def _prime(self, visit_id: str, room: _Room) -> None:
        """Follow a visit before anything new has come to it."""
        if room.busy or room.following is not None:
            return
        room.busy = True
        try:
            await self._loop.run_in_executor(self._threads, self._follow, visit_id, room, [])
        except FirstfrostError as err:
            LOG.warning("The live view of visit %s fails: %s", visit_id, err)
        finally:
            room.busy = False
        self._work(visit_id, room)

    def gone(self, visit_id: str) -> None:
        """A visit was deleted: say so, and let its viewers go. From any thread."""

        def end() -> None:
            room = self._rooms.pop(visit_id, None)
            for viewer in room.viewers if room else ():
                with suppress(asyncio.QueueFull):
                    viewer.queue.put_nowait((None, line("gone", {})))
                    viewer.queue.put_nowait(None)

        if not self._closed:
            self._loop.call_soon_threadsafe(end)

    async def _stream(
        self, visit_id: str, room: _Room, viewer: _Viewer, hello: bytes, last: int
    ) -> AsyncIterator[bytes]:
        self._viewers += 1
        try:
            yield hello
            for n, text in await self._missed(visit_id, room, last):
                yield text
                last = n
            while not viewer.slow:
                try:
                    item = await asyncio.wait_for(viewer.queue.get(), BEAT_S)
                except TimeoutError:
                    yield b": beat\n\n"
                    continue
                if item is None:
                    return
                number, text = item
                if number is None:
                    yield text
                elif number == last + 1:
                    yield text
                    last = number
                elif number > last:
                    # Written past this hub, by another program: the store has it.
                    for n, missed in await self._missed(visit_id, room, last):
                        yield missed
                        last = n
        finally:
            self._viewers -= 1
            room.viewers.discard(viewer)

    async def _missed(self, visit_id: str, room: _Room, after: int) -> list[tuple[int, bytes]]:
        items = await self._loop.run_in_executor(
            None, lambda: self.store.read(lambda c: kept(c, visit_id, after=after))
        )
        return [(item.n, batch_line(item, room.atmosphere_pa)) for item in items]


def batch_line(item: Kept, atmosphere_pa: float) -> bytes:
    """A batch as an event, its readings in memory units."""
    got = read(item.batch, atmosphere_pa)
    return line(
        "batch",
        {
            "n": item.n,
            "client": item.batch.client,
            "sequence": item.batch.sequence,
            "received_s": item.received_s,
            "late": item.late,
            "samples": {"time_s": got.time_s, "channels": got.channels},
            "typed": [
                {"id": one.id, "time_s": one.time_s, "channel": one.channel, "text": one.text, "value": value}
                for one, value in zip(item.batch.typed, got.values, strict=True)
            ],
            "looked": item.batch.looked,
            "marks": item.batch.marks,
            "withdrawn": item.batch.withdrawn,
            "problems": [{"where": one.where, "message": one.message} for one in got.problems],
        },
        item.n,
    )
