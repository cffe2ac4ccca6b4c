"""The errors of Firstfrost, by who must act.

::

    FirstfrostError
    ├── InputError      the user: an option, a unit, a value typed
    │   └── UnitError   a quantity whose unit is missing, unknown or of the wrong kind
    ├── DataError       the file: what is in it cannot be used
    ├── OutOfRange      the physics: a value outside what a property or an equation covers
    ├── StoreError      whoever runs the store: it is away, full, locked, or of another version
    └── RecordError     the caller: a record of the store is not there, or is not as it was thought
        ├── Missing     there is no such record
        ├── Deleted     there was, and it was deleted on request
        ├── Changed     it has been changed since, or came before with other content
        └── WrongState  the visit is not in the state for this

Each text says what was met and where, what was expected, and what to do next.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any


class FirstfrostError(Exception):
    """Root of all errors that Firstfrost raises on purpose."""


class InputError(FirstfrostError):
    """Something typed or set cannot be used."""


class UnitError(InputError):
    """A quantity whose unit is missing, unknown, or of the wrong kind."""


class DataError(FirstfrostError):
    """A file holds something that cannot be used."""


class OutOfRange(FirstfrostError):
    """A value lies outside what a property or an equation covers."""


class StoreError(FirstfrostError):
    """The store cannot be used now: nothing was taken."""


class RecordError(FirstfrostError):
    """A record is not as the caller thought.

    `current` is the record as the store has it, where that helps.
    """

    def __init__(self, text: str, *, current: dict[str, Any] | None = None) -> None:
        super().__init__(text)
        self.current = current


class Missing(RecordError):
    """There is no such record."""


class Deleted(RecordError):
    """There was such a record, and it was deleted on request."""


class Changed(RecordError):
    """The record has been changed since, or came before with other content."""


class WrongState(RecordError):
    """The visit is not in the state for this."""


def together(source: str, mistakes: list[str]) -> InputError:
    """One error for all mistakes found in a file, at least one: on its line, or a list."""
    if len(mistakes) == 1:
        return InputError(f"{source}: {mistakes[0]}")
    return InputError(f"{source} has {len(mistakes)} mistakes:\n" + "\n".join(f"  - {m}" for m in mistakes))


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like `word`, as a question to end an error; or the list of all."""
    names = list(known)
    close = get_close_matches(word.lower(), names, n=1, cutoff=0.5)
    return f"Did you mean {close[0]}?" if close else f"Known are {', '.join(names)}."
