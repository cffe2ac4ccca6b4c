"""All that a report says, as text: the layouts (HTML, PDF) only lay it out."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Final

from firstfrost.heating.number import STANDINGS
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.finding import Evidence, Finding, Standing
from firstfrost.quantities.show import System
from firstfrost.report import words
from firstfrost.report.assumed import default_accuracies, default_settings, is_switch
from firstfrost.report.causes import CausesPage, causes_page
from firstfrost.report.heating import HeatingPage, heating_page
from firstfrost.report.house import HousePage, house_page
from firstfrost.report.numbers import Numbers, key_evidence
from firstfrost.report.stop import cautions_of
from firstfrost.report.terminal import headline
from firstfrost.report.text import clean, unit_name
from firstfrost.report.times import Clock, clock, length, tie
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.receipt import ColumnRead, Receipt
from firstfrost.visit.result import Result

_OCCASIONS: Final = 6
"""At most so many pieces of evidence are printed for a function."""


@dataclass(frozen=True, kw_only=True)
class Occasion:
    """One piece of evidence."""

    standing: Standing
    what: str
    facts: tuple[tuple[str, str], ...]
    """Name and value of each: measured, limit, margin, chance, when, from."""


@dataclass(frozen=True, kw_only=True)
class Row:
    """One function in the ledger."""

    function: str
    title: str
    standing: Standing
    sentence: str
    number: str
    limit: str
    margin: str
    settle: str
    remedy: str
    occasions: tuple[Occasion, ...]
    more: str
    """What is said of occasions left out for their number."""


@dataclass(frozen=True, kw_only=True)
class DefrostLine:
    """One defrost."""

    number: int
    when: str
    length: str
    peak: str
    margin: str
    pressure: str
    ended_by: str
    note: str


@dataclass(frozen=True, kw_only=True)
class Setting:
    """A rating, setting or assumption, and where it comes from."""

    name: str
    value: str
    default: bool
    source: str


@dataclass(frozen=True, kw_only=True)
class InstrumentLine:
    """What one channel was read with."""

    channel: str
    accuracy: str
    default: bool
    source: str
    shared: str


@dataclass(frozen=True, kw_only=True)
class ColumnLine:
    """How one column was read."""

    header: str
    channel: str
    unit: str
    readings: str
    dropped: str


@dataclass(frozen=True, kw_only=True)
class MarkLine:
    """What a person did."""

    number: int
    when: str
    act: str
    note: str


@dataclass(frozen=True, kw_only=True)
class Fields:
    """The content of a report."""

    title: str
    unit_name: str
    about: str
    when: str
    times_are: str
    headline: str
    house: HousePage
    rows: tuple[Row, ...]
    heating: HeatingPage | None
    causes: CausesPage | None
    meanings: tuple[tuple[Standing, str], ...]
    defrosts: tuple[DefrostLine, ...]
    marks: tuple[MarkLine, ...]
    marks_known: bool
    instruments: tuple[InstrumentLine, ...]
    settings: tuple[Setting, ...]
    files: tuple[str, ...]
    columns: tuple[ColumnLine, ...]
    ignored: tuple[str, ...]
    dropped: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    made_by: str
    system: System


def fields(result: Result, system: System = "us", costs: tuple[str, ...] = ()) -> Fields:
    """Return what the report of `result` says, numbers in `system`.

    `costs` are sentences on what the failures cost over a winter, for the householder.
    """
    numbers = Numbers(system, result.unit.site.atmosphere_pa)
    when = clock(result)
    unit, receipt, made = result.unit, result.receipt, result.made_by
    return Fields(
        title="Defrost check",
        unit_name=unit_name(unit.name),
        about=_about(result, numbers),
        when=_when(result, when),
        times_are=when.name,
        headline=headline(result),
        house=house_page(result, numbers, when, costs),
        rows=tuple(_row(finding, numbers, when) for finding in result.findings),
        heating=None if result.heating is None else heating_page(result.heating, numbers, when),
        causes=None if result.causes is None else causes_page(result.causes, numbers, off=result.failed),
        meanings=tuple(
            (name, text)
            for name, text in words.MEANINGS.items()
            if any(item.standing == name for item in result.findings)
            or (name in STANDINGS and result.heating is not None and result.heating.of(name))
        ),
        defrosts=tuple(_defrost(k, item, result, numbers, when) for k, item in enumerate(result.defrosts, 1)),
        marks=tuple(
            MarkLine(number=k, when=when.at(mark.time_s), act=words.ACTS[mark.act], note=clean(mark.note))
            for k, mark in enumerate(result.marks or (), 1)
        ),
        marks_known=result.marks is not None,
        instruments=_instruments(result),
        settings=_settings(result, numbers),
        files=tuple(clean(name) for name in receipt.files),
        columns=tuple(
            ColumnLine(
                header=clean(column.header),
                channel=_channel(column.channel),
                unit=clean(column.unit) if column.unit != "1" else "",
                readings=str(column.readings),
                dropped=_why(column),
            )
            for column in receipt.columns
        ),
        ignored=tuple(clean(text) for text in receipt.ignored),
        dropped=tuple(clean(text) for text in receipt.dropped if not _in_table(text, receipt)),
        notes=tuple(clean(text) for text in receipt.notes),
        cautions=cautions_of(result, numbers),
        warnings=tuple(clean(text) for text in result.warnings),
        made_by=f"Firstfrost {made.version}; refrigerant properties: {made.property_tables}",
        system=system,
    )


def _why(column: ColumnRead) -> str:
    """What a column lacks: `2 blank`, `12: no reading`."""
    why = clean(column.why)
    if not column.dropped:
        return ""
    return why if re.match(r"\d+ ", why) else f"{column.dropped}: {why}"


def _in_table(text: str, receipt: Receipt) -> bool:
    """Tell whether the table of columns already says what `text` says."""
    return any(
        text.startswith(f"{column.source}: column {column.header!r} lacks {column.dropped} of ")
        for column in receipt.columns
    )


def _about(result: Result, numbers: Numbers) -> str:
    unit = result.unit
    parts = [unit.refrigerant]
    if unit.nominal_capacity_w is not None:
        tons = unit.nominal_capacity_w / 3516.853
        parts.append(
            f"{tons:.3g} ton" if numbers.system == "us" else f"{unit.nominal_capacity_w / 1000:.3g} kW"
        )
    if unit.metering:
        parts.append(unit.metering)
    return ", ".join(parts)


def _when(result: Result, when: Clock) -> str:
    if not len(result.trace):
        return "no readings"
    first, last = float(result.trace.time_s[0]), float(result.trace.time_s[-1])
    span = f"{length(last - first)} of readings"
    if not when.day(first):
        return span
    if when.days:
        return f"{when.day(first)} to {when.day(last)}, {span}"
    return f"{when.day(first)}, {when.span(first, last)}, {span}"


def _channel(name: str) -> str:
    return CHANNELS[name].title if name in CHANNELS else clean(name).replace("_", " ")


def _probability(value: float | None) -> str:
    if value is None or not math.isfinite(value):
        return ""
    if value > 0.999:
        return "over 99.9 %"
    if value < 0.001:
        return "under 0.1 %"
    return f"{100 * value:.1f} %" if value > 0.99 or value < 0.01 else f"{100 * value:.0f} %"


def _row(finding: Finding, numbers: Numbers, when: Clock) -> Row:
    best = key_evidence(finding.evidence, finding.standing)
    held = numbers.held(best)
    others = [item for item in finding.evidence if item is not best]
    picked = ([best] if best else []) + others
    if len(picked) <= _OCCASIONS:
        picked = list(finding.evidence)
    left = len(picked) - _OCCASIONS
    return Row(
        function=finding.function,
        title=words.TITLES[finding.function],
        standing=finding.standing,
        sentence=clean(finding.sentence),
        number=tie(held.number),
        limit=tie(held.limit),
        margin=tie(held.margin),
        settle="" if finding.remedy else tie(clean(finding.settle)),
        remedy=clean(finding.remedy),
        occasions=_occasions(picked[:_OCCASIONS], best if held.number else None, numbers, when),
        more=f"{left} more occasions are in the JSON result." if left > 0 else "",
    )


def _occasions(
    picked: list[Evidence], headed: Evidence | None, numbers: Numbers, when: Clock
) -> tuple[Occasion, ...]:
    """The occasions; what the one before has said of limits and channels is not said again."""
    said: set[tuple[str, str]] = set()
    shown: list[Occasion] = []
    for item in picked:
        one = _occasion(item, item is headed, numbers, when)
        facts = tuple(
            fact
            for fact in one.facts
            if fact not in said or fact[0] not in ("limit", "limit from", "read from")
        )
        said.update(one.facts)
        shown.append(replace(one, facts=facts))
    return tuple(shown)


def _occasion(evidence: Evidence, headed: bool, numbers: Numbers, when: Clock) -> Occasion:
    """One occasion; `headed` where its number already heads the row and need not come again."""
    held = numbers.held(evidence)
    facts: list[tuple[str, str]] = []
    if not headed:
        facts += [("measured", numbers.measured(evidence.measured))]
        facts += [("limit", held.limit), ("margin", held.margin)]
    facts += [
        ("limit from", clean(evidence.limit.source) if evidence.limit and held.limit else ""),
        ("chance that it is met", _probability(held.chance)),
        ("when", when.span(evidence.start_s, evidence.end_s)),
        ("read from", ", ".join(_channel(name) for name in evidence.channels)),
    ]
    return Occasion(
        standing=evidence.standing,
        what=clean(evidence.what),
        facts=tuple((name, tie(value)) for name, value in facts if value),
    )


def _defrost(k: int, defrost: Defrost, result: Result, numbers: Numbers, when: Clock) -> DefrostLine:
    limits, peak_c, peak_pa = result.unit.limits, defrost.peak_saturation_c, defrost.peak_pressure_pa
    margin = ""
    if peak_c is not None:
        apart = numbers.apart(limits.saturation_ceiling_c - peak_c, "K", defrost.peak_saturation_u_k)
        margin = f"{apart} {'above' if peak_c > limits.saturation_ceiling_c else 'below'}"
    notes = []
    if defrost.cut:
        notes.append(
            "the record cuts " + ("both its ends" if defrost.cut == "both" else f"its {defrost.cut}")
        )
    if defrost.gap:
        notes.append("readings are missing within it")
    return DefrostLine(
        number=k,
        when=when.span(defrost.start_s, defrost.end_s),
        length=tie(length(defrost.duration_s)),
        peak="" if peak_c is None else tie(numbers.value(peak_c, "degC", defrost.peak_saturation_u_k)),
        margin=tie(margin),
        pressure="" if peak_pa is None else tie(numbers.value(peak_pa, "Pa")),
        ended_by=words.ENDED_BY[defrost.ended_by],
        note="; ".join(notes),
    )


def _instruments(result: Result) -> tuple[InstrumentLine, ...]:
    unit, assumed, lines = result.unit, default_accuracies(result), []
    for name in result.trace.columns:
        if not result.trace.has(name) or is_switch(name):
            continue
        accuracy = unit.instruments.get(name)
        tool = unit.shared.get(name)
        others = [
            _channel(other)
            for other, its in unit.shared.items()
            if other != name and its == tool and result.trace.has(other)
        ]
        lines.append(
            InstrumentLine(
                channel=_channel(name),
                accuracy=_accuracy(accuracy.text) if accuracy is not None else "not stated",
                default=name in assumed,
                source=clean(assumed[name].why) if name in assumed else "",
                shared=", ".join(others),
            )
        )
    return tuple(lines)


def _accuracy(text: str) -> str:
    """A maker's statement as it was given, with the signs of print for the names of units."""
    plain = clean(text).removeprefix("±").strip()
    for name, sign in (("delta_degF", "°F"), ("delta_degC", "K"), ("degF", "°F"), ("degC", "°C")):
        plain = plain.replace(name, sign)
    return tie(f"± {plain}")


