"""Who made the visit, what they noted, and who signed: what a result does not hold and its report should."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from firstfrost.report.text import clean
from firstfrost.report.times import Clock

_KINDS: Final = ((b"\x89PNG\r\n\x1a\n", "png"), (b"\xff\xd8\xff", "jpg"))
"""A drawing is told by its first bytes."""


@dataclass(frozen=True, kw_only=True)
class Signature:
    """One signature under a result."""

    name: str
    role: str
    signed_at: datetime
    """With its zone."""
    drawing: bytes | None = None
    """The drawn signature as PNG or JPEG."""


@dataclass(frozen=True, kw_only=True)
class People:
    """The people of a visit and their words."""

    technician: str = ""
    purpose: str = ""
    note: str = ""
    signatures: tuple[Signature, ...] = ()


def people_fields(people: People | None, when: Clock) -> dict[str, Any]:
    """What a layout says: `by` (one line), `note`, and of each signature `said`, `kind`, `drawing`."""
    if people is None:
        return {"by": "", "note": "", "signed": []}
    technician, purpose = clean(people.technician), clean(people.purpose)
    by = ": ".join(part for part in (f"Visit by {technician}" if technician else "", purpose) if part)
    return {"by": by, "note": clean(people.note), "signed": [_signed(one, when) for one in people.signatures]}


def _signed(one: Signature, when: Clock) -> dict[str, Any]:
    local = one.signed_at.astimezone(when.zone) if when.zone is not None else one.signed_at
    drawing = one.drawing or b""
    kind = next((name for start, name in _KINDS if drawing.startswith(start)), "")
    return {
        "said": f"Signed by {clean(one.name)}, {clean(one.role)}, {local.day} {local:%B %Y %H:%M}",
        "kind": kind,
        "drawing": drawing if kind else b"",
    }
