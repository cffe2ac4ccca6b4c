"""Takes settings from the tables of a unit file; mistakes are collected, so that all are told at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from firstfrost.equipment.heating_settings import HEATING_TABLES
from firstfrost.equipment.plates import HeldTable, TableFile
from firstfrost.equipment.rows import Choice, Series, Setting
from firstfrost.equipment.settings import CHOICES, FILES, SERIES, SETTINGS, STATEMENTS, TABLES
from firstfrost.equipment.unit import Default
from firstfrost.errors import InputError, nearest
from firstfrost.instruments.accuracy import Accuracy, parse_accuracy
from firstfrost.quantities.convert import parse
from firstfrost.quantities.units import WORDS
from firstfrost.trace.channels import CHANNELS

_SETTINGS: Final = {setting.name: setting for setting in SETTINGS}
_CHOICES: Final = {choice.name: choice for choice in CHOICES}
_SERIES: Final = {row.name: row for row in SERIES}
_STATEMENTS: Final = {row.name: row for row in STATEMENTS}
_FILES: Final = {row.name: row for row in FILES}


class Reader:
    """Takes settings from one file, noting defaults and mistakes as it goes.

    `folder` is where files that it names are looked for; None where there is none.
    """

    def __init__(self, table: Mapping[str, Any], *, folder: Path | None = None) -> None:
        self.folder = folder
        self.mistakes: list[str] = []
        self.defaults: list[Default] = []
        self.heating_defaults: list[Default] = []
        self.given: dict[str, Any] = {}
        self._sort_out(table)

    def _sort_out(self, table: Mapping[str, Any]) -> None:
        for name, content in table.items():
            if name not in TABLES:
                self.mistakes.append(f"[{name}] is not a table of a unit file. {nearest(name, TABLES)}")
            elif not isinstance(content, Mapping):
                self.mistakes.append(
                    f"{name} is {content!r}, not a table. Write [{name}] on a line of its own."
                )
            else:
                known = TABLES[name] or tuple(CHANNELS)
                for key, value in content.items():
                    if key in known:
                        self.given[f"{name}.{key}"] = value
                    else:
                        what = "a channel" if name == "instruments" else "a key"
                        of = "" if name == "instruments" else f" of [{name}]"
                        self.mistakes.append(f"{name}.{key} is not {what}{of}. {nearest(key, known)}")

    def note_default(self, setting: str, value: str, why: str) -> None:
        """Note that a setting was not given; those of the heating check are kept apart."""
        of_heating = setting.partition(".")[0] in HEATING_TABLES
        kept = self.heating_defaults if of_heating else self.defaults
        kept.append(Default(setting=setting, value=value, why=why))

    def quantity(
        self, name: str, *, atmosphere_pa: float | None = None, default: tuple[str, str] | None = None
    ) -> float:
        """The setting in SI; NaN where it is missing without default, or wrong.

        `default`, a value and why, goes before that of the row.
        """
        setting = _SETTINGS[name]
        if name in self.given:
            return self._checked(setting, self.given[name], atmosphere_pa)
        value, why = default or (setting.default, setting.why)
        if value is None:
            return math.nan
        self.note_default(name, value, why)
        return parse(value, setting.kind, name, atmosphere_pa=atmosphere_pa)

    def _checked(
        self, setting: Setting, text: object, atmosphere_pa: float | None, *, where: str = ""
    ) -> float:
        where = where or setting.name
        try:
            value = parse(text, setting.kind, where, atmosphere_pa=atmosphere_pa)
        except InputError as err:
            self.mistakes.append(str(err))
            return math.nan
        low, high = (parse(bound, setting.kind, setting.name) for bound in (setting.lowest, setting.highest))
        if not low <= value <= high:
            self.mistakes.append(
                f"{where} is {text!r}. It is the {setting.meaning}, and {setting.lowest} to "
                f"{setting.highest} is expected. Check the number and its unit."
            )
            return math.nan
        return value

    def choice(self, name: str) -> str | None:
        """The setting's word; None where it is missing without default, or wrong."""
        choice: Choice = _CHOICES[name]
        if name not in self.given:
            if choice.default is not None:
                self.note_default(name, choice.default, choice.why)
            return choice.default
        value = self.given[name]
        if not isinstance(value, str) or not value.strip():
            self.mistakes.append(
                f'{name} is {value!r}. Expected text in quotes, such as {choice.key} = "...".'
            )
            return None
        if choice.words and value not in choice.words:
            self.mistakes.append(
                f"{name} is {value!r}. Expected one of: {', '.join(choice.words)}. "
                "Write it just so, in quotes."
            )
            return None
        return value.strip()

    def given_quantity(self, name: str) -> float | None:
        """The setting in SI; None where it is not given and has no default, or is wrong."""
        value = self.quantity(name)
        return None if math.isnan(value) else value

    def series(self, name: str) -> tuple[float, ...] | None:
        """The list, in SI or as bare numbers; None where it is missing, or wrong."""
        row = _SERIES[name]
        if name not in self.given:
            return None
        value = self.given[name]
        count = f"{row.shortest}" if row.shortest == row.longest else f"{row.shortest} to {row.longest}"
        example = WORDS[row.kind][1] if row.kind else ""
        what = f'values with their units, such as ["{example}", ...]' if row.kind else "bare numbers"
        if not isinstance(value, list) or not row.shortest <= len(value) <= row.longest:
            got = f"{len(value)} of them" if isinstance(value, list) else repr(value)
            self.mistakes.append(
                f"{name} is {got}. It is the {row.meaning}: a list of {count} {what}. "
                "Write it in square brackets."
            )
            return None
        items = [self._item(row, place, item) for place, item in enumerate(value, start=1)]
        return None if any(math.isnan(item) for item in items) else tuple(items)

    def _item(self, row: Series, place: int, item: object) -> float:
        where = f"{row.name}, number {place},"
        if row.kind is None:
            if isinstance(item, bool) or not isinstance(item, (int, float)) or not math.isfinite(item):
                self.mistakes.append(
                    f"{where} is {item!r}. Expected a bare number. Write it without quotes and unit."
                )
                return math.nan
            return float(item)
        one = Setting(
            table=row.table,
            key=row.key,
            kind=row.kind,
            meaning=row.meaning,
            lowest=row.lowest,
            highest=row.highest,
        )
        return self._checked(one, item, None, where=where)

    def statement(self, name: str, *, atmosphere_pa: float) -> Accuracy | None:
        """What an instrument is worth; None where it is wrong."""
        row = _STATEMENTS[name]
        text = self.given.get(name)
        if text is None:
            text = row.default
            self.note_default(name, text, row.why)
        try:
            return parse_accuracy(text, row.kind, name, atmosphere_pa=atmosphere_pa)
        except InputError as err:
            self.mistakes.append(str(err))
            return None

    def file(self, name: str) -> TableFile | None:
        """A file that the unit file names or holds; None where it does neither, or there is no such file."""
        if name not in self.given:
            return None
        text = self.given[name]
        if isinstance(text, Mapping):
            return self._held(name, text)
        if not isinstance(text, str) or not text.strip():
            self.mistakes.append(
                f'{name} is {text!r}. Expected the name of a file in quotes, such as "table.csv".'
            )
            return None
        path = (self.folder or Path()) / text.strip()
        if not path.is_file():
            self.mistakes.append(
                f"{name} is {text!r}, and there is no such file: {path}. It is the {_FILES[name].meaning}. "
                "Put it beside the unit file, or correct its name."
            )
            return None
        return path

    def _held(self, name: str, table: Mapping[str, Any]) -> HeldTable | None:
        called, text = table.get("name"), table.get("text")
        good = all(isinstance(part, str) and part.strip() for part in (called, text))
        if not good or len(table) != 2:
            self.mistakes.append(
                f"{name} is a table with the keys {', '.join(map(str, table)) or 'none'}. Expected the name "
                'of a file in quotes, or the file itself: { name = "table.csv", text = "..." }, neither of '
                "them empty. Write one of the two."
            )
            return None
        return HeldTable(name=str(called).strip(), text=str(text))

    def as_given(self, name: str) -> str:
        """The setting as it stands in the file, else its default."""
        return str(self.given.get(name, _SETTINGS[name].default))
