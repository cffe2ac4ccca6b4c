"""Work that takes a second or more (results, plans, seasons), in a process beside: live views go on."""

from __future__ import annotations

import asyncio
import hashlib
import multiprocessing
import os
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal, TypeVar

from firstfrost.equipment.unit import Unit
from firstfrost.errors import Missing
from firstfrost.report.people import People
from firstfrost.store.judging import Judged, Sources, judge, result_of
from firstfrost.web.uploads import plain_name

if TYPE_CHECKING:
    from firstfrost.season.at_visit import AtVisit
    from firstfrost.season.money import Prices
    from firstfrost.weather.hours import Air

T = TypeVar("T")
Kept = OrderedDict[str, Future[dict[str, Any]]]

PLANS: Final = 64
"""So many plans, and so many seasons and prices, are kept at hand."""
FILES: Final = 3
"""So many weather files."""


def report(
    source: Sources, ending: Literal["pdf", "html"], system: Literal["us", "si"], people: People
) -> bytes:
    """The report of a visit, from its sources, with the people who made and signed it."""
    result, _ = result_of(source)
    if ending == "pdf":
        from firstfrost.report.pdf import pdf_report

        return pdf_report(result, system, people=people)
    from firstfrost.report.html import html_report

    return html_report(result, system, people=people).encode("utf-8")


def plan(unit: Unit, outdoor_c: float, humidity: float | None, indoor_c: float) -> dict[str, Any]:
    """The plan for a unit in today's weather, as JSON."""
    from firstfrost.bench.plan.as_json import as_json
    from firstfrost.bench.plan.plan import make_plan

    return as_json(make_plan(unit, outdoor_c=outdoor_c, humidity=humidity, indoor_c=indoor_c))


