"""The figures of a season: load against capacity, the frost calendar, energy by setting.

Matplotlib is imported when a figure is drawn and not before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from firstfrost.quantities.show import System, show
from firstfrost.report.ink import LIGHT as INK
from firstfrost.report.plots import Plot
from firstfrost.report.svg import svg_text
from firstfrost.season import words
from firstfrost.season.money import KWH_J
from firstfrost.season.season import Season

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SMALL: Final = 7.4
_NARROW_IN: Final = 5.0


def season_plots(made: Season, system: System = "us", *, width_in: float) -> tuple[Plot, ...]:
    """Draw the three figures, `width_in` inches wide, text as outlines."""
    return (_balance(made, system, width_in), _calendar(made, width_in), _energy(made, width_in))


def setting_plots(made: Season, *, width_in: float) -> tuple[Plot, ...]:
    """One small figure for each setting: defrosts and what frost costs, month by month, on one scale."""
    both = made.comparison
    order = [month - 1 for month in made.air.month_order]
    found = both.found
    count = found.month("defrosts")[:, order]
    lost = both.lost_by_month_j()[:, order] / KWH_J
    most = max(float(count[:-1].max()), 1.0), max(float(lost.max()), 1.0)
    return tuple(
        _months(row.name, count[n], lost[n], most, order, width_in) for n, row in enumerate(both.settings)
    )


def _figure(width_in: float, height_in: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(width_in, height_in), layout="constrained")


def _dress(axes: Axes, label: str = "") -> None:
    axes.set_facecolor("none")
    axes.tick_params(labelsize=_SMALL, colors=INK["soft"], length=2.5, width=0.6, pad=2)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("bottom", "left"):
        axes.spines[side].set(color=INK["rule"], linewidth=0.7)
    if label:
        axes.set_title(label, fontsize=_SMALL, color=INK["soft"], loc="left", pad=4)


def _legend(axes: Axes, columns: int) -> None:
    axes.figure.legend(
        *axes.get_legend_handles_labels(),
        loc="outside lower left",
        ncols=columns,
        fontsize=_SMALL,
        labelcolor=INK["ink"],
        frameon=False,
        handlelength=2.6,
    )


def _power(values_w: Any, system: System) -> Any:
    return np.asarray(values_w) * (3.412141633e-3 if system == "us" else 1e-3)


def _shown(temps_c: Any, system: System) -> Any:
    return np.asarray(temps_c) * 1.8 + 32.0 if system == "us" else np.asarray(temps_c)


def _balance(made: Season, system: System, width_in: float) -> Plot:
    house, lines = made.house, made.prepared.lines
    coldest = min(float(made.air.temps_c.min()), made.design.outdoor_c) - 2.0
    temps = np.linspace(max(coldest, -31.5), 17.0, 200)
    load = np.asarray(house.load.load_w(temps))
    band = np.array([house.load.load(float(t)).expanded for t in temps])
    with_frost = np.asarray(lines.capacity_w(temps, frost=True))
    without = np.asarray(lines.capacity_w(temps, frost=False))
    figure = _figure(width_in, 2.9 if width_in > _NARROW_IN else 3.2)
    axes, below = figure.subplots(2, 1, sharex=True, height_ratios=[3.2, 1.0], squeeze=False)[:, 0]
    name = "kBtu/h" if system == "us" else "kW"
    degree = "°F" if system == "us" else "°C"
    _dress(axes, f"heat [{name}] over outdoor air")
    axes.grid(axis="y", color=INK["grid"], linewidth=0.6)
    x = _shown(temps, system)
    axes.fill_between(
        x, _power(np.maximum(load - band, 0.0), system), _power(load + band, system), color=INK["rated"],
        linewidth=0, label="house's load, with its band",
    )  # fmt: skip
    axes.plot(x, _power(load, system), color=INK["high"], linewidth=1.5, label="house's load")
    axes.plot(
        x, _power(without, system), color=INK["low"], linewidth=1.0, linestyle=(0, (1.2, 1.2)),
        label="unit, no frost",
    )  # fmt: skip
    axes.plot(
        x, _power(with_frost, system), color=INK["low"], linewidth=1.6, linestyle=(0, (6, 1.2)),
        label="unit, with frost and defrosts",
    )  # fmt: skip
    meets = made.balance.temp_c
    said = "the two do not meet"
    if meets is not None:
        at = float(np.interp(meets, temps, load))
        axes.plot(_shown(meets, system), _power(at, system), "o", color=INK["limit"], markersize=5)
        said = f"balance point {words.degrees(meets, system)}"
        axes.annotate(
            said, (float(_shown(meets, system)), float(_power(at, system))), xytext=(-4, -15),
            textcoords="offset points", fontsize=_SMALL, color=INK["limit"],
        )  # fmt: skip
    axes.set_ylim(bottom=0.0)
    _dress(below, "hours of this weather in each 2 K")
    edges = np.arange(np.floor(temps[0]), 18.0, 2.0)
    count, _ = np.histogram(made.air.temps_c, edges)
    wide = float(np.diff(_shown(edges, system))[0])
    below.bar(
        _shown(edges[:-1], system) + wide / 2.0, count * made.air.step_s / 3600.0, width=0.85 * wide,
        color=INK["soft"],
    )  # fmt: skip
    below.set_xlabel(f"outdoor air [{degree}]", fontsize=_SMALL, color=INK["soft"])
    below.set_xlim(float(x[0]), float(x[-1]))
    _legend(axes, 2 if width_in > _NARROW_IN else 1)
    return Plot(
        name="balance",
        title="Load and capacity",
        svg=svg_text(figure, transparent=True),
        alt=(
            f"The house's load rises and the unit's capacity falls as it gets colder outdoors; {said}. "
            + words.carrying(made, system)
        ),
        note=f"{words.carrying(made, system)} Capacity: {'rated' if made.prepared.rated else 'assumed'}.",
    )


def _calendar(made: Season, width_in: float) -> Plot:
    order = [month - 1 for month in made.air.month_order]
    part = made.risk.calendar[order] / np.maximum(made.risk.possible[order], 1.0)
    figure = _figure(width_in, 2.6 if width_in > _NARROW_IN else 3.0)
    axes = figure.subplots()
    _dress(axes, "part of the hours at risk of frost: a full square is all of them")
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    from matplotlib.patches import Rectangle

    for row in range(12):
        for hour in range(24):
            # The area of a square tells the part, so that no colour is needed to read it.
            edge = 0.94 * float(np.sqrt(part[row, hour]))
            corner = hour + 0.5 - edge / 2.0, 11.5 - row - edge / 2.0
            if edge > 0.05:
                axes.add_patch(Rectangle(corner, edge, edge, facecolor=INK["low"], linewidth=0))
    axes.set_xlim(0, 24)
    axes.set_ylim(0, 12)
    axes.set_yticks(11.5 - np.arange(12.0), [words.MONTHS[month] for month in order])
    axes.set_xticks(np.arange(0, 25, 3 if width_in > _NARROW_IN else 6))
    axes.grid(axis="both", color=INK["grid"], linewidth=0.5)
    axes.set_xlabel("hour of the day", fontsize=_SMALL, color=INK["soft"])
    return Plot(
        name="calendar",
        title="When frost can form",
        svg=svg_text(figure, transparent=True),
        alt=f"Calendar of months by hours. {words.risk(made)}",
        note=(
            f"{words.risk(made)} At risk: the coil's surface, {made.risk.split_k:.1f} K below the air, is "
            "below freezing and below the air's frost point."
        ),
    )


_PARTS: Final = (
    ("frosting", "frost on the coil", "low", "///"),
    ("defrosts", "defrosts", "high", ""),
    ("backup in defrosts", "backup heat in defrosts", "air", "..."),
)


def _energy(made: Season, width_in: float) -> Plot:
    both = made.comparison
    parts = both.lost_j()
    rows = list(range(len(both.settings)))
    figure = _figure(width_in, 0.9 + 0.34 * len(rows))
    axes = figure.subplots()
    _dress(axes, "kWh a winter above a unit that does not frost")
    axes.grid(axis="x", color=INK["grid"], linewidth=0.6)
    left = np.zeros(len(rows))
    for key, label, role, hatch in _PARTS:
        wide = np.maximum(parts[key], 0.0) / KWH_J
        axes.barh(
            rows, wide, left=left, height=0.62, label=label, facecolor=INK[role], hatch=hatch,
            edgecolor=INK["ink"], linewidth=0.4,
        )  # fmt: skip
        left = left + wide
    u = both.lead_u_j / KWH_J
    if u.any():
        axes.errorbar(
            left, rows, xerr=u, fmt="none", ecolor=INK["limit"], elinewidth=1.2, capsize=3,
            label="uncertainty of the difference to the best",
        )  # fmt: skip
    marks = []
    for n, row in enumerate(both.settings):
        tail = ("  set now" if n == made.current else "") + ("  best" if n == both.best else "")
        marks.append(row.name + tail.replace("  ", "\n" if width_in <= _NARROW_IN else "  ", 1))
    axes.set_yticks(rows, marks)
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    _legend(axes, 2 if width_in > _NARROW_IN else 1)
    told = "; ".join(
        f"{row.name} {words.kwh(float(both.energy_j[n]) - both.frost_free_j)}"
        for n, row in enumerate(both.settings)
    )
    return Plot(
        name="energy",
        title="Energy by setting",
        svg=svg_text(figure, transparent=True),
        alt=f"Energy above a unit that does not frost: {told}. {words.advice(made)}",
        note=f"{words.advice(made)} {words.turning(made)}",
    )


def _months(
    name: str, count: Any, lost: Any, most: tuple[float, float], order: list[int], width_in: float
) -> Plot:
    figure = _figure(width_in, 2.1)
    above, below = figure.subplots(2, 1, sharex=True, squeeze=False)[:, 0]
    x = np.arange(12)
    _dress(above, "defrosts in each month")
    above.bar(x, count, width=0.7, color=INK["high"])
    above.set_ylim(0, 1.1 * most[0])
    _dress(below, "kWh that frost and defrosts cost in each month")
    below.bar(x, np.maximum(lost, 0.0), width=0.7, color=INK["low"])
    below.set_ylim(0, 1.1 * most[1])
    letters = [words.MONTHS[month] for month in order]
    below.set_xticks(x, letters if width_in > _NARROW_IN else [letter[0] for letter in letters])
    said = ", ".join(f"{m} {c:.0f}" for m, c in zip(letters, count, strict=True) if c >= 0.5)
    return Plot(
        name="at-" + name.replace(" ", "-"),
        title=name,
        svg=svg_text(figure, transparent=True),
        alt=f"With the board at {name}, defrosts in each month: {said or 'none'}.",
        note=f"{count.sum():,.0f} defrosts, {show(float(max(lost.sum(), 0.0)) * KWH_J, 'kWh', decimals=0)}.",
    )
