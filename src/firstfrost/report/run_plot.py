"""The plot of a bench run: the hidden states that no probe shows, over what the probes show.

Matplotlib is imported when it is drawn and not before.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from firstfrost.bench.scenario.phases import phases
from firstfrost.bench.scenario.write import Done
from firstfrost.errors import InputError
from firstfrost.refrigerants.refrigerant import refrigerant
from firstfrost.report.ink import LIGHT as INK
from firstfrost.report.svg import svg_text
from firstfrost.report.thin import Floats, thin

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ENDINGS: Final = (".svg", ".png")
_BINS: Final = 900
_SMALL: Final = 8.0
_DASHES: Final = {
    "full": "-",
    "dashed": (0, (5, 1.5)),
    "dotted": (0, (1.2, 1.2)),
    "mixed": (0, (6, 1.2, 1.2, 1.2)),
}
_APART: Final = 0.02
"""Acts closer than this part of what is drawn share a label."""
_NARROW: Final = 0.05
"""A phase shorter than this part of what is drawn goes without its name."""


def write_run_plot(
    done: Done,
    path: Path | str,
    *,
    system: str = "us",
    width_in: float = 9.0,
    from_s: float = 0.0,
    until_s: float | None = None,
) -> Path:
    """Draw a run into an SVG or PNG file.

    Parameters
    ----------
    done : Done
        A run with its record.
    path : path
        Ends in .svg or .png. The same run gives the same bytes.
    system : {"us", "si"}
        degF or degC.
    width_in : float
        Width. [inch]
    from_s, until_s : float
        The part of the run that is drawn; to its end by default. [s]

    Raises
    ------
    InputError
        The ending is another, nothing of the run lies in that part, or the file cannot be written.
    """
    path = Path(path)
    last_s = float(done.played.run.times_s[-1])
    until_s = last_s if until_s is None else min(until_s, last_s)
    if not 0.0 <= from_s < until_s:
        raise InputError(
            f"A plot from {from_s / 60.0:g} min until {until_s / 60.0:g} min holds nothing: the run lasts "
            f"{last_s / 60.0:g} min. Give a part of it."
        )
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise InputError(
            f"The plot {str(path)!r} has an ending that is not known. Expected a name that ends in "
            ".svg or .png. "
            "Give it one of these endings."
        )
    figure = _draw(done, system=system, width_in=width_in, span=(from_s, until_s))
    try:
        path.write_bytes((svg_text(figure) + "\n").encode() if ending == ".svg" else _png(figure))
    except OSError as err:
        raise InputError(
            f"{path} cannot be written: {err.strerror or err}. Expected a file that can be written. "
            "Choose another place."
        ) from err
    return path


def _png(figure: Figure) -> bytes:
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=150, metadata={"Software": None})
    return out.getvalue()


def _draw(done: Done, *, system: str, width_in: float, span: tuple[float, float]) -> Figure:
    from matplotlib.figure import Figure

    run, plant = done.played.run, done.played.plant
    part = (run.times_s >= span[0]) & (run.times_s <= span[1])
    minutes = run.times_s[part] / 60.0
    degrees = "°F" if system == "us" else "°C"
    fluid = refrigerant(plant.refrigerant)
    high = fluid.dew.temps_at(
        np.clip(run.derived("p_discharge"), fluid.dew.pressure_low_pa, fluid.dew.pressure_high_pa)
    )
    frosted = _frosted(run.derived("t_frost"), run.state("frost"))
    mass = {name: run.state(f"m_{name}") for name in ("out", "ind", "acc")}
    total = np.maximum(mass["out"] + mass["ind"] + mass["acc"], 1e-9)
    panels: list[tuple[float, str, list[tuple[str, Floats, str, str]]]] = [
        (
            2.2,
            f"temperatures [{degrees}]: thin lines are what probes show",
            [
                ("high-side saturation, dew", _degrees(high, system), "high", "full"),
                ("coil metal (hidden)", _degrees(run.state("t_coil"), system), "coil", "full"),
                ("sensor's body (hidden)", _degrees(run.state("t_sensor"), system), "limit", "dashed"),
                ("frost surface (hidden)", _degrees(frosted, system), "low", "dotted"),
                ("outdoor air", _degrees(run.weather()[0], system), "air", "mixed"),
            ],
        ),
        (
            1.0,
            "water on the outdoor coil [kg]: hidden",
            [
                ("frost", run.state("frost"), "low", "full"),
                ("melt water held", run.state("water"), "coil", "dashed"),
                ("ice in the pan", run.state("pan"), "air", "mixed"),
            ],
        ),
        (
            1.0,
            "where the charge is [%]: hidden",
            [
                ("outdoor coil", 100.0 * mass["out"] / total, "low", "full"),
                ("indoor coil", 100.0 * mass["ind"] / total, "high", "dashed"),
                ("accumulator", 100.0 * mass["acc"] / total, "air", "mixed"),
            ],
        ),
        (
            0.8,
            "0 to 1: hidden, and the board",
            [
                ("reversing valve's place (1 cooling)", run.state("valve"), "limit", "full"),
                ("outdoor airflow over its most", _over_most(run.derived("airflow_out")), "air", "mixed"),
                ("metering device's opening", run.derived("opening"), "supply", "dotted"),
                ("sensor's contact closed", run.board("contact"), "coil", "dashed"),
            ],
        ),
    ]  # fmt: skip
    figure = Figure(figsize=(width_in, 8.6), layout="constrained", facecolor="white")
    heights = [0.22, *(height for height, _, _ in panels)]
    ribbon, *rest = figure.subplots(len(heights), 1, sharex=True, height_ratios=heights, squeeze=False)[:, 0]
    for axes, (_, label, lines) in zip(rest, panels, strict=True):
        _dress(axes, label, first=axes is rest[0])
        for name, values, role, dash in lines:
            axes.plot(
                *thin(minutes, values[part], _BINS),
                color=INK[role],
                linestyle=_DASHES[dash],
                label=name,
                linewidth=1.3,
            )
    _probes(done, rest[0], system, span)
    for axes in rest:
        axes.legend(
            loc="center left", bbox_to_anchor=(1.005, 0.5), fontsize=_SMALL - 0.6, frameon=False,
            labelcolor=INK["ink"], handlelength=2.6,
        )  # fmt: skip
    _ribbon(done, ribbon, rest, span)
    rest[-1].set_xlim(span[0] / 60.0, span[1] / 60.0)
    rest[-1].set_xlabel("minutes of the run", fontsize=_SMALL, color=INK["soft"])
    figure.suptitle(done.played.scenario.title, fontsize=11, color=INK["ink"], x=0.01, ha="left")
    return figure


def _degrees(temps_c: Floats, system: str) -> Floats:
    return temps_c * 1.8 + 32.0 if system == "us" else temps_c


def _frosted(surface_c: Floats, frost_kg: Floats) -> Floats:
    return np.where(frost_kg > 0.02, surface_c, np.nan)


def _over_most(airflow: Floats) -> Floats:
    return airflow / max(float(airflow.max()), 1e-9)


def _dress(axes: Axes, label: str, *, first: bool) -> None:
    """The first panel leaves room for the numbers of the acts below its title."""
    axes.tick_params(labelsize=_SMALL, colors=INK["soft"], length=2.5, width=0.6)
    axes.grid(axis="y", color=INK["grid"], linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set(color=INK["rule"], linewidth=0.7)
    axes.set_title(label, fontsize=_SMALL, color=INK["soft"], loc="left", pad=12 if first else 4)


def _probes(done: Done, axes: Axes, system: str, drawn: tuple[float, float]) -> None:
    """The record's own coil probe and its limit, beside the hidden lines."""
    trace, limits = done.record.trace, done.played.scenario.unit.limits
    if "outdoor_coil_temp" in trace:
        times = done.record.run_times_s
        part = (times >= drawn[0]) & (times <= drawn[1])
        axes.plot(
            *thin(times[part] / 60.0, _degrees(trace.columns["outdoor_coil_temp"][part], system), _BINS),
            color=INK["soft"], linewidth=0.7, label="coil probe", zorder=1,
        )  # fmt: skip
    ceiling = float(_degrees(np.array([limits.saturation_ceiling_c]), system)[0])
    axes.axhline(
        ceiling, color=INK["limit"], linewidth=0.9, linestyle=(0, (7, 2)), label="saturation ceiling"
    )


