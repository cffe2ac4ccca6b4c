"""The bench run hour by hour through a stretch of weather, and the winter model on the same."""

from dataclasses import replace

import numpy as np

from firstfrost.air.moist import humidity_ratio
from firstfrost.bench.presets import unit
from firstfrost.bench.simulate import Machine, Setup
from firstfrost.bench.weather import Weather
from firstfrost.season.table import drive
from firstfrost.season.winter import Case, winters
from firstfrost.weather.hours import Air

SETTINGS = {
    "30 min": Case(interval_s=1800.0),
    "60 min": Case(interval_s=3600.0),
    "90 min": Case(interval_s=5400.0),
    "120 min": Case(interval_s=7200.0),
    "demand": Case(demand=True, interval_s=6 * 3600.0),
}


WHATS = ("heat", "power", "backup", "defrosts", "run")
SUMS = ("heat", "power", "backup", "defrosts")
HEATING_MONTHS = (10, 11, 12, 1, 2, 3, 4)


def controls_of(case, base):
    return replace(
        base,
        interval_s=case.interval_s,
        demand=float(case.demand),
        longest_s=case.longest_s,
        closes_c=case.closes_c,
        opens_c=case.opens_c,
        thermostat=1.0,
        set_c=case.set_c,
        second_k=case.second_k,
        backup_defrost_w=case.backup_defrost_w,
        backup_stage_w=case.backup_w,
    )


def by_bench(air, case):
    """Heat, electricity, backup heat [J], defrosts, run time [s] of the bench with house and thermostat."""
    days = list(bench_days(air, case))
    return {what: sum(day[what] for day in days) for what in WHATS}


def bench_days(air, case):
    """Yield the same of each day, with its month."""
    plant, base = unit()
    pressure = float(np.mean(air.pressure_pa))
    ratios = np.array(
        [
            float(humidity_ratio(t, h, pressure))
            for t, h in zip(air.temps_c.tolist(), air.humidity.tolist(), strict=True)
        ]
    )
    plant = replace(plant, house_ua_wk=case.conductance_wk, house_gain_w=case.gain_w, atmosphere_pa=pressure)
    controls = controls_of(case, base)
    machine = None
    for first in range(0, len(air.temps_c) - 1, 24):
        last = min(first + 24, len(air.temps_c) - 1)
        sky = Weather(
            temps_c=air.temps_c[first : last + 1], humidity_ratios=ratios[first : last + 1], step_s=3600.0
        )
        setup = Setup(plant=plant, controls=controls, weather=sky, house_c=case.set_c, duration_s=1)
        if machine is None:
            machine = Machine(setup, compiled=True)
            machine.run(1500, (), controls=replace(controls, thermostat=0.0, dead=1.0))
            machine.ready()
        machine.setup = setup
        before = machine.state.copy()
        count = machine.board[DEFROSTS]
        run = machine.run((last - first) * 3600, ())
        # With the call the blower runs; its heat is heat to the house.
        blower = (run.state("blower")[1:] ** 2 * plant.blower_w).sum()
        gone = {
            name: run.state(name)[-1] - before[NAMES.index(name)]
            for name in ("q_indoor", "e_comp", "e_fans", "e_backup")
        }
        running = (run.board("comp")[1:] > 0.5) & (run.board("mode")[1:] == 1.0)
        yield {
            "month": int(air.months[first + 1]),
            "heat": float(gone["q_indoor"] + blower),
            "power": float(gone["e_comp"] + gone["e_fans"]),
            "backup": float(gone["e_backup"]),
            "defrosts": float(machine.board[DEFROSTS] - count),
            "run": float(running.sum()),
        }


def by_model(air, cases, **more):
    """The same of the winter model, one after the other."""
    found = winters(drive(air), list(cases), **more)
    return [
        {
            "heat": float(found.total("heat")[n]),
            "power": float(found.total("power")[n]),
            "backup": float(found.total("backup")[n] + found.total("backup_defrost")[n]),
            "defrosts": float(found.total("defrosts")[n]),
            "run": float(found.total("run")[n]),
        }
        for n in range(len(cases))
    ]


