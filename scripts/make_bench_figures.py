"""Make the figures and the table of docs/bench-physics.md from the bench itself.

Run from the repository's root after any change of the plant: `python scripts/make_bench_figures.py`.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final, Literal

import matplotlib as mpl
import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.air.moist import humidity_from_wet_bulb  # noqa: E402
from firstfrost.bench.board.settings import Controls  # noqa: E402
from firstfrost.bench.plant.circuit import opening  # noqa: E402
from firstfrost.bench.plant.outdoor import frost_conductivity, new_frost_density  # noqa: E402
from firstfrost.bench.plant.parameters import Plant  # noqa: E402
from firstfrost.bench.presets import unit  # noqa: E402
from firstfrost.bench.simulate import Act, Run, Setup, simulate  # noqa: E402
from firstfrost.bench.weather import constant  # noqa: E402

mpl.use("svg")
mpl.rcParams.update(
    {
        "svg.hashsalt": "firstfrost",
        "svg.fonttype": "none",
        "font.size": 9,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.grid": True,
        "grid.alpha": 0.3,
        "path.simplify_threshold": 0.3,
    }
)
import matplotlib.pyplot as plt  # noqa: E402

FOLDER = ROOT / "docs" / "figures"
PAGE = ROOT / "docs" / "bench-physics.md"
BLUE, RED, GREEN, GREY, GOLD = "#1f5fa8", "#b3262e", "#2f7d4f", "#666666", "#a87b00"
WET: Final = {62: 56.5, 47: 43.0, 35: 33.0, 17: 15.0}
CAPACITY = (0.566333415, -0.000744164, -0.0000103, 0.009414634, 0.0000506, -0.00000675)
INPUT_RATIO = (0.718398423, 0.003498178, 0.000142202, -0.005724331, 0.00014085, -0.000215321)
"""Single-speed heat pumps over indoor and outdoor dry bulb [degF]: Cutler et al., NREL 2013, by open code."""
UNDER = ((-0.0338595, 0.0202827, -2.6226343), (0.0615649, 0.0044554, -0.2598507))
OVER = ((-0.0029514, 0.0007379, -0.0064112), (-0.0594134, 0.0159205, 1.8872153))
"""Charge faults in heating: NREL's coefficients for houses, by open code."""


def celsius(temp_f: float) -> float:
    """DegF to degC."""
    return (temp_f - 32.0) / 1.8


def room(metering: Literal["expansion valve", "fixed orifice"] = "expansion valve") -> tuple[Plant, Controls]:
    """The generic unit in a test room, without backup heat."""
    plant, controls = unit(metering=metering)
    return replace(plant, house_fixed=1.0), replace(controls, backup_defrost_w=0.0)


def weather(dry_f: float, wet_f: float | None = None) -> Any:
    """Weather of a test; too dry for frost without a wet bulb."""
    dry = celsius(dry_f)
    humid = 0.3 if wet_f is None else float(humidity_from_wet_bulb(dry, celsius(wet_f), 101325.0))
    return constant(dry, humid)


def steady(plant: Plant, controls: Controls, sky: Any) -> tuple[float, float]:
    """Capacity with the blower's heat and power [W], long in heating, hardly frosted."""
    board = replace(controls, dead=1.0)
    run = simulate(Setup(plant=plant, controls=board, weather=sky, duration_s=240))
    return float(run.derived("heat")[-1]) + plant.blower_w, float(run.derived("power")[-1])


def grown(run: Run, name: str, start_s: float, end_s: float) -> float:
    """Growth of an integral between two moments."""
    a, b = np.interp([start_s, end_s], run.times_s, run.state(name))
    return float(b - a)


def cycle(interval_s: float) -> tuple[Run, float, float, float]:
    """The frost accumulation test at 35/33 degF: run, first termination, next start, next termination."""
    plant, controls = room()
    run = simulate(
        Setup(
            plant=plant,
            controls=replace(controls, interval_s=interval_s),
            weather=weather(35.0, 33.0),
            duration_s=int(2 * interval_s + 1800),
        )
    )
    starts = [t for t, value in run.switches("mode") if value == 3.0]
    ends = [t for t, value in run.switches("ended_by") if value > 0.0]
    return run, ends[0], starts[1], ends[1]


def integrated(interval_s: float) -> tuple[float, float, float]:
    """Integrated capacity and power [W] from termination to termination, and the defrost's length [s]."""
    run, first, start, last = cycle(interval_s)
    span = last - first
    heat = grown(run, "q_indoor", first, last) + run.setup.plant.blower_w * span
    return (
        heat / span,
        (grown(run, "e_comp", first, last) + grown(run, "e_fans", first, last)) / span,
        last - start,
    )


