"""What a working probe can read, and what a wrong unit in a header looks like.

A reading outside the bounds of its channel is dropped and counted. A column is refused where the physics of a
heat pump rules it out *and* another unit would put it right; where none does, the readings stand and the
receipt says what is odd. The limits are physical or generous common practice, no source: they only have to
tell 24 bar from 24 psi.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError
from firstfrost.quantities import Unit, to_si, unit
from firstfrost.trace.channels import CHANNELS, Channel

Floats = NDArray[np.float64]
Columns = Mapping[str, Floats]
Saturation = Callable[[Floats], Floats]

OTHERS: Final[Mapping[str, tuple[str, ...]]] = {
    "pressure": ("psig", "kPa(g)", "barg", "MPa(g)", "Pa(a)", "kPa(a)"),
    "temperature": ("degC", "degF", "K"),
    "humidity": ("%", "1"),
    "voltage": ("V", "mV"),
    "current": ("A", "mA"),
    "power": ("W", "kW"),
    "flow": ("cfm", "m3/h", "L/s", "m3/s"),
    "pressure_difference": ("Pa", "inH2O"),
    "switch": (),
}
"""The units that people mean when a header says another."""
_FEW: Final = 0.02
"""Up to this share of readings outside the bounds is a probe's trouble, not a unit's."""


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where a channel of the joined trace comes from."""

    source: str
    header: str
    unit: Unit
    sure: bool = False
    """Whether the map file stands by the unit."""


def default_mark(found: Unit) -> str:
    """How a pressure unit without g or a is taken: Pa is what programs write, the rest what gauges show."""
    return "absolute" if found.name == "Pa" else "gauge"


def si_of(values: Floats, found: Unit, channel: Channel, *, atmosphere_pa: float) -> Floats:
    """Readings (n,) in `found` as readings (n,) in memory; gauge becomes absolute here and nowhere else."""
    if channel.kind == "switch" and "voltage" in found.kinds:
        # A thermostat's call is about 24 V; half of it stands clear of leakage. Common practice, no source.
        return np.where(np.isnan(values), np.nan, (np.abs(values * found.factor) >= 12.0).astype(np.float64))
    return to_si(values, found, channel.kind, atmosphere_pa=atmosphere_pa, unmarked=default_mark(found))


def bound(
    values: Floats,
    channel: Channel,
    found: Unit,
    *,
    source: str,
    header: str,
    atmosphere_pa: float,
    sure: bool,
) -> tuple[Floats, int]:
    """Drop what no working probe of the channel can read.

    Parameters
    ----------
    values : (n,) float64
        In the unit in memory.
    channel : Channel
        Whose bounds count.
    found : Unit
        The unit of the file.
    source, header : str
        File and column, for messages.
    atmosphere_pa : float
        Ambient pressure. [Pa]
    sure : bool
        Whether the map file stands by the unit.

    Returns
    -------
    tuple of (n,) float64 and int
        The readings with NaN for those outside, and how many there were.

    Raises
    ------
    DataError
        If more than a few lie outside and another unit would put nearly all inside.
    """
    with np.errstate(invalid="ignore"):
        outside = (values < channel.lowest) | (values > channel.highest)
    count = int(outside.sum())
    if not count:
        return values, 0
    finite = np.isfinite(values)
    total = int(finite.sum())
    # An open or shorted probe reports one and the same figure; a wrong unit moves all of them.
    stuck = len(np.unique(values[outside])) <= 2 and (count < 0.5 * total or total > 20)
    if count > _FEW * total and not stuck and not sure:
        fits = []
        for other in OTHERS[channel.kind]:
            if unit(other).factor == found.factor and unit(other).offset == found.offset:
                continue
            if found.gauge and unit(other).gauge is not True and channel.kind == "pressure":
                continue
            tried = _in_other(values[finite], channel, found, unit(other), atmosphere_pa=atmosphere_pa)
            low = 1.0e5 if channel.kind == "pressure" else channel.lowest
            inside = (tried >= low) & (tried <= channel.highest)
            if inside.mean() > 1.0 - _FEW:
                fits.append(other)
        if fits:
            least = _shown(channel.lowest, channel, found, atmosphere_pa)
            most = _shown(channel.highest, channel, found, atmosphere_pa)
            raise _refusal(
                f"the {channel.title} can only be {least} to {most}",
                values[finite],
                channel,
                Origin(source=source, header=header, unit=found),
                fits,
                atmosphere_pa=atmosphere_pa,
            )
    return np.where(outside, np.nan, values), count


