"""Make the table of the winter model from runs of the bench: `python scripts/fit_winter.py`.

Four families of short runs of the generic 2.5-ton unit in a test room at 21.1 degC:

- heating, at each outdoor temperature, humidity and frost thickness: capacity, power, growth of frost in
mass and
  thickness, coil sensor;
- defrosts, at each temperature, frost and opening rating of the sensor: length, heat and electricity with
what
  the next ten minutes lack of steady heating, frost that the held water leaves, time until the sensor closes;
- rests, at each temperature, frost and length: what melts and what drains away;
- starts in dry air: what heat a start lacks after a rest.

Takes some minutes on one core. Make it anew whenever the bench's physics changes; tests hold the winter model
against the bench.
"""

import argparse
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.bench.presets import unit  # noqa: E402
from firstfrost.bench.simulate import Act, Setup, simulate  # noqa: E402
from firstfrost.bench.weather import constant  # noqa: E402
from firstfrost.errors import FirstfrostError  # noqa: E402

OUT = ROOT / "src" / "firstfrost" / "season" / "winter.npz"
ROOM_C = 21.1
TEMPS = np.array([-26, -20, -15, -10, -7, -4, -2, 0, 1, 2, 3, 3.5, 4, 4.5, 5, 6, 8, 11, 15.0])
HUMIDITIES = np.array([0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
THICKS = np.array([0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.75, 0.9, 1.1, 1.3, 1.6, 2.0, 2.6, 3.4, 4.4]) * 1e-3
FROSTS = np.array([0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.5])
OPENS = np.array([7.2, 10.0, 15.6, 21.1, 26.7])
RESTS = np.array([0.0, 60, 150, 300, 450, 600, 900, 1800, 3600])
REST_FROSTS = np.array([0.3, 1.0, 2.5])
LEVELS = np.array([10.0, 6, 3, 1, 0, -1.1, -2, -3, -4, -6, -8])
CLEAN_HUMIDITY = 0.7
AFTER_S = 600
HELD_KG = 0.25
"""Water that a defrost leaves on the coil, and that freezes."""

PLANT, CONTROLS = unit()
PLANT = replace(PLANT, house_fixed=1.0)
CONTROLS = replace(CONTROLS, backup_defrost_w=0.0, dead=1.0, lp_opens_pa=2e4, lp_closes_pa=3e4)
BLOWER_W = PLANT.blower_w


def run(temp, humid, seconds, *, controls=CONTROLS, plant=PLANT, **more):
    """Run the unit in weather that stays."""
    return simulate(
        Setup(
            plant=plant,
            controls=controls,
            weather=constant(float(temp), float(humid)),
            house_c=ROOM_C,
            duration_s=int(seconds),
            **more,
        ),
        compiled=True,
    )


def heat(run):
    """Heat to the air with the blower's, each second [W]."""
    return run.derived("heat") + BLOWER_W * run.state("blower") ** 2


def heating():
    """capacity, power, growth kg/s, growth m/s, sensor degC, frost kg: each (temps, humidities, thicks)."""
    made = np.full((6, len(TEMPS), len(HUMIDITIES), len(THICKS)), np.nan)
    for i, temp in enumerate(TEMPS):
        for j, humid in enumerate(HUMIDITIES):
            points = []
            frost, thick, density = 0.0, 0.0, 150.0
            for node in THICKS:
                if node > 0.0:
                    # Frost in service grows on the ice that the last defrost left.
                    frost = max(frost, HELD_KG) + density * PLANT.area_m2 * (node - thick)
                    thick = node
                try:
                    r = run(
                        temp, humid, 480, frost_kg=frost,
                        frost_density=frost / (thick * PLANT.area_m2) if frost else 150.0,
                    )  # fmt: skip
                except FirstfrostError as error:
                    print("  stopped at", temp, humid, node, str(error)[:60])
                    break
                late = slice(360, 481)
                m, t = r.state("frost"), r.state("thick")
                gain, rise = (m[480] - m[360]) / 120.0, (t[480] - t[360]) / 120.0
                points.append(
                    (
                        t[late].mean(), heat(r)[late].mean(), r.derived("power")[late].mean(), gain, rise,
                        r.state("t_sensor")[late].mean(), m[late].mean(),
                    )
                )  # fmt: skip
                density = float(np.clip(gain / (rise * PLANT.area_m2), 30, 500)) if rise > 1e-9 else 150.0
            rows = np.array(points)
            order = np.argsort(rows[:, 0], kind="stable")
            at, first = np.unique(rows[order, 0], return_index=True)
            for k in range(6):
                made[k, i, j] = np.interp(THICKS, at, rows[order, k + 1][first])
                if at[0] > 0 and len(at) > 1 and k < 5:
                    slope = (rows[order[1], k + 1] - rows[order[0], k + 1]) / max(at[1] - at[0], 1e-9)
                    below = at[0] > THICKS
                    made[k, i, j, below] = rows[order[0], k + 1] + slope * (THICKS[below] - at[0])
        print(
            "heating",
            temp,
            np.round(made[0, i, 5, [0, 5, 9]]),
            np.round(1e3 * made[2, i, 5, [0, 5, 9]], 3),
            flush=True,
        )
    return made


def _grown(temp, humid):
    """Frost (n,) each second of four hours, on the ice that a defrost left; None where it is warm."""
    if temp >= 4.5:
        return None
    r = run(temp, humid, 4 * 3600, frost_kg=HELD_KG, frost_density=917.0)
    return np.maximum.accumulate(r.state("frost"))


def _defrost_run(temp, humid, frost, opens, grown):
    """A run with a defrost in it that begins at `frost`, grown as it grows in service where it does."""
    controls = replace(
        CONTROLS, dead=0.0, opens_c=float(opens), interval_s=1e5, count_always=1.0, longest_s=2400.0
    )
    if grown is None or frost < HELD_KG or frost > grown[-1]:
        wait, start = 300.0, {"frost_kg": float(frost), "frost_density": 200.0}
    else:
        wait = max(float(np.searchsorted(grown, frost)), 60.0)
        start = {"frost_kg": HELD_KG, "frost_density": 917.0}
    acts = (
        Act(time_s=wait - 20.0, act="set", name="sensor_stuck", value=1.0),
        Act(time_s=wait + 4.0, act="set", name="sensor_stuck", value=-1.0),
    )
    return run(temp, humid, wait + 3300, controls=controls, clock_s=1e5 - wait, acts=acts, **start)


def defrosts(steady):
    """Defrosts: (8, temps, frosts, opens), and the sensor's fall (temps, levels)."""
    made = np.full((8, len(TEMPS), len(FROSTS), len(OPENS)), np.nan)
    falls = np.full((len(TEMPS), len(LEVELS)), np.nan)
    humid = 0.9
    at = int(np.searchsorted(HUMIDITIES, humid))
    for i, temp in enumerate(TEMPS):
        grown = _grown(temp, humid)
        for j, frost in enumerate(FROSTS):
            for k, opens in enumerate(OPENS):
                r = _defrost_run(temp, humid, frost, opens, grown)
                start = next(t for t, v in r.switches("mode") if v == 3.0)
                end = next((t for t, v in r.switches("ended_by") if v > 0.0 and t > start), np.nan)
                if not np.isfinite(end):
                    print("  no end", temp, frost, opens)
                    continue
                a, b = round(start), round(end)
                c = b + AFTER_S
                q, p = heat(r), r.derived("power")
                m = r.state("frost")
                clean = [np.interp(r.state("thick"), THICKS, steady[n, i, at]) for n in (0, 1)]
                left = m[c] - AFTER_S * steady[2, i, at, 0]
                inside = np.sort(q[a:b])
                made[:, i, j, k] = (
                    end - start,
                    q[a:b].sum() + (q[b:c] - clean[0][b:c]).sum(),
                    p[a:b].sum() + (p[b:c] - clean[1][b:c]).sum(),
                    max(left, 0.0) if frost else max(min(left, 0.02), 0.0),
                    inside[: max(len(inside) // 10, 1)].mean(),
                    np.median(inside),
                    m[a],
                    r.state("t_supply")[a : b + 60].min(),
                )
                if opens == 15.6 and frost == 1.0:
                    sensor = r.state("t_sensor")[b:c]
                    for n, level in enumerate(LEVELS):
                        below = np.flatnonzero(sensor <= level)
                        falls[i, n] = below[0] if len(below) else 1e4
        print(
            "defrost",
            temp,
            np.round(made[0, i, :, 2]),
            "left",
            np.round(made[3, i, :, 2], 2),
            falls[i, 5],
            flush=True,
        )
    return _on_nodes(made), falls


def _on_nodes(made):
    """The same over the frost that a defrost began with, beyond the most of it on the last slope."""
    out = made.copy()
    for i in range(len(TEMPS)):
        for k in range(len(OPENS)):
            began = made[6, i, :, k]
            order = np.argsort(began)
            at = began[order]
            for n in range(len(made)):
                rows = made[n, i, order, k]
                out[n, i, :, k] = np.interp(FROSTS, at, rows)
                step = at[-1] - at[-2]
                if n in (0, 1, 2) and step > 0.2:
                    beyond = at[-1] < FROSTS
                    slope = (rows[-1] - rows[-2]) / step
                    out[n, i, beyond, k] = rows[-1] + slope * (FROSTS[beyond] - at[-1])
    return out


def rests():
    """Melted and drained at rest [kg]: (2, temps, frosts, lengths)."""
    made = np.zeros((2, len(TEMPS), len(REST_FROSTS), len(RESTS)))
    for i, temp in enumerate(TEMPS):
        for j, frost in enumerate(REST_FROSTS):
            r = run(
                temp, 0.8, 3606, frost_kg=float(frost), frost_density=200.0,
                acts=(Act(time_s=2.0, act="call-off"),),
            )  # fmt: skip
            at = (RESTS + 3).astype(int)
            m, water = r.state("frost"), r.state("water")
            most = np.minimum.accumulate(m)
            made[0, i, j] = np.maximum(m[3] - most[at], 0.0)
            made[1, i, j] = np.maximum(m[3] - (m + np.minimum(water, 0.25))[at], 0.0)
    print("rests at 3 degC", np.round(made[:, 10, 1], 2))
    return made


def starts():
    """Heat that a start lacks [J] and its time constant [s]: fitted over dry air and several loads."""
    rows = []
    for temp in (8.0, 2.0, -6.0):
        still = run(temp, 0.3, 300)
        q0 = heat(still)[-1]
        for ua in (60.0, 90.0, 130.0, 180.0):
            plant = replace(PLANT, house_fixed=0.0, house_ua_wk=ua)
            r = run(temp, 0.3, 8 * 3600, plant=plant, controls=replace(CONTROLS, thermostat=1.0))
            late = slice(7200, None)
            on = r.board("comp")[late] > 0.5
            made = r.state("q_indoor")[-1] - r.state("q_indoor")[7200]
            made += (r.state("blower")[late] ** 2 * BLOWER_W).sum()
            began = sum(1 for t, v in r.switches("comp") if v == 1.0 and t > 7200)
            if began > 2:
                rows.append(((~on).sum() / began, (q0 * on.sum() - made) / began, began / 6.0, on.mean(), q0))
    rest, lack, often, part, q0 = np.array(rows).T
    best = None
    for lag in np.arange(300.0, 6000.0, 50.0):
        shape = 1.0 - np.exp(-rest / lag)
        size = (shape * lack).sum() / (shape * shape).sum()
        error = ((size * shape - lack) ** 2).sum()
        if best is None or error < best[0]:
            best = (error, size, lag)
    cycles = np.median(often / (4 * part * (1 - part)) / q0)
    print("starts: lack", best[1], "J, lag", best[2], "s; cycles per hour and W", cycles)
    return np.array([best[1], best[2], cycles])


def fan_on():
    """Length of a defrost with the outdoor fan left on over one with it stopped, (temps,); at most ten."""
    made = np.full(len(TEMPS), 10.0)
    for i, temp in enumerate(TEMPS):
        lengths = []
        for relay in (0.0, 1.0):
            controls = replace(
                CONTROLS, dead=0.0, interval_s=5400.0, count_always=1.0, longest_s=3000.0, fan_relay=relay
            )
            r = run(
                temp, 0.9, 3600, controls=controls, frost_kg=1.0, clock_s=5400.0 - 60.0,
                acts=(
                    Act(time_s=40.0, act="set", name="sensor_stuck", value=1.0),
                    Act(time_s=64.0, act="set", name="sensor_stuck", value=-1.0),
                ),
            )  # fmt: skip
            start = next(t for t, v in r.switches("mode") if v == 3.0)
            lengths.append(
                next((t for t, v in r.switches("ended_by") if v > 0.0 and t > start), np.inf) - start
            )
        made[i] = min(lengths[1] / lengths[0], 10.0)
    print("fan left on", np.round(made, 2))
    return made


def thin_air():
    """What thinner air does, per part of pressure lost: capacity, power, exponent of growth, sensor [K]."""
    rows = []
    for temp in (-8.0, -4.0, 0.0, 3.0):
        made = []
        for pressure in (101325.0, 80000.0):
            r = simulate(
                Setup(
                    plant=replace(PLANT, atmosphere_pa=pressure),
                    controls=CONTROLS,
                    weather=constant(temp, 0.8, pressure),
                    house_c=ROOM_C,
                    duration_s=480,
                ),
                compiled=True,
            )
            m = r.state("frost")
            sensor = r.state("t_sensor")[360:].mean()
            made.append((heat(r)[360:].mean(), r.derived("power")[360:].mean(), m[480] - m[360], sensor))
        sea, high = np.array(made)
        gone = 1.0 - 80000.0 / 101325.0
        grown = np.log(high[2] / sea[2]) / np.log(101325.0 / 80000.0)
        rows.append((*((1.0 - high[:2] / sea[:2]) / gone), grown, (high[3] - sea[3]) / gone))
    found = np.mean(rows, axis=0)
    print("thin air", np.round(found, 3))
    return found


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Make the winter model's table from the bench.")
    parser.add_argument("-o", "--out", default=str(OUT))
    out = parser.parse_args().out
    steady = heating()
    melted, falls = defrosts(steady)
    np.savez_compressed(
        out, temps_c=TEMPS, humidities=HUMIDITIES, thicks_m=THICKS, frosts_kg=FROSTS, opens_c=OPENS,
        rests_s=RESTS, rest_frosts_kg=REST_FROSTS, levels_c=LEVELS, heating=steady.astype(np.float32),
        defrosts=melted.astype(np.float32), falls_s=falls.astype(np.float32),
        rests=rests().astype(np.float32), starts=starts(), fan_on=fan_on(),
        thin_air=thin_air(),
    )  # fmt: skip
