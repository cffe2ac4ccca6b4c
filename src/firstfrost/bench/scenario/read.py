"""From a scenario file to a Scenario.

Every mistake in the file is collected, and all are told at once.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from datetime import datetime
from difflib import get_close_matches
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from firstfrost.bench.faults import FAULTS
from firstfrost.bench.scenario import rows
from firstfrost.bench.scenario.build import Values, build
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.scenario import Lost, PlannedAct, PlannedFault, Probe, Scenario
from firstfrost.equipment.read import unit_from
from firstfrost.equipment.unit import Unit
from firstfrost.errors import FirstfrostError, InputError, nearest, together
from firstfrost.quantities.convert import parse
from firstfrost.quantities.units import Kind
from firstfrost.toml_file import read_toml
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS

_KEYS: Final = {row.name: row for row in rows.KEYS}
_WORDS: Final = {row.name: row for row in rows.WORDS}
_SPAN_KEYS: Final = ("from", "until", "channel")
_PROBE_KEYS: Final = ("noise", "lag", "resolution")


def shipped() -> tuple[str, ...]:
    """Names of the shipped scenarios, in the order of the course."""
    folder = files("firstfrost.bench").joinpath("scenarios")
    return tuple(
        sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))
    )


def find(name: str) -> Path:
    """The file of a scenario: a path, a shipped name, or such a name without its number.

    Raises
    ------
    InputError
        There is none.
    """
    if name.endswith(".toml") or "/" in name or Path(name).is_file():
        return Path(name)
    names = shipped()
    hits = [
        one
        for one in names
        for number, _, bare in [one.partition("-")]
        if name in (one, bare, number, number.lstrip("0"))
    ]
    if not hits:
        bare = {one.partition("-")[2]: one for one in names}
        near = get_close_matches(name, [*names, *bare], n=1, cutoff=0.5)
        hint = f"Did you mean {bare.get(near[0], near[0])}? " if near else ""
        raise InputError(
            f'No scenario is named "{name}". {hint}`firstfrost bench list` names them all; a file of '
            "your own ends "
            "in .toml."
        )
    return Path(str(files("firstfrost.bench").joinpath("scenarios", f"{hits[0]}.toml")))


def read_scenario(name: str | Path) -> Scenario:
    """Read a scenario.

    Parameters
    ----------
    name : str or Path
        A shipped name, or a TOML file; docs/bench.md has its keys.

    Raises
    ------
    InputError
        There is no such scenario; or for all mistakes in what it sets, together.
    DataError
        It is not TOML, with the line.
    """
    path = find(str(name))
    table = read_toml(path, what="scenario file", page="docs/bench.md", lines='duration = "60 min"')
    return scenario_from(table, name=path.stem, source=str(path), folder=path.parent)


def scenario_from(table: Mapping[str, Any], *, name: str, source: str, folder: Path) -> Scenario:
    """The Scenario that the content of a file describes.

    Parameters
    ----------
    table : mapping
        As `tomllib` gives it.
    name, source : str
        What to call it; where it is from, named in the error.
    folder : Path
        Where the weather file that it names is looked for.

    Raises
    ------
    InputError
        For all mistakes together.
    """
    reader = _Reader(table)
    values = reader.values()
    scenario = None
    if values is not None:
        try:
            scenario = build(values, name=name, folder=folder)
        except FirstfrostError as err:
            reader.mistakes.append(str(err))
    if scenario is None:
        raise together(source, reader.mistakes)
    return scenario


class _Reader:
    """Takes settings from one file, noting mistakes as it goes."""

    def __init__(self, table: Mapping[str, Any]) -> None:
        self.mistakes: list[str] = []
        self.table = table
        self._sort_out()

    def _sort_out(self) -> None:
        top = [row.key for row in rows.KEYS if not row.table] + list(rows.TEXTS)
        for name, content in self.table.items():
            if name in top:
                continue
            if name not in rows.TABLES:
                known = [*top, *(f"[{one}]" for one in rows.TABLES)]
                shown = f"[{name}]" if isinstance(content, Mapping) else name
                self.mistakes.append(f"{shown} is not a key or table of a scenario. {nearest(name, known)}")
            elif name == "acts":
                if not isinstance(content, list) or not all(isinstance(one, Mapping) for one in content):
                    self.mistakes.append("acts is not a list of tables. Write [[acts]] above each act.")
            elif not isinstance(content, Mapping):
                self.mistakes.append(
                    f"{name} is {content!r}, not a table. Write [{name}] on a line of its own."
                )
            elif name not in (*rows.UNIT_TABLES, *rows.LISTS):
                known = [*rows.keys_of(name), *_MORE.get(name, ())]
                for key in content:
                    if key not in known:
                        self.mistakes.append(f"{name}.{key} is not a key of [{name}]. {nearest(key, known)}")

    def _raw(self, table: str, key: str) -> Any:
        inside = self.table.get(table, {}) if table else self.table
        return inside.get(key) if isinstance(inside, Mapping) else None

    def quantity(self, name: str) -> float:
        """The quantity in SI; NaN where it is missing or wrong."""
        row = _KEYS[name]
        text = self._raw(row.table, row.key)
        if text is None:
            text = row.default
        if text is None:
            return math.nan
        value = self.parsed(text, row.kind, name)
        low, high = (parse(bound, row.kind, name) for bound in (row.lowest, row.highest))
        if not math.isnan(value) and not low <= value <= high:
            self.mistakes.append(
                f"{name} is {text!r}. It is {row.meaning}, and {row.lowest} to {row.highest} is expected. "
                "Check the number and its unit."
            )
            return math.nan
        return value

    def parsed(self, text: object, kind: Kind, where: str) -> float:
        """A quantity in SI; NaN where it is wrong."""
        try:
            return parse(text, kind, where)
        except InputError as err:
            self.mistakes.append(str(err))
            return math.nan

    def word(self, name: str) -> str:
        row = _WORDS[name]
        value = self._raw(row.table, row.key)
        if value is None:
            return row.default
        if value not in row.words:
            self.mistakes.append(
                f"{name} is {value!r}. Expected one of: {', '.join(row.words)}. Write it just so, in quotes."
            )
            return row.default
        return str(value)

    def values(self) -> Values | None:
        """All that the file says; None if there were mistakes."""
        unit = self.unit()
        texts = self.texts()
        found = Values(
            quantities={name: self.quantity(name) for name in _KEYS},
            words={name: self.word(name) for name in _WORDS},
            unit=unit,
            unit_tables=self.unit_tables(),
            points=self.points(),
            epw=self.epw(),
            acts=self.acts(),
            faults=self.faults(),
            channels=self.channels(),
            starts=self.starts(),
            lost=self.lost(),
            clock_jump=self.clock_jump(),
            probes=self.probes(),
            **texts,
        )
        if "duration" not in self.table:
            self.mistakes.append(
                'duration is missing. Write duration = "60 min", or the like, above the tables.'
            )
        every, lasts = found.quantities["recording.every"], found.quantities["duration"]
        for what, value in (("recording.every", every), ("duration", lasts)):
            if not math.isnan(value) and value != int(value):
                self.mistakes.append(f"{what} is {value:g} s. Expected whole seconds. Round it.")
        self._check_weather(found)
        return None if self.mistakes else found

    def unit_tables(self) -> dict[str, Any]:
        """The tables of the unit file, as they stand."""
        tables = {name: self.table[name] for name in rows.UNIT_TABLES if name in self.table}
        house = self.table.get("house")
        if isinstance(house, Mapping):
            told = {key: value for key, value in house.items() if key in rows.HOUSE_KEYS}
            if told:
                tables["house"] = told
        return tables

    def unit(self) -> Unit | None:
        """What a unit file of the unit's tables would give."""
        try:
            return unit_from(self.unit_tables(), source="@")
        except InputError as err:
            text = str(err)
            if text.startswith("@: "):
                self.mistakes.append(text[3:])
            else:
                self.mistakes += text.split("\n  - ")[1:]
            return None

    def texts(self) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key in ("title", "lesson"):
            value = self.table.get(key, "")
            if not isinstance(value, str):
                self.mistakes.append(f"{key} is {value!r}. Expected text in quotes.")
                value = ""
            found[key] = " ".join(value.split())
        lines = self.table.get("look_for", [])
        if not isinstance(lines, list) or not all(isinstance(line, str) for line in lines):
            self.mistakes.append(
                f'look_for is {lines!r}. Expected a list of texts: look_for = ["...", "..."].'
            )
            lines = []
        found["look_for"] = tuple(" ".join(line.split()) for line in lines)
        seed = self.table.get("seed", 0)
        if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
            self.mistakes.append(
                f"seed is {seed!r}. Expected a whole number from 0 on, without quotes: seed = 7."
            )
            seed = 0
        found["seed"] = seed
        return found

    def _span(self, where: str, entry: Mapping[str, Any], known: tuple[str, ...]) -> tuple[float, float]:
        self._known(where, entry, known)
        for key in ("from", "until"):
            if key not in entry:
                self.mistakes.append(f'{where} lacks "{key}". Write {key} = "12 min", or the like.')
        start, end = (
            self.parsed(entry[key], "time", f"{where}.{key}") if key in entry else math.nan
            for key in ("from", "until")
        )
        if start >= end:
            self.mistakes.append(f"{where} ends before it begins. Expected from to lie before until.")
        return start, end

    def _known(self, where: str, entry: Mapping[str, Any], known: Iterable[str]) -> None:
        names = list(known)
        for key in entry:
            if key not in names:
                self.mistakes.append(f"{where}.{key} is not known. {nearest(key, names)}")

    def _entries(self, table: str, key: str) -> list[tuple[str, Mapping[str, Any]]]:
        content = self._raw(table, key)
        if content is None:
            return []
        if not isinstance(content, list) or not all(isinstance(one, Mapping) for one in content):
            self.mistakes.append(f"{table}.{key} is not a list of tables: {key} = [{{ ... }}, {{ ... }}].")
            return []
        return [(f"{table}.{key}[{i}]", entry) for i, entry in enumerate(content, 1)]

    def points(self) -> tuple[tuple[float, float, float], ...]:
        """Points of weather: time [s], temperature [degC], relative humidity."""
        found = []
        for where, entry in self._entries("weather", "points"):
            self._known(where, entry, ("at", "temperature", "humidity"))
            row = []
            for key, kind, name in (
                ("at", "time", "duration"),
                ("temperature", "temperature", "weather.temperature"),
                ("humidity", "humidity", "weather.humidity"),
            ):
                if key not in entry:
                    self.mistakes.append(
                        f'{where} lacks "{key}". Every point gives at, temperature and humidity.'
                    )
                    row.append(math.nan)
                    continue
                value = self.parsed(entry[key], kind, f"{where}.{key}")  # type: ignore[arg-type]
                bound = _KEYS[name]
                if key != "at" and not math.isnan(value):
                    low, high = (parse(one, bound.kind, name) for one in (bound.lowest, bound.highest))
                    if not low <= value <= high:
                        self.mistakes.append(
                            f"{where}.{key} is {entry[key]!r}. {bound.lowest} to {bound.highest} is "
                            "expected. "
                            "Check the number and its unit."
                        )
                row.append(value)
            found.append((row[0], row[1], row[2]))
        if len(found) > 1 and any(b[0] <= a[0] for a, b in itertools.pairwise(found)):
            self.mistakes.append("weather.points: times do not rise. Put the points in order of at.")
        return tuple(found)

    def epw(self) -> tuple[str, str] | None:
        """Name of a weather file and the moment to start at."""
        name, start = self._raw("weather", "epw"), self._raw("weather", "from")
        if name is None and start is None:
            return None
        for key, value, such in (("epw", name, "place.epw"), ("from", start, "01-15 06:00")):
            if not isinstance(value, str) or not value.strip():
                self.mistakes.append(f'weather.{key} is {value!r}. Expected text: {key} = "{such}".')
                return None
        return str(name), str(start)

    def _check_weather(self, found: Values) -> None:
        weather = self.table.get("weather", {})
        if not isinstance(weather, Mapping):
            return
        constant = [key for key in ("temperature", "humidity") if key in weather]
        ways = [len(constant) == 2, "points" in weather, "epw" in weather]
        if len(constant) == 1 or sum(ways) != 1:
            self.mistakes.append(
                "[weather] needs one of: temperature and humidity; points; or epw and from. Write "
                "just one of them."
            )

    def acts(self) -> tuple[PlannedAct, ...]:
        content = self.table.get("acts", [])
        if not isinstance(content, list):
            return ()
        found = []
        for i, entry in enumerate(content, 1):
            where = f"acts[{i}]"
            if not isinstance(entry, Mapping):
                continue
            self._known(where, entry, ("act", "at", "when", "wait", "latest", "note"))
            act = entry.get("act")
            if act not in ACTS:
                self.mistakes.append(f"{where}.act is {act!r}, which is no act. {nearest(str(act), ACTS)}")
            when = entry.get("when", "")
            if ("at" in entry) == ("when" in entry):
                self.mistakes.append(
                    f'{where} needs either at or when. Write at = "10 min", or when = "sensor-closed".'
                )
            if when and when not in rows.CONDITIONS:
                self.mistakes.append(f"{where}.when is {when!r}. {nearest(str(when), rows.CONDITIONS)}")
            for key in ("wait", "latest"):
                if key in entry and "when" not in entry:
                    self.mistakes.append(f"{where}.{key} goes with when, and there is none. Leave it out.")
            times = {
                key: self.parsed(entry[key], "time", f"{where}.{key}")
                for key in ("at", "wait", "latest")
                if key in entry
            }
            if any(value < 0 for value in times.values()):
                self.mistakes.append(f"{where} has a time below 0. Expected times from 0 on.")
            found.append(
                PlannedAct(
                    act=str(act),
                    at_s=times.get("at"),
                    when=str(when),
                    wait_s=times.get("wait", 0.0),
                    latest_s=times.get("latest", 1800.0),
                    note=str(entry.get("note", "")),
                )
            )
        return tuple(found)

    def faults(self) -> tuple[PlannedFault, ...]:
        content = self.table.get("faults", {})
        known = [*FAULTS, *INSTRUMENT_FAULTS]
        found = []
        for name, value in content.items() if isinstance(content, Mapping) else ():
            where = f"faults.{name}"
            if name not in known:
                self.mistakes.append(f"{where} is no fault. {nearest(name, known)}")
                continue
            entry = value if isinstance(value, Mapping) else {"severity": value}
            self._known(where, entry, ("severity", "at", "until"))
            severity = entry.get("severity")
            if (
                isinstance(severity, bool)
                or not isinstance(severity, (int, float))
                or not 0.0 <= severity <= 1.0
            ):
                one = FAULTS[name].at_one if name in FAULTS else INSTRUMENT_FAULTS[name].at_one
                self.mistakes.append(
                    f"{where} has the severity {severity!r}. Expected a number from 0 (sound) to 1 ({one})."
                )
                continue
            at, until = (
                self.parsed(entry[key], "time", f"{where}.{key}") if key in entry else None
                for key in ("at", "until")
            )
            if name in INSTRUMENT_FAULTS and (at is not None or until is not None):
                self.mistakes.append(
                    f"{where}: a fault of an instrument holds all through. Leave at and until out."
                )
            if until is not None and until <= (at or 0.0):
                self.mistakes.append(f"{where} ends before it begins. Expected at to lie before until.")
            found.append(PlannedFault(name=name, severity=float(severity), at_s=at, until_s=until))
        return tuple(found)

    def channels(self) -> tuple[str, ...] | None:
        content = self._raw("recording", "channels")
        if content is None:
            return None
        if not isinstance(content, list) or not content:
            self.mistakes.append(f"recording.channels is {content!r}. Expected a list of channels.")
            return None
        for name in content:
            if name not in CHANNELS:
                self.mistakes.append(
                    f"recording.channels: {name!r} is no channel. {nearest(str(name), CHANNELS)}"
                )
        return tuple(str(name) for name in content)

    def starts(self) -> datetime | None:
        value = self._raw("recording", "starts")
        if value is None:
            return None
        if not isinstance(value, datetime) or value.tzinfo is None:
            self.mistakes.append(
                f"recording.starts is {value!s}. Expected a date and time with its offset, without quotes: "
                "starts = 2026-01-14T09:00:00-07:00."
            )
            return None
        return value

    def lost(self) -> tuple[Lost, ...]:
        found = []
        for where, entry in self._entries("recording", "gaps"):
            start, end = self._span(where, entry, _SPAN_KEYS)
            channel = entry.get("channel", "")
            if channel and channel not in CHANNELS:
                self.mistakes.append(
                    f"{where}.channel {channel!r} is no channel. {nearest(str(channel), CHANNELS)}"
                )
            found.append(Lost(start_s=start, end_s=end, channel=str(channel)))
        return tuple(found)

    def clock_jump(self) -> tuple[float, float] | None:
        entry = self._raw("recording", "clock_jump")
        if entry is None:
            return None
        if not isinstance(entry, Mapping) or set(entry) != {"at", "by"}:
            self.mistakes.append(
                f'recording.clock_jump is {entry!r}. Expected {{ at = "30 min", by = "10 min" }}: '
                "when, how far on."
            )
            return None
        at, by = (self.parsed(entry[key], "time", f"recording.clock_jump.{key}") for key in ("at", "by"))
        if by < 0:
            self.mistakes.append("recording.clock_jump.by is below 0. The bench's clocks jump forwards only.")
        return at, by

    def probes(self) -> dict[str, Probe]:
        content = self.table.get("probes", {})
        kinds = {channel.kind for channel in CHANNELS.values()}
        found: dict[str, Probe] = {}
        for name, entry in content.items() if isinstance(content, Mapping) else ():
            where = f"probes.{name}"
            if name not in CHANNELS and name not in kinds:
                self.mistakes.append(
                    f"{where} is neither a channel nor a kind. {nearest(name, [*sorted(kinds), *CHANNELS])}"
                )
                continue
            if not isinstance(entry, Mapping):
                self.mistakes.append(f'{where} is {entry!r}. Expected {{ noise = "...", lag = "...", ... }}.')
                continue
            self._known(where, entry, _PROBE_KEYS)
            kind: Any = CHANNELS[name].kind if name in CHANNELS else name
            width: Kind = {"temperature": "temperature_difference", "pressure": "pressure_difference"}.get(
                kind, kind
            )
            noise, lag, step = (
                self.parsed(entry[key], "time" if key == "lag" else width, f"{where}.{key}")
                if key in entry
                else 0.0
                for key in _PROBE_KEYS
            )
            if min(noise, lag, step) < 0.0:
                self.mistakes.append(f"{where} has a value below 0. Expected values from 0 on.")
            found[name] = Probe(noise=noise, lag_s=lag, resolution=step)
        return found


_MORE: Final = {
    "weather": ("points", "epw", "from"),
    "recording": ("channels", "starts", "gaps", "clock_jump"),
    "house": rows.HOUSE_KEYS,
}
"""Keys that are neither quantities nor words."""