def _ribbon(done: Done, ribbon: Axes, panels: list[Axes], drawn: tuple[float, float]) -> None:
    ribbon.set_ylim(0, 1)
    ribbon.set_axis_off()
    for name, start, end in phases(done.look):
        start, end = max(start, drawn[0]), min(end, drawn[1])
        if end <= start:
            continue
        colour: Any = INK[f"band_{name}"]
        ribbon.axvspan(start / 60.0, end / 60.0, facecolor=colour, edgecolor=INK["rule"], linewidth=0.6)
        if (end - start) / (drawn[1] - drawn[0]) > _NARROW:
            ribbon.text(
                (start + end) / 120.0,
                0.45,
                name,
                ha="center",
                va="center",
                fontsize=_SMALL - 0.8,
                color=INK["ink"],
            )
        for axes in panels:
            if name in ("defrost", "chilldown", "recovery", "off"):
                axes.axvspan(start / 60.0, end / 60.0, facecolor=colour, linewidth=0, zorder=0)
    acts = [
        (n, act.time_s) for n, act in enumerate(done.played.acts, 1) if drawn[0] <= act.time_s <= drawn[1]
    ]
    for _, time_s in acts:
        for axes in panels:
            axes.axvline(time_s / 60.0, color=INK["soft"], linewidth=0.6, linestyle=(0, (2, 2)))
    for name, time_s in act_names(acts, apart_s=_APART * (drawn[1] - drawn[0])):
        panels[0].annotate(
            name, (time_s / 60.0, 1.0), xycoords=("data", "axes fraction"), fontsize=_SMALL - 1.2,
            ha="center", va="bottom", color=INK["ink"],
        )  # fmt: skip


def act_names(acts: Sequence[tuple[int, float]], *, apart_s: float) -> list[tuple[str, float]]:
    """Names of numbered acts and where they stand [s]; acts closer than `apart_s` to the next share one."""
    groups: list[list[tuple[int, float]]] = []
    for act in acts:
        if groups and act[1] - groups[-1][-1][1] < apart_s:
            groups[-1].append(act)
        else:
            groups.append([act])
    return [
        (
            str(group[0][0]) if len(group) == 1 else f"{group[0][0]}\u2013{group[-1][0]}",
            (group[0][1] + group[-1][1]) / 2.0,
        )
        for group in groups
    ]
