"""What each column of a file is: from its header, or from the map file."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from firstfrost.errors import DataError, InputError, UnitError
from firstfrost.quantities import Unit, unit
from firstfrost.trace.channels import CHANNELS, Channel

IGNORE: Final = "ignore"
_TIMES: Final = frozenset(
    {"time", "timestamp", "time_stamp", "datetime", "date_time", "date_and_time", "elapsed", "elapsed_time"}
    | {"time_utc", "utc_time", "utc", "local_time", "time_local", "unix_time", "epoch", "seconds", "t"}
)
_DATES: Final = frozenset({"date"})
_ZONE_WORDS: Final = frozenset({"utc", "z", "gmt"})
_EXAMPLE: Final[Mapping[str, str]] = {
    "pressure": "psig",
    "temperature": "degF",
    "humidity": "%",
    "voltage": "V",
    "current": "A",
    "power": "W",
    "flow": "cfm",
    "pressure_difference": "inH2O",
    "switch": "1",
}
_BRACKETS: Final = re.compile(r"(?P<name>.*?)\s*(?:\[(?P<square>[^\[\]]*)\]|\((?P<round>.*)\))\s*")
_WORDS: Final = (
    ("temperature", "temp"),
    ("vapour", "vapor"),
    ("air_flow", "airflow"),
    ("relative_humidity", "humidity"),
    ("amperage", "current"),
)


@dataclass(frozen=True, kw_only=True)
class FileMap:
    """What the map file says of one file of a visit."""

    clock_offset_s: float = 0.0
    """Added to each time of the file: a clock 12 s ahead of the others gets -12 s."""
    start: str | None = None
    """The instant of time 0 in a file of bare seconds or clock times, ISO 8601."""
    zone: str | None = None


@dataclass(frozen=True, kw_only=True)
class ColumnMap:
    """A map file: what odd headers mean, and how the file is laid out."""

    source: str = "the map"
    columns: Mapping[str, str] = field(default_factory=dict)
    """Header as in the file -> `channel [unit]`, `time [unit]`, or `ignore`."""
    time_column: str | None = None
    time_format: str | None = None
    time_unit: str | None = None
    zone: str | None = None
    files: Mapping[str, FileMap] = field(default_factory=dict)
    decimal: str | None = None
    delimiter: str | None = None
    encoding: str | None = None
    others: str | None = None
    """`ignore`: leave out each column that is not understood, rather than refuse the file."""
    sure: tuple[str, ...] = ()
    """Headers whose unit is right, however odd the readings look."""

    @classmethod
    def from_toml(cls, path: Path | str) -> ColumnMap:
        """Read a map file.

        Raises
        ------
        InputError
            If it cannot be read, or says something that a map file cannot say.
        """
        import tomllib

        name = Path(path).name
        try:
            table = tomllib.loads(Path(path).read_bytes().decode("utf-8-sig"))
        except OSError as err:
            raise InputError(f"The map file {path} cannot be read: {err.strerror}. Check the path.") from err
        except UnicodeDecodeError as err:
            raise InputError(
                f"The map file {name} is not text in UTF-8. Save it again as plain text."
            ) from err
        except tomllib.TOMLDecodeError as err:
            raise InputError(
                f"The map file {name} is not TOML{_place(err)}. Expected lines such as "
                '"Ch 1" = "suction_pressure [psig]" under [columns].'
            ) from err
        return cls._from_table(table, name=name)

    @classmethod
    def _from_table(cls, table: dict[str, Any], *, name: str) -> ColumnMap:
        _only(
            table,
            {"columns", "time", "files", "decimal", "delimiter", "encoding", "others", "sure"},
            name,
            "",
        )
        columns = _texts(table.get("columns", {}), name, "columns")
        time = _texts(table.get("time", {}), name, "time")
        _only(time, {"column", "format", "zone", "unit"}, name, "time")
        for key, allowed in (("decimal", (".", ",")), ("others", (IGNORE,))):
            if table.get(key) is not None and table[key] not in allowed:
                raise InputError(
                    f"The map file {name} has {key} = {table[key]!r}. Expected "
                    f"{' or '.join(repr(a) for a in allowed)}."
                )
        for key in ("delimiter", "encoding"):
            value = table.get(key)
            if value is not None and (
                not isinstance(value, str) or not value or (key == "delimiter" and len(value) > 1)
            ):
                raise InputError(
                    f'The map file {name} has {key} = {value!r}. Expected text such as ";" or "cp1252".'
                )
        sure = table.get("sure", [])
        if not isinstance(sure, list) or not all(isinstance(header, str) for header in sure):
            raise InputError(
                f"The map file {name} has sure = {sure!r}. Expected a list of headers in quotes."
            )
        files: dict[str, FileMap] = {}
        for file, said in _table(table.get("files", {}), name, "files").items():
            entry = _texts(said, name, f'files."{file}"')
            _only(entry, {"clock_offset", "start", "zone"}, name, f'files."{file}"')
            files[file] = FileMap(
                clock_offset_s=_seconds(
                    entry.get("clock_offset", "0 s"), where=f'{name}, files."{file}".clock_offset'
                ),
                start=entry.get("start"),
                zone=entry.get("zone"),
            )
        return cls(
            source=name,
            columns=columns,
            time_column=time.get("column"),
            time_format=time.get("format"),
            time_unit=time.get("unit"),
            zone=time.get("zone"),
            files=files,
            decimal=table.get("decimal"),
            delimiter=table.get("delimiter"),
            encoding=table.get("encoding"),
            others=table.get("others"),
            sure=tuple(sure),
        )


def _place(err: Exception) -> str:
    found = re.search(r"\(at (line \d+, column \d+)\)", str(err))
    return f" at {found[1]}" if found else ""


def _seconds(text: str, *, where: str) -> float:
    from firstfrost.quantities import parse

    return parse(text, "time", where)


def _table(value: object, name: str, where: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise InputError(f"The map file {name} has {where} = {value!r}. Expected a table: [{where}].")
    return value


def _texts(value: object, name: str, where: str) -> dict[str, str]:
    table = _table(value, name, where)
    for key, text in table.items():
        if not isinstance(text, str):
            raise InputError(
                f"The map file {name} has {key} = {text!r} under [{where}]. Expected text in quotes."
            )
    return table


def _only(table: Mapping[str, Any], allowed: set[str], name: str, where: str) -> None:
    for key in table:
        if key not in allowed:
            place = f" under [{where}]" if where else ""
            raise InputError(
                f"The map file {name} has {key!r}{place}, which says nothing here. Expected one of: "
                f"{', '.join(sorted(allowed))}."
            )


@dataclass(frozen=True, kw_only=True)
class Role:
    """What a column is for: `time`, `date`, `channel`, `ignore` or `unknown`."""

    what: str
    channel: Channel | None = None
    unit: str | None = None
    """As the header or the map gives it; None where neither does."""


UNKNOWN: Final = Role(what="unknown")


def plain(text: str) -> str:
    """A header's name without case, blanks, hyphens and long words."""
    name = re.sub(r"[\s_./-]+", "_", text.strip().strip("\"'").casefold()).strip("_")
    for long, short in _WORDS:
        name = name.replace(long, short)
    return name


