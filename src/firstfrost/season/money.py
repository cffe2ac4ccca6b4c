"""Prices and carbon as the user gives them: flat or by time of use, and fuels to compare with.

A prices file (TOML)::

    currency = "USD"
    [electricity]
    price = 0.16                 # for a kWh; or
    table = "tariff.csv"         # month, hour, price, and carbon if known; from this file's folder
    carbon = 0.38                # kg of CO2 for a kWh; left out where it is not known
    [[fuel]]
    name = "natural gas"
    price = 1.30
    per = "29.3 kWh"             # heat in what the price is for
    efficiency = 0.92            # of the heater
    carbon = 0.20                # kg for a kWh of the fuel's heat

Nothing of this has a default: prices and carbon differ too much from place to place.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from firstfrost.errors import DataError, InputError, nearest, together
from firstfrost.quantities.convert import parse
from firstfrost.refrigerants.curves import Floats
from firstfrost.toml_file import read_toml

KWH_J: Final = 3.6e6
_TOP: Final = ("currency", "electricity", "fuel")
_ELECTRICITY: Final = ("price", "table", "carbon")
_FUEL: Final = ("name", "price", "per", "efficiency", "carbon")


@dataclass(frozen=True, kw_only=True)
class Fuel:
    """A fuel to compare with."""

    name: str
    price_kwh: float
    """For a kWh of useful heat."""
    carbon_kwh: float | None
    """kg of CO2 for a kWh of useful heat."""


@dataclass(frozen=True, kw_only=True)
class Prices:
    """What energy costs."""

    source: str
    currency: str
    price_kwh: Floats
    """(12, 24) electricity by month, January first, and hour of the day; all the same if flat."""
    carbon_kwh: Floats | None
    """(12, 24) kg of CO2 for a kWh."""
    fuels: tuple[Fuel, ...]

    @property
    def flat(self) -> bool:
        """Whether price and carbon are the same at all times."""
        same = bool((self.price_kwh == self.price_kwh[0, 0]).all())
        return same and (self.carbon_kwh is None or bool((self.carbon_kwh == self.carbon_kwh[0, 0]).all()))

    def cost(self, electricity_j: Floats) -> Floats:
        """Cost of electricity (..., 12, 24) [J], summed over its last two axes."""
        return np.asarray((electricity_j * self.price_kwh).sum(axis=(-2, -1)) / KWH_J)

    def carbon(self, electricity_j: Floats) -> Floats | None:
        """Kilograms of CO2, as `cost`; None where no factor is given."""
        if self.carbon_kwh is None:
            return None
        return np.asarray((electricity_j * self.carbon_kwh).sum(axis=(-2, -1)) / KWH_J)


def read_prices(path: Path | str) -> Prices:
    """Read a prices file.

    Raises
    ------
    InputError
        It cannot be read, or says something that it cannot say; all mistakes at once.
    DataError
        Its table cannot be used.
    """
    path = Path(path)
    data = read_toml(
        path, what="prices file", page="docs/season.md", lines="price = 0.16 under [electricity]"
    )
    return prices_from(data, path.name, lambda name: _table_text(path.parent / name))


def prices_from(data: dict[str, Any], source: str, table: Callable[[str], str]) -> Prices:
    """Prices from the tables of a prices file.

    Parameters
    ----------
    data : dict
        As TOML has it.
    source : str
        What it is called in errors.
    table : callable
        The text of the tariff by what `electricity.table` says.

    Raises
    ------
    InputError
        It says something that it cannot say; all mistakes at once.
    DataError
        Its table cannot be used.
    """
    wrong: list[str] = [f"{key} is not a key. {nearest(key, _TOP)}" for key in data if key not in _TOP]
    currency = data.get("currency", "")
    if not isinstance(currency, str) or not currency.strip():
        wrong.append('currency is missing. Expected a name such as currency = "USD".')
    electricity = data.get("electricity")
    price, carbon = np.zeros((12, 24)), None
    if not isinstance(electricity, dict):
        wrong.append("[electricity] is missing. Expected its price for a kWh, or a table.")
    else:
        price, carbon = _electricity(electricity, table, wrong)
    fuels = []
    for n, row in enumerate(data.get("fuel", []) if isinstance(data.get("fuel", []), list) else [], 1):
        found = _fuel(row, f"[[fuel]] number {n}", wrong)
        if found is not None:
            fuels.append(found)
    if wrong:
        raise together(source, wrong)
    return Prices(
        source=source, currency=currency.strip(), price_kwh=price, carbon_kwh=carbon, fuels=tuple(fuels)
    )


def _number(row: dict[str, Any], key: str, where: str, wrong: list[str], *, most: float) -> float:
    value = row.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 <= value <= most:
        wrong.append(f"{where}: {key} is {value!r}. Expected a number from 0 to {most:g}, without quotes.")
        return math.nan
    return float(value)


def _electricity(
    row: dict[str, Any], tables: Callable[[str], str], wrong: list[str]
) -> tuple[Floats, Floats | None]:
    where = "[electricity]"
    wrong += [f"{where}: {k} is not a key. {nearest(k, _ELECTRICITY)}" for k in row if k not in _ELECTRICITY]
    price, carbon = np.full((12, 24), np.nan), None
    if "carbon" in row:
        carbon = np.full((12, 24), _number(row, "carbon", where, wrong, most=5.0))
    if ("price" in row) == ("table" in row):
        wrong.append(f"{where} needs either price, for a kWh at all times, or table. Give one of the two.")
    elif "price" in row:
        price[:] = _number(row, "price", where, wrong, most=1e6)
    elif not isinstance(row["table"], str):
        wrong.append(f"{where}: table is {row['table']!r}. Expected the name of a CSV file in quotes.")
    else:
        price, by_time = _tariff(
            tables(row["table"]), row["table"] if "\n" not in row["table"] else "The tariff"
        )
        carbon = by_time if by_time is not None else carbon
    return price, carbon


def _fuel(row: Any, where: str, wrong: list[str]) -> Fuel | None:
    if not isinstance(row, dict):
        wrong.append(f"{where} is no table. Write it under [[fuel]].")
        return None
    wrong += [f"{where}: {k} is not a key. {nearest(k, _FUEL)}" for k in row if k not in _FUEL]
    count = len(wrong)
    name = row.get("name")
    if not isinstance(name, str) or not name.strip():
        wrong.append(f'{where}: name is {name!r}. Expected such as name = "natural gas".')
    price = _number(row, "price", where, wrong, most=1e6)
    efficiency = _number(row, "efficiency", where, wrong, most=1.2)
    carbon = _number(row, "carbon", where, wrong, most=5.0) if "carbon" in row else None
    per = math.nan
    try:
        per = parse(row.get("per"), "energy", f"{where}: per")
    except InputError as err:
        wrong.append(str(err))
    if len(wrong) > count:
        return None
    if not (per > 0.0 and efficiency > 0.0):
        wrong.append(f"{where}: per and efficiency must be above 0.")
        return None
    return Fuel(
        name=str(name).strip(),
        price_kwh=price / (per / KWH_J) / efficiency,
        carbon_kwh=None if carbon is None else carbon / efficiency,
    )


def _table_text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as err:
        reason = getattr(err, "strerror", None) or err
        raise InputError(f"The tariff {path} cannot be read: {reason}. Check its name.") from err


def _tariff(text: str, name: str) -> tuple[Floats, Floats | None]:
    """Price and carbon (12, 24): rows of month (1 to 12, `11-3`, `all`), hour (0 to 23, `7-11`, `all`)."""
    rows = [row for row in csv.reader(io.StringIO(text)) if any(cell.strip() for cell in row)]
    head = [cell.strip().lower() for cell in rows[0]] if rows else []
    if not {"month", "hour", "price"} <= set(head):
        raise DataError(
            f"{name}, line 1 is {','.join(head)!r}. Expected month,hour,price and, where known, carbon."
        )
    price = np.full((12, 24), np.nan)
    carbon = np.full((12, 24), np.nan) if "carbon" in head else None
    for line, row in enumerate(rows[1:], 2):
        cells = dict(zip(head, (cell.strip() for cell in row), strict=False))
        try:
            months = _span(cells["month"], 1, 12)
            hours = _span(cells["hour"], 0, 23)
            price[np.ix_([m - 1 for m in months], hours)] = float(cells["price"])
            if carbon is not None and cells.get("carbon"):
                carbon[np.ix_([m - 1 for m in months], hours)] = float(cells["carbon"])
        except (KeyError, ValueError) as err:
            raise DataError(
                f"{name}, line {line} is {','.join(row)!r}. Expected month 1 to 12, a span such as "
                f"11-3, or "
                "all; hour 0 to 23, a span or all; and a number as price. Correct that row."
            ) from err
    for what, table in (("price", price), ("carbon", carbon)):
        if table is not None and np.isnan(table).any():
            month, hour = (int(x[0]) for x in np.nonzero(np.isnan(table)))
            raise DataError(
                f"{name} has no {what} for month {month + 1}, hour {hour}. Every hour of every month "
                f"needs "
                "one; a row with all,all at the top sets the rest."
            )
    return price, carbon


def _span(text: str, low: int, high: int) -> list[int]:
    """`all`, `5`, or `22-6`, which goes over the end."""
    if text.lower() == "all":
        return list(range(low, high + 1))
    first, _, last = text.partition("-")
    a, b = int(first), int(last or first)
    if not (low <= a <= high and low <= b <= high):
        raise ValueError(text)
    return list(range(a, b + 1)) if a <= b else [*range(a, high + 1), *range(low, b + 1)]
