"""`firstfrost watch`: follow a visit while it goes on."""

from __future__ import annotations

import argparse
import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any, Final, TypeVar

from firstfrost.cli import files
from firstfrost.errors import DataError, InputError

if TYPE_CHECKING:
    from firstfrost.cli.watch_screen import Screen
    from firstfrost.trace.feed import LiveReader, Sample
    from firstfrost.trace.trace import Trace
    from firstfrost.visit.live import LiveVisit
    from firstfrost.visit.result import Result

T = TypeVar("T")

POLL_S: Final = 0.2
CHUNK: Final = 1 << 16


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    command = commands.add_parser(
        "watch",
        help="follow a visit while it goes on, and warn before the stop limit",
        description="Follow a growing log, or standard input (-): phases, standings, and a stop warning "
        "before the high side meets its limit. Ends at the end of standard input, or with Ctrl-C; either way "
        "the ledger is printed and the files are written.",
    )
    command.add_argument("trace", metavar="TRACE|-", help="a log that grows, or - for standard input")
    files.add_options(command)
    command.add_argument(
        "--until-idle",
        type=float,
        metavar="SECONDS",
        help="end when the log has not grown for so long",
    )
    command.add_argument("--no-bell", action="store_true", help="no sound with a stop warning")
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Follow a visit to its end.

    Raises
    ------
    FirstfrostError
        If its files cannot be used.
    """
    files.guard_outputs(args, [args.trace] if args.trace != "-" else [])
    if args.until_idle is not None and not args.until_idle > 0:
        raise InputError(
            f"--until-idle is {args.until_idle:g}. Expected a time above 0, in seconds. Give one, such as 60."
        )
    unit = files.load_unit(args.unit, args.zone)
    from firstfrost.cli.watch_screen import Screen
    from firstfrost.trace.feed import LiveReader
    from firstfrost.visit.live import LiveVisit

    reader = LiveReader(
        atmosphere_pa=unit.site.atmosphere_pa,
        columns=args.columns,
        zone=unit.site.zone,
        source="standard input" if args.trace == "-" else Path(args.trace).name,
    )
    watch = _Watch(
        reader=reader,
        visit=LiveVisit(unit, zone=unit.site.zone),
        screen=Screen(
            unit,
            out=sys.stderr if args.json == "-" else sys.stdout,
            system=args.units,
            bell=not args.no_bell,
        ),
        marks_path=args.marks,
    )
    watch.screen.open(reader.source, watch.visit.limit)
    stop = _Stop()
    with stop, suppress(KeyboardInterrupt):
        for data, live in _chunks(args, stop):
            watch.take(reader.feed(data), live=live)
            if stop.asked:
                break
    watch.take(reader.close(), live=False)
    watch.screen.close()
    return files.hand_over(watch.result(), args)


class _Watch:
    """One visit that is followed: the reader's samples go to the visit, its notices to the screen."""

    def __init__(
        self, *, reader: LiveReader, visit: LiveVisit, screen: Screen, marks_path: str | None
    ) -> None:
        self.reader = reader
        self.visit = visit
        self.screen = screen
        self._marks_path = marks_path
        self._marks_stamp: tuple[int, int] | None = None
        if marks_path is not None:
            from firstfrost.trace.reader import read_bytes

            read_bytes(Path(marks_path), "marks as CSV: time,act,note")

    def take(self, samples: list[Sample], *, live: bool) -> None:
        """Take samples; `live` is False while an older log is caught up with."""
        if not samples:
            return
        visit, screen = self.visit, self.screen
        if not len(visit):
            if self.reader.epoch is not None:
                visit.epoch = datetime.fromtimestamp(self.reader.epoch, UTC)
            screen.begin(samples[0].time_s, visit.epoch, self.reader.channels)
        self._follow_marks(samples[0].time_s)
        for sample in samples:
            for notice in visit.push(sample.time_s, sample.readings, judge=live):
                screen.notice(notice, loud=live)
        if not live:
            for notice in visit.judge():
                screen.notice(notice, loud=False)
            visit.alarm_again()
        screen.status(visit)

    def result(self) -> Result:
        """The result of the whole visit."""
        reading = self.reader.reading(refrigerant=self.visit.unit.refrigerant)
        notes: tuple[str, ...] = ()
        if self._marks_path is not None:
            try:
                notes = self._read_marks(reading.trace)
            except DataError as err:
                if not len(self.visit):
                    raise
                notes = (f"The marks were used as they were last read, because now: {err}",)
        return self.visit.finish(reading.trace, reading.receipt, notes)

    def _follow_marks(self, time_s: float) -> None:
        """Read the marks again whenever their file has changed: a person may write it on the way."""
        if self._marks_path is None:
            return
        try:
            stat = Path(self._marks_path).stat()
        except OSError:
            return
        stamp = (stat.st_mtime_ns, stat.st_size)
        if stamp == self._marks_stamp:
            return
        first, self._marks_stamp = self._marks_stamp is None, stamp
        import numpy as np

        from firstfrost.trace.trace import Trace

        base = Trace(time_s=np.array([time_s]), columns={}, epoch=self.visit.epoch, zone=self.visit.zone)
        try:
            self._read_marks(base)
        except DataError:
            # Later on, a line that is just being written is no mistake: the next look finds it whole.
            if first:
                raise

    def _read_marks(self, trace: Trace) -> tuple[str, ...]:
        from firstfrost.trace.marks_file import read_marks

        assert self._marks_path is not None
        got = read_marks(self._marks_path, trace=trace, zone=self.visit.zone)
        self.visit.mark(got.marks)
        return got.notes


class _Stop:
    """Lets Ctrl-C, or the end of the terminal, end the wait for readings and not the work on them."""

    def __init__(self) -> None:
        self.asked = False
        self.waiting = False
        self._before: dict[int, Any] = {}

    def __enter__(self) -> _Stop:
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                with suppress(ValueError):  # only the main thread may
                    self._before[number] = signal.signal(number, self._ask)
        return self

    def __exit__(self, *_: object) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)

    def _ask(self, number: int, frame: FrameType | None) -> None:
        if self.waiting or self.asked:
            raise KeyboardInterrupt
        self.asked = True


def _chunks(args: argparse.Namespace, stop: _Stop) -> Iterator[tuple[bytes, bool]]:
    """What comes, and whether it comes now (or lay there already)."""
    if args.trace == "-":
        fd = sys.stdin.fileno()
        while data := _waited(stop, lambda: os.read(fd, CHUNK)):
            yield data, True
        return
    path = Path(args.trace)
    try:
        log = path.open("rb")
    except OSError as err:
        raise DataError(
            f"{path} cannot be read: {err.strerror or err}. Expected the log that the recorder writes. "
            "Check the path, and start the recorder first."
        ) from err
    with log:
        old = path.stat().st_size
        taken, idle_since = 0, time.monotonic()
        while True:
            data = log.read(CHUNK)
            if data:
                live = taken >= old
                taken += len(data)
                idle_since = time.monotonic()
                yield data, live
                continue
            if path.exists() and path.stat().st_size < taken:
                raise DataError(
                    f"{path} has become shorter while it was followed. Expected a log that only grows. "
                    "Start watch again on the new log."
                )
            if args.until_idle is not None and time.monotonic() - idle_since >= args.until_idle:
                return
            _waited(stop, lambda: time.sleep(POLL_S))


def _waited(stop: _Stop, act: Callable[[], T]) -> T:
    stop.waiting = True
    try:
        return act()
    finally:
        stop.waiting = False
