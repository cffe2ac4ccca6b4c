"""A plan for a terminal: what works today, the stop limit, what to expect, and the steps, in 80 columns."""

from __future__ import annotations

import textwrap
from typing import Final

from firstfrost.bench.plan.plan import Band, Method, Plan
from firstfrost.bench.plan.spread import UNKNOWNS
from firstfrost.bench.plan.steps import Step
from firstfrost.bench.plan.words import BY_KEY, NEAR, NUMBERS, OVER, Number
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.quantities.show import System, show_time
from firstfrost.refrigerants import refrigerant
from firstfrost.report.numbers import Numbers
from firstfrost.report.terminal import WIDTH, to_ascii
from firstfrost.report.text import clean
from firstfrost.report.words import SIGNS, TITLES
from firstfrost.visit.cautions import cautions

_BOLD, _RED, _END = "\x1b[1m", "\x1b[1;31m", "\x1b[0m"
POUND_KG: Final = 0.45359237
_SIGN: Final = {"works": "●", "near limit": "!", "may fail": "?", "no": "✖"}


def plan_text(
    plan: Plan,
    ways: tuple[str, ...] = (),
    *,
    colour: bool,
    system: System = "us",
    plain: bool = False,
) -> str:
    """A plan as lines of at most 80 characters.

    Parameters
    ----------
    plan : Plan
        Of `make_plan`.
    ways : tuple of str
        The methods to give in full; the best one if none is named.
    colour, system, plain
        As for `report.terminal.ledger_text`.
    """
    page = _Page(plan, colour=colour, system=system, plain=plain)
    text = "\n".join(page.lines(ways))
    return to_ascii(text) if plain else text