@dataclass(frozen=True, kw_only=True)
class Weather:
    """A winter's air as it is asked for: a region, or a file by its hash, with its bytes if they came."""

    told: str
    """`region:IV`, or `sha256:` and 64 hex digits."""
    content: bytes | None = field(default=None, repr=False)
    name: str = field(default="", repr=False)
    humidity: float | None = None
    """Taken where the weather has none. [ratio]"""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What else a season is asked with."""

    visit: AtVisit | None = None
    prices_key: str = ""
    """`sha256:` and 64 hex digits, as `keep_prices` gave it."""
    prices: Prices | None = field(default=None, repr=False)


def season(unit: Unit, weather: Weather, asked: Asked) -> dict[str, Any]:
    """The season of a unit, as JSON for `us` and for `si`: its sentences name temperatures.

    Raises
    ------
    FirstfrostError
        If the weather cannot be used.
    """
    from firstfrost.season.as_json import as_json
    from firstfrost.season.season import season as work_out

    made = work_out(unit, _air(weather, unit.site.altitude_m), prices=asked.prices, visit=asked.visit)
    failed = () if asked.visit is None else asked.visit.failed
    return {"us": as_json(made, "us", failed), "si": as_json(made, "si", failed)}


def _air(weather: Weather, altitude_m: float) -> Air:
    if weather.content is None:
        from firstfrost.season.region_year import region_air

        return region_air(weather.told.partition(":")[2], humidity=weather.humidity)
    from firstfrost.weather.hours import air_of
    from firstfrost.weather.read import read_weather

    with tempfile.TemporaryDirectory(prefix="firstfrost-") as folder:
        path = Path(folder) / (plain_name(weather.name) or "weather")
        path.write_bytes(weather.content)
        hours = read_weather(path, altitude_m=altitude_m)
    return air_of(hours, humidity=weather.humidity)


class Workshop:
    """Where such work is done: `workers` processes, or threads for 0."""

    def __init__(self, workers: int) -> None:
        self._workers = workers
        self._pool: Executor | None = None
        self._gate = threading.Lock()
        self._plans: Kept = OrderedDict()
        self._seasons: Kept = OrderedDict()
        self._prices: OrderedDict[str, Prices] = OrderedDict()
        self._files: OrderedDict[str, Weather] = OrderedDict()

    def _executor(self) -> Executor:
        with self._gate:
            if self._pool is None:
                if self._workers:
                    self._pool = ProcessPoolExecutor(
                        self._workers,
                        mp_context=multiprocessing.get_context("spawn"),
                        initializer=end_with_the_service,
                    )
                else:
                    self._pool = ThreadPoolExecutor(1, thread_name_prefix="work")
            return self._pool

    def _submit(self, task: Callable[..., T], *args: Any) -> Future[T]:
        try:
            return self._executor().submit(task, *args)
        except BrokenProcessPool:
            # The process was ended from outside: another one takes over.
            with self._gate:
                self._pool = None
            return self._executor().submit(task, *args)

    def _run(self, task: Callable[..., T], *args: Any) -> T:
        try:
            return self._submit(task, *args).result()
        except BrokenProcessPool:
            with self._gate:
                self._pool = None
            return self._submit(task, *args).result()

    def judge(self, source: Sources) -> Judged:
        """Judge a visit; as `store.judging.judge`."""
        return self._run(judge, source)

    def report(
        self, source: Sources, ending: Literal["pdf", "html"], system: Literal["us", "si"], people: People
    ) -> bytes:
        """Make a report."""
        return self._run(report, source, ending, system, people)

    def plan(
        self, unit: Unit, outdoor_c: float, humidity: float | None, indoor_c: float, *, wait_s: float
    ) -> dict[str, Any] | None:
        """A plan, if it is ready within `wait_s`; it is worked on, and kept, in any case.

        Raises
        ------
        InputError
            If there is no planning for such weather.
        """
        key = _key(unit, outdoor_c, humidity, indoor_c)
        return self._kept(self._plans, key, wait_s, plan, unit, outdoor_c, humidity, indoor_c)

    def keep_prices(self, key: str, prices: Prices) -> None:
        """Keep prices at hand by their key."""
        with self._gate:
            self._prices[key] = prices
            while len(self._prices) > PLANS:
                self._prices.popitem(last=False)

    def season(
        self, unit: Unit, weather: Weather, asked: Asked, system: Literal["us", "si"], *, wait_s: float
    ) -> dict[str, Any] | None:
        """A season, if it is ready within `wait_s`; it is worked on, and kept, in any case.

        Raises
        ------
        Missing
            If a file or prices are asked for by their hash and are not known here (any more).
        FirstfrostError
            If the weather cannot be used.
        """
        key, own = _key(unit, weather, asked), _key(unit, weather.told)
        with self._gate:
            known = key in self._seasons
            asked = replace(asked, prices=self._prices.get(asked.prices_key))
            if weather.content is not None:
                self._files[own] = weather
                while len(self._files) > FILES:
                    self._files.popitem(last=False)
            elif own in self._files:
                kept = self._files[own]
                weather = replace(weather, content=kept.content, name=kept.name)
        if not known and weather.content is None and not weather.told.startswith("region:"):
            raise Missing("The season of that file is not at hand any more. Send the weather file again.")
        if not known and asked.prices_key and asked.prices is None:
            raise Missing("Those prices are not at hand any more. Send the prices again.")
        found = self._kept(self._seasons, key, wait_s, season, unit, weather, asked)
        return None if found is None else found[system]

    def _kept(
        self, kept: Kept, key: str, wait_s: float, task: Callable[..., dict[str, Any]], *args: Any
    ) -> dict[str, Any] | None:
        """The answer of a task, worked out once for a key; None where it is not ready within `wait_s`."""
        with self._gate:
            future = kept.get(key)
        if future is None:
            future = self._submit(task, *args)
            with self._gate:
                kept[key] = future
                while len(kept) > PLANS:
                    kept.popitem(last=False)
        try:
            return future.result(wait_s)
        except TimeoutError:
            return None
        except BaseException:
            with self._gate:
                kept.pop(key, None)
            raise

    def close(self) -> None:
        """Let go of what is at work."""
        with self._gate:
            if self._pool is not None:
                self._pool.shutdown(wait=False, cancel_futures=True)
                self._pool = None


def _key(*asked: Any) -> str:
    return hashlib.sha256(repr(asked).encode()).hexdigest()


def end_with_the_service() -> None:
    """In a process beside: end when the service does, even one that was killed and could not say so."""
    service = multiprocessing.parent_process()

    def wait() -> None:
        if service is not None:
            service.join()
            os._exit(0)

    threading.Thread(target=wait, daemon=True).start()


async def in_thread(task: Callable[[], T]) -> T:
    """Run what blocks in a thread."""
    return await asyncio.get_running_loop().run_in_executor(None, task)