_SPELLINGS: Final = {
    plain(text): channel for channel in CHANNELS.values() for text in (channel.name, channel.title)
}


def split_unit(header: str) -> tuple[str, str | None]:
    """Split `suction pressure (psig)` into its name and its unit text."""
    match = _BRACKETS.fullmatch(header.strip())
    if match:
        return match["name"], (match["square"] if match["square"] is not None else match["round"]).strip()
    name, comma, rest = header.rpartition(",")
    if comma and _name_of(name) is not None:
        return name, rest.strip()
    return header.strip(), None


def _name_of(text: str) -> Channel | str | None:
    name = plain(text)
    if name in _TIMES:
        return "time"
    if name in _DATES:
        return "date"
    return _SPELLINGS.get(name)


def _suffixed(header: str) -> tuple[Channel, str] | None:
    """Split `outdoor_coil_temp_f` into its channel and the unit at its end."""
    parts = re.split(r"[\s_]+", header.strip())
    for cut in range(len(parts) - 1, 0, -1):
        channel = _SPELLINGS.get(plain("_".join(parts[:cut])))
        if channel is not None:
            try:
                unit("".join(parts[cut:]))
            except UnitError:
                return None
            return channel, "".join(parts[cut:])
    return None


def role_of(header: str, columns: ColumnMap | None = None) -> Role:
    """Tell what a column is from its header, the map first.

    Raises
    ------
    InputError
        If the map gives the header a meaning that is neither a channel, a time, nor `ignore`.
    """
    if columns is not None:
        if columns.time_column is not None and _same(header, columns.time_column):
            return Role(what="time", unit=columns.time_unit or split_unit(header)[1])
        said = next((to for name, to in columns.columns.items() if _same(header, name)), None)
        if said is not None:
            return _mapped(header, said, columns)
    name, unit_text = split_unit(header)
    found = _name_of(name)
    if found == "date":
        return Role(what="date")
    if found == "time" and (columns is None or columns.time_column is None):
        return Role(what="time", unit=unit_text or (columns.time_unit if columns else None))
    if isinstance(found, Channel):
        return Role(what="channel", channel=found, unit=unit_text or None)
    if unit_text is None:
        suffixed = _suffixed(header)
        if suffixed is not None:
            return Role(what="channel", channel=suffixed[0], unit=suffixed[1])
    return UNKNOWN