def _in_other(values: Floats, channel: Channel, now: Unit, other: Unit, *, atmosphere_pa: float) -> Floats:
    """What the readings in memory would be had the figures of the file been in `other`."""
    raw = _raw(values, channel, now, atmosphere_pa=atmosphere_pa)
    return si_of(raw, other, channel, atmosphere_pa=atmosphere_pa)


def _raw(values: Floats, channel: Channel, now: Unit, *, atmosphere_pa: float) -> Floats:
    shift = float(si_of(np.zeros(1), now, channel, atmosphere_pa=atmosphere_pa)[0])
    return (values - shift) / now.factor


def _shown(value: float, channel: Channel, found: Unit, atmosphere_pa: float) -> str:
    return f"{_raw(np.array([value]), channel, found, atmosphere_pa=atmosphere_pa)[0]:.4g}"


def _refusal(
    why: str,
    values: Floats,
    channel: Channel,
    origin: Origin,
    fits: list[str],
    *,
    atmosphere_pa: float,
) -> DataError:
    low, high = (_shown(float(v), channel, origin.unit, atmosphere_pa) for v in (values.min(), values.max()))
    shown = "" if origin.unit.name == "1" else f" {origin.unit.name}"
    return DataError(
        f"{origin.source}: column {origin.header!r} reads {low} to {high}{shown}, and {why}. The unit in "
        f"its header looks wrong: {' or '.join(fits)} would fit. Correct it, or say what was measured in a "
        "map file (--columns MAP.toml):\n[columns]\n"
        f'  "{origin.header}" = "{channel.name} [{fits[0]}]"\n'
        'Leave a broken probe out there with "ignore". If the unit is right, say so there above '
        "[columns]:\n"
        f'sure = ["{origin.header}"]'
    )


@dataclass(frozen=True, kw_only=True)
class Usual:
    """A share of a channel's readings and the span where it lies on any heat pump."""

    channel: str
    percent: float
    low: float
    high: float
    running: bool = False
    """Only judged where other channels show the machine running."""


USUAL: Final = (
    Usual(channel="return_air_temp", percent=50, low=-3.0, high=45.0),
    Usual(channel="supply_air_temp", percent=98, low=-60.0, high=85.0),
    Usual(channel="supply_air_temp", percent=98, low=12.0, high=85.0, running=True),
    Usual(channel="outdoor_air_temp", percent=50, low=-60.0, high=48.0),
    Usual(channel="outdoor_coil_temp", percent=98, low=-60.0, high=78.0),
    Usual(channel="liquid_line_temp", percent=98, low=-60.0, high=80.0),
    Usual(channel="suction_line_temp", percent=50, low=-60.0, high=60.0),
    Usual(channel="vapor_line_temp", percent=98, low=-60.0, high=130.0),
    Usual(channel="discharge_temp", percent=98, low=-60.0, high=165.0),
    Usual(channel="discharge_temp", percent=98, low=30.0, high=165.0, running=True),
    Usual(channel="suction_pressure", percent=50, low=3.0e4, high=3.5e6),
    Usual(channel="discharge_pressure", percent=98, low=5.0e5, high=8.0e6, running=True),
    Usual(channel="liquid_pressure", percent=98, low=5.0e5, high=8.0e6, running=True),
    Usual(channel="outdoor_humidity", percent=90, low=0.03, high=1.05),
    Usual(channel="return_air_humidity", percent=90, low=0.03, high=1.05),
    Usual(channel="compressor_current", percent=98, low=0.3, high=200.0, running=True),
    Usual(channel="power", percent=98, low=50.0, high=1.0e5, running=True),
    Usual(channel="line_voltage", percent=50, low=60.0, high=700.0),
)


def _statistic(values: Floats, percent: float) -> float:
    values = values[np.isfinite(values)]
    return float(np.percentile(values, percent)) if len(values) else float("nan")


def running_rows(columns: Columns) -> NDArray[np.bool_]:
    """The rows (n,) in which pressures apart, current or hot supply air show the compressor running.

    Told from ratios where it can be, so that a wrong unit does not hide it.
    """
    n = len(next(iter(columns.values()))) if columns else 0
    seen = np.zeros(n, dtype=bool)
    high = columns.get("discharge_pressure", columns.get("liquid_pressure"))
    with np.errstate(invalid="ignore", divide="ignore"):
        if high is not None and "suction_pressure" in columns:
            ratio = high / columns["suction_pressure"]
            seen |= (ratio > 1.5) | (ratio < 1 / 1.5)
        if "compressor_current" in columns:
            seen |= columns["compressor_current"] > 2.0
        if "supply_air_temp" in columns and "return_air_temp" in columns:
            seen |= columns["supply_air_temp"] - columns["return_air_temp"] > 10.0
    return seen