class _Page:
    def __init__(self, plan: Plan, *, colour: bool, system: System, plain: bool) -> None:
        self.width = WIDTH - 2 if plain else WIDTH
        self.plan, self.colour, self.system = plan, colour, system
        self.numbers = Numbers(system, plan.unit.site.atmosphere_pa)
        self.fluid = refrigerant(plan.unit.refrigerant)

    def lines(self, ways: tuple[str, ...]) -> list[str]:
        best = self.plan.best
        chosen = [m for m in self.plan.methods if (m.way in ways if ways else m is best)]
        blocks = [self._head(), self._stop(), self._methods(best)]
        for method in chosen:
            blocks += [self._expect(method), self._steps(method), self._shows(method)]
        blocks += [self._cautions(), self._foot()]
        lines: list[str] = []
        for block in blocks:
            if block:
                lines += [*block, ""]
        return lines[:-1]

    def _paint(self, text: str, code: str) -> str:
        return f"{code}{text}{_END}" if self.colour and text else text

    def _hang(self, first: str, text: str) -> list[str]:
        return textwrap.wrap(
            text,
            self.width,
            initial_indent=first,
            subsequent_indent=" " * len(first),
            break_on_hyphens=False,
        )

    def _head(self) -> list[str]:
        plan, unit, show_c = self.plan, self.plan.unit, self.numbers.temperature
        about = [unit.refrigerant]
        if unit.nominal_capacity_w is not None:
            about.append(self.numbers.capacity(unit.nominal_capacity_w))
        about.append(self.numbers.length(unit.site.altitude_m))
        dew = "frost point" if plan.dew_point_c < 0.0 else "dew point"
        given = "" if plan.humidity_given else ", assumed: give --humidity"
        day = (
            f"Outdoors {show_c(plan.outdoor_c)}, {plan.humidity * 100:.0f} % humidity ({dew} "
            f"{show_c(plan.dew_point_c)}{given}). Indoors {show_c(plan.indoor_c)}."
        )
        name = clean(unit.name) or "Unit without a name"
        lines = [self._paint(line, _BOLD) for line in textwrap.wrap(name, self.width)[:2]]
        return [*lines, *textwrap.wrap(" · ".join(about), self.width), *textwrap.wrap(day, self.width)]

    def _stop_short(self) -> str:
        return self.numbers.value(self.plan.stop.pressure_pa, "Pa")

    def _stop(self) -> list[str]:
        stop, unit = self.plan.stop, self.plan.unit
        why = f"{self.numbers.bare(stop.temp_c, 'degC')} saturation"
        if stop.by == "cutout":
            why = "the high-pressure cutout"
        setting = "limits.saturation_ceiling" if stop.by == "ceiling" else "limits.high_pressure_cutout"
        given = (
            "a default, common practice without a published source"
            if unit.is_default(setting)
            else "as the unit file has it"
        )
        head = self._paint(f"STOP before {self._stop_short()} on the high-side gauge.", _RED)
        return [head, *textwrap.wrap(f"That is {why}, {given}, for {unit.refrigerant} here.", self.width)]

    def _methods(self, best: Method | None) -> list[str]:
        head = "How it can be tested today"
        if best is None:
            head = "It cannot be tested today by any of these ways"
        lines = [self._paint(head, _BOLD)]
        for number, method in enumerate(self.plan.methods, 1):
            first = f" {number}  {_SIGN[method.verdict]} {method.verdict:10}  "
            lines += self._hang(first, method.title)
            for text in self._remarks(method):
                lines += self._hang(" " * len(first), text)
        return lines

    def _remarks(self, method: Method) -> list[str]:
        texts = []
        if method.why:
            missed = method.runs - method.worked
            counted = missed and method.verdict != "no" and method.why not in (NEAR, OVER)
            count = f" (in {missed} of {method.runs} runs)" if counted else ""
            texts.append(method.why[:-1] + count + ".")
        coldest = method.expect.get("coldest_sensor_c")
        if method.way == "natural" and method.verdict in ("may fail", "no") and coldest:
            closes = self.numbers.temperature(self.plan.unit.coil_sensor.closes_at_c)
            texts.append(f"It gets to {self._span(coldest, 'degC')}; the sensor closes at {closes}.")
        if method.over_limit:
            texts.append(
                f"In {method.over_limit} of {method.worked} runs the peak passes the stop limit: "
                "be ready to end it early."
            )
        base = method.expect.get("base_high_pa")
        if method.steps and base and base.high >= self.plan.stop.pressure_pa:
            texts.append(
                f"Heating alone may bring the high side to {self._one(base.high, 'Pa')}: watch it from "
                "the start."
            )
        if method.by_time:
            texts.append(
                f"In {method.by_time} of {method.worked} runs the time limit ends it, not the sensor."
            )
        if method.way == "natural" and method.verdict != "no" and 2 * method.frosted <= method.worked:
            texts.append(
                "Too little frost to see it clear: the air is too dry, or the coil hardly below freezing."
            )
        return texts

    def _span(self, band: Band, unit: str) -> str:
        if unit == "s":
            return f"{_time(band.low)} to {_time(band.high)}"
        low, high = self._one(band.low, unit), self._one(band.high, unit)
        number, _, word = low.partition(" ")
        return f"{number} to {high}" if word == high.partition(" ")[2] else f"{low} to {high}"

    def _one(self, value: float, unit: str) -> str:
        if unit == "s":
            return _time(value)
        if unit == "degC":
            return self.numbers.temperature(value)
        if unit == "kg":
            return f"{value / POUND_KG:.1f} lb" if self.system == "us" else f"{value:.2f} kg"
        return self.numbers.value(value, unit)

    def _row(self, number: Number, band: Band) -> list[str]:
        usual, span = self._one(band.middle, number.unit), self._span(band, number.unit)
        lines = [f"  {number.title:35} {usual:>12}  {span:>25}".rstrip()]
        if number.saturation:
            dew = Band(
                low=self.fluid.dew_temp_c(band.low),
                middle=self.fluid.dew_temp_c(band.middle),
                high=self.fluid.dew_temp_c(band.high),
            )
            usual, span = self._one(dew.middle, "degC"), self._span(dew, "degC")
            lines.append(f"  {'  saturation':35} {usual:>12}  {span:>25}".rstrip())
        return lines

    def _expect(self, method: Method) -> list[str]:
        numbers = [
            n for n in NUMBERS if n.key in method.expect and n.key not in ("ends_s", "coldest_sensor_c")
        ]
        if not method.steps:
            return []
        lines = [
            self._paint(f"{method.title}: what to expect", _BOLD),
            f"  {'':35} {'usual':>12}  {f'span of {method.worked} runs':>25}",
        ]
        for number in numbers:
            lines += self._row(number, method.expect[number.key])
        return lines

    def _steps(self, method: Method) -> list[str]:
        if not method.steps:
            return []
        lines = [self._paint(f"{method.title}: steps", _BOLD)]
        for number, step in enumerate(method.steps, 1):
            lines += self._step(number, step, method)
        return lines

    def _step(self, number: int, step: Step, method: Method) -> list[str]:
        lines = self._hang(f"{number:2}  ", step.text)
        looks = [
            f"{BY_KEY[key].title} {self._look(key, method)}" for key in step.expect if key in method.expect
        ]
        when = method.expect.get(step.at)
        if when is not None and step.at not in step.expect:
            lines += self._hang("      = ", f"about {_time(when.middle)} after the call")
        for look in looks:
            lines += self._hang("      = ", look)
        if step.marks:
            lines += self._hang("      > ", f"note the time of: {', '.join(step.marks)}")
        if step.stop:
            lines += [self._paint(f"      ! STOP before {self._stop_short()} on the high side.", _RED)]
        if step.caution:
            lines += self._hang("      ! ", step.caution)
        return lines

    def _look(self, key: str, method: Method) -> str:
        band, unit = method.expect[key], BY_KEY[key].unit
        return f"{self._one(band.middle, unit)} ({self._span(band, unit)})"

    def _shows(self, method: Method) -> list[str]:
        if not method.shows:
            return []
        lines = [self._paint("What a sound unit's visit can show at best", _BOLD)]
        for standing in ("shown", "prompted", "bypassed", "unseen"):
            names = [TITLES[name] for name in FUNCTIONS if method.shows.get(name) == standing]
            if names:
                lines += self._hang(f"  {SIGNS[standing]} {standing:9}", "; ".join(names))
        if method.shows.get("timer_counts") == "shown":
            lines += self._hang(
                " " * 13, "(the board's count only if a second defrost follows in the record)"
            )
        return lines

    def _cautions(self) -> list[str]:
        lines = [self._paint("Cautions", _BOLD)]
        for caution in cautions(self.plan.unit.refrigerant):
            lines += self._hang("  ! ", caution.text)
        return lines

    def _foot(self) -> list[str]:
        plan = self.plan
        lines: list[str] = []
        if plan.runs:
            text = (
                f"The numbers come from {plan.runs} simulated units that agree with the unit file and differ "
                f"in {len(UNKNOWNS)} things that it does not give (coils, airflow, charge, lag and place of "
                "the sensor ...). They are what to expect of a sound unit of a usual make; a real one may "
                "lie outside."
            )
            lines += textwrap.wrap(text, self.width)
        used = [
            f"{row.setting} = {row.value}" for row in plan.unit.defaults if row.setting.split(".")[0] in _USED
        ]
        if used:
            lines += self._hang("Defaults: ", clean("; ".join(used)))
        return lines


_USED: Final = ("coil_sensor", "board", "limits", "site")


def _time(value_s: float) -> str:
    """To 5 s, and to a minute from ten minutes on: more would pretend to know."""
    if value_s >= 600.0:
        return show_time(60.0 * round(value_s / 60.0))
    return show_time(5.0 * round(value_s / 5.0))