def curve(c: tuple[float, ...], dry_f: Any) -> Any:
    """A published biquadratic at 70 degF indoors."""
    indoor = 70.0
    return c[0] + c[1] * indoor + c[2] * indoor**2 + c[3] * dry_f + c[4] * dry_f**2 + c[5] * indoor * dry_f


def rating() -> Any:
    """Capacity and COP over outdoor temperature."""
    plant, controls = room()
    points = {dry: steady(plant, controls, weather(dry)) for dry in (5, 17, 26, 35, 47, 55, 62)}
    q47, p47 = points[47]
    figure, (left, right) = plt.subplots(1, 2, figsize=(7.2, 2.8))
    x = np.linspace(5, 62, 40)
    told = curve(CAPACITY, x) / curve(CAPACITY, 47.0)
    left.plot(x, q47 / 1000 * told, color=GREY, ls="--", label="published shape")
    left.plot(list(points), [q / 1000 for q, _ in points.values()], "o", color=BLUE, label="bench, no frost")
    q35, p35, _ = integrated(5400.0)
    left.plot(35, q35 / 1000, "s", color=RED, label="bench, frost test")
    left.set(xlabel="outdoor air [degF]", ylabel="capacity [kW]")
    left.legend(frameon=False)
    eir = curve(INPUT_RATIO, x) / curve(INPUT_RATIO, 47.0)
    right.plot(x, q47 / p47 / eir, color=GREY, ls="--")
    right.plot(list(points), [q / p for q, p in points.values()], "o", color=BLUE)
    right.plot(35, q35 / p35, "s", color=RED)
    right.set(xlabel="outdoor air [degF]", ylabel="COP")
    return figure


def frosting() -> Any:
    """Two cycles of frost and defrost at 35/33 degF."""
    run, _, _, last = cycle(5400.0)
    step = slice(0, int(last) + 600, 30)
    minutes = run.times_s[step] / 60
    figure, axes = plt.subplots(4, 1, figsize=(7.2, 6.0), sharex=True)
    axes[0].plot(minutes, run.state("frost")[step], color=BLUE)
    axes[0].set_ylabel("frost [kg]")
    axes[1].plot(minutes, run.derived("airflow_out")[step], color=GREEN)
    axes[1].set_ylabel("outdoor air\n[m3/s]")
    axes[2].plot(minutes, run.derived("heat")[step] / 1000, color=RED)
    axes[2].set_ylabel("heat to the\nhouse [kW]")
    axes[3].plot(minutes, run.state("t_coil")[step], color=GOLD, label="coil metal")
    axes[3].plot(minutes, run.derived("t_frost")[step], color=BLUE, label="frost surface")
    axes[3].plot(minutes, run.state("t_out")[step], color=GREY, label="saturation")
    axes[3].set(xlabel="time [min]", ylabel="[degC]", ylim=(-30, 30))
    axes[3].legend(frameon=False, ncols=3)
    return figure


def defrost() -> Any:
    """One defrost, second by second, frosted and dry."""
    figure, axes = plt.subplots(2, 2, figsize=(7.2, 4.4), sharex=True, sharey="row")
    frosted, _, start, last = cycle(5400.0)
    plant, controls = room()
    dry = simulate(
        Setup(plant=plant, controls=controls, weather=weather(35.0), clock_s=5300.0, duration_s=600)
    )
    begin = next(t for t, value in dry.switches("mode") if value == 3.0)
    end = next(t for t, value in dry.switches("ended_by") if value > 0.0)
    for column, (run, a, b, title) in enumerate(
        ((frosted, start, last, "frosted"), (dry, begin, end, "dry coil"))
    ):
        span = slice(int(a) - 20, int(b) + 60, 2)
        t = run.times_s[span] - a
        top, low = axes[:, column]
        top.set_title(title)
        top.plot(t, run.state("t_clamp")[span], color=BLUE, label="probe low on the coil")
        top.plot(t, run.state("t_coil")[span], color=GOLD, label="coil metal, mean")
        top.plot(t, run.state("t_sensor")[span], color=RED, ls=":", label="coil sensor")
        top.axhline(0, color=GREY, lw=0.8)
        low.plot(t, run.derived("p_discharge")[span] / 1e5, color=RED, label="high side [bar]")
        low.plot(t, run.derived("p_suction")[span] / 1e5, color=BLUE, label="suction [bar]")
        low.plot(t, 10 * run.state("frost")[span], color=GREEN, label="frost [0.1 kg]")
        low.set_xlabel("time in defrost [s]")
        low.set_ylim(0, 36)
    axes[0, 0].set_ylabel("[degC]")
    axes[0, 1].legend(frameon=False)
    axes[1, 1].legend(frameon=False)
    return figure


