"""The ledger of a visit for a terminal: it reads at a glance in 80 columns."""

from __future__ import annotations

import os
import re
import sys
import textwrap
from typing import Final

from firstfrost.heating.number import Number
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.finding import BEST_FIRST, FUNCTIONS, Finding, Standing
from firstfrost.quantities.show import System
from firstfrost.report.assumed import default_accuracies, default_settings
from firstfrost.report.causes import causes_page
from firstfrost.report.heating import TITLES as HEATING_TITLES
from firstfrost.report.heating import apart, held, look_up, unseen, window
from firstfrost.report.numbers import Held, Numbers, key_evidence
from firstfrost.report.stop import cautions_of
from firstfrost.report.text import clean, unit_name
from firstfrost.report.times import Clock, clock, length
from firstfrost.report.words import COUNTED, ENDED_BY, LOOK_UP, NO_LIMIT, PHASES, SIGNS, TITLES
from firstfrost.trace.channels import CHANNELS
from firstfrost.visit.result import Result

WIDTH: Final = 80
_MANY: Final = 8
"""Of more phases or defrosts than this, only counts and the hottest are given."""

_NEED_DEFROST: Final = frozenset(FUNCTIONS) - {"sensor_closes", "timer_counts", "defrost_starts"}
_NO_SITUATION: Final = "The situation did not come:"
"""How a finding begins that has its channels, and no occasion."""
_NO_DEFROST: Final = "These take a defrost, and none is in this record."

_BOLD, _DIM, _END = "\x1b[1m", "\x1b[2m", "\x1b[0m"
_COLOURS: Final[dict[Standing, str]] = {
    "shown": "\x1b[32m",
    "prompted": "\x1b[36m",
    "doubtful": "\x1b[33m",
    "bypassed": "\x1b[35m",
    "unseen": "\x1b[2m",
    "failed": "\x1b[1;31m",
}
_PLAIN: Final = str.maketrans(
    {"●": "+", "◐": "~", "⊘": "/", "○": "-", "✖": "X", "°": "", "±": "+-", "–": "-", "·": "-", "→": ">"}
)


