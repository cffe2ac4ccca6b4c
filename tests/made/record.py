"""What instruments and a logger make of a run: sampling, lag, bias, noise, resolution, drop-outs, gaps."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from firstfrost.trace.marks import Mark, Marks
from firstfrost.trace.trace import Trace
from made.saturation import Floats, dew_pressure_pa
from made.world import Log

PRESSURES = ("suction_pressure", "liquid_pressure", "discharge_pressure")
LINES = ("vapor_line_temp", "liquid_line_temp", "suction_line_temp", "discharge_temp")
COILS = ("outdoor_coil_temp", "outdoor_air_temp")
AIRS = ("return_air_temp", "supply_air_temp")
CURRENTS = ("fan_current", "compressor_current", "backup_current")
CONTROLS = ("sensor_voltage", "valve_voltage", "heating_call")
ALL = (
    PRESSURES + LINES + COILS + ("outdoor_humidity",) + AIRS + CURRENTS + CONTROLS + ("power", "line_voltage")
)

LIQUID_DROP = 0.004
"""Share of the high-side pressure lost between the discharge and the liquid port."""

PSI = 6894.757293168


def atmosphere_pa(altitude_m: float) -> float:
    """Standard atmosphere at `altitude_m`; ICAO/ISO 2533 formula, value from memory."""
    return float(101325.0 * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


@dataclass(kw_only=True)
class Recorder:
    """How a visit was written down."""

    channels: tuple[str, ...] = ALL
    sampling_s: float = 1.0
    units: str = "US"
    pressure_accuracy: float = 0.01
    temp_accuracy_k: float = 0.5
    pressure_step: float = 0.1
    """Resolution in the display unit: psi or kPa x 10."""
    temp_step: float = 0.1
    noise: float = 1.0
    probe_lag_s: float = 3.0
    dropout: float = 0.0
    """Share of samples lost, channel by channel."""
    altitude_m: float = 0.0
    start_s: float = 0.0
    end_s: float = float("inf")
    gaps: tuple[tuple[float, float], ...] = ()
    lost: tuple[tuple[str, float, float], ...] = ()
    """Channels whose probe is off from one time to another."""
    typed_s: tuple[float, ...] = ()
    """The times of typed readings, instead of a logger's."""
    clock_jump: tuple[float, float] | None = None
    """From this time on the logger's clock is ahead by so much. [s], [s]"""
    wrong_units: bool = False
    """Pressures logged in kPa under a header that says psig."""


@dataclass(frozen=True, kw_only=True)
class Truth:
    """Clean channel values of a run at the steps of the log."""

    time_s: Floats
    columns: dict[str, Floats] = field(default_factory=dict)


def _lagged(values: Floats, lag_s: float, step_s: float) -> Floats:
    if lag_s < step_s:
        return values
    from scipy.signal import lfilter

    a = 1.0 - np.exp(-step_s / lag_s)
    return np.asarray(lfilter([a], [1.0, a - 1.0], values, zi=[(1.0 - a) * values[0]])[0], dtype=np.float64)


def clean(log: Log, recorder: Recorder, open_volts: float) -> dict[str, Floats]:
    """Each channel as a perfect logger would see it, at every step of the run."""
    m = log.setting.machine
    step = float(log["time_s"][1] - log["time_s"][0])
    high = dew_pressure_pa(m.refrigerant, log["high"])
    command = log["command"] > 0.5
    call = log["call"] > 0.5
    energised = command & call if log.setting.board.valve_type == "O" else call & ~command
    inrush = 1.0 + 1.5 * np.maximum(0.0, np.diff(log["compressor"], prepend=log["compressor"][0]))
    return {
        "suction_pressure": dew_pressure_pa(m.refrigerant, log["low"]),
        "discharge_pressure": high,
        "liquid_pressure": high * (1.0 - LIQUID_DROP * log["compressor"]),
        "vapor_line_temp": _lagged(log["vapor"], recorder.probe_lag_s, step),
        "liquid_line_temp": _lagged(log["liquid"], recorder.probe_lag_s, step),
        "suction_line_temp": _lagged(log["suction"], recorder.probe_lag_s, step),
        "discharge_temp": _lagged(log["discharge"], recorder.probe_lag_s, step),
        "outdoor_coil_temp": _lagged(log["coil"], recorder.probe_lag_s, step),
        "outdoor_air_temp": log["outdoor"],
        "outdoor_humidity": np.full(len(high), log.setting.humidity),
        "return_air_temp": log["indoor"],
        "supply_air_temp": _lagged(log["supply"], recorder.probe_lag_s, step),
        "sensor_voltage": np.where(log["circuit"] > 0.5, 0.08, open_volts),
        "fan_current": log["air"] * m.fan_w / (m.volts * 0.85),
        "compressor_current": log["compressor_w"] / (m.volts * 0.93) * inrush,
        "backup_current": log["backup"] * m.backup_w / m.volts,
        "valve_voltage": np.where(energised, open_volts, 0.05),
        "heating_call": (call & (not log.setting.cooling)).astype(np.float64),
        "power": log["power"],
        "line_voltage": m.volts - 0.0002 * log["power"],
    }


