"""Results made by hand to lay out pages with: an invented unit at an invented site.

The readings are drawn from ramps and steps, not from physics. Nothing here is a reference for anything but
layout.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from firstfrost.cycle.channels import Cycle, Floats
from firstfrost.equipment.unit import Board, CoilSensor, Default, Limits, Site, Unit
from firstfrost.instruments.accuracy import Accuracy, parse_accuracy
from firstfrost.phases.phase import Defrost, Phase
from firstfrost.proofs.finding import FUNCTIONS, Evidence, Finding, Limit, Measured
from firstfrost.refrigerants import refrigerant
from firstfrost.trace.marks import Mark
from firstfrost.trace.receipt import ColumnRead, Receipt
from firstfrost.trace.trace import Trace
from firstfrost.visit.result import Caution, MadeBy, Result
from report import sample_heating
from report.sample_findings import CUTOUT_PA, findings

ATMOSPHERE_PA = 98_050.0
EPOCH = datetime(2025, 10, 14, 15, 2, 0, tzinfo=UTC)


def accuracies() -> dict[str, Accuracy]:
    return {
        "suction_pressure": parse_accuracy("1 %", "pressure", atmosphere_pa=ATMOSPHERE_PA),
        "discharge_pressure": parse_accuracy("1 %", "pressure", atmosphere_pa=ATMOSPHERE_PA),
        "outdoor_coil_temp": parse_accuracy("0.9 delta_degF", "temperature"),
        "sensor_voltage": parse_accuracy("0.5 V", "voltage"),
    }


def unit(**changes: object) -> Unit:
    made = Unit(
        name="North court 3, heat pump",
        refrigerant="R-410A",
        coil_sensor=CoilSensor(closes_at_c=-1.111, opens_at_c=15.556, tolerance_k=2.778),
        board=Board(interval_s=3600.0, longest_defrost_s=720.0, kind="time-temperature", pins_s=15.0),
        limits=Limits(saturation_ceiling_c=54.444, high_pressure_cutout_pa=CUTOUT_PA),
        site=Site(altitude_m=274.3, atmosphere_pa=ATMOSPHERE_PA, zone="America/Denver"),
        instruments=accuracies(),
        shared={"suction_pressure": "manifold", "discharge_pressure": "manifold"},
        defaults=(
            Default(setting="board.longest_defrost", value="12 min", why="common on time-temperature boards"),
            Default(
                setting="limits.saturation_ceiling",
                value="130 degF",
                why="common practice, without a published source",
            ),
            Default(setting="instruments.outdoor_coil_temp", value="0.9 delta_degF", why="a strapped probe"),
            Default(setting="instruments.airflow", value="10 % of reading", why="never read here"),
        ),
        nominal_capacity_w=8792.0,
        metering="expansion valve",
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def _ramp(time_s: Floats, knots: list[tuple[float, float]], ripple: float = 0.0) -> Floats:
    at, value = np.array(knots, dtype=float).T
    return np.interp(time_s, at, value) + ripple * np.sin(time_s / 7.3) * np.cos(time_s / 31.0)


def readings(
    time_s: Floats, *, peak_c: float = 47.5, end_s: float = 1640.0, fluid: str = "R-410A"
) -> dict[str, Floats]:
    """Channels of one mild day: heating, coil chilled by stopping the fan, one defrost, heating."""
    late = end_s - 1640.0
    low = _ramp(
        time_s,
        [
            (0, 3),
            (600, 3),
            (660, -3),
            (1100, -9),
            (1330, -12),
            (1340, -7),
            (1386, -7),
            (1400, 6),
            (1420, -4),
            (end_s, 4),
            (end_s + 15, 12),
            (end_s + 60, -1),
            (1900 + late, 3),
            (9999, 3),
        ],
        0.25,
    )
    high = _ramp(
        time_s,
        [
            (0, 39),
            (600, 39),
            (1330, 35),
            (1386, 36),
            (1400, 8),
            (1425, 14),
            (1520, 20),
            (end_s - 1, peak_c),
            (end_s + 14, 22),
            (end_s + 60, 33),
            (1900 + late, 38),
            (9999, 38.6),
        ],
        0.3,
    )
    coil = _ramp(
        time_s,
        [
            (0, 5.5),
            (600, 5.5),
            (700, 1),
            (1050, -1),
            (1330, -5.5),
            (1360, -2.5),
            (1400, -1.5),
            (1425, 0.3),
            (1490, 1.5),
            (end_s - 30, 16),
            (end_s, 20),
            (end_s + 40, 10),
            (1900 + late, 5.5),
            (9999, 5.3),
        ],
        0.1,
    )
    closed = (time_s >= 1052) & (time_s < end_s - 2)
    fan_off = ((time_s >= 600) & (time_s < 1330)) | ((time_s >= 1388) & (time_s < end_s + 2))
    in_defrost = (time_s >= 1386) & (time_s < end_s)
    return {
        "suction_pressure": refrigerant(fluid).dew_pressures_pa(low),
        "discharge_pressure": refrigerant(fluid).dew_pressures_pa(high),
        "outdoor_coil_temp": coil,
        "outdoor_air_temp": _ramp(time_s, [(0, 11.2), (9999, 12.6)], 0.1),
        "supply_air_temp": _ramp(
            time_s,
            [(0, 36), (600, 36), (1380, 32), (1420, 24), (end_s, 21), (1900 + late, 35), (9999, 35.4)],
            0.1,
        ),
        "sensor_voltage": np.where(closed, 0.05, 26.4) + 0.03 * np.sin(time_s / 3),
        "fan_current": np.where(fan_off, 0.0, 1.32) + 0.01 * np.sin(time_s / 2),
        "backup_current": np.where(in_defrost & (time_s > 1389), 19.8, 0.0),
    }


def cycle_of(trace: Trace, fluid: str = "R-410A") -> Cycle:
    none = np.full(len(trace), np.nan)
    low, high = trace.get("suction_pressure"), trace.get("discharge_pressure")
    return Cycle(
        low_dew_c=refrigerant(fluid).dew_temps_c(low),
        high_dew_c=refrigerant(fluid).dew_temps_c(high),
        high_bubble_c=refrigerant(fluid).bubble_temps_c(high),
        superheat_k=none,
        subcooling_k=none,
        high_pressure_pa=high,
        high_channel="discharge_pressure" if trace.has("discharge_pressure") else None,
    )


def cautions() -> tuple[Caution, ...]:
    return (
        Caution(
            code="line-voltage",
            text="Line voltage stands in the cabinet. Only qualified people measure on live parts; the "
            "maker's instructions and local codes come first.",
        ),
        Caution(
            code="fan", text="The outdoor fan can start by itself at any moment. Keep hands and leads clear."
        ),
    )


def receipt() -> Receipt:
    def column(header: str, channel: str, unit: str, dropped: int = 0, why: str = "") -> ColumnRead:
        return ColumnRead(
            source="north-court-3.csv",
            header=header,
            channel=channel,
            unit=unit,
            readings=3000 - dropped,
            dropped=dropped,
            why=why,
        )

    return Receipt(
        files=("north-court-3.csv",),
        rows=3002,
        columns=(
            column("suction_pressure [psig]", "suction_pressure", "psig"),
            column("discharge_pressure [psig]", "discharge_pressure", "psig"),
            column("coil [degF]", "outdoor_coil_temp", "degF", 12, "no reading"),
            column("outdoor_air_temp [degF]", "outdoor_air_temp", "degF"),
            column("sensor_voltage [V]", "sensor_voltage", "V"),
            column("fan_current [A]", "fan_current", "A"),
            column("backup_current [A]", "backup_current", "A"),
            column("supply_air_temp [degF]", "supply_air_temp", "degF"),
        ),
        ignored=("battery [V]",),
        dropped=("2 rows of north-court-3.csv came twice (from line 418 on); the first of each was kept.",),
        notes=("Times were read as America/Denver and kept as UTC.",),
    )


MARKS = (
    Mark(time_s=600, act="fan-lead-off", note="own plug"),
    Mark(time_s=1330, act="fan-lead-on"),
    Mark(time_s=1380, act="pins-bridged"),
    Mark(time_s=1386, act="pins-released"),
)

MADE_BY = MadeBy(version="0.1.0", property_tables="tables 1, from CoolProp 8.0.0")


def _phases(end_s: float = 1640.0, last_s: float = 3000.0) -> tuple[Phase, ...]:
    by = ("discharge_pressure", "suction_pressure", "sensor_voltage")
    return (
        Phase(name="heating", start_s=0, end_s=600, sure=0.99, decided_by=by),
        Phase(name="chilldown", start_s=600, end_s=1330, sure=0.98, decided_by=(*by, "fan_current")),
        Phase(name="heating", start_s=1330, end_s=1386, sure=0.95, decided_by=by),
        Phase(name="defrost", start_s=1386, end_s=end_s, sure=0.99, decided_by=by),
        Phase(name="recovery", start_s=end_s, end_s=end_s + 260, sure=0.9, decided_by=by),
        Phase(name="heating", start_s=end_s + 260, end_s=last_s, sure=0.99, decided_by=by),
    )


def mild_day() -> Result:
    """A mild day: the fan lead off to chill the coil, the test pins bridged, one good defrost."""
    time_s = np.arange(3000.0)
    trace = Trace(time_s=time_s, columns=readings(time_s), epoch=EPOCH, zone="America/Denver")
    return Result(
        made_by=MADE_BY,
        unit=unit(),
        trace=trace,
        marks=MARKS,
        cycle=cycle_of(trace),
        receipt=receipt(),
        phases=_phases(),
        defrosts=(
            Defrost(
                start_s=1386,
                end_s=1640,
                whole=True,
                cut="",
                gap=False,
                start_half_width_s=1,
                end_half_width_s=1,
                sure=0.99,
                decided_by=("discharge_pressure", "suction_pressure"),
                ended_by="sensor",
                peak_saturation_c=47.5,
                peak_saturation_u_k=0.9,
                peak_pressure_pa=2.87e6,
                peak_time_s=1639.0,
                peak_channel="discharge_pressure",
            ),
        ),
        findings=findings(),
        cautions=cautions(),
        warnings=("The outdoor humidity was not recorded, so frost could not be judged from the weather.",),
    )


def failed() -> Result:
    """The sensor opens far too late: the board's time limit ends the defrost, above the ceiling."""
    time_s = np.arange(3000.0)
    end_s = 1386.0 + 720
    columns = readings(time_s, peak_c=57.2, end_s=end_s)
    columns["sensor_voltage"] = np.where((time_s >= 1052) & (time_s < end_s + 600), 0.05, 26.4)
    trace = Trace(time_s=time_s, columns=columns, epoch=EPOCH, zone="America/Denver")
    changed = {
        "sensor_opens": Finding(
            function="sensor_opens",
            standing="failed",
            sentence="The sensor did not open although the coil was far warmer than its rating.",
            evidence=(
                Evidence(
                    standing="failed",
                    start_s=1500,
                    end_s=end_s,
                    channels=("sensor_voltage", "outdoor_coil_temp"),
                    what="The contact was still closed with the coil at this temperature.",
                    measured=Measured(value=20.0, unit="degC", expanded=0.7),
                    limit=Limit(
                        low=12.778, high=18.333, unit="degC", source="rating plate: opens at 60 degF"
                    ),
                    probability=0.00001,
                ),
            ),
            remedy="With the power off and locked out, check how the sensor sits on the coil, and its "
            "opening temperature; replace it with the maker's part.",
        ),
        "ends_by_sensor": Finding(
            function="ends_by_sensor",
            standing="failed",
            sentence="The defrost ran until the board's time limit instead of ending when the coil was warm.",
            evidence=(
                Evidence(
                    standing="failed",
                    start_s=1386,
                    end_s=end_s,
                    channels=("sensor_voltage",),
                    what="The defrost ended at the board's time limit with the sensor still closed.",
                    measured=Measured(value=720.0, unit="s", expanded=2.0),
                    limit=Limit(low=None, high=720.0, unit="s", source="default: longest defrost"),
                ),
            ),
            remedy="Find out first why the sensor did not open.",
        ),
        "ends_safely": Finding(
            function="ends_safely",
            standing="failed",
            sentence="The pressure rose above the level at which a defrost should have ended.",
            evidence=(
                Evidence(
                    standing="failed",
                    start_s=1386,
                    end_s=end_s,
                    channels=("discharge_pressure",),
                    what="The highest saturation temperature of the defrost.",
                    measured=Measured(value=57.2, unit="degC", expanded=0.9),
                    limit=Limit(
                        low=None,
                        high=54.444,
                        unit="degC",
                        source="common practice: saturation ceiling of 130 degF",
                    ),
                    probability=0.00001,
                ),
            ),
            remedy="Do not force another defrost before the cause is found.",
        ),
        "backup_runs": Finding(
            function="backup_runs",
            standing="bypassed",
            sentence="The backup heat was held off by hand during the test.",
            settle="Record a defrost with the backup heat left as it normally is.",
        ),
    }
    base = mild_day()
    return replace(
        base,
        trace=trace,
        cycle=cycle_of(trace),
        phases=_phases(end_s),
        defrosts=(
            replace(
                base.defrosts[0],
                end_s=end_s,
                ended_by="time",
                peak_saturation_c=57.2,
                peak_pressure_pa=3.58e6,
                peak_time_s=end_s - 1,
            ),
        ),
        findings=tuple(changed.get(item.function, item) for item in base.findings),
    )


