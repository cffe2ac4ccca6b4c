# ruff: noqa: E501
"""The keys of a scenario file, as rows: what each means, its bounds and its default.

docs/bench.md is made from these rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost.equipment.heating_settings import HEATING_TABLES
from firstfrost.quantities.units import Kind


@dataclass(frozen=True, kw_only=True)
class Key:
    """One quantity of a scenario file; `lowest`, `highest` and `default` as written in the file."""

    table: str
    key: str
    kind: Kind
    meaning: str
    lowest: str
    highest: str
    default: str | None = None

    @property
    def name(self) -> str:
        """As errors write it: `start.frost`."""
        return f"{self.table}.{self.key}" if self.table else self.key


@dataclass(frozen=True, kw_only=True)
class Word:
    """One setting of a scenario file that is one of a few words."""

    table: str
    key: str
    meaning: str
    words: tuple[str, ...]
    default: str

    @property
    def name(self) -> str:
        """As errors write it: `start.state`."""
        return f"{self.table}.{self.key}"


def _key(table: str, key: str, kind: Kind, bounds: tuple[str, str], default: str | None, meaning: str) -> Key:
    low, high = bounds
    return Key(table=table, key=key, kind=kind, meaning=meaning, lowest=low, highest=high, default=default)


KEYS: Final[tuple[Key, ...]] = (
    _key("", "duration", "time", ("1 min", "24 h"), None, "how long the run lasts"),
    _key("start", "house", "temperature", ("41 degF", "95 degF"), "70 degF", "house air at the start"),
    _key("start", "frost", "length", ("0 mm", "0.6 mm"), "0 mm", "mean frost on the outdoor coil"),
    _key("start", "run_time", "time", ("0 s", "24 h"), "0 s", "run time on the board's clock"),
    _key("start", "settle", "time", ("1 min", "2 h"), "25 min", "steady heating before the run begins"),
    _key("controls", "pins_run_out", "time", ("1 s", "10 min"), "15 s", "bridged test pins run a whole interval in this"),
    _key("controls", "start_delay", "time", ("0 s", "5 min"), "0 s", "rest of the compressor before the valve shifts"),
    _key("controls", "end_delay", "time", ("0 s", "5 min"), "0 s", "rest of the compressor before the valve returns"),
    _key("controls", "rest", "time", ("0 s", "10 min"), "180 s", "shortest rest of the compressor"),
    _key("controls", "sensor_lag", "time", ("1 s", "2 min"), "25 s", "lag of the coil sensor's body behind the coil"),
    _key("controls", "backup", "power", ("0 kW", "30 kW"), None, "backup heat energised in defrost (by the unit's size)"),
    _key("controls", "backup_stage", "power", ("0 kW", "30 kW"), None, "backup heat on the thermostat's second stage"),
    _key("controls", "set_point", "temperature", ("50 degF", "90 degF"), "70 degF", "thermostat's set point"),
    _key("controls", "swing", "temperature_difference", ("0.2 delta_degC", "5 delta_degC"), "1 delta_degC", "on-off difference"),
    _key("controls", "second_stage", "temperature_difference", ("0.2 delta_degC", "10 delta_degC"), "1.2 delta_degC",
         "the second stage comes this far below the set point"),
    _key("controls", "demand_split", "temperature_difference", ("1 delta_degC", "20 delta_degC"), "6 delta_degC",
         "demand control: growth of air over coil that starts a defrost"),
    _key("controls", "demand_learns_after", "time", ("1 min", "60 min"), "8 min",
         "demand control: run time after a defrost at which it learns the clean coil"),
    _key("controls", "demand_shortest", "time", ("1 min", "3 h"), "25 min", "demand control: shortest run time between defrosts"),
    _key("house", "load", "power", ("0.5 kW", "40 kW"), None, "heat it needs with `load_at` outdoors and 70 degF within (by the unit's size)"),
    _key("house", "load_at", "temperature", ("-25 degC", "15 degC"), "17 degF", "outdoor temperature that goes with `load`"),
    _key("weather", "temperature", "temperature", ("-25 degF", "80 degF"), None, "outdoor air"),
    _key("weather", "humidity", "humidity", ("1 %", "100 %"), None, "outdoor relative humidity, over ice below freezing"),
    _key("recording", "every", "time", ("1 s", "10 min"), "1 s", "time between samples, whole seconds"),
    _key("recording", "marks_late", "time", ("0 s", "2 min"), "0 s", "a person's marks come up to this late"),
    _key("recording", "drop_outs", "ratio", ("0 %", "50 %"), "0 %", "part of single readings that are lost"),
)  # fmt: skip
"""Quantities; the tables of a unit file have theirs in `equipment.settings`."""

WORDS: Final[tuple[Word, ...]] = (
    Word(
        table="start",
        key="state",
        words=("running", "rest"),
        default="running",
        meaning="`running`: has heated for `settle`; `rest`: long at rest, all at the outdoor temperature",
    ),
    Word(
        table="controls",
        key="counts",
        words=("closed", "always"),
        default="closed",
        meaning="run time counts while the sensor is closed, or always (the sensor is then asked at its end)",
    ),
    Word(
        table="controls",
        key="opening",
        words=("resets", "holds"),
        default="resets",
        meaning="what an opening sensor does to the clock",
    ),
    Word(
        table="controls",
        key="call",
        words=("always", "thermostat"),
        default="always",
        meaning="who calls for heat",
    ),
    Word(
        table="house",
        key="room",
        words=("house", "fixed"),
        default="house",
        meaning="`fixed`: a test room that stays at its temperature",
    ),
    Word(
        table="recording",
        key="marks",
        words=("given", "none"),
        default="given",
        meaning="`none`: nobody wrote down what was done",
    ),
)

TEXTS: Final = {
    "title": "its name in a list, one line",
    "lesson": "what a class learns by it, one paragraph",
    "look_for": "what to look for in the record: a list of lines",
    "seed": "a whole number from 0 on: noise, errors of probes and drop-outs follow from it alone",
}
"""Keys above the first table that are no quantities."""

UNIT_TABLES: Final = (
    "unit", "coil_sensor", "board", "limits", "site", "instruments",
    "ratings", "targets", "compressor", "supply", "backup", "blower", "airflow",
)  # fmt: skip
"""As in a unit file, which is made from them: docs/unit-file.md."""
HOUSE_KEYS: Final = tuple(key for key in HEATING_TABLES["house"] if key != "run_time")
"""Of `[house]`, what goes to the unit file; the rest is the house that the bench heats. A log of run time is a
file beside a unit file, and a scenario has none."""

LISTS: Final = {
    "acts": "what a person does, in order: `[[acts]]` with `act`, and `at`, or `when`",
    "faults": 'what is broken: `charge-low = 0.25`, or `{ severity = 0.25, at = "30 min", until = "50 min" }`',
    "probes": "how probes err beyond their accuracy: a channel or a kind of channel, with `noise`, "
    "`lag`, `resolution`",
}
"""Tables with rules of their own."""

CONDITIONS: Final = {
    "sensor-closed": "the board sees the coil sensor closed",
    "sensor-open": "the board sees it open",
    "defrosting": "a defrost runs",
    "heating": "the board heats",
    "resting": "the compressor rests",
}
"""What an act can wait for, from the act before it on."""

TABLES: Final = (
    "start", "controls", "house", "weather", "recording", *UNIT_TABLES, *LISTS,
)  # fmt: skip


def keys_of(table: str) -> tuple[str, ...]:
    """Names of the quantities and words of a table."""
    quantities = [row.key for row in KEYS if row.table == table]
    return (*quantities, *(row.key for row in WORDS if row.table == table))
