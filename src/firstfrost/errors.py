"""The errors of Firstfrost, by who must act.

::

    FirstfrostError
    ├── InputError      the user: an option, a unit, a value typed
    │   └── UnitError   a quantity whose unit is missing, unknown or of the wrong kind
    ├── DataError       the file: what is in it cannot be used
    └── OutOfRange      the physics: a value outside what a property or an equation covers

Each text says what was met and where, what was expected, and what to do next.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


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
