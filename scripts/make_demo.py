"""Make the data of `firstfrost demo`: a mild-day visit at an invented site, by the generator of the tests.

Run from the repository's root: `python scripts/make_demo.py`. The same seed gives the same files.
"""

from __future__ import annotations

import csv
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from made import record  # noqa: E402
from made.board import BoardMaker, SensorMaker  # noqa: E402
from made.people import ended  # noqa: E402
from made.plant import Machine  # noqa: E402
from made.record import PSI, Recorder, atmosphere_pa  # noqa: E402
from made.saturation import dew_pressure_pa  # noqa: E402
from made.world import Script, Setting, World  # noqa: E402

FOLDER = ROOT / "src" / "firstfrost" / "demo"
SEED = 1014
START = datetime(2025, 10, 14, 9, 2, tzinfo=ZoneInfo("America/Denver"))
ALTITUDE_M = 1340.0 * 0.3048
CUTOUT_C = 66.0

UNIT = """\
# An invented heat pump at an invented address, for the demo. Every key: docs/unit-file.md
[unit]
  name = "Alder Row 3"
  refrigerant = "R-410A"
  nominal_capacity = "2.5 ton_refrigeration"
  metering = "expansion valve"

[coil_sensor]
  closes_at = "30 degF"
  opens_at = "60 degF"
  tolerance = "5 delta_degF"

[board]
  interval = "60 min"
  longest_defrost = "12 min"
  kind = "time-temperature"

[limits]
  saturation_ceiling = "130 degF"
  high_pressure_cutout = "610 psi"

[site]
  altitude = "1340 ft"
  zone = "America/Denver"

[ratings]
  capacity_47 = "27000 Btu/h"
  cop_47 = "2.7 W/W"
  capacity_17 = "16500 Btu/h"
  cop_17 = "2.0 W/W"

[targets]
  subcooling = "12 delta_degF"

[compressor]
  rated_load_current = "14.1 A"

[supply]
  voltage = "240 V"

[backup]
  stages = ["8 kW"]
  backup_lockout = "40 degF"

[airflow]
  measured = "1010 cfm"
  measured_accuracy = "5 % of reading"

[house]
  design_load = "30000 Btu/h"
  design_temp = "5 degF"

[instruments]
  suction_pressure = "1 %"
  liquid_pressure = "1 %"
  discharge_pressure = "1 %"
  vapor_line_temp = "0.9 delta_degF"
  liquid_line_temp = "0.9 delta_degF"
  suction_line_temp = "0.9 delta_degF"
  discharge_temp = "0.9 delta_degF"
  outdoor_coil_temp = "0.9 delta_degF"
  outdoor_air_temp = "0.9 delta_degF"
  return_air_temp = "0.9 delta_degF"
  supply_air_temp = "0.9 delta_degF"
  outdoor_humidity = "3 %RH"
  sensor_voltage = "1 % of reading + 0.5 V"
  valve_voltage = "1 % of reading + 0.5 V"
  fan_current = "3 % of reading + 0.1 A"
  compressor_current = "3 % of reading + 0.1 A"
  backup_current = "3 % of reading + 0.1 A"
  line_voltage = "1 % of reading + 0.5 V"
  power = "3 % of reading + 20 W"
"""

NOTES = {
    "call-on": "thermostat up, steady heat first",
    "fan-lead-off": "lead off by the switch fitted for it: chill the coil",
    "pins-bridged": "sensor reads closed",
    "pins-released": "defrost has begun",
    "fan-lead-on": "lead on by its switch, so that the fan can come back by itself",
}


def play(w: World) -> Script:
    """Heat, stop the outdoor air until the sensor closes, bridge the pins, give the fan back, wait."""
    yield w.at(75.0)
    w.act("call-on")
    yield w.after(840.0)
    w.act("fan-lead-off")
    yield w.either(w.closed, 900.0)
    yield w.after(24.0)
    w.act("pins-bridged")
    yield w.either(w.in_defrost, 120.0)
    yield w.after(4.0)
    w.act("pins-released")
    yield w.after(22.0)
    w.act("fan-lead-on")
    yield ended(w)
    yield w.after(1200.0)


def shown(name: str, values: np.ndarray) -> tuple[str, list[str]]:
    """A column as a logger in US units would write it: its header's unit, and texts."""
    if name.endswith("_pressure"):
        unit, out, digits = "psig", (values - atmosphere_pa(ALTITUDE_M)) / PSI, 1
    elif name.endswith("_temp"):
        unit, out, digits = "degF", values * 1.8 + 32.0, 1
    elif name.endswith("humidity"):
        unit, out, digits = "%RH", values * 100.0, 0
    elif name.endswith("_current"):
        unit, out, digits = "A", values, 2
    elif name.endswith("_voltage"):
        unit, out, digits = "V", values, 1
    elif name == "power":
        unit, out, digits = "W", values, 0
    else:
        unit, out, digits = "", values, 0
    header = f"{name} [{unit}]" if unit else name
    return header, ["" if np.isnan(v) else f"{v + 0.0:.{digits}f}" for v in out]


def main() -> None:
    """Write trace.csv, marks.csv and unit.toml."""
    rng = np.random.default_rng(SEED)
    machine = Machine(
        refrigerant="R-410A", tons=2.5, coil_heat_j_k_ton=14.0e3, still_share=0.07, approach_defrost_k=13.0
    )
    setting = Setting(
        machine=machine,
        sensor=SensorMaker(closes_c=-0.9, opens_c=14.2, lag_s=7.0),
        board=BoardMaker(interval_s=3600.0, real_interval_s=3600.0, speed=120.0, longest_s=720.0),
        outdoor_c=9.5,
        humidity=0.55,
        indoor_c=20.6,
        cutout_pa=float(dew_pressure_pa("R-410A", np.asarray(CUTOUT_C))),
        counted_s=900.0,
    )
    world = World(setting, rng)
    log = world.run(play(world))
    recorder = Recorder(
        sampling_s=1.0, altitude_m=ALTITUDE_M, dropout=0.001, probe_lag_s=3.0, noise=0.8, pressure_step=0.1
    )
    trace = record.read(log, recorder, rng)
    marks = record.mark(log, recorder, rng)

    def at(time_s: float) -> str:
        return (START + timedelta(seconds=time_s)).astimezone(UTC).astimezone(START.tzinfo).isoformat()

    FOLDER.mkdir(exist_ok=True)
    columns = [shown(name, values) for name, values in trace.columns.items()]
    with (FOLDER / "trace.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["time", *(header for header, _ in columns)])
        times = [at(float(np.floor(t))) for t in trace.time_s]
        writer.writerows(zip(times, *(texts for _, texts in columns), strict=True))
    with (FOLDER / "marks.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["time", "act", "note"])
        writer.writerows([at(mark.time_s), mark.act, NOTES[mark.act]] for mark in marks)
    (FOLDER / "unit.toml").write_text(UNIT, encoding="utf-8")
    print(f"{len(trace)} samples, {len(marks)} marks in {FOLDER.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
