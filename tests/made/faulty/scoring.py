# ruff: noqa: E501
"""Which judged runs count, and what is right.

Set down before the first scoring, and widened once after a first small table (COP, elements in plain heating, a
number that came or went): the figures are not wholly blind.

A run **counts** when its fault matters and its record could show it:

- it *matters* when it changes the true heating capacity or COP by 10 % or more, or makes a function truly fail,
  or changes the heat of the elements in heating or in defrost by 25 % or more, or puts the line voltage 10 % low; a fault of an instrument,
  when it moves one of its own readings by more than twice what the maker's limit of error allows, or the marks
  by half a minute;
- the record *could show it* when, against the record of the same visit to the same machine without the fault
  (same weather, same noise, same channels), a number moves by more than its expanded uncertainty (k = 2) or a
  word changes, or one of the two has a number or a word that the other lacks.

Neither looks at what the tool made of it. The **first place** is the first answer, `sound` and `none of these`
among them. Twins that the tool tells together as one answer count as right if the truth is among them; the
share with the truth alone in first place is given beside it, and so is how many causes an answer names.
"""

from __future__ import annotations

import math

from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.causes.features import LEVELS
from firstfrost.causes.seen import Seen
from made.faulty.dataset import Row

CAPACITY = 0.10
BACKUP = 0.25
LOW_VOLTS = 1.0 / 3.0
"""Severity of `line-voltage-low` that is 10 %."""
LATE_S = 30.0


def matters(row: Row) -> bool:
    """Whether the fault of a run matters."""
    name, severity = next(iter(row.faults.items()))
    twin = row.twin
    if twin is None:
        return False
    if name in INSTRUMENT_FAULTS:
        if name == "clocks-apart":
            return INSTRUMENT_FAULTS[name].apart_s * severity >= LATE_S
        return lies(row)
    if name == "line-voltage-low" and severity >= LOW_VOLTS:
        return True
    if set(row.seen.failed) - set(twin.failed):
        return True
    elements = max(row.seen.backup_w, twin.backup_w, 1.0)
    if abs(row.seen.backup_w - twin.backup_w) >= BACKUP * elements:
        return True
    if abs(row.seen.backup_heating_w - twin.backup_heating_w) >= BACKUP * elements:
        return True
    pairs = ((row.seen.capacity_w, twin.capacity_w), (row.seen.cop, twin.cop))
    return any(_differs(bad, good) for bad, good in pairs)


def _differs(bad: float, good: float) -> bool:
    if math.isfinite(bad) and math.isfinite(good):
        return abs(bad - good) >= CAPACITY * abs(good)
    return math.isfinite(bad) != math.isfinite(good)


def lies(row: Row) -> bool:
    """Whether a faulty instrument is off by more than twice its limit of error (uniform: u sqrt(3))."""
    assert row.twin is not None
    return moved(row.seen.full, row.twin.full, 2.0 * math.sqrt(3.0), words=False)


def could_show(row: Row) -> bool:
    """Whether the record that the tool got could show the fault."""
    return row.twin is not None and moved(row.seen.kit, row.twin.kit, 2.0, words=True)


def moved(bad: dict[str, Seen], good: dict[str, Seen], times_u: float, *, words: bool) -> bool:
    """Whether a number moved by more than `times_u` of its standard uncertainty, or a word came, went or changed."""
    for name in bad.keys() | good.keys():
        if name in LEVELS:
            continue  # added to what the tool looks at after the rule was set
        if name not in bad or name not in good:
            if words:
                return True
            continue
        a, b = bad[name].value, good[name].value
        if isinstance(a, str) or isinstance(b, str):
            if words and a != b:
                return True
        elif abs(a - b) > times_u * max(bad[name].u, good[name].u):
            return True
    return False


def counts(row: Row) -> bool:
    """Whether a judged run with one fault counts."""
    return matters(row) and could_show(row)