def wants_colour() -> bool:
    """Tell whether standard output is a terminal that has not been asked to stay plain (NO_COLOR)."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def ledger_text(result: Result, *, colour: bool, system: System = "us", plain: bool = False) -> str:
    """The ledger of `result` as lines of at most 80 characters.

    Parameters
    ----------
    result : Result
        What the visit gave.
    colour : bool
        Add ANSI colour. Nothing is told by colour alone: each standing has its word and its sign.
    system : {"us", "si"}
        Units of the numbers.
    plain : bool
        Keep to ASCII, for an output that can write no more.
    """
    page = _Page(result, colour=colour, system=system, plain=plain)
    text = "\n".join(page.lines())
    return to_ascii(text) if plain else text


def to_ascii(text: str) -> str:
    """`text` with its signs put in ASCII."""
    return text.translate(_PLAIN).encode("ascii", "replace").decode()


class _Page:
    def __init__(self, result: Result, *, colour: bool, system: System, plain: bool) -> None:
        self.width = WIDTH - 2 if plain else WIDTH  # what is longer in ASCII has room
        self.result = result
        self.colour = colour
        self.numbers = Numbers(system, result.unit.site.atmosphere_pa)
        self.clock: Clock = clock(result)

    def lines(self) -> list[str]:
        blocks = [
            self._head(),
            self._course(),
            self._ledger(),
            self._open(),
            self._heating(),
            self._causes(),
            self._foot(),
        ]
        lines: list[str] = []
        for block in blocks:
            if block:
                lines += [*block, ""]
        return lines[:-1]

    def _paint(self, text: str, code: str) -> str:
        return f"{code}{text}{_END}" if self.colour and text else text

    def _hang(self, first: str, text: str, indent: str | None = None) -> list[str]:
        lines = textwrap.wrap(
            text,
            self.width,
            initial_indent=first,
            subsequent_indent=" " * len(first) if indent is None else indent,
            break_on_hyphens=False,
        )
        return [line.replace("\xa0", " ") for line in lines]

    def _head(self) -> list[str]:
        result = self.result
        name = unit_name(result.unit.name)
        about = f"{result.unit.refrigerant} · {self._when()}"
        lines = textwrap.wrap(name, self.width)[:2]
        lines = [self._paint(line, _BOLD) for line in lines]
        lines += [*textwrap.wrap(about, self.width), ""]
        lines += [self._paint(line, _BOLD) for line in textwrap.wrap(headline(result), self.width)]
        return lines

    def _when(self) -> str:
        trace = self.result.trace
        if not len(trace):
            return "no readings"
        first, last = float(trace.time_s[0]), float(trace.time_s[-1])
        span = f"{length(last - first)} of readings"
        if self.clock.days:
            return f"{self.clock.day(first)} to {self.clock.day(last)} ({span})"
        day = self.clock.day(first)
        return f"{day}, {self.clock.span(first, last)} ({span})" if day else span

    def _course(self) -> list[str]:
        lines: list[str] = []
        phases, defrosts = self.result.phases, self.result.defrosts
        if len(phases) > _MANY:
            counts = {name: sum(phase.name == name for phase in phases) for name in PHASES}
            parts = [f"{count} × {PHASES[name]}" for name, count in counts.items() if count]
        else:
            parts = [
                f"{PHASES[phase.name]} {self.clock.span(phase.start_s, phase.end_s)}" + "*" * phase.gap
                for phase in phases
            ]
        if parts:
            lines += self._hang("Phases    ", "\xa0· ".join(part.replace(" ", "\xa0") for part in parts))
            if any(phase.gap for phase in phases):
                lines += self._hang("          ", "* readings are missing there")
        if not defrosts:
            lines += ["Defrosts  none in this record"]
        elif len(defrosts) > _MANY:
            lines += self._many(defrosts)
        else:
            for number, defrost in enumerate(defrosts, 1):
                lines += self._hang(f"{'Defrost ' + str(number):10}", self._defrost(defrost))
        return lines

    def _many(self, defrosts: tuple[Defrost, ...]) -> list[str]:
        lengths = [defrost.duration_s for defrost in defrosts]
        lines = [f"Defrosts  {len(defrosts)}, {length(min(lengths))} to {length(max(lengths))} long"]
        hot = [defrost for defrost in defrosts if defrost.peak_saturation_c is not None]
        if hot:
            worst = max(hot, key=lambda defrost: defrost.peak_saturation_c or 0.0)
            lines += self._hang("Hottest   ", self._defrost(worst))
        return lines

    def _defrost(self, defrost: Defrost) -> str:
        parts = [f"{self.clock.at(defrost.start_s)}, {length(defrost.duration_s)}"]
        if defrost.cut:
            where = {"both": "both ends"}.get(defrost.cut, f"its {defrost.cut}")
            parts[0] += f" (the record cuts {where})"
        peak_c = defrost.peak_saturation_c
        if peak_c is None:
            parts.append("high-side peak not known")
        else:
            ceiling_c = self.result.unit.limits.saturation_ceiling_c
            margin = self.numbers.apart(ceiling_c - peak_c, "K", defrost.peak_saturation_u_k)
            side = "above" if peak_c > ceiling_c else "below"
            peak = self.numbers.value(peak_c, "degC", defrost.peak_saturation_u_k)
            parts.append(f"peak {peak}, {margin} {side} the ceiling")
        ended = ENDED_BY[defrost.ended_by]
        parts.append("what ended it is not known" if defrost.ended_by == "unknown" else f"ended by {ended}")
        if defrost.gap:
            parts.append("readings missing")
        return "\xa0· ".join(parts)

    def _ledger(self) -> list[str]:
        return [line for finding in self.result.findings for line in self._row(finding)]

    def _row(self, finding: Finding) -> list[str]:
        held = self.numbers.held(key_evidence(finding.evidence, finding.standing))
        number = held.number
        word = self._paint(f"{SIGNS[finding.standing]} {finding.standing:8}", _COLOURS[finding.standing])
        row = f" {word} {TITLES[finding.function]:24} {number:>14}"
        room = self.width - (1 + 10 + 1 + 24 + 1 + max(14, len(number)) + 2)
        more = next((text for text in _against(held) if len(text) <= room), "")
        return [f"{row}  {more}".rstrip()]

    def _open(self) -> list[str]:
        lines: list[str] = []
        order: tuple[Standing, ...] = ("failed", *BEST_FIRST[1:])
        said: dict[tuple[Standing, str], list[str]] = {}
        for standing in order:
            for finding in self.result.findings:
                if finding.standing == standing:
                    said.setdefault((standing, self._next(finding)), []).append(TITLES[finding.function])
        for heading, keep in (("What to look at next", True), ("What would settle the rest", False)):
            rows = {key: titles for key, titles in said.items() if (key[0] == "failed") == keep and key[1]}
            if rows:
                lines += ([""] if lines else []) + [self._paint(heading, _BOLD)]
            for (standing, text), titles in rows.items():
                names = "; ".join(titles) if len(titles) < len(TITLES) else "All thirteen"
                lines += self._hang(f"  {SIGNS[standing]} ", f"{names}: {text}", indent="    ")
        return lines

    def _next(self, finding: Finding) -> str:
        """What to do about a function; before it, where it failed or is in doubt, what was seen."""
        text = clean(finding.remedy if finding.standing == "failed" else finding.settle)
        if not self.result.defrosts and finding.function in _NEED_DEFROST and text.startswith(_NO_SITUATION):
            return _NO_DEFROST
        if finding.standing not in ("failed", "doubtful"):
            return text
        evidence = key_evidence(finding.evidence, finding.standing)
        return f"{clean(evidence.what)} {text}".strip() if evidence else text

    def _heating(self) -> list[str]:
        heating = self.result.heating
        if heating is None:
            return []
        lines = [self._paint("Heating", _BOLD), *self._hang("  ", window(heating, self.clock))]
        measured = [one for one in heating.numbers if one.measured]
        if not measured:
            return lines
        lines += [self._number(one) for one in measured]
        if unseen(heating):
            lines += self._hang(f"   {SIGNS['unseen']} ", unseen(heating), indent="     ")
        for one in apart(heating, "failed"):
            text = f"{HEATING_TITLES[one.name]}: {clean(one.sentence)} {clean(one.remedy)}"
            lines += self._hang(f"  {SIGNS['failed']} ", text, indent="    ")
        for one in apart(heating, "doubtful"):
            if one.limit is not None:
                text = f"{HEATING_TITLES[one.name]}: {clean(one.settle)}"
                lines += self._hang(f"  {SIGNS['doubtful']} ", text, indent="    ")
        if look_up(heating):
            lines += self._hang("  ", LOOK_UP)
        return lines

    def _number(self, number: Number) -> str:
        """One number of the heating check in one line."""
        text = held(number, self.numbers)
        word = self._paint(f"{SIGNS[number.standing]} {number.standing:8}", _COLOURS[number.standing])
        row = f" {word} {HEATING_TITLES[number.name]:28} {text.number:>16}"
        room = self.width - (1 + 10 + 1 + 28 + 1 + max(16, len(text.number)) + 2)
        against = [NO_LIMIT] if number.limit is None else _against(text)
        more = next((said for said in against if len(said) <= room), "")
        return f"{row}  {more}".rstrip()

    def _causes(self) -> list[str]:
        if self.result.causes is None:
            return []
        page = causes_page(self.result.causes, self.numbers, off=self.result.failed)
        lines = [self._paint("Causes", _BOLD), *self._hang("  ", page.headline)]
        if page.typed:
            lines += self._hang("  ", page.typed)
        for row in page.rows:
            lines += self._hang(f"  {row.probability:>10}  ", f"{row.title} ({row.odds})", indent=" " * 14)
            for sign, texts in (("+", row.speaks_for), ("-", row.against)):
                for text in texts:
                    lines += self._hang(f"{sign:>13} ", text, indent=" " * 16)
        if page.rows and page.rows[0].remedy:
            lines += self._hang("  What to do: ", page.rows[0].remedy, indent="    ")
        if page.apart:
            lines += self._hang("  ", page.apart, indent="    ")
        for k, item in enumerate(page.nexts, 1):
            text = f"{item.title} ({item.worth}). {item.how} {item.caution}"
            lines += self._hang("  Next reading: " if k == 1 else "  or: ", text, indent="    ")
        return lines

    def _foot(self) -> list[str]:
        result = self.result
        defaults = [clean(f"{item.setting} = {item.value} ({item.why})") for item in default_settings(result)]
        channels = [CHANNELS[name].title for name in default_accuracies(result) if name in CHANNELS]
        if channels:
            defaults.append(f"the accuracy of: {', '.join(channels)} (the report has the values)")
        groups = (
            ("Cautions", list(cautions_of(result, self.numbers)), "! "),
            ("Mind", [clean(text) for text in result.warnings], "- "),
            (
                "Defaults used, because the unit file does not give them",
                defaults,
                "- ",
            ),
        )
        lines: list[str] = []
        for heading, texts, sign in groups:
            if texts:
                lines += ([""] if lines else []) + [self._paint(heading, _BOLD)]
            for text in texts:
                lines += self._hang(f"  {sign}", text, indent="    ")
        made = f"Firstfrost {result.made_by.version}, {result.made_by.property_tables}"
        lines += ["", *(self._paint(line, _DIM) for line in textwrap.wrap(made, self.width))]
        return lines


def headline(result: Result) -> str:
    """How many functions have which standing: the first line of all."""
    total = len(result.findings)
    counts = {name: sum(item.standing == name for item in result.findings) for name in COUNTED}
    rest = [f"{counts[name]} {COUNTED[name]}" for name in BEST_FIRST if counts[name]]
    wrong = [] if result.heating is None else apart(result.heating, "failed")
    also = f" Heating: {len(wrong)} FAILED." if wrong else ""
    if counts["failed"]:
        return f"{counts['failed']} of {total} FAILED; {', '.join(rest) or 'none shown'}.{also}"
    if counts["shown"]:
        return f"{counts['shown']} of {total} shown; {', '.join([*rest[1:], 'none failed'])}.{also}"
    return f"None of {total} shown; {', '.join([*rest, 'none failed'])}.{also}"


def _against(held: Held) -> list[str]:
    """What the number is held against, the fullest wording first."""
    short = held.limit.replace("at most", "max").replace("at least", "min")
    if not held.margin:
        return [short]
    spare = held.margin.replace("to spare", "left")
    return [f"{short}, {held.margin}", f"{short}, {_unitless(held.margin)}", f"{short}, {spare}", held.margin]


def _unitless(margin: str) -> str:
    """`12.5 to spare`, where the limit beside it already names the unit."""
    return re.sub(r"^(\S+) \S+ (to spare|above|below)$", r"\1 \2", margin)