def by_model_months(air, cases):
    """Heat, electricity, backup heat, defrosts of the winter model in each heating month, of each case."""
    found = winters(drive(air), list(cases))
    at = np.array(HEATING_MONTHS) - 1
    backup = found.month("backup") + found.month("backup_defrost")
    months = {name: found.month(name)[:, at] for name in ("heat", "power", "defrosts")} | {
        "backup": backup[:, at]
    }
    return [{name: values[n].tolist() for name, values in months.items()} for n in range(len(cases))]


def beside(place, months, air):
    """Rows of the table: setting, and sums over the season of model and bench, for one place.

    months : {"place|setting": {what: seven sums}}, as kept; air : the heating season
    """
    model = by_model_months(air, list(SETTINGS.values()))
    return [
        (name, *({what: sum(one[what]) for what in SUMS} for one in (model[n], months[f"{place}|{name}"])))
        for n, name in enumerate(SETTINGS)
    ]


def table_lines(rows):
    """The table of docs/season.md from (place, setting, model, bench)."""
    lines = [
        "| climate | setting | heat of the unit | energy | defrosts | backup heat, of energy |",
        "|---|---|---|---|---|---|",
    ]
    for place, name, model, bench in rows:
        energy = [one["power"] + one["backup"] for one in (model, bench)]
        cells = (
            place,
            name,
            f"{model['heat'] / bench['heat'] - 1:+.1%}",
            f"{energy[0] / energy[1] - 1:+.1%}",
            f"{model['defrosts']:.0f} for {bench['defrosts']:.0f}",
            f"{model['backup'] / energy[0]:.1%} for {bench['backup'] / energy[1]:.1%}",
        )
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def heating_season(air):
    """October to April of a year's hours, autumn first; with the row before its first hour."""
    assert len(air.temps_c) == 8760
    first, last = 24 * 273 - 1, 24 * 120
    rows = np.r_[first:8760, 0:last]
    assert set(air.months[rows[1:]]) == set(HEATING_MONTHS)
    return taken(air, rows)


def stretch(air, first, count):
    """Part of a year's hours."""
    return taken(air, slice(first, first + count))


def taken(air, part):
    """Some of its rows."""
    return replace(
        air,
        months=air.months[part],
        hours=air.hours[part],
        temps_c=air.temps_c[part],
        humidity=air.humidity[part],
        pressure_pa=air.pressure_pa[part],
    )


from firstfrost.bench.board.layout import D_DEFROSTS as DEFROSTS  # noqa: E402
from firstfrost.bench.plant.layout import NAMES  # noqa: E402

__all__ = ["SETTINGS", "Air", "by_bench", "by_model", "stretch"]


def german_year(path):
    """Hours of a German test reference year (2010 form): month, hour, degC, hPa and g/kg by their columns."""
    import firstfrost.air.moist as moist

    rows = []
    body = False
    with open(path, encoding="latin-1") as file:
        for line in file:
            if body:
                rows.append(line.split())
            body = body or line.startswith("***")
    month, hour, temp, pressure, grams = (
        np.array([float(row[at]) for row in rows]) for at in (2, 4, 8, 9, 10)
    )
    humid = np.array(
        [
            min(float(moist.relative_humidity(t, x / 1000.0, p * 100.0)), 1.0)
            for t, x, p in zip(temp.tolist(), grams.tolist(), pressure.tolist(), strict=True)
        ]
    )
    return Air(
        source=str(path).rsplit("/", 1)[-1],
        place="",
        step_s=3600.0,
        months=month.astype(int),
        hours=hour.astype(int) - 1,
        temps_c=temp,
        humidity=humid,
        pressure_pa=pressure * 100.0,
        notes=(),
    )