Test = Callable[[Columns], str]


def heating_rows(columns: Columns) -> NDArray[np.bool_]:
    """The rows (n,) in which supply air warmer than return air shows heating; none where one is lacking."""
    if "supply_air_temp" not in columns or "return_air_temp" not in columns:
        return np.zeros(len(next(iter(columns.values()))), dtype=bool)
    with np.errstate(invalid="ignore"):
        return columns["supply_air_temp"] - columns["return_air_temp"] > 8.0


def _usual_test(row: Usual) -> Test:
    def test(columns: Columns) -> str:
        values = columns.get(row.channel)
        if values is None:
            return ""
        if row.running:
            others = {name: column for name, column in columns.items() if name != row.channel}
            if "pressure" in row.channel:
                others = dict(columns)
            rows = running_rows(others)
            if rows.sum() < max(1.0, 0.05 * len(rows)):
                return ""
            values = values[rows]
        found = _statistic(np.abs(values) if row.channel == "sensor_voltage" else values, row.percent)
        if np.isnan(found) or row.low <= found <= row.high:
            return ""
        side = "high" if found > row.high else "low"
        running = " with the compressor running" if row.running else ""
        return f"the {CHANNELS[row.channel].title} at a heat pump is never so {side}{running}"

    return test


def _above(low: str, high: str, slack_pa: float) -> Test:
    def test(columns: Columns) -> str:
        if low not in columns or high not in columns:
            return ""
        both = np.isfinite(columns[low]) & np.isfinite(columns[high])
        if not both.any():
            return ""
        share = float((columns[low][both] > 1.1 * columns[high][both] + slack_pa).mean())
        if share <= 0.2:
            return ""
        return f"{low} is above {high} in {share:.0%} of the rows, which no compressor does"

    return test


def _ratio(high: str) -> Test:
    def test(columns: Columns) -> str:
        if "suction_pressure" not in columns or high not in columns:
            return ""
        ratio = columns[high] / columns["suction_pressure"]
        with np.errstate(invalid="ignore"):
            ratio = ratio[ratio > 1.5]
        if len(ratio) < 1 or float(np.median(ratio)) <= 15.0:
            return ""
        return (
            f"{high} is {float(np.median(ratio)):.0f} times suction_pressure, more than a compressor can do"
        )

    return test


def _heating_coil(columns: Columns) -> str:
    if "outdoor_coil_temp" not in columns or "outdoor_air_temp" not in columns:
        return ""
    over = (columns["outdoor_coil_temp"] - columns["outdoor_air_temp"])[heating_rows(columns)]
    over = over[np.isfinite(over)]
    if len(over) < 1 or float(np.median(over)) <= 8.0:
        return ""
    warmer = float(np.median(over))
    return f"while heating, the outdoor coil is {warmer:.0f} K warmer than the air it takes heat from"