def _same(a: str, b: str) -> bool:
    return a.strip() == b.strip() or a.split() == b.split()


def _mapped(header: str, said: str, columns: ColumnMap) -> Role:
    if said.strip().casefold() == IGNORE:
        return Role(what="ignore")
    name, unit_text = split_unit(said)
    found = _name_of(name)
    if isinstance(found, Channel):
        return Role(what="channel", channel=found, unit=unit_text or split_unit(header)[1] or None)
    if found in ("time", "date"):
        return Role(what=str(found), unit=unit_text or columns.time_unit)
    near = difflib.get_close_matches(plain(name), list(_SPELLINGS), n=1)
    hint = f" Did you mean {_SPELLINGS[near[0]].name!r}?" if near else ""
    raise InputError(
        f"The map file {columns.source} gives column {header!r} the meaning {said!r}, which is not a "
        f"channel.{hint} Expected one of: {', '.join(CHANNELS)}, time, date, or ignore."
    )


def known(header: str, columns: ColumnMap | None) -> str | None:
    """Tell whether a header is a time or a channel, for finding the header line."""
    role = role_of(header, columns)
    if role.what in ("time", "date"):
        return "time"
    return "channel" if role.what == "channel" else None


def line_for(header: str) -> str:
    """The line that would map a header which is not understood."""
    name, unit_text = split_unit(header)
    near = difflib.get_close_matches(plain(name), list(_SPELLINGS), n=1, cutoff=0.5)
    channel = _SPELLINGS[near[0]] if near else None
    key = '"' + header.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if channel is None:
        return f'{key} = "ignore"'
    return f'{key} = "{channel.name} [{_fitting(channel, unit_text)}]"'


def _fitting(channel: Channel, unit_text: str | None) -> str:
    if unit_text:
        try:
            if channel.kind in unit(unit_text).kinds:
                return unit_text
        except UnitError:
            pass
    return _EXAMPLE[channel.kind]


def refuse_unknown(source: str, unknown: Sequence[str]) -> DataError:
    """The one error for all columns of a file that are not understood."""
    one = len(unknown) == 1
    names = ", ".join(repr(header) for header in unknown)
    lines = "\n".join("  " + line_for(header) for header in unknown)
    return DataError(
        f"{source}: {'column' if one else 'columns'} {names} {'is' if one else 'are'} not understood. "
        "Expected a channel with its unit, such as suction_pressure [psig]. Say what "
        f"{'it is' if one else 'they are'} in a map file (--columns MAP.toml), or leave "
        f'{"it" if one else "them"} out with "ignore":\n[columns]\n{lines}'
    )


def refuse_unitless(source: str, headers: Sequence[tuple[str, Channel]]) -> DataError:
    """The one error for all columns of a file that lack a unit."""
    one = len(headers) == 1
    names = ", ".join(repr(header) for header, _ in headers)
    lines = "\n".join(
        f'  "{header}" = "{channel.name} [{_EXAMPLE[channel.kind]}]"' for header, channel in headers
    )
    return DataError(
        f"{source}: {'column' if one else 'columns'} {names} {'has' if one else 'have'} no unit. Expected "
        f"it in brackets after the name, such as {headers[0][1].name} [{_EXAMPLE[headers[0][1].kind]}]. "
        "Write it into the header, or say it in a map file (--columns MAP.toml), with the unit that was "
        f"measured in:\n[columns]\n{lines}"
    )


def unit_for(channel: Channel, unit_text: str, *, source: str, header: str) -> Unit:
    """The unit of a column, of the channel's own kind.

    Raises
    ------
    DataError
        If the unit is unknown or of another kind.
    """
    remedy = (
        "Correct the header, or say what was measured in a map file (--columns MAP.toml):\n[columns]\n"
        f'  "{header}" = "{channel.name} [{_EXAMPLE[channel.kind]}]"'
    )
    try:
        found = unit(unit_text)
    except UnitError as err:
        raise DataError(f"{source}: column {header!r}: {err} {remedy}") from err
    if channel.kind not in found.kinds:
        raise DataError(
            f"{source}: column {header!r} is in {unit_text!r}, a unit of {found.kind_words}, and "
            f"{channel.name} is a {channel.kind.replace('_', ' ')}. Expected a unit such as "
            f"{_EXAMPLE[channel.kind]}. {remedy}"
        )
    return found
