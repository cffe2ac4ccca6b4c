"""Work that takes a second or more (results, reports, plans), in a process beside: live views go on."""

from __future__ import annotations

import asyncio
import hashlib
import multiprocessing
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any, Final, Literal, TypeVar

from firstfrost.equipment.unit import Unit
from firstfrost.report.people import People
from firstfrost.store.judging import Judged, Sources, judge, result_of

T = TypeVar("T")

PLANS: Final = 64
"""So many plans are kept at hand."""


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


class Workshop:
    """Where such work is done: `workers` processes, or threads for 0."""

    def __init__(self, workers: int) -> None:
        self._workers = workers
        self._pool: Executor | None = None
        self._gate = threading.Lock()
        self._plans: OrderedDict[str, Future[dict[str, Any]]] = OrderedDict()

    def _executor(self) -> Executor:
        with self._gate:
            if self._pool is None:
                if self._workers:
                    self._pool = ProcessPoolExecutor(
                        self._workers, mp_context=multiprocessing.get_context("spawn")
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
        asked = repr((unit, outdoor_c, humidity, indoor_c))
        key = hashlib.sha256(asked.encode()).hexdigest()
        with self._gate:
            future = self._plans.get(key)
        if future is None:
            future = self._submit(plan, unit, outdoor_c, humidity, indoor_c)
            with self._gate:
                self._plans[key] = future
                while len(self._plans) > PLANS:
                    self._plans.popitem(last=False)
        try:
            return future.result(wait_s)
        except TimeoutError:
            return None
        except BaseException:
            with self._gate:
                self._plans.pop(key, None)
            raise

    def close(self) -> None:
        """Let go of what is at work."""
        with self._gate:
            if self._pool is not None:
                self._pool.shutdown(wait=False, cancel_futures=True)
                self._pool = None


async def in_thread(task: Callable[[], T]) -> T:
    """Run what blocks in a thread."""
    return await asyncio.get_running_loop().run_in_executor(None, task)
