"""TOML files that a person writes: read, or refused with the way out."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from firstfrost.errors import DataError, InputError


def read_toml(path: Path, *, what: str, page: str, lines: str) -> dict[str, Any]:
    """The tables of a TOML file in UTF-8; a byte-order mark is fine.

    Parameters
    ----------
    path : Path
        The file.
    what : str
        What it is to a person: "unit file".
    page : str
        The page that shows one: "docs/unit-file.md".
    lines : str
        Lines to expect in it, for whoever has to mend it.

    Raises
    ------
    InputError
        If there is no such file.
    DataError
        If it is not UTF-8, or not TOML, with the line.
    """
    try:
        raw = path.read_bytes()
    except OSError as err:
        raise InputError(
            f"The {what} {path} cannot be read: {err.strerror or err}. "
            f"Expected a TOML file such as {page} shows. Check its name and place."
        ) from err
    try:
        return tomllib.loads(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as err:
        line = raw.count(b"\n", 0, err.start) + 1
        raise DataError(
            f"The {what} {path} is not UTF-8 text (at line {line}). Expected TOML, which is always UTF-8. "
            'Save it again as "UTF-8".'
        ) from err
    except tomllib.TOMLDecodeError as err:
        raise DataError(
            f"The {what} {path} is not sound TOML: {err}. Expected lines such as {lines}. Correct that line."
        ) from err
