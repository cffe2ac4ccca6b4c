"""From the content of a unit file back to its text."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, Final

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")


def unit_toml(table: Mapping[str, Mapping[str, Any]]) -> str:
    """A unit file as text that `tomllib` reads back to the same (TOML 1.0.0).

    Parameters
    ----------
    table : mapping
        Table name -> key -> text, a list of texts or of numbers, or a mapping of key to text.
    """
    blocks = []
    for name, content in table.items():
        lines = [f"[{_key(name)}]", *(f"  {_key(key)} = {_value(value)}" for key, value in content.items())]
        blocks.append("\n".join(lines) + "\n")
    return "\n".join(blocks)


def _key(text: str) -> str:
    return text if _BARE.fullmatch(text) else _text(text)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_text(str(part))}" for key, part in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_item(part) for part in value) + "]"
    return _text(str(value))


def _item(part: Any) -> str:
    bare = isinstance(part, int | float) and not isinstance(part, bool)
    return repr(part) if bare else _text(str(part))


def _text(text: str) -> str:
    # JSON's escapes are TOML's, but for DEL, which TOML wants escaped as well.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
