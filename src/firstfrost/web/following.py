"""A visit that is followed: its batches go to the live fold, and what that tells becomes events."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final

from firstfrost.equipment.unit import Unit
from firstfrost.store.batches import Batch, Kept, order_of
from firstfrost.store.contents import Read, read
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS, Mark
from firstfrost.trace.trace import Trace
from firstfrost.visit.gather import instant
from firstfrost.visit.live import LiveVisit, Notice

SET_BACK_ROWS: Final = 3
"""So many rows in a row of one recorder that go on from an earlier time mean that its clock was set back."""
OLD_S: Final = 30.0
"""A sample that was taken so long before it was sent is no news: no warning is given for it. [s]"""


@dataclass
class _Recorder:
    """What is known of one client's clock."""

    sequence: int = -1
    last_s: float = -math.inf
    shift_s: float = 0.0
    behind: int = 0
    """Single rows in a row that lay behind the last."""


@dataclass
class Following:
    """One visit followed live.

    unit : as its plate reads
    complete : whether the marks are all that was done
    """

    unit: Unit
    complete: bool
    visit: LiveVisit = field(init=False)
    danger: dict[str, Any] | None = None
    late_rows: int = 0
    """Rows that came out of order: kept and judged with the whole record, but no part of the live view."""
    _acts: dict[str, tuple[float, str, str]] = field(default_factory=dict)
    _gone: set[str] = field(default_factory=set)
    _recorders: dict[str, _Recorder] = field(default_factory=dict)
    _zero_s: float = math.nan

    def __post_init__(self) -> None:
        self.visit = LiveVisit(self.unit, () if self.complete else None, zone=self.unit.site.zone)

    def take(self, item: Kept, *, judge: bool = True) -> list[tuple[str, dict[str, Any]]]:
        """Take a batch and return the events that it brings, each a name and its data."""
        batch = item.batch
        got = read(batch, self.unit.site.atmosphere_pa)
        self._take_acts(batch)
        rows = self._rows(batch, got, item.n)
        sent_s = item.received_s if batch.sent_s is None else batch.sent_s
        out: list[tuple[str, dict[str, Any]]] = []
        for i, (raw_s, time_s, readings) in enumerate(rows):
            if self._zero_s != self._zero_s:
                self._begin(time_s)
            last = i == len(rows) - 1
            news = sent_s - raw_s <= OLD_S
            for notice in self.visit.push(time_s - self._zero_s, readings, judge=judge and last):
                event = self._event(notice, news=news)
                if event is not None:
                    out.append(event)
            if not news:
                # It was not given; with the first fresh sample it is, if it still holds.
                self.visit.alarm_again()
        if rows and batch.marks:
            self._mark()
        return out

    def load(self, items: Sequence[Kept], trace: Trace) -> None:
        """Take all that came before: the whole record on its time base, and the batches that it is from."""
        for item in items:
            self._take_acts(item.batch)
            recorder = self._recorders.setdefault(item.batch.client, _Recorder())
            recorder.sequence = max(recorder.sequence, order_of(item.batch, item.n))
            if item.batch.samples is not None and item.batch.samples.time_s:
                recorder.last_s = max(recorder.last_s, *item.batch.samples.time_s)
        if not len(trace) or trace.epoch is None:
            return
        self._begin(trace.epoch.timestamp() + float(trace.time_s[0]))
        zero_s = trace.epoch.timestamp() - self._zero_s
        columns = {name: column.tolist() for name, column in trace.columns.items()}
        for i, time_s in enumerate(trace.time_s.tolist()):
            readings = {name: column[i] for name, column in columns.items()}
            self.visit.push(time_s + zero_s, readings, judge=False)
        self.visit.alarm_again()

    def judge(self) -> list[tuple[str, dict[str, Any]]]:
        """Work out the standings now."""
        events = (self._event(notice, news=True) for notice in self.visit.judge())
        return [event for event in events if event is not None]

    def hello(self) -> dict[str, Any]:
        """Where the visit stands."""
        limit = self.visit.limit
        return {
            "course": self.visit.course,
            "standings": dict(self.visit.standings),
            "stop": {
                "temp_c": limit.temp_c,
                "pressure_pa": limit.pressure_pa,
                "gauge_pa": limit.gauge_pa,
                "by": limit.by,
            },
            "danger": self.danger,
        }

    def _begin(self, time_s: float) -> None:
        self._zero_s = math.floor(time_s)
        self.visit.epoch = instant(self._zero_s)
        self._mark()

    def _take_acts(self, batch: Batch) -> None:
        self._gone.update(one.id for one in batch.withdrawn)
        for mark in batch.marks:
            if mark.act in ACTS:
                self._acts.setdefault(mark.id, (mark.time_s, mark.act, mark.note))
        if batch.marks or batch.withdrawn:
            self._mark()

    def _mark(self) -> None:
        if self._zero_s != self._zero_s:
            return
        there = sorted(act for key, act in self._acts.items() if key not in self._gone)
        if not there and not self.complete:
            self.visit.mark(None)
            return
        self.visit.mark(
            tuple(Mark(time_s=at_s - self._zero_s, act=act, note=note) for at_s, act, note in there)
        )

    def _rows(self, batch: Batch, got: Read, n: int) -> list[tuple[float, float, Mapping[str, float]]]:
        """The rows that go on from the last: their own time, that on the live base, and their readings."""
        rows: list[tuple[float, dict[str, float]]] = [
            (time_s, {name: column[i] for name, column in got.channels.items()})
            for i, time_s in enumerate(got.time_s)
        ]
        gone = {one.id for one in batch.withdrawn} | self._gone
        typed = sorted(
            (one.time_s, one.channel, value)
            for one, value in zip(batch.typed, got.values, strict=True)
            if value == value and one.id not in gone
        )
        recorder = self._recorders.setdefault(batch.client, _Recorder())
        number = order_of(batch, n)
        in_turn = number > recorder.sequence
        recorder.sequence = max(recorder.sequence, number)
        if in_turn:
            self._watch_clock(recorder, [time_s for time_s, _ in rows])
        rows += [(time_s, {name: value}) for time_s, name, value in typed]
        out: list[tuple[float, float, Mapping[str, float]]] = []
        last = self.visit.last_s + self._zero_s if len(self.visit) else -math.inf
        for raw_s, readings in rows:
            time_s = raw_s + recorder.shift_s
            recorder.last_s = max(recorder.last_s, time_s)
            if not time_s > last:
                self.late_rows += 1
                continue
            out.append((raw_s, time_s, {name: _bounded(name, value) for name, value in readings.items()}))
            last = time_s
        return out

    def _watch_clock(self, recorder: _Recorder, times: list[float]) -> None:
        """Follow a recorder whose clock was set back: its rows go on after the last, as in the record."""
        if not times:
            return
        behind = sum(time_s + recorder.shift_s <= recorder.last_s for time_s in times)
        rising = all(a < b for a, b in pairwise(times))
        if not rising or behind < min(SET_BACK_ROWS, len(times)):
            recorder.behind = 0
            return
        recorder.behind += len(times)
        if recorder.behind < SET_BACK_ROWS:
            return
        recorder.behind = 0
        step = (times[-1] - times[0]) / (len(times) - 1) if len(times) > 1 else 1.0
        recorder.shift_s = recorder.last_s + step - times[0]

    def _event(self, notice: Notice, *, news: bool) -> tuple[str, dict[str, Any]] | None:
        at_s = notice.time_s + self._zero_s
        if notice.kind == "course":
            return "course", {"time_s": at_s, "course": notice.course}
        if notice.kind == "standing":
            assert notice.finding is not None
            found = notice.finding
            return "standing", {
                "time_s": at_s,
                "function": found.function,
                "was": notice.was,
                "standing": found.standing,
                "sentence": found.sentence,
                "settle": found.settle,
            }
        if not news:
            return None
        if notice.kind == "stop":
            assert notice.danger is not None
            danger = notice.danger
            self.danger = {
                "time_s": at_s,
                "seconds_left": danger.seconds_left if math.isfinite(danger.seconds_left) else None,
                "below_k": danger.below_k,
                "rate_k_s": danger.rate_k_s,
                "temp_c": danger.temp_c,
                "pressure_pa": danger.pressure_pa,
                "gauge_pa": danger.pressure_pa - self.unit.site.atmosphere_pa,
                "limit_gauge_pa": self.visit.limit.gauge_pa,
            }
            return "stop", self.danger
        if notice.kind == "clear":
            self.danger = None
        return notice.kind, {"time_s": at_s}


def _bounded(name: str, value: float) -> float:
    """A reading, NaN where no probe can read it."""
    channel = CHANNELS[name]
    return value if channel.lowest <= value <= channel.highest else math.nan
