"""What `firstfrost watch` prints: one line a notice, and a stop warning that nobody overlooks."""

from __future__ import annotations

import math
import textwrap
import time
from datetime import datetime, tzinfo
from typing import Final, TextIO
from zoneinfo import ZoneInfo

from firstfrost.equipment.stop import StopLimit
from firstfrost.equipment.unit import Unit
from firstfrost.proofs.finding import Finding
from firstfrost.quantities.show import System, show, show_time
from firstfrost.report.numbers import Numbers, key_evidence
from firstfrost.report.text import clean
from firstfrost.report.times import Clock
from firstfrost.report.words import SIGNS, TITLES
from firstfrost.visit.cautions import cautions
from firstfrost.visit.live import Course, LiveVisit, Notice
from firstfrost.visit.stop import Danger

WIDTH: Final = 80
STATUS_S: Final = 0.25
"""The line at the foot is drawn no more often. [s of the wall clock]"""
_BEFORE_START: Final = ("voltage", "fan", "pressure", "flammable")

COURSES: Final[dict[Course, str]] = {
    "off": "compressor off",
    "heating": "heating",
    "chilldown": "chilldown: heating with the outdoor air stopped on purpose",
    "turned": "circuit turned: defrost, or cooling",
}
STOP_HOW: Final = (
    "Release the test pins, take away the call for heat at the thermostat, and let the unit stop. "
    "Leave every pressure switch as it is."
)
"""How a person ends a forced defrost without touching a safety: common practice, no source."""

_INVERSE, _BOLD, _END = "\x1b[1;7m", "\x1b[1m", "\x1b[0m"
_ASCII: Final = str.maketrans(
    {"●": "+", "◐": "~", "⊘": "/", "○": "-", "✖": "X", "°": "", "±": "+-", "·": "-", "≥": ">="}
)