def _settings(result: Result, numbers: Numbers) -> tuple[Setting, ...]:
    unit = result.unit
    sensor, board, limits, site = unit.coil_sensor, unit.board, unit.limits, unit.site
    cutout = numbers.value(limits.high_pressure_cutout_pa, "Pa")
    altitude = numbers.length(site.altitude_m)
    rows = (
        ("coil_sensor.closes_at", "Coil sensor closes at", numbers.bare(sensor.closes_at_c, "degC")),
        ("coil_sensor.opens_at", "Coil sensor opens at", numbers.bare(sensor.opens_at_c, "degC")),
        ("coil_sensor.tolerance", "Tolerance of both", f"± {numbers.bare(sensor.tolerance_k, 'K')}"),
        ("board.kind", "Board", board.kind),
        ("board.interval", "Run time between defrosts", numbers.bare(board.interval_s, "s")),
        ("board.longest_defrost", "Longest defrost", numbers.bare(board.longest_defrost_s, "s")),
        ("board.pins_time", "Test pins start a defrost within", numbers.bare(board.pins_s, "s")),
        (
            "limits.saturation_ceiling",
            "Saturation ceiling in defrost",
            numbers.bare(limits.saturation_ceiling_c, "degC"),
        ),
        ("limits.high_pressure_cutout", "High-pressure cutout", cutout),
        ("site.altitude", "Altitude", altitude),
        ("site.zone", "Time zone", site.zone or "not given"),
    )
    assumed = default_settings(result)
    why = {item.setting: item for item in assumed}
    lines = [
        Setting(
            name=name,
            value=value,
            default=setting in why,
            source=clean(why[setting].why) if setting in why else "",
        )
        for setting, name, value in rows
    ]
    known = {setting for setting, _, _ in rows}
    for item in assumed:
        if item.setting not in known:
            value, why_text = clean(item.value), clean(item.why)
            lines.append(Setting(name=item.setting, value=value, default=True, source=why_text))
    return tuple(lines)