def mild() -> Any:
    """A mild day with the fan's lead off: why the sensor closes at 68 degF."""
    plant, controls = room()
    figure, (left, right) = plt.subplots(1, 2, figsize=(7.2, 2.8), sharey=True)
    for axis, acts, title in (
        (left, (), "fan running"),
        (right, (Act(time_s=0.0, act="fan-lead-off"),), "fan lead off"),
    ):
        run = simulate(
            Setup(
                plant=plant,
                controls=replace(controls, dead=1.0),
                weather=constant(20.0, 0.6),
                acts=acts,
                duration_s=400,
                start="rest",
            )
        )
        span = slice(0, 400, 4)
        axis.plot(run.times_s[span], run.state("t_acc")[span], color=GREY, label="suction saturation")
        axis.plot(run.times_s[span], run.state("t_coil")[span], color=GOLD, label="coil metal")
        axis.plot(run.times_s[span], run.state("t_sensor")[span], color=RED, label="coil sensor")
        axis.axhline(controls.closes_c, color=BLUE, ls="--", label="sensor closes")
        axis.set(xlabel="time after the call [s]", title=title)
    left.set_ylabel("[degC]")
    right.legend(frameon=False, fontsize=8)
    return figure


def frost_laws() -> Any:
    """Density and conductivity of frost, and what its thickness does to the air."""
    figure, axes = plt.subplots(1, 3, figsize=(7.2, 2.6))
    surface = np.linspace(-15, 0, 60)
    axes[0].plot(surface, [new_frost_density(t) for t in surface.tolist()], color=BLUE)
    axes[0].set(xlabel="frost surface [degC]", ylabel="new frost [kg/m3]")
    rho = np.linspace(50, 500, 40)
    axes[1].plot(rho, [frost_conductivity(r) for r in rho.tolist()], color=BLUE, label="Yonko, Sepsy")
    axes[1].plot(rho, 1.202e-3 * rho**0.963, color=GREY, ls="--", label="Sanders")
    axes[1].plot(rho, 0.132 + 3.13e-4 * rho + 1.6e-7 * rho**2, color=GREY, ls=":", label="Lee")
    axes[1].set(xlabel="density [kg/m3]", ylabel="conductivity [W/m K]")
    axes[1].legend(frameon=False, fontsize=7)
    share = Plant().coil_share
    blocked = np.linspace(0, 0.85, 50)
    axes[2].plot(blocked, 1 / np.sqrt(1 - share + share * (1 - blocked) ** -3), color=BLUE)
    axes[2].set(xlabel="gap filled with frost", ylabel="part of the airflow", ylim=(0, 1))
    return figure


def charge() -> Any:
    """What the charge does to capacity, power and COP at 47/43 degF."""
    parts = np.array([-0.4, -0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3])
    sky = weather(47.0, 43.0)

    def over_right(plant: Plant, controls: Controls) -> Any:
        """Capacity and power over those at the right charge (parts, 2)."""
        wrong = [replace(plant, charge_kg=plant.charge_kg * (1 + f)) for f in parts.tolist()]
        got = np.array([steady(each, controls, sky) for each in wrong])
        return got / got[4]

    got, orifice = over_right(*room()), over_right(*room("fixed orifice"))
    told = []
    for f in parts.tolist():
        (a1, a3, a4), (p1, p3, p4) = UNDER if f <= 0 else OVER
        t = celsius(47.0)
        told.append((1 + (a1 + a3 * t + a4 * f) * f, 1 + (p1 + p3 * t + p4 * f) * f))
    book = np.array(told)
    figure, axes = plt.subplots(1, 3, figsize=(7.2, 2.6), sharey=True)
    for axis, at, title in ((axes[0], 0, "capacity"), (axes[1], 1, "power"), (axes[2], 2, "COP")):
        for values, style in (
            (got, {"marker": "o", "color": BLUE, "label": "bench, expansion valve"}),
            (orifice, {"marker": ".", "color": RED, "label": "bench, fixed orifice"}),
            (book, {"ls": "--", "color": GREY, "label": "published"}),
        ):
            line = values[:, at] if at < 2 else values[:, 0] / values[:, 1]
            axis.plot(100 * parts, line, **style)
        axis.set(xlabel="charge off by [%]", title=title)
    axes[0].set_ylabel("over the right charge")
    axes[1].legend(frameon=False, loc="lower center", fontsize=7)
    return figure