def _saturation_tests(dew_c: Saturation) -> tuple[tuple[tuple[str, ...], Test], ...]:
    """What the refrigerant's own curve says of pressures and temperatures that belong together."""

    def running(columns: Columns, name: str) -> Floats:
        values = columns[name][running_rows(columns)]
        return values[np.isfinite(values)]

    def high_side(name: str) -> Test:
        def test(columns: Columns) -> str:
            if name not in columns or not len(running(columns, name)):
                return ""
            pressure = _statistic(running(columns, name), 75)
            temp = float(dew_c(np.array([pressure]))[0])
            if np.isnan(temp) or 8.0 <= temp <= 85.0:
                return ""
            return f"{name} would condense the refrigerant at {temp:.0f} degC with the compressor running"

        return test

    def low_side(columns: Columns) -> str:
        name = "suction_pressure"
        if name not in columns or not len(running(columns, name)):
            return ""
        temp = float(dew_c(np.array([_statistic(running(columns, name), 50)]))[0])
        if np.isnan(temp) or -55.0 <= temp <= 40.0:
            return ""
        return f"{name} would boil the refrigerant at {temp:.0f} degC with the compressor running"

    def colder_than_all(name: str) -> Test:
        def test(columns: Columns) -> str:
            if name not in columns or "suction_pressure" not in columns:
                return ""
            rows = running_rows(columns)
            if name == "outdoor_air_temp":
                # In cooling the cold coil is indoors, and winter air may well be colder than it.
                rows = rows & heating_rows(columns)
            floor = dew_c(columns["suction_pressure"][rows])
            if name == "outdoor_coil_temp" and "outdoor_air_temp" in columns:
                floor = np.fmin(floor, columns["outdoor_air_temp"][rows])
            under = floor - columns[name][rows]
            under = under[np.isfinite(under)]
            if len(under) < 1 or float(np.median(under)) <= 8.0:
                return ""
            return (
                f"{CHANNELS[name].title} is {float(np.median(under)):.0f} K below the evaporating "
                "temperature of the suction pressure, and nothing there is colder than that"
            )

        return test

    def coil_near(columns: Columns) -> str:
        high = "discharge_pressure" if "discharge_pressure" in columns else "liquid_pressure"
        if not all(name in columns for name in ("outdoor_coil_temp", "suction_pressure", high)):
            return ""
        rows = running_rows(columns)
        coil = columns["outdoor_coil_temp"][rows]
        off = np.fmin(
            np.abs(coil - dew_c(columns["suction_pressure"][rows])), np.abs(coil - dew_c(columns[high][rows]))
        )
        off = off[np.isfinite(off)]
        if len(off) < 1 or float(np.median(off)) <= 18.0:
            return ""
        return f"the outdoor coil is {float(np.median(off)):.0f} K from both saturation temperatures"

    def air_and_coil(columns: Columns) -> str:
        high = "discharge_pressure" if "discharge_pressure" in columns else "liquid_pressure"
        names = ("outdoor_air_temp", "outdoor_coil_temp", "suction_pressure", high)
        if not all(name in columns for name in names):
            return ""
        air, coil, suction, head = (columns[name] for name in names)
        low, top = dew_c(suction), dew_c(head)
        with np.errstate(invalid="ignore"):
            # A coil near the evaporating temperature and far from the condensing one takes heat from the air.
            near = (np.abs(coil - low) < 12.0) & (top - low > 30.0)
        running = running_rows(columns)
        rows = running & near
        if rows.sum() < 0.5 * running.sum():
            return ""
        over = (air - coil)[rows]
        over = over[np.isfinite(over)]
        if len(over) < 1 or -8.0 <= float(np.median(over)) <= 38.0:
            return ""
        return (
            f"the outdoor air is {abs(float(np.median(over))):.0f} K "
            f"{'colder' if np.median(over) < 0 else 'warmer'} than the coil that takes heat from it"
        )

    return (
        (("outdoor_air_temp",), air_and_coil),
        (("discharge_pressure", "suction_pressure"), high_side("discharge_pressure")),
        (("liquid_pressure", "suction_pressure"), high_side("liquid_pressure")),
        (("suction_pressure",), low_side),
        (("outdoor_coil_temp", "suction_pressure"), colder_than_all("outdoor_coil_temp")),
        (("outdoor_air_temp", "suction_pressure"), colder_than_all("outdoor_air_temp")),
        (("outdoor_coil_temp", "suction_pressure"), coil_near),
    )


def _open_contact(columns: Columns) -> str:
    if "sensor_voltage" not in columns:
        return ""
    found = _statistic(np.abs(columns["sensor_voltage"]), 98)
    return "an open contact shows about 24 V" if 0.0 < found < 10.0 else ""


_QUIET: Final = frozenset({_open_contact})
"""Tests that sound readings may fail too, such as a contact that never opens: they only look for units."""

_TESTS: Final[tuple[tuple[tuple[str, ...], Test], ...]] = (
    *(((row.channel,), _usual_test(row)) for row in USUAL),
    (("suction_pressure", "discharge_pressure"), _above("suction_pressure", "discharge_pressure", 5.0e4)),
    (("suction_pressure", "liquid_pressure"), _above("suction_pressure", "liquid_pressure", 5.0e4)),
    (("liquid_pressure", "discharge_pressure"), _above("liquid_pressure", "discharge_pressure", 1.0e5)),
    (("suction_pressure", "discharge_pressure"), _ratio("discharge_pressure")),
    (("suction_pressure", "liquid_pressure"), _ratio("liquid_pressure")),
    (("outdoor_coil_temp", "outdoor_air_temp"), _heating_coil),
    (("sensor_voltage",), _open_contact),
)


