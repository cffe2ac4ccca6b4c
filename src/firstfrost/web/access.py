"""Who may do what: one row a route. The service asks this table alone; a test asks it for every role.

| letter | who |
|---|---|
| T | technician |
| E | teacher |
| e | teacher, for units marked as practice and their visits only |
| L | lead; where one person works alone, that person |
| R | read-only |
| K | a recorder's key |
| * | anyone, signed in or not |
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, select

from firstfrost.store.schema import units, visits

LETTERS: Final = {"technician": "T", "teacher": "E", "lead": "L", "read-only": "R", "recorder": "K"}

_ALL: Final = "TELR"
_WORK: Final = "TeL"

ACCESS: Final[dict[tuple[str, str], str]] = {
    ("GET", "/api/health"): "*",
    ("GET", "/api/openapi.json"): "*",
    ("GET", "/api/session"): "*",
    ("POST", "/api/session"): "*",
    ("DELETE", "/api/session"): _ALL,
    ("PUT", "/api/session/password"): _ALL,
    ("POST", "/api/setup"): "*",
    ("GET", "/api/accounts"): "L",
    ("PUT", "/api/accounts/{account}"): "L",
    ("GET", "/api/keys"): "L",
    ("POST", "/api/keys"): "L",
    ("DELETE", "/api/keys/{key}"): "L",
    ("GET", "/api/audit"): "L",
    ("GET", "/api/sites"): _ALL,
    ("GET", "/api/sites/{site}"): _ALL,
    ("PUT", "/api/sites/{site}"): "TL",
    ("DELETE", "/api/sites/{site}"): "L",
    ("GET", "/api/units"): _ALL,
    ("GET", "/api/units/{unit}"): _ALL,
    ("PUT", "/api/units/{unit}"): _WORK,
    ("DELETE", "/api/units/{unit}"): "L",
    ("GET", "/api/units/{unit}/history"): _ALL,
    ("POST", "/api/units/{unit}/plan"): _ALL,
    ("POST", "/api/units/{unit}/season"): _ALL,
    ("POST", "/api/prices"): _ALL,
    ("PUT", "/api/units/{unit}/attachments/{attachment}"): _WORK,
    ("POST", "/api/plates"): _ALL,
    ("GET", "/api/instruments"): _ALL,
    ("GET", "/api/instruments/{instrument}"): _ALL,
    ("PUT", "/api/instruments/{instrument}"): "TL",
    ("GET", "/api/attention"): _ALL,
    ("GET", "/api/visits"): _ALL,
    ("GET", "/api/visits/{visit}"): _ALL,
    ("PUT", "/api/visits/{visit}"): _WORK,
    ("DELETE", "/api/visits/{visit}"): "L",
    ("POST", "/api/visits/{visit}/batches"): "TeLK",
    ("GET", "/api/visits/{visit}/batches"): "TELRK",
    ("GET", "/api/visits/{visit}/readings"): _ALL,
    ("GET", "/api/visits/{visit}/events"): _ALL,
    ("PUT", "/api/visits/{visit}/files/{file}"): _WORK,
    ("PUT", "/api/visits/{visit}/files/{file}/use"): _WORK,
    ("GET", "/api/visits/{visit}/files/{file}"): _ALL,
    ("GET", "/api/visits/{visit}/result"): _ALL,
    ("GET", "/api/visits/{visit}/trace"): _ALL,
    ("POST", "/api/visits/{visit}/close"): _WORK,
    ("POST", "/api/visits/{visit}/reopen"): _WORK,
    ("POST", "/api/visits/{visit}/sign"): _WORK,
    ("POST", "/api/visits/{visit}/reports"): _WORK,
    ("GET", "/api/visits/{visit}/reports"): _ALL,
    ("GET", "/api/visits/{visit}/reports/{report}"): _ALL,
    ("PUT", "/api/visits/{visit}/attachments/{attachment}"): _WORK,
    ("GET", "/api/attachments/{attachment}"): _ALL,
    ("GET", "/api/words"): "*",
    ("GET", "/api/tables/{refrigerant}"): "*",
    ("GET", "/api/export"): "L",
    ("POST", "/api/import"): "L",
    ("GET", "/api/backup"): "L",
}


@dataclass(frozen=True, kw_only=True)
class Caller:
    """Who asks: `role` is None for someone who is not signed in."""

    role: str | None = None
    who: str = ""
    name: str = ""
    csrf: str | None = None
    token: str | None = None
    """Of the session, as the cookie holds it."""
    only_practice: bool = False
    """On this route, practice units and their visits only."""


def may(role: str | None, method: str, path: str) -> bool | None:
    """Tell whether a role may use a route; None where it may for practice only.

    Raises
    ------
    KeyError
        If the route has no row, which is a mistake of ours.
    """
    letters = ACCESS[method, path]
    if "*" in letters:
        return True
    letter = LETTERS.get(role or "", "")
    if letter and letter in letters:
        return True
    return None if letter == "E" and "e" in letters else False


def is_practice(connection: Connection, *, unit_id: str | None, visit_id: str | None) -> bool:
    """Tell whether what exists of these is practice; what does not exist is no obstacle here."""
    query = select(units.c.practice)
    if visit_id is not None:
        joined = query.join(visits, visits.c.unit_id == units.c.id).where(visits.c.id == visit_id)
        found = connection.execute(joined).scalar()
        if found is False:
            return False
    if unit_id is not None:
        found = connection.execute(query.where(units.c.id == unit_id)).scalar()
        if found is False:
            return False
    return True
