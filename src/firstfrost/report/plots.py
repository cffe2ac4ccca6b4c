"""The three plots of a report, as SVG: the visit, the high side against its limits, the sensor.

Matplotlib is imported when a plot is drawn and not before.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from firstfrost.phases.phase import Defrost
from firstfrost.report import words
from firstfrost.report.ink import LIGHT as INK
from firstfrost.report.numbers import Numbers
from firstfrost.report.svg import svg_text
from firstfrost.report.thin import Floats, break_at_gaps, thin
from firstfrost.report.times import Clock, clock
from firstfrost.visit.result import Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_BEFORE_S: Final = 60.0
_AFTER_S: Final = 120.0
"""What is drawn of the record on either side of a defrost. [s]"""
_STEADY_K: Final = 0.4
"""A coil that changes less than this in a minute is drawn as steady. [K]"""
_LEAST_DEGREES: Final = 8.0
"""The temperature axis spans at least this, so that noise is not blown up."""
_SMALL: Final = 7.2
_STEPS_MIN: Final = (1, 2, 5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440)


@dataclass(frozen=True, kw_only=True)
class Plot:
    """One drawing with its words. `svg` is empty where the record lacks what it would show."""

    name: str
    title: str
    svg: str
    alt: str
    note: str


def plots(result: Result, numbers: Numbers, *, width_in: float) -> tuple[Plot, ...]:
    """Draw the three plots of `result`, `width_in` inches wide, text as outlines."""
    when = clock(result)
    return (
        _visit(result, numbers, when, width_in),
        _high_side(result, numbers, width_in),
        _sensor(result, numbers, width_in),
    )


def _figure(width_in: float, height_in: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(width_in, height_in), layout="constrained")


def _dress(axes: Axes, label: str) -> None:
    axes.set_facecolor("none")
    axes.tick_params(labelsize=_SMALL, colors=INK["soft"], length=2.5, width=0.6, pad=2)
    axes.grid(axis="y", color=INK["grid"], linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set(color=INK["rule"], linewidth=0.7)
    axes.set_title(label, fontsize=_SMALL, color=INK["soft"], loc="left", pad=4)


def _legend(figure: Figure, axes: list[Axes], columns: int, keys: Sequence[Any] = ()) -> None:
    handles: list[Any] = list(keys)
    labels: list[str] = [str(key.get_label()) for key in keys]
    for one in axes:
        for handle, label in zip(*one.get_legend_handles_labels(), strict=True):
            if label not in labels:
                handles.append(handle)
                labels.append(label)
    if handles:
        figure.legend(
            handles,
            labels,
            loc="outside lower left",
            ncols=columns,
            fontsize=_SMALL,
            labelcolor=INK["ink"],
            frameon=False,
            handlelength=2.6,
            columnspacing=1.4,
            borderaxespad=0.2,
        )


def _drawn(result: Result, values: Floats, bins: int) -> tuple[Floats, Floats]:
    trace = result.trace
    step = max(5.0 * trace.sampling_s, 15.0) if len(trace) > 1 else math.inf
    return thin(*break_at_gaps(trace.time_s, values, step), bins)


@dataclass(frozen=True, kw_only=True)
class _Line:
    role: str
    label: str
    values: Floats
    dash: Any = "-"
    weight: float = 1.2


def _temperature_lines(result: Result) -> list[_Line]:
    trace, cycle = result.trace, result.cycle
    lines = [
        _Line(role="high", label=words.LINES["high"], values=cycle.high_dew_c, weight=1.6),
        _Line(
            role="supply",
            label=words.LINES["supply"],
            values=trace.get("supply_air_temp"),
            dash=(0, (5, 1.5)),
        ),
        _Line(
            role="air", label=words.LINES["air"], values=trace.get("outdoor_air_temp"), dash=(0, (1.2, 1.2))
        ),
        _Line(role="coil", label=words.LINES["coil"], values=trace.get("outdoor_coil_temp"), weight=1.9),
        _Line(role="low", label=words.LINES["low"], values=cycle.low_dew_c, dash=(0, (6, 1.2, 1.2, 1.2))),
    ]
    return [line for line in lines if bool(np.isfinite(line.values).any())]


def _visit(result: Result, numbers: Numbers, when: Clock, width_in: float) -> Plot:
    trace = result.trace
    title = "The visit"
    switches = [
        ("sensor_voltage", "volts across the sensor [V]", "ink"),
        ("fan_current", "outdoor fan [A]", "air"),
        ("backup_current", "backup heat [A]", "high"),
    ]
    switches = [item for item in switches if trace.has(item[0])]
    lines = _temperature_lines(result)
    others = [
        (name, f"{label} [{numbers.plot_unit(unit)}]", role)
        for name, label, role, unit in (
            ("power", "electric power", "ink", "W"),
            ("return_air_temp", "return air", "supply", "degC"),
        )
        if trace.has(name) and (not lines or (name == "power" and not switches))
    ]
    panels = switches + others
    if len(trace) < 2 or not (lines or panels):
        return Plot(name="visit", title=title, svg="", alt="", note="The record holds too little to draw.")
    narrow = width_in < 5
    tall = 1.95 if lines else 0.0
    heights = [0.24, *([tall] if lines else []), *[0.46] * len(panels)]
    figure = _figure(width_in, sum(heights) + 0.22 * len(heights) + (1.05 if narrow else 0.75))
    grid = figure.subplots(len(heights), 1, sharex=True, height_ratios=heights, squeeze=False)[:, 0]
    ribbon, rest = grid[0], list(grid[1:])
    bins = int(width_in * 140)
    slim = 1.0 if len(result.phases) <= 24 else 0.6
    if lines:
        axes = rest.pop(0)
        _dress(axes, f"temperatures [{_degrees(numbers)}]")
        for line in lines:
            x, y = _drawn(result, line.values, bins)
            axes.plot(
                x, numbers.column(y, "degC"), color=INK[line.role], linestyle=line.dash,
                linewidth=line.weight * slim, label=line.label, solid_capstyle="butt",
            )  # fmt: skip
        low, high = axes.get_ylim()
        if high - low < _LEAST_DEGREES:
            middle = (low + high) / 2
            axes.set_ylim(middle - _LEAST_DEGREES / 2, middle + _LEAST_DEGREES / 2)
    for axes, (name, label, role) in zip(rest, panels, strict=True):
        _dress(axes, label)
        x, y = _drawn(result, trace.get(name), bins)
        axes.plot(x, y, color=INK[role], linewidth=1.1 * slim)
        axes.locator_params(axis="y", nbins=3)
        top = float(np.nanmax(y))
        if name != "return_air_temp" and top > 0:
            axes.set_ylim(-0.06 * top, 1.12 * top)
    last_s = float(trace.time_s[-1])
    for axes in grid:
        axes.set_xlim(float(trace.time_s[0]), last_s)
    keys = _bands(result, ribbon, list(grid[1:]), width_in)
    _marks(result, ribbon, list(grid[1:]))
    _time_axis(grid[-1], when, float(trace.time_s[0]), last_s, 5 if narrow else 9)
    _legend(figure, list(grid), 2 if narrow else 5, keys)
    names = sorted({words.PHASES[phase.name] for phase in result.phases})
    drawn = ", ".join([line.label for line in lines] + [label for _, label, _ in panels])
    return Plot(
        name="visit",
        title=title,
        svg=svg_text(figure, transparent=True),
        alt=f"Over the time of the visit: {drawn}; behind them bands for the phases {', '.join(names)}.",
        note=f"Times are {when.name}."
        + (" Numbered lines are the marks listed above." if result.marks else ""),
    )


def _degrees(numbers: Numbers) -> str:
    return "°F" if numbers.system == "us" else "°C"


def _bands(result: Result, ribbon: Axes, panels: list[Axes], width_in: float) -> list[Any]:
    """Draw each phase; return the keys of those that had no room for their name."""
    said: set[str] = set()
    ribbon.set_ylim(0, 1)
    ribbon.set_axis_off()
    span = float(result.trace.time_s[-1] - result.trace.time_s[0])
    for phase in result.phases:
        colour = INK[f"band_{phase.name}"]
        ribbon.axvspan(
            phase.start_s, phase.end_s, 0, 1, facecolor=colour, edgecolor=INK["rule"], linewidth=0.6
        )
        for axes in panels:
            if phase.name in ("defrost", "chilldown", "recovery"):
                axes.axvspan(phase.start_s, phase.end_s, facecolor=colour, linewidth=0, zorder=0)
        label = words.PHASES[phase.name]
        room_in = (phase.end_s - phase.start_s) / span * width_in * 0.93 if span else 0.0
        for text, size in ((label, 6.8), (label, 5.8), (label[:3] + ".", 5.8)):
            if room_in > len(text) * size * 0.6 / 72 + 0.05:
                ribbon.text(
                    (phase.start_s + phase.end_s) / 2, 0.47, text, ha="center", va="center", fontsize=size,
                    color=INK["ink"],
                )  # fmt: skip
                said.add(phase.name)
                break
    from matplotlib.patches import Patch

    return [
        Patch(facecolor=INK[f"band_{name}"], edgecolor=INK["rule"], linewidth=0.6, label=words.PHASES[name])
        for name in words.PHASES
        if name in {phase.name for phase in result.phases} - said
    ]


def _marks(result: Result, ribbon: Axes, panels: list[Axes]) -> None:
    """A numbered thin line for each mark; marks too near for two numbers share one."""
    span = float(result.trace.time_s[-1] - result.trace.time_s[0])
    placed: list[tuple[float, list[int]]] = []
    for number, mark in enumerate(result.marks or (), 1):
        for axes in panels:
            axes.axvline(mark.time_s, color=INK["soft"], linewidth=0.6, linestyle=(0, (2, 2)))
        if placed and mark.time_s - placed[-1][0] < 0.035 * span:
            placed[-1][1].append(number)
        else:
            placed.append((mark.time_s, [number]))
    for time_s, shown in placed:
        text = str(shown[0]) if len(shown) == 1 else f"{shown[0]}–{shown[-1]}"
        ribbon.annotate(
            text, (time_s, 1.0), xytext=(0, 2.5), textcoords="offset points", ha="center", va="bottom",
            fontsize=6.6, color=INK["ink"], annotation_clip=False,
        )  # fmt: skip


def _time_axis(axes: Axes, when: Clock, first_s: float, last_s: float, most: int) -> None:
    """Ticks on round minutes of the site's clock, or of the time elapsed."""
    span_min = (last_s - first_s) / 60
    step = next((s for s in _STEPS_MIN if span_min / s <= most), 1440 * math.ceil(span_min / 1440 / most))
    ticks: list[float] = []
    labels: list[str] = []
    first = when.local(first_s)
    if first is None:
        count = math.floor(span_min / step)
        ticks = [first_s + 60 * step * k for k in range(count + 1)]
        labels = [f"{step * k}" for k in range(count + 1)]
        axes.set_xlabel("minutes since the first reading", fontsize=_SMALL, color=INK["soft"], labelpad=2)
    else:
        midnight = first.replace(hour=0, minute=0, second=0, microsecond=0)
        into_s = (first - midnight) / timedelta(seconds=1)
        k = math.ceil(into_s / 60 / step)
        day = None
        while first_s + 60 * step * k - into_s <= last_s + 1e-6:
            at_s = first_s + 60 * step * k - into_s
            local = when.local(at_s)
            assert local is not None
            label = f"{local:%H:%M}"
            if when.days and local.date() != day:
                label += f"\n{local.day} {local:%b}"
                day = local.date()
            ticks.append(at_s)
            labels.append(label)
            k += 1
    axes.set_xticks(ticks, labels)