class Screen:
    """Prints notices.

    Parameters
    ----------
    unit : Unit
    out : text stream
    system : {"us", "si"}
        Units of the numbers.
    bell : bool
        Ring with a stop warning, on a terminal.
    """

    def __init__(self, unit: Unit, *, out: TextIO, system: System, bell: bool) -> None:
        self.unit = unit
        self.out = out
        self.system: System = system
        self.terminal = out.isatty()
        self.bell = bell and self.terminal
        self.numbers = Numbers(system, unit.site.atmosphere_pa)
        self._clock = Clock(first_s=0.0, epoch=None, zone=None)
        self._limit: StopLimit | None = None
        self._status = False
        self._drawn = -math.inf
        try:
            "●◐⊘○✖°±·≥".encode(out.encoding or "ascii")
            self._plain = False
        except (UnicodeEncodeError, LookupError):
            self._plain = True

    def open(self, source: str, limit: StopLimit) -> None:
        """Say what is watched, the stop limit, and the cautions."""
        self._limit = limit
        at = show(self.unit.site.altitude_m, "length", self.system)
        why = (
            f"{self.numbers.temperature(limit.temp_c)} dew, the saturation ceiling"
            if limit.by == "ceiling"
            else "the high-pressure cutout"
        )
        self._line(f"Watching {clean(source)} · {self.unit.refrigerant} at {at} · Ctrl-C ends it")
        self._line(f"STOP LIMIT {self._gauge(limit.pressure_pa)} on your gauge ({why})", _BOLD)
        for caution in cautions(self.unit.refrigerant):
            if caution.code in _BEFORE_START:
                self._wrapped(f"! {caution.text}", indent="  ")
        self._line("")

    def begin(self, first_s: float, epoch: datetime | None, channels: tuple[str, ...]) -> None:
        """Fix the clock with the first sample."""
        zone: tzinfo | None = None
        if epoch is not None and self.unit.site.zone is not None:
            zone = ZoneInfo(self.unit.site.zone)
        self._clock = Clock(first_s=first_s, epoch=epoch, zone=zone)
        if not {"discharge_pressure", "liquid_pressure"} & set(channels):
            self._wrapped(
                "! NO STOP WARNING is possible: this log has no high-side pressure. Watch the gauge.",
                indent="  ",
            )

    def notice(self, notice: Notice, *, loud: bool) -> None:
        """Print one notice; a stop warning that is not `loud` is history and gets one quiet line."""
        when = self._clock.at(notice.time_s)
        if notice.kind == "course" and notice.course is not None:
            self._line(f"{when:>9}  {COURSES[notice.course]}", _BOLD)
        elif notice.kind == "standing" and notice.finding is not None:
            self._line(self._standing(when, notice.finding, notice.was))
        elif notice.kind == "stop" and notice.danger is not None:
            if loud:
                self._shout(self._stop(notice.danger))
            else:
                self._line(f"{when:>9}  stop warning then: {self._how_near(notice.danger)}")
        elif notice.kind == "clear":
            self._line(f"{when:>9}  stop warning over")
        elif notice.kind == "blind":
            if loud:
                self._shout(
                    [
                        "HIGH SIDE NOT READ: no stop warning is possible.",
                        f"Watch the gauge, and stop before {self._stop_at()}.",
                    ]
                )
            else:
                self._line(f"{when:>9}  high side not read")

    def status(self, visit: LiveVisit) -> None:
        """Draw the line at the foot of a terminal: where the high side is, against its limit."""
        now = time.monotonic()
        if not self.terminal or now - self._drawn < STATUS_S or not len(visit):
            return
        self._drawn = now
        when = self._clock.at(visit.last_s)
        course = "turned" if visit.course == "turned" else visit.course or "..."
        text = f"{when:>9}  {course}"
        if visit.high_pressure_pa == visit.high_pressure_pa:
            text += f" · high side {self._gauge(visit.high_pressure_pa)}, stop limit {self._stop_at()}"
        self.out.write(f"\r\x1b[K{self._shown(text)[: WIDTH - 1]}")
        self.out.flush()
        self._status = True

    def close(self) -> None:
        """Leave the terminal as it was, on a line of its own."""
        self._line("")

    def _standing(self, when: str, finding: Finding, was: str) -> str:
        number = self.numbers.held(key_evidence(finding.evidence, finding.standing)).number
        changed = f"  (was {was})" if was != "unseen" else ""
        row = f"{when:>9}  {SIGNS[finding.standing]} {finding.standing:8} {TITLES[finding.function]:24} "
        return f"{row}{number:>14}{changed}".rstrip()

    def _stop(self, danger: Danger) -> list[str]:
        return [f"STOP THE DEFROST  {self._how_near(danger)}", *textwrap.wrap(STOP_HOW, WIDTH - 4)]

    def _how_near(self, danger: Danger) -> str:
        now = self._gauge(danger.pressure_pa)
        if danger.below_k <= 0.0 or danger.seconds_left <= 0.0:
            return f"{now} is ABOVE the limit of {self._stop_at()}"
        if math.isinf(danger.seconds_left) or danger.seconds_left > 600.0:
            return f"{now}, close to the limit of {self._stop_at()}"
        left = show_time(math.floor(danger.seconds_left))
        return f"{left} left: {now}, limit {self._stop_at()}"

    def _stop_at(self) -> str:
        assert self._limit is not None
        return self._gauge(self._limit.pressure_pa)

    def _gauge(self, pressure_pa: float) -> str:
        return show(pressure_pa, "pressure", self.system, atmosphere_pa=self.unit.site.atmosphere_pa)

    def _shout(self, lines: list[str]) -> None:
        """Inverse over the whole width, with a bell, so that a glance or an ear is enough."""
        if self.bell:
            self.out.write("\a")
        for text in ["", *lines, ""] if self.terminal else lines:
            self._line(f"!! {text}".ljust(WIDTH - 3) + " !!", _INVERSE)

    def _wrapped(self, text: str, *, indent: str) -> None:
        for line in textwrap.wrap(text, WIDTH, subsequent_indent=indent):
            self._line(line)

    def _shown(self, text: str) -> str:
        return text.translate(_ASCII).encode("ascii", "replace").decode() if self._plain else text

    def _line(self, text: str, style: str = "") -> None:
        text = self._shown(text)
        if self._status:
            self.out.write("\r\x1b[K")
            self._status = False
        self.out.write(f"{style}{text}{_END}\n" if style and self.terminal else f"{text}\n")
        self.out.flush()
