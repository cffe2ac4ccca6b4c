"""Times on pages: the site's own clock where its zone is known, else minutes and seconds elapsed."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from firstfrost.visit.result import Result


@dataclass(frozen=True, kw_only=True)
class Clock:
    """Turns a time of the trace into words.

    `first_s` is the time of the first reading [s], `days` whether the record touches more than one day.
    """

    first_s: float
    epoch: datetime | None
    zone: tzinfo | None
    days: bool = False

    def local(self, time_s: float) -> datetime | None:
        """The site's own date and time, or None where they are not known."""
        if self.epoch is None or self.zone is None or not math.isfinite(time_s):
            return None
        return datetime.fromtimestamp(self.epoch.timestamp() + time_s, self.zone)

    def at(self, time_s: float) -> str:
        """`09:25:06`, with the day before it in a record of several days; else elapsed `23:06`."""
        if not math.isfinite(time_s):
            return "open"
        when = self.local(round(time_s))
        if when is None:
            return elapsed(time_s - self.first_s)
        return f"{when.day} {when:%b %H:%M:%S}" if self.days else f"{when:%H:%M:%S}"

    def span(self, start_s: float, end_s: float) -> str:
        """Both ends, joined by a dash."""
        return f"{self.at(start_s)}–{self.at(end_s)}"

    def day(self, time_s: float) -> str:
        """`Tuesday 14 October 2025`, or nothing."""
        when = self.local(time_s)
        return "" if when is None else f"{when:%A} {when.day} {when:%B %Y}"

    @property
    def name(self) -> str:
        """What the times on a page are."""
        if self.epoch is None or self.zone is None:
            return "minutes and seconds since the first reading"
        return f"the site's clock, {self.zone}"


def clock(result: Result) -> Clock:
    """The clock of `result`'s site."""
    trace = result.trace
    first_s = float(trace.time_s[0]) if len(trace) else 0.0
    last_s = float(trace.time_s[-1]) if len(trace) else 0.0
    name = trace.zone or result.unit.site.zone
    zone: tzinfo | None = None
    if name is not None and trace.epoch is not None:
        try:
            zone = ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError):
            zone = None
    made = Clock(first_s=first_s, epoch=trace.epoch, zone=zone)
    first, last = made.local(first_s), made.local(last_s)
    days = first is not None and last is not None and first.date() != last.date()
    return Clock(first_s=first_s, epoch=trace.epoch, zone=zone, days=days)


def elapsed(seconds: float) -> str:
    """`23:06`, minutes and seconds; `1:23:06` from an hour on."""
    sign = "-" if seconds < 0 else ""
    whole = round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{sign}{hours}:{minutes:02}:{left:02}" if hours else f"{sign}{minutes}:{left:02}"


def length(seconds: float) -> str:
    """A length in words: `42 s`, `4 min 14 s`, `1 h 12 min`."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        minutes, left = divmod(whole, 60)
        return f"{minutes} min {left} s" if left else f"{minutes} min"
    hours, minutes = divmod(round(whole / 60), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def tie(text: str) -> str:
    """`text` with each number tied to what follows it, so that no line breaks between them."""
    text = re.sub(r"(?<=\d)–(?=\d)", "\u2060–\u2060", text)
    return re.sub(r"(?<=[\d±]) (?=\S)|(?<=\bmin) (?=\d)|(?<=\bh) (?=\d)", "\u00a0", text)