def intervals() -> Any:
    """What the board's interval costs at 35/33 degF."""
    minutes = np.array([20, 30, 45, 60, 75, 90, 105, 120, 150])
    cycles = [integrated(60.0 * m) for m in minutes.tolist()]
    figure, (left, right) = plt.subplots(1, 2, figsize=(7.2, 2.6))
    left.plot(minutes, [q / p for q, p, _ in cycles], "o-", color=BLUE)
    left.set(xlabel="interval [min]", ylabel="COP over a cycle")
    right.plot(minutes, [s for _, _, s in cycles], "o-", color=RED)
    right.set(xlabel="interval [min]", ylabel="defrost [s]", ylim=(0, None))
    return figure


def parts() -> Any:
    """The compressor's efficiencies and the expansion valve's opening."""
    plant = Plant()
    figure, (left, right) = plt.subplots(1, 2, figsize=(7.2, 2.6))
    ratio = np.linspace(1.0, 8.0, 60)
    q = ratio / plant.isen_ratio
    left.plot(ratio, plant.vol_eff - plant.vol_slope * (ratio - 1), color=BLUE, label="volumetric")
    left.plot(
        ratio, plant.isen_eff / (1 + plant.isen_slope * (q - 1) ** 2 / q), color=RED, label="isentropic"
    )
    left.set(xlabel="pressure ratio", ylabel="efficiency", ylim=(0, 1))
    left.legend(frameon=False)
    heat = np.linspace(0, 15, 60)
    right.plot(
        heat,
        [opening(-1.0, plant.bleed, k, 0.0, plant.bulb_static_k, plant.bulb_span_k) for k in heat.tolist()],
        color=GREEN,
    )
    right.set(xlabel="superheat at the bulb [K]", ylabel="valve open", ylim=(0, 1))
    return figure


FIGURES: Final[dict[str, Callable[[], Any]]] = {
    "bench-rating": rating,
    "bench-frosting": frosting,
    "bench-defrost": defrost,
    "bench-mild-day": mild,
    "bench-frost-laws": frost_laws,
    "bench-charge": charge,
    "bench-intervals": intervals,
    "bench-parts": parts,
}


def table() -> str:
    """Rating points and the frost test, as Markdown."""
    plant, controls = room()
    lines = ["| outdoors, dry/wet bulb | capacity | power | COP |", "|---|---|---|---|"]
    points = {}
    for dry, wet in WET.items():
        points[dry] = q, p = steady(plant, controls, weather(dry, None if dry == 35 else wet))
        name = f"{dry} °F, dry (no frost)" if dry == 35 else f"{dry}/{wet:g} °F"
        lines.append(f"| {name} | {q / 1000:.2f} kW | {p / 1000:.2f} kW | {q / p:.2f} |")
    q, p, seconds = integrated(5400.0)
    lines.append(f"| 35/33 °F, frost test, 90 min | {q / 1000:.2f} kW | {p / 1000:.2f} kW | {q / p:.2f} |")
    line = [points[17][i] + 0.6 * (points[47][i] - points[17][i]) for i in (0, 1)]
    told = (
        f"Of the line between 17 and 47 °F the frost test gives {q / line[0]:.3f} of the capacity and "
        f"{p / line[1]:.3f} of the power (the book: 0.90 and 0.985). Its defrost takes {seconds:.0f} s. "
        f"The unit: 2.5 tons, {plant.refrigerant}, expansion valves."
    )
    lines += ["", told]
    return "\n".join(lines)


def main() -> None:
    """Write all figures, and the table into the page."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, draw in FIGURES.items():
        figure = draw()
        figure.tight_layout()
        figure.savefig(FOLDER / f"{name}.svg", metadata={"Date": None, "Creator": None})
        plt.close(figure)
        print(f"{name}.svg  {(FOLDER / f'{name}.svg').stat().st_size / 1000:.0f} kB")
    page = PAGE.read_text(encoding="utf-8")
    block = f"<!-- numbers: made by scripts/make_bench_figures.py -->\n\n{table()}\n\n<!-- end of numbers -->"
    page = re.sub(r"(?s)<!-- numbers.*?<!-- end of numbers -->", lambda _: block, page)
    PAGE.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
