"""From a unit file to a Unit.

Every mistake in the file is collected, and all are told at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, Literal, cast

from firstfrost.air.atmosphere import altitude_at_pressure_m, pressure_at_altitude_pa
from firstfrost.equipment import read_heating
from firstfrost.equipment.reader import Reader
from firstfrost.equipment.settings import SETTINGS
from firstfrost.equipment.unit import Board, CoilSensor, Limits, Site, Unit
from firstfrost.errors import InputError, nearest, together
from firstfrost.instruments.accuracy import DEFAULTS, DEFAULTS_WHY, Accuracy, parse_accuracy
from firstfrost.quantities.constants import FOOT_M, STANDARD_ATMOSPHERE_PA
from firstfrost.quantities.convert import from_si, parse, to_si
from firstfrost.refrigerants import Refrigerant, refrigerant
from firstfrost.toml_file import read_toml
from firstfrost.trace.channels import CHANNELS

_WEATHER_PA: Final = 6e3
"""Further than this from the standard atmosphere the weather hardly ever takes a barometer."""


def read_unit(path: str | Path) -> Unit:
    """Read a unit file (UNIT.toml).

    Parameters
    ----------
    path : str or Path
        A TOML file in UTF-8; see docs/unit-file.md for its keys.

    Raises
    ------
    InputError
        If there is no such file, or for all mistakes in what it sets, together.
    DataError
        If it is not TOML, with the line.
    """
    path = Path(path)
    table = read_toml(
        path,
        what="unit file",
        page="docs/unit-file.md",
        lines='interval = "60 min" under a heading such as [board]',
    )
    return unit_from(table, source=str(path), folder=path.parent)


def default_unit(name: str) -> Unit:
    """The unit of which nothing but the refrigerant is known.

    Raises
    ------
    InputError
        If the refrigerant is unknown.
    """
    return unit_from({"unit": {"refrigerant": name}}, source="the unit")


def unit_from(table: Mapping[str, Any], *, source: str, folder: Path | None = None) -> Unit:
    """The Unit that the content of a unit file describes.

    Parameters
    ----------
    table : mapping
        As `tomllib` gives it: table name -> key -> value.
    source : str
        Where it is from, named in the error.
    folder : Path, optional
        Where files that it names are looked for.

    Raises
    ------
    InputError
        For all mistakes together.
    """
    reader = _UnitReader(table, folder=folder)
    unit = reader.unit()
    if unit is None:
        raise together(source, reader.mistakes)
    return unit


class _UnitReader(Reader):
    """Takes a whole unit from one file."""

    def refrigerant(self) -> Refrigerant | None:
        """The refrigerant, which alone has no default."""
        name = self.choice("unit.refrigerant")
        if name is None:
            if "unit.refrigerant" not in self.given:
                self.mistakes.append(
                    "unit.refrigerant is missing. It is the one setting without a default. "
                    'Write refrigerant = "R-410A", or what the rating plate says, under [unit].'
                )
            return None
        try:
            return refrigerant(name)
        except InputError as err:
            self.mistakes.append(f"unit.refrigerant: {err}")
            return None

    def site(self) -> Site:
        """Where the unit stands, and the ambient pressure there."""
        zone = self.choice("site.zone")
        if "site.zone" in self.given and zone is not None:
            self._check_zone(zone)
        barometer = self.quantity("site.barometer")
        if "site.barometer" not in self.given:
            altitude = self.quantity("site.altitude")
            pressure = STANDARD_ATMOSPHERE_PA if math.isnan(altitude) else pressure_at_altitude_pa(altitude)
        else:
            pressure = STANDARD_ATMOSPHERE_PA if math.isnan(barometer) else barometer
            if "site.altitude" in self.given:
                altitude = self.quantity("site.altitude")
                self._check_barometer(barometer, altitude)
            else:
                altitude = altitude_at_pressure_m(pressure)
                self.note_default(
                    "site.altitude",
                    f"{altitude / FOOT_M:.0f} ft",
                    "where the standard atmosphere has the barometer's pressure; for display only",
                )
        return Site(
            altitude_m=altitude,
            atmosphere_pa=pressure,
            zone=None if zone == "none" else zone,
            barometer_read="site.barometer" in self.given,
        )

    def _check_zone(self, zone: str) -> None:
        if zone == "none":
            return
        from zoneinfo import ZoneInfo

        try:
            ZoneInfo(zone)
        except (KeyError, ValueError, OSError):  # ZoneInfoNotFoundError is a KeyError; a folder an OSError
            self.mistakes.append(
                f"site.zone is {zone!r}, which is not a known time zone. "
                'Expected an IANA name, such as "America/Denver". Look it up in the IANA list.'
            )

    def _check_barometer(self, barometer: float, altitude: float) -> None:
        if math.isnan(barometer) or math.isnan(altitude):
            return
        standard = pressure_at_altitude_pa(altitude)
        if abs(barometer - standard) > _WEATHER_PA:
            self.mistakes.append(
                f"site.barometer is {self.given['site.barometer']!r}, but at site.altitude "
                f"{self.given['site.altitude']!r} the air has about {standard / 1e3:.1f} kPa. "
                "Expected them within 6 kPa. Give the pressure read at the site (a weather report's is "
                "corrected to sea level), or leave one of the two out."
            )

    def instruments(self, atmosphere_pa: float) -> tuple[dict[str, Accuracy], dict[str, str]]:
        """Accuracy of each channel, and which instrument reads it where that is named."""
        worth: dict[str, Accuracy] = {}
        shared: dict[str, str] = {}
        for name, channel in CHANNELS.items():
            setting = f"instruments.{name}"
            text: Any = self.given.get(setting)
            if isinstance(text, Mapping):
                text = self._instrument_table(setting, text, shared, name)
            if text is None:
                text = DEFAULTS[channel.kind]
                self.note_default(setting, text, DEFAULTS_WHY[channel.kind])
            try:
                worth[name] = parse_accuracy(text, channel.kind, setting, atmosphere_pa=atmosphere_pa)
            except InputError as err:
                self.mistakes.append(str(err))
        self._check_shared(shared)
        return worth, shared

    def _instrument_table(
        self, setting: str, table: Mapping[str, Any], shared: dict[str, str], channel: str
    ) -> object:
        for key in table:
            if key not in ("accuracy", "instrument"):
                near = nearest(key, ("accuracy", "instrument"))
                self.mistakes.append(f"{setting}.{key} is not a key of an instrument. {near}")
        instrument = table.get("instrument")
        if isinstance(instrument, str) and instrument.strip():
            shared[channel] = instrument.strip()
        elif instrument is not None:
            self.mistakes.append(
                f'{setting}.instrument is {instrument!r}. Expected a name in quotes, such as "gauge A".'
            )
        return table.get("accuracy")

    def _check_shared(self, shared: Mapping[str, str]) -> None:
        by_instrument: dict[str, list[str]] = {}
        for channel, instrument in shared.items():
            by_instrument.setdefault(instrument, []).append(channel)
        for instrument, channels in by_instrument.items():
            kinds = {CHANNELS[channel].kind for channel in channels}
            if len(kinds) > 1:
                self.mistakes.append(
                    f"instruments: {instrument!r} reads {' and '.join(channels)}, which are not of one kind. "
                    "Expected one sensor, whose error all its channels share. "
                    "Give each sensor a name of its own."
                )

    def unit(self) -> Unit | None:
        """The unit; None if there were mistakes."""
        fluid = self.refrigerant()
        name = self.choice("unit.name")
        capacity = self.quantity("unit.nominal_capacity")
        metering = self.choice("unit.metering")
        sensor = CoilSensor(
            closes_at_c=self.quantity("coil_sensor.closes_at"),
            opens_at_c=self.quantity("coil_sensor.opens_at"),
            tolerance_k=self.quantity("coil_sensor.tolerance"),
        )
        board = Board(
            interval_s=self.quantity("board.interval"),
            longest_defrost_s=self.quantity("board.longest_defrost"),
            kind=cast(Literal["time-temperature", "demand"], self.choice("board.kind")),
            pins_s=self.quantity("board.pins_time"),
        )
        site = self.site()
        limits = self._limits(fluid, site.atmosphere_pa)
        worth, shared = self.instruments(site.atmosphere_pa)
        plates = read_heating.plates(self, site.atmosphere_pa)
        if sensor.closes_at_c >= sensor.opens_at_c:
            self.mistakes.append(
                f"coil_sensor.closes_at {self.as_given('coil_sensor.closes_at')} is not below "
                f"coil_sensor.opens_at {self.as_given('coil_sensor.opens_at')}. "
                "Expected a sensor that closes cold and opens warm. Check both against its label."
            )
        if self.mistakes or fluid is None:
            return None
        return Unit(
            name=name or "heat pump",
            refrigerant=fluid.name,
            coil_sensor=sensor,
            board=board,
            limits=limits,
            site=site,
            instruments=worth,
            shared=shared,
            defaults=tuple(self.defaults),
            nominal_capacity_w=None if math.isnan(capacity) else capacity,
            metering=cast(Literal["expansion valve", "fixed orifice"] | None, metering),
            heating_defaults=tuple(self.heating_defaults),
            **plates,
        )

    def _limits(self, fluid: Refrigerant | None, atmosphere_pa: float) -> Limits:
        default = None if fluid is None else default_cutout(fluid)
        ceiling = self.quantity("limits.saturation_ceiling")
        cutout = self.quantity("limits.high_pressure_cutout", atmosphere_pa=atmosphere_pa, default=default)
        if fluid is not None and ceiling >= fluid.critical_temp_c:
            critical = from_si(fluid.critical_temp_c, "degF", "temperature")
            self.mistakes.append(
                f"limits.saturation_ceiling is {self.as_given('limits.saturation_ceiling')}, and "
                f"{fluid.name} has no saturation above its critical point, {critical:.1f} degF. "
                "Expected a ceiling below that. Check it, and unit.refrigerant."
            )
        if fluid is not None and cutout + atmosphere_pa >= fluid.critical_pressure_pa:
            critical = from_si(fluid.critical_pressure_pa - atmosphere_pa, "psi", "pressure_gauge")
            self.mistakes.append(
                f"limits.high_pressure_cutout is {self.as_given('limits.high_pressure_cutout')}, above the "
                f"critical pressure of {fluid.name}, {critical:.0f} psi gauge. "
                "Expected a cutout below that. Check it, and unit.refrigerant."
            )
        # A pressure from a gauge becomes absolute here, once.
        return Limits(saturation_ceiling_c=ceiling, high_pressure_cutout_pa=cutout + atmosphere_pa)


def default_cutout(fluid: Refrigerant) -> tuple[str, str]:
    """The high-pressure cutout taken for a refrigerant, as it would be written in the file, and why.

    610 psi on R-410A. The others get the gauge pressure at which their dew temperature is the same as that of
    R-410A there, in steps of 10 psi downwards, and no more than 610 psi: a switch set for R-410A would guard
    nothing on R-134a.
    """
    row = next(s for s in SETTINGS if s.name == "limits.high_pressure_cutout")
    usual_pa = parse(row.default, "pressure_gauge")
    if fluid.name == "R-410A":
        return row.default or "", row.why
    warmest = refrigerant("R-410A").dew_temp_c(usual_pa + STANDARD_ATMOSPHERE_PA)
    same_pa = fluid.dew_pressure_pa(min(warmest, fluid.highest_temp_c)) - STANDARD_ATMOSPHERE_PA
    step = to_si(10.0, "psi", "pressure_gauge")
    value = 10 * math.floor(min(usual_pa, same_pa) / step + 1e-9)
    return f"{value} psi", f"saturation on {fluid.name} no warmer than at {row.default} on R-410A, {row.why}"