def empty() -> Result:
    """Bare seconds, air temperatures only, no marks file: nothing could be seen."""
    time_s = np.arange(0.0, 900.0, 10.0)
    trace = Trace(time_s=time_s, columns={"outdoor_air_temp": np.full(90, 4.0)})
    base = mild_day()
    return replace(
        base,
        unit=unit(name="", site=Site(altitude_m=0.0, atmosphere_pa=101_325.0, zone=None), instruments={}),
        trace=trace,
        marks=None,
        cycle=cycle_of(trace),
        receipt=Receipt(files=("air.csv",), rows=90),
        phases=(Phase(name="unknown", start_s=0, end_s=900, sure=0.0),),
        defrosts=(),
        findings=tuple(
            Finding(
                function=name,
                standing="unseen",
                sentence="No defrost is in the record.",
                settle="Record a defrost, with both pressures, the coil and the sensor's volts.",
            )
            for name in FUNCTIONS
        ),
        warnings=(),
    )


def gap() -> Result:
    """Readings are missing over the end of the defrost."""
    base = mild_day()
    keep = (base.trace.time_s < 1560) | (base.trace.time_s >= 1720)
    columns = {name: column[keep].copy() for name, column in base.trace.columns.items()}
    columns["outdoor_coil_temp"][200:420] = np.nan
    trace = Trace(time_s=base.trace.time_s[keep], columns=columns, epoch=EPOCH, zone="America/Denver")
    unseen = {"sensor_opens", "ends_by_sensor", "ends_safely", "valve_returns", "fan_returns"}
    return replace(
        base,
        trace=trace,
        cycle=cycle_of(trace),
        phases=tuple(replace(item, gap=item.name in ("defrost", "recovery")) for item in base.phases),
        defrosts=(
            replace(
                base.defrosts[0],
                gap=True,
                end_half_width_s=80,
                ended_by="unknown",
                sure=0.8,
                peak_saturation_c=None,
                peak_saturation_u_k=None,
                peak_pressure_pa=None,
                peak_time_s=None,
                peak_channel=None,
            ),
        ),
        findings=tuple(
            Finding(
                function=item.function,
                standing="unseen",
                sentence="The readings stop before the end of the defrost and come back after it.",
                settle="Record a defrost without a gap.",
            )
            if item.function in unseen
            else item
            for item in base.findings
        ),
        warnings=("Readings are missing from 1560 s to 1720 s.",),
    )