def check_physics(
    columns: Columns,
    origins: Mapping[str, Origin],
    *,
    atmosphere_pa: float,
    dew_c: Saturation | None = None,
) -> tuple[str, ...]:
    """Refuse a trace whose units cannot be right.

    Parameters
    ----------
    columns : mapping of channel to (n,) float64
        The joined readings, in memory units.
    origins : mapping of channel to Origin
        Where each comes from; a channel without one (several units) is not tried in others.
    atmosphere_pa : float
        Ambient pressure. [Pa]
    dew_c : callable or None
        Dew temperature [degC] of an absolute pressure [Pa] of the machine's refrigerant, where it is known.

    Returns
    -------
    tuple of str
        What is odd and no other unit explains.

    Raises
    ------
    DataError
        For the first column that another unit would put right.
    """
    notes = []
    tests = _TESTS + (_saturation_tests(dew_c) if dew_c is not None else ())
    for names, test in tests:
        why = test(columns)
        if not why:
            continue
        for name in names:
            origin = origins.get(name)
            if origin is None or name not in columns or origin.sure:
                continue
            # One logger has one setting: first try all its columns of that unit together.
            alike = [other for other, o in origins.items() if o.unit == origin.unit and other in columns]
            fits = _cures(columns, alike, origin, tests, atmosphere_pa=atmosphere_pa)
            if not fits and len(alike) > 1:
                fits = _cures(columns, [name], origin, tests, atmosphere_pa=atmosphere_pa)
            if fits:
                values = columns[name][np.isfinite(columns[name])]
                raise _refusal(why, values, CHANNELS[name], origin, fits, atmosphere_pa=atmosphere_pa)
        if (
            "above" in why
            and _swapped(columns, names)
            and not any(origins[n].sure for n in names if n in origins)
        ):
            raise _refuse_swap(why, names, origins)
        if test not in _QUIET:
            notes.append(f"Odd readings: {why}. Check the probes and their places.")
    return tuple(notes)


def _swapped(columns: Columns, names: tuple[str, ...]) -> bool:
    """Tell whether the low of two pressures is above the high one in most rows."""
    low, high = (columns[name] for name in names[:2])
    both = np.isfinite(low) & np.isfinite(high)
    return bool((low[both] > 1.1 * high[both] + 5.0e4).mean() > 0.5)


def _refuse_swap(why: str, names: tuple[str, ...], origins: Mapping[str, Origin]) -> DataError:
    met = [origins.get(name) for name in names[:2]]
    source = next((origin.source for origin in met if origin is not None), "The log")
    headers = [
        origin.header if origin is not None else name for origin, name in zip(met, names, strict=False)
    ]
    return DataError(
        f"{source}: columns {headers[0]!r} and {headers[1]!r} look swapped: {why}. Correct the headers, or "
        "say what each measured in a map file (--columns MAP.toml); leave a broken probe out there with "
        '"ignore". If they '
        f'are right, say so there above [columns]:\nsure = ["{headers[0]}"]'
    )


def _cures(
    columns: Columns,
    names: list[str],
    origin: Origin,
    tests: tuple[tuple[tuple[str, ...], Test], ...],
    *,
    atmosphere_pa: float,
) -> list[str]:
    """The units in which the columns `names` would pass every test that they take part in."""
    fits = []
    now = origin.unit
    before = int(running_rows(columns).sum())
    for other in OTHERS[CHANNELS[names[0]].kind]:
        found = unit(other)
        if (found.factor == now.factor and found.offset == now.offset) or (now.gauge and not found.gauge):
            continue
        tried = {
            name: _in_other(columns[name], CHANNELS[name], now, found, atmosphere_pa=atmosphere_pa)
            for name in names
        }
        if not all(_within(values, CHANNELS[name]) for name, values in tried.items()):
            continue
        instead = {**columns, **tried}
        # A unit that makes the machine look at rest would only silence the tests.
        if int(running_rows(instead).sum()) < 0.5 * before:
            continue
        if all(not test(instead) for involved, test in tests if set(names) & set(involved)):
            fits.append(other)
    return fits


def _within(values: Floats, channel: Channel) -> bool:
    values = values[np.isfinite(values)]
    return bool(len(values)) and bool(((values < channel.lowest) | (values > channel.highest)).mean() <= _FEW)
