"""The canonical channels: what each one is, and the unit it has in memory.

In memory a pressure is absolute and in Pa, a temperature in degC, a relative humidity a ratio
from 0 to 1, everything else SI. Units are converted when a file is read and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "pressure",
    "temperature",
    "humidity",
    "voltage",
    "current",
    "power",
    "flow",
    "pressure_difference",
    "switch",
]

SI_UNIT: dict[Kind, str] = {
    "pressure": "Pa",
    "temperature": "degC",
    "humidity": "1",
    "voltage": "V",
    "current": "A",
    "power": "W",
    "flow": "m3/s",
    "pressure_difference": "Pa",
    "switch": "1",
}


@dataclass(frozen=True, kw_only=True)
class Channel:
    """One canonical channel.

    `lowest` and `highest` bound what a working probe can report, in the SI unit of the kind;
    a reading outside is dropped and said so.
    """

    name: str
    kind: Kind
    title: str
    lowest: float
    highest: float

    @property
    def unit(self) -> str:
        """The unit in memory."""
        return SI_UNIT[self.kind]


def _channel(name: str, kind: Kind, title: str, lowest: float, highest: float) -> Channel:
    return Channel(name=name, kind=kind, title=title, lowest=lowest, highest=highest)


_ALL: tuple[Channel, ...] = (
    _channel("suction_pressure", "pressure", "suction pressure", 1.0e3, 8.0e6),
    _channel("liquid_pressure", "pressure", "liquid line pressure", 1.0e3, 8.0e6),
    _channel("discharge_pressure", "pressure", "discharge pressure", 1.0e3, 8.0e6),
    _channel("vapor_line_temp", "temperature", "vapor line temperature", -60.0, 180.0),
    _channel("liquid_line_temp", "temperature", "liquid line temperature", -60.0, 150.0),
    _channel("suction_line_temp", "temperature", "suction line temperature", -60.0, 150.0),
    _channel("discharge_temp", "temperature", "discharge line temperature", -60.0, 200.0),
    _channel("outdoor_coil_temp", "temperature", "outdoor coil temperature", -60.0, 120.0),
    _channel("valve_inlet_temp", "temperature", "reversing valve inlet temperature", -60.0, 120.0),
    _channel("outdoor_air_temp", "temperature", "outdoor air temperature", -60.0, 60.0),
    _channel("outdoor_humidity", "humidity", "outdoor relative humidity", 0.0, 1.05),
    _channel("return_air_temp", "temperature", "return air temperature", -20.0, 60.0),
    _channel("return_air_humidity", "humidity", "return air relative humidity", 0.0, 1.05),
    _channel("supply_air_temp", "temperature", "supply air temperature", -40.0, 120.0),
    _channel("sensor_voltage", "voltage", "coil sensor voltage", -60.0, 60.0),
    _channel("fan_current", "current", "outdoor fan current", -1.0, 30.0),
    _channel("compressor_current", "current", "compressor current", -1.0, 200.0),
    _channel("backup_current", "current", "backup heat current", -1.0, 400.0),
    _channel("valve_voltage", "voltage", "reversing valve coil voltage", -60.0, 300.0),
    _channel("heating_call", "switch", "call for heat", -0.5, 60.0),
    _channel("line_voltage", "voltage", "line voltage", 0.0, 700.0),
    _channel("power", "power", "electric power", -1.0e3, 1.0e5),
    _channel("airflow", "flow", "indoor airflow", -0.1, 20.0),
    _channel("external_static_pressure", "pressure_difference", "external static pressure", -1.0e3, 2.5e3),
)

CHANNELS: dict[str, Channel] = {channel.name: channel for channel in _ALL}
"""Each canonical channel by its name, in the order of the design."""