def _windows(result: Result) -> list[tuple[Defrost, Any]]:
    """Each defrost with the indices of the samples that are drawn of it."""
    time_s = result.trace.time_s
    high = np.isfinite(result.cycle.high_dew_c)
    found = []
    for defrost in result.defrosts:
        pick = np.flatnonzero((time_s >= defrost.start_s - _BEFORE_S) & (time_s <= defrost.end_s + _AFTER_S))
        if high[pick].any():
            found.append((defrost, pick))
    return found


def _high_side(result: Result, numbers: Numbers, width_in: float) -> Plot:
    title = "The high side in defrost, against its limits"
    limits, cycle = result.unit.limits, result.cycle
    windows = _windows(result)
    if not windows:
        lacks = (
            "No defrost is in the record"
            if not result.defrosts
            else "No high-side pressure was read in a defrost"
        )
        return Plot(name="high", title=title, svg="", alt="", note=f"{lacks}, so there is nothing to draw.")
    narrow = width_in < 5
    figure = _figure(width_in, 5.0 if narrow else 2.4)
    shape = (2, 1) if narrow else (1, 2)
    left, right = figure.subplots(*shape, squeeze=True)
    _dress(left, f"high-side saturation, dew [{_degrees(numbers)}]")
    _dress(right, f"high-side pressure [{numbers.plot_unit('Pa').replace('kPa(g)', 'kPa gauge')}]")
    glide = cycle.high_dew_c - cycle.high_bubble_c
    blend = bool(np.isfinite(glide).any()) and float(np.nanmax(glide)) > 0.5
    peaks = [_peak_c(result, defrost, pick) for defrost, pick in windows]
    worst = int(np.argmax(peaks))
    dashes = ("-", (0, (5, 1.5)), (0, (1.2, 1.2)), (0, (6, 1.2, 1.2, 1.2)))
    order = [k for k in range(len(windows)) if k != worst] + [worst]
    for k in order:
        defrost, pick = windows[k]
        minutes = (result.trace.time_s[pick] - defrost.start_s) / 60
        few = len(windows) <= len(dashes)
        strong = k == worst
        look: dict[str, Any] = {
            "color": INK["high"] if strong or few else INK["bubble"],
            "linewidth": 1.7 if strong else 0.9,
            "linestyle": dashes[k] if few else "-",
        }
        number = result.defrosts.index(defrost) + 1
        label = f"defrost {number}" if few else (f"the hottest, defrost {number}" if strong else "the others")
        for axes, values, unit in ((left, cycle.high_dew_c, "degC"), (right, cycle.high_pressure_pa, "Pa")):
            x, y = thin(*break_at_gaps(minutes, values[pick], 1.0), 500)
            axes.plot(x, numbers.column(y, unit), label=label, **look)
        if blend and strong:
            x, y = thin(*break_at_gaps(minutes, cycle.high_bubble_c[pick], 1.0), 500)
            left.plot(
                x,
                numbers.column(y, "degC"),
                color=INK["bubble"],
                linewidth=0.9,
                label="bubble, for the glide",
            )
        ends = (defrost.end_s - defrost.start_s) / 60
        if strong:
            for axes in (left, right):
                axes.axvspan(0, ends, facecolor=INK["band_defrost"], alpha=1.0, linewidth=0, zorder=0)
    _limit(
        left,
        float(_one(numbers, limits.saturation_ceiling_c, "degC")),
        "ceiling " + numbers.bare(limits.saturation_ceiling_c, "degC"),
    )
    _limit(
        right,
        float(_one(numbers, limits.high_pressure_cutout_pa, "Pa")),
        "cutout " + numbers.value(limits.high_pressure_cutout_pa, "Pa"),
    )
    for axes in (left, right):
        axes.set_xlabel(
            "minutes from the start of the defrost", fontsize=_SMALL, color=INK["soft"], labelpad=2
        )
        axes.locator_params(axis="x", integer=True, nbins=8)
        axes.margins(x=0)
    if len(windows) > 1 or blend:
        _legend(figure, [left], 2 if narrow else 5)
    peak = numbers.value(max(peaks), "degC")
    ceiling = numbers.bare(limits.saturation_ceiling_c, "degC")
    return Plot(
        name="high",
        title=title,
        svg=svg_text(figure, transparent=True),
        alt=f"High-side saturation and pressure from a minute before each defrost to two minutes after it. "
        f"The highest saturation is {peak}; the ceiling is {ceiling}.",
        note="The shaded span is the defrost"
        + (" that came nearest to the ceiling." if len(windows) > 1 else ".")
        + (" The ceiling is a default: common practice, without a published source."
           if result.unit.is_default("limits.saturation_ceiling") else ""),
    )  # fmt: skip


