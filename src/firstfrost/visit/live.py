"""A visit while it goes on: the same fold and the same judgement as for a whole record, sample by sample."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

import numpy as np

from firstfrost.cycle.derive import derive
from firstfrost.equipment.stop import stop_limit
from firstfrost.equipment.unit import Unit
from firstfrost.phases import fold
from firstfrost.phases.events import Events, Finder
from firstfrost.phases.samples import on_purpose_spans, rows
from firstfrost.proofs.finding import Finding
from firstfrost.refrigerants import refrigerant
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import Marks
from firstfrost.trace.receipt import Receipt
from firstfrost.trace.trace import Trace
from firstfrost.visit.check import check_trace
from firstfrost.visit.result import Result
from firstfrost.visit.stop import Danger, StopWatch

JUDGE_EVERY_S: Final = 10.0
"""Standings are worked out anew after a change, but not sooner than so long after the last time. [s]"""
JUDGE_AFTER_S: Final = (60.0, 180.0, 330.0, 630.0)
"""And so long after the last change of mode, because some functions have minutes to do their part."""
REPEAT_S: Final = 5.0
"""A stop warning is given again after so long. [s]"""

Course = Literal["off", "heating", "chilldown", "turned"]
"""What the circuit does; turned is a defrost, or cooling."""

_COLUMNS: Final = tuple(
    (column, name) for column, name in enumerate(fold.SAMPLE) if name and column not in (fold.LOW, fold.HIGH)
)


@dataclass(frozen=True, kw_only=True)
class Notice:
    """Something that a person should hear of.

    ========== ======================================================================
    `kind`     filled in
    ========== ======================================================================
    `course`   `course`: what the circuit does from `time_s` on
    `standing` `finding` has another standing than before, which is `was`
    `stop`     `danger`: a forced defrost must be stopped
    `clear`    nothing: the stop warning is over
    `blind`    nothing: the circuit is turned and the high side is not read
    ========== ======================================================================
    """

    kind: Literal["course", "standing", "stop", "clear", "blind"]
    time_s: float
    course: Course | None = None
    finding: Finding | None = None
    was: str = "unseen"
    danger: Danger | None = None


class LiveVisit:
    """Takes samples as they come and tells what they show.

    Parameters
    ----------
    unit : Unit
    marks : tuple of Mark, or None
        What is known so far of what a person did; `mark` brings more.
    epoch, zone
        As of `Trace`.
    """

    def __init__(
        self,
        unit: Unit,
        marks: Marks | None = None,
        *,
        epoch: datetime | None = None,
        zone: str | None = None,
    ) -> None:
        self.unit = unit
        self.epoch, self.zone = epoch, zone
        self.limit = stop_limit(unit)
        self.finder = Finder()
        self.standings: dict[str, str] = {}
        self.course: Course | None = None
        self._fluid = refrigerant(unit.refrigerant)
        self._stops = StopWatch(self.limit)
        self._marks = marks
        self._purpose = on_purpose_spans(marks)
        self._same_marks = True
        self._time_s: list[float] = []
        self._columns: dict[str, list[float]] = {}
        self._pushed: list[list[float]] = []
        self._read = {"discharge_pressure": 0, "liquid_pressure": 0}
        self._due_s = math.inf
        self._judged_s = -math.inf
        self._later: list[float] = []
        self._warned_s = math.nan
        self._blind = False
        self.high_dew_c = math.nan
        """Of the last sample."""
        self.high_pressure_pa = math.nan

    def __len__(self) -> int:
        return len(self._time_s)

    @property
    def last_s(self) -> float:
        """Time of the last sample; NaN before the first."""
        return self._time_s[-1] if self._time_s else math.nan

    def mark(self, marks: Marks | None) -> None:
        """Take what is known now of what a person did, in place of what was known before."""
        if marks == self._marks:
            return
        self._marks = marks
        self._purpose = on_purpose_spans(marks)
        if self._time_s:
            self._same_marks = False
            self._want(self._time_s[-1])

    def push(self, time_s: float, readings: Mapping[str, float], *, judge: bool = True) -> list[Notice]:
        """Take one sample and return what it brings.

        Parameters
        ----------
        time_s : float
            Above that of the sample before. [s]
        readings : mapping of channel name to float
            In memory units, NaN where missing; a channel may be left out.
        judge : bool
            False while old samples are caught up with: standings then wait for `judge`.
        """
        self._keep(time_s, readings)
        sample = self._sample(time_s, readings)
        self._pushed.append(sample)
        bits = self.finder.push(sample)
        out: list[Notice] = []
        if bits:
            self._want(time_s)
        if bits & fold.E_MODE:
            out += self._course()
        elif self.course in ("heating", "chilldown") and self._heating(sample) != self.course:
            self.course = self._heating(sample)
            out.append(Notice(kind="course", time_s=time_s, course=self.course))
        out += self._stop(time_s)
        if judge and self._due(time_s):
            out += self.judge()
        return out

    def alarm_again(self) -> None:
        """Let a stop warning that still holds be given with the next sample, not only after `REPEAT_S`."""
        if self._warned_s == self._warned_s:
            self._warned_s = -math.inf

    @property
    def due(self) -> bool:
        """Whether standings wait to be worked out, where samples were pushed without."""
        return bool(self._time_s) and self._due(self._time_s[-1])

    def judge(self) -> list[Notice]:
        """Work out the standings of all samples so far and return those that have changed."""
        if not self._time_s:
            return []
        now = self._time_s[-1]
        self._judged_s, self._due_s = now, math.inf
        self._later = [when for when in self._later if when > now]
        trace = self.trace()
        events = self.finder.finish() if self._same_marks else self._events(trace)
        result = check_trace(trace, self.unit, self._marks, events=events)
        out: list[Notice] = []
        for finding in result.findings:
            was = self.standings.get(finding.function, "unseen")
            if finding.standing != was:
                out.append(Notice(kind="standing", time_s=now, finding=finding, was=was))
            self.standings[finding.function] = finding.standing
        return out

    def finish(self, trace: Trace, receipt: Receipt, notes: tuple[str, ...] = ()) -> Result:
        """The result of the visit: that of `check_trace` on the whole record.

        `trace` and `receipt` are what the reader makes of all lines together. Where that is what came sample
        by sample, the events of the live fold serve; where it is not (rows that came late, a channel that
        turned out wrong, marks given afterwards) the fold runs once more.
        """
        return check_trace(trace, self.unit, self._marks, receipt, events=self._events(trace), notes=notes)

    def trace(self) -> Trace:
        """All samples so far."""
        return Trace(
            time_s=np.array(self._time_s),
            columns={name: np.array(self._columns[name]) for name in CHANNELS if name in self._columns},
            epoch=self.epoch,
            zone=self.zone,
        )

    def _events(self, trace: Trace) -> Events | None:
        """What the fold found, if it has read just the samples of `trace`; None if not."""
        if len(trace) != len(self._pushed):
            return None
        samples = rows(trace, derive(trace, self.unit.refrigerant), self._marks)
        if not np.array_equal(samples, np.array(self._pushed), equal_nan=True):
            return None
        return self.finder.finish()

    def _keep(self, time_s: float, readings: Mapping[str, float]) -> None:
        before = len(self._time_s)
        self._time_s.append(time_s)
        for name, value in readings.items():
            column = self._columns.get(name)
            if column is None:
                column = self._columns[name] = [math.nan] * before
            column.append(value)
        for column in self._columns.values():
            if len(column) == before:
                column.append(math.nan)

    def _sample(self, time_s: float, readings: Mapping[str, float]) -> list[float]:
        """One row for the fold, by the arithmetic of `derive` and `rows`."""
        nan = math.nan
        for name in self._read:
            value = readings.get(name, nan)
            self._read[name] += value == value
        discharge = self._read["discharge_pressure"]
        most = max(discharge, self._read["liquid_pressure"])
        high = "discharge_pressure" if 2 * discharge >= most else "liquid_pressure"
        pressures = np.array([readings.get("suction_pressure", nan), readings.get(high, nan)])
        low_dew, high_dew = self._fluid.dew_temps_c(pressures).tolist()
        self.high_dew_c, self.high_pressure_pa = high_dew, float(pressures[1])
        sample = [nan] * fold.WIDTH
        sample[fold.T] = time_s
        sample[fold.LOW], sample[fold.HIGH] = low_dew, high_dew
        for column, name in _COLUMNS:
            sample[column] = readings.get(name, nan)
        if self._marks is not None:
            on_purpose = any(start <= time_s < end for start, end in self._purpose)
            sample[fold.ON_PURPOSE] = 1.0 if on_purpose else 0.0
        return sample

    def _course(self) -> list[Notice]:
        mode, since = int(self.finder.state[fold.S_MODE]), float(self.finder.state[fold.S_MODE_T])
        if mode == fold.UNKNOWN:
            return []
        course: Course = {fold.OFF: "off", fold.TURNED: "turned"}.get(mode, "heating")  # type: ignore[assignment]
        if mode == fold.HEAT:
            course = self._heating(self._pushed[-1])
        if course == self.course:
            return []
        self.course = course
        return [Notice(kind="course", time_s=since, course=course)]

    def _heating(self, sample: list[float]) -> Course:
        return "chilldown" if sample[fold.ON_PURPOSE] == 1.0 else "heating"

    def _turned(self) -> bool:
        state = self.finder.state
        if state[fold.S_MODE] == fold.UNKNOWN:
            # Right after a start the fold takes its time; a warning must not.
            return bool(state[fold.S_L] > fold.DECIDE)
        return bool(state[fold.S_MODE] == fold.TURNED)

    def _stop(self, time_s: float) -> list[Notice]:
        turned = self._turned()
        danger = self._stops.push(time_s, self.high_dew_c, self.high_pressure_pa, turned=turned)
        blind = self._stops.blind(time_s)
        out: list[Notice] = []
        if blind and not self._blind:
            out.append(Notice(kind="blind", time_s=time_s))
        self._blind = blind
        if danger is None:
            over = not turned or self.high_pressure_pa == self.high_pressure_pa
            if over and self._warned_s == self._warned_s:
                self._warned_s = math.nan
                out.append(Notice(kind="clear", time_s=time_s))
        elif self._warned_s != self._warned_s or time_s - self._warned_s >= REPEAT_S:
            self._warned_s = time_s
            out.append(Notice(kind="stop", time_s=time_s, danger=danger))
        return out

    def _want(self, time_s: float) -> None:
        """Ask for the standings, soon, and again when what has just begun has had its time."""
        self._due_s = min(self._due_s, max(time_s + 2.0, self._judged_s + JUDGE_EVERY_S))
        self._later = [time_s + wait for wait in JUDGE_AFTER_S]

    def _due(self, time_s: float) -> bool:
        return time_s >= self._due_s or bool(self._later and time_s >= self._later[0])