def r407c() -> Result:
    """A blend with glide: dew and bubble lie apart."""
    base = mild_day()
    trace = replace(base.trace, columns=readings(base.trace.time_s, fluid="R-407C"))
    limits = replace(base.unit.limits, high_pressure_cutout_pa=400 * 6894.757 + ATMOSPHERE_PA)
    peak_pa = refrigerant("R-407C").dew_pressure_pa(47.5)
    return replace(
        base,
        unit=unit(refrigerant="R-407C", name="Mill lane 8", limits=limits),
        trace=trace,
        cycle=cycle_of(trace, "R-407C"),
        defrosts=(replace(base.defrosts[0], peak_pressure_pa=peak_pa),),
    )


def long_day() -> Result:
    """24 h at 1 Hz with one spike of a single sample in the high-side saturation."""
    time_s = np.arange(86_400.0)
    columns = {name: np.resize(column, 86_400) for name, column in readings(np.arange(3000.0)).items()}
    trace = Trace(time_s=time_s, columns=columns, epoch=EPOCH, zone="America/Denver")
    base = mild_day()
    phases: list[Phase] = []
    defrosts: list[Defrost] = []
    for k in range(28):
        shift = 3000.0 * k
        phases += [replace(p, start_s=p.start_s + shift, end_s=p.end_s + shift) for p in base.phases]
        defrosts.append(
            replace(base.defrosts[0], start_s=1386 + shift, end_s=1640 + shift, peak_time_s=1639 + shift)
        )
    return replace(
        base, trace=trace, marks=(), cycle=cycle_of(trace), phases=tuple(phases), defrosts=tuple(defrosts)
    )


