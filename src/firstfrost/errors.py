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