def _stepped(values: Floats, step: float) -> Floats:
    return np.round(values / step) * step if step > 0.0 else values


def read(log: Log, recorder: Recorder, rng: np.random.Generator) -> Trace:
    """The trace that the logger gives."""
    r = recorder
    step = float(log["time_s"][1] - log["time_s"][0])
    last = float(log["time_s"][-1])
    if r.typed_s:
        times = np.asarray(r.typed_s)
    else:
        times = np.arange(max(r.start_s, step), min(r.end_s, last) + 1e-9, r.sampling_s)
        if r.sampling_s >= 2.0:
            times = times + rng.uniform(-0.02, 0.02, len(times)) * r.sampling_s
    times = times[(times >= step) & (times <= last)]
    keep = np.ones(len(times), dtype=bool)
    for a, b in r.gaps:
        keep &= ~((times >= a) & (times < b))
    times = times[keep]
    at = np.clip(np.round(times / step).astype(int) - 1, 0, len(log["time_s"]) - 1)
    ideal = clean(log, r, float(rng.uniform(24.3, 27.5)))
    atmosphere = atmosphere_pa(r.altitude_m)
    columns: dict[str, Floats] = {}
    n = len(times)
    for name in ALL:
        bias, dice = rng.uniform(-1.0, 1.0), rng.standard_normal(n)
        lost = rng.uniform(size=n) < r.dropout
        if name not in r.channels:
            continue
        values = ideal[name][at]
        if name in PRESSURES:
            gauge = (values - atmosphere) * (1.0 + 0.3 * bias * r.pressure_accuracy)
            gauge = gauge + dice * r.noise * (0.0006 * gauge + 300.0)
            unit = PSI if r.units == "US" else 1.0e3
            shown = _stepped(gauge / unit, r.pressure_step * (1.0 if r.units == "US" else 10.0))
            if r.wrong_units:
                shown = _stepped(gauge / 1.0e3, 1.0)
                unit = PSI
            values = shown * unit + atmosphere
            if (
                not r.wrong_units
            ):  # what a reader would drop; under a wrong header that is the reader's business
                values = np.where((values < 1.0e3) | (values > 8.0e6), np.nan, values)
        elif name.endswith("_temp"):
            values = values + 0.5 * bias * r.temp_accuracy_k + dice * r.noise * 0.08
            if r.units == "US":
                values = (_stepped(values * 1.8 + 32.0, r.temp_step) - 32.0) / 1.8
            else:
                values = _stepped(values, r.temp_step)
        elif name == "outdoor_humidity":
            values = np.clip(values + 0.02 * bias + dice * 0.004, 0.0, 1.0)
        elif name == "power":
            values = _stepped(
                np.maximum(values * (1.0 + 0.01 * bias) + dice * r.noise * (3.0 + 0.004 * values), 0), 1.0
            )
        elif name.endswith("_current"):
            values = _stepped(np.maximum(values * (1.0 + 0.01 * bias + dice * r.noise * 0.004), 0.0), 0.01)
        elif name == "heating_call":
            pass
        else:
            values = _stepped(np.maximum(values + dice * r.noise * 0.04, 0.0), 0.01)
        for channel, a, b in r.lost:
            lost |= (times >= a) & (times < b) & (channel == name)
        columns[name] = np.where(lost, np.nan, values) if not r.typed_s else values
    if r.clock_jump is not None:
        jump_at, ahead = r.clock_jump
        times = np.where(times >= jump_at, times + ahead, times)
    return Trace(time_s=times, columns=columns)


def mark(log: Log, recorder: Recorder, rng: np.random.Generator) -> Marks:
    """The marks a person taps in: up to two seconds late, whole seconds."""
    marks: list[Mark] = []
    for event in log.acts:
        late = event.time_s + float(rng.uniform(0.0, 2.0))
        if recorder.clock_jump is not None and late >= recorder.clock_jump[0]:
            late += recorder.clock_jump[1]
        time_s = round(late)
        if marks and time_s <= marks[-1].time_s:
            time_s = int(marks[-1].time_s) + 1
        marks.append(Mark(time_s=float(time_s), act=event.what))
    return tuple(marks)