HOSTILE = '</title><script>alert(1)</script> #panic() $x$ *b* _i_ `r` @k <l> \\ "q" {{ 7*7 }} & é ]'


def hostile() -> Result:
    """Free text that tries to become markup, code or a template in each layout."""
    base = mild_day()
    return replace(
        base,
        unit=unit(name=HOSTILE),
        marks=(*MARKS, Mark(time_s=1500, act="note", note=HOSTILE)),
        receipt=replace(base.receipt, files=(HOSTILE,), notes=(HOSTILE,), ignored=(HOSTILE,)),
        warnings=(HOSTILE,),
        findings=(
            replace(base.findings[0], sentence=HOSTILE, settle=HOSTILE, remedy=HOSTILE),
            *base.findings[1:],
        ),
        cautions=(Caution(code="hostile", text=HOSTILE),),
        heating=replace(
            sample_heating.heating(),
            numbers=tuple(
                replace(one, sentence=HOSTILE, settle=HOSTILE, remedy=HOSTILE, how=HOSTILE)
                if one.name in ("superheat_k", "subcooling_k")
                else one
                for one in sample_heating.heating().numbers
            ),
        ),
    )


def weak() -> Result:
    """A defrost in order, and a heating check with a number of each standing."""
    return replace(mild_day(), heating=sample_heating.heating())


VARIANTS = {
    "mild_day": mild_day,
    "failed": failed,
    "empty": empty,
    "gap": gap,
    "r407c": r407c,
    "weak": weak,
}