def _peak_c(result: Result, defrost: Defrost, pick: Any) -> float:
    """The peak that the defrost carries; else the highest that is drawn."""
    if defrost.peak_saturation_c is not None:
        return defrost.peak_saturation_c
    return float(np.nanmax(result.cycle.high_dew_c[pick]))


def _one(numbers: Numbers, value: float, unit: str) -> Any:
    return numbers.column(value, unit)


def _limit(axes: Axes, at: float, label: str) -> None:
    axes.axhline(at, color=INK["limit"], linewidth=1.3, linestyle=(0, (7, 2)))
    low, high = axes.get_ylim()
    axes.set_ylim(low, max(high, at + 0.13 * (max(high, at) - low)))
    axes.annotate(
        label, (0.012, at), xycoords=("axes fraction", "data"), xytext=(0, 2.5), textcoords="offset points",
        ha="left", va="bottom", fontsize=_SMALL, color=INK["limit"],
    )  # fmt: skip


def _sensor(result: Result, numbers: Numbers, width_in: float) -> Plot:
    title = "The coil sensor: volts across its contact, against the coil"
    trace, rated = result.trace, result.unit.coil_sensor
    coil, volts = trace.get("outdoor_coil_temp"), trace.get("sensor_voltage")
    both = np.isfinite(coil) & np.isfinite(volts)
    if not both.any():
        lacks = "The record lacks the coil's temperature or the volts across the sensor"
        note = f"{lacks}, so there is nothing to draw."
        return Plot(name="sensor", title=title, svg="", alt="", note=note)
    narrow = width_in < 5
    figure = _figure(width_in, 3.2 if narrow else 2.4)
    axes = figure.subplots()
    _dress(axes, "volts across the contact [V]: high is open, none is closed")
    change = _change_k(trace.time_s[both], coil[both])
    degrees = np.asarray(numbers.column(coil[both], "degC"))
    for chosen, marker, role, label in (
        (np.abs(change) <= _STEADY_K, "o", "soft", "coil steady"),
        (change < -_STEADY_K, "v", "low", "coil getting colder"),
        (change > _STEADY_K, "^", "high", "coil getting warmer"),
    ):
        if not chosen.any():
            continue
        x, y = _dots(degrees[chosen], volts[both][chosen])
        axes.plot(
            x, y, linestyle="none", marker=marker, markersize=2.2 if marker == "o" else 3.2, color=INK[role],
            label=label, markeredgewidth=0.7, markerfacecolor="none" if marker == "^" else INK[role],
        )  # fmt: skip
    top = max(float(np.nanmax(volts[both])), 24.0)
    axes.set_ylim(min(-0.09 * top, float(np.nanmin(volts[both])) - 0.06 * top), 1.36 * top)
    for at_c, label in ((rated.closes_at_c, "closes at"), (rated.opens_at_c, "opens at")):
        band = [_one(numbers, at_c + sign * rated.tolerance_k, "degC") for sign in (-1, 1)]
        axes.axvspan(*band, facecolor=INK["rated"], linewidth=0, zorder=0)
        at = _one(numbers, at_c, "degC")
        axes.axvline(at, ymax=0.84, color=INK["coil"], linewidth=1.0, linestyle=(0, (7, 2)))
        axes.text(
            at, 1.33 * top, f"{label}\n{numbers.bare(at_c, 'degC')}", ha="center", va="top", fontsize=_SMALL,
            color=INK["coil"], linespacing=1.05,
        )  # fmt: skip
    axes.set_xlabel(f"outdoor coil [{_degrees(numbers)}]", fontsize=_SMALL, color=INK["soft"], labelpad=2)
    axes.set_yticks([tick for tick in range(-60, 61, 10) if axes.get_ylim()[0] <= tick <= top])
    _legend(figure, [axes], 2 if narrow else 3)
    tolerance = numbers.bare(rated.tolerance_k, "K")
    closes, opens = (numbers.bare(value, "degC") for value in (rated.closes_at_c, rated.opens_at_c))
    return Plot(
        name="sensor",
        title=title,
        svg=svg_text(figure, transparent=True),
        alt=f"Volts across the coil sensor's contact against the outdoor coil's temperature, with the coil "
        f"getting colder and warmer told apart. It is rated to close at {closes} and to open at {opens}.",
        note=f"Shaded: the ratings with their tolerance of ± {tolerance}.",
    )


def _change_k(time_s: Floats, coil_c: Floats) -> Floats:
    """How much the coil changes over the minute around each sample [K]."""
    behind = np.interp(time_s - 30.0, time_s, coil_c)
    ahead = np.interp(time_s + 30.0, time_s, coil_c)
    return np.asarray(ahead - behind)


def _dots(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """One dot for each spot of the plot, however many readings fall on it."""
    if not len(x):
        return x, y
    across = max(float(np.ptp(x)), 1.0) / 55
    spots = np.unique(np.column_stack([np.round(x / across) * across, np.round(y)]), axis=0)
    return spots[:, 0], spots[:, 1]
