"""People and recorders: accounts with roles, sessions, keys.

Passwords are kept as Argon2id (RFC 9106) with the library's own parameters; sessions and keys are 256 random
bits, of which the store has only the SHA-256, so that whoever reads the store cannot use them.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from sqlalchemy import Connection, Row, delete, func, insert, select, update

from firstfrost.errors import Changed, InputError, Missing
from firstfrost.store import audit
from firstfrost.store.schema import accounts, keys, sessions
from firstfrost.store.store import By, new_id

ROLES: Final = ("technician", "teacher", "lead", "read-only")
SHORTEST: Final = 12
"""Of a password: NIST SP 800-63B asks for 8 at least and more where it stands alone; length over rules."""
LONGEST: Final = 256
COMMON: Final = (
    "password",
    "passwort",
    "firstfrost",
    "changeme",
    "letmein",
    "welcome",
    "administrator",
    "qwertyuiop",
    "qwerty",
    "123456789",
    "abcdefgh",
    "defrost",
    "heatpump",
    "technician",
    "default",
    "secret",
)
"""Words that, with digits or signs about them, are among the first that anyone tries."""

_HASHER: Final = PasswordHasher()


@dataclass(frozen=True, kw_only=True)
class Account:
    """Who is signed in."""

    id: str
    name: str
    role: str


@dataclass(frozen=True, kw_only=True)
class Session:
    """A session that holds."""

    account: Account
    csrf: str


def hash_password(password: str, *, name: str) -> str:
    """The hash of a password that is good enough.

    Raises
    ------
    InputError
        If it is too short or long, or among the first that anyone tries.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise InputError(
            f"The password has {len(password)} characters. Expected {SHORTEST} to {LONGEST}. A few words "
            "that do not belong together are good."
        )
    bare = "".join(c for c in password.casefold() if c.isalpha())
    digits = "".join(c for c in password if c.isdigit())
    rest = bare
    for word in (*COMMON, *("".join(c for c in part if c.isalpha()) for part in name.casefold().split())):
        rest = rest.replace(word, "") if len(word) > 2 else rest
    few = len(set(password.casefold())) < 5
    if few or (len(rest) < 4 and (bare or digits in "01234567890123456789" * 2)):
        raise InputError(
            "The password is among the first that anyone would try. Expected one that does not stand on a "
            "common word, the name or a run of keys. A few words that do not belong together are good."
        )
    return _HASHER.hash(password)


@cache
def _nobody() -> str:
    """A hash to check where there is no such account, so that the time taken does not tell."""
    return _HASHER.hash(secrets.token_urlsafe(16))


def fits(hashed: str | None, password: str) -> bool:
    """Tell whether a password is that of a hash; takes its time where there is none, too."""
    try:
        return _HASHER.verify(hashed or _nobody(), password) and hashed is not None
    except (Argon2Error, InvalidHashError):
        return False


def fold(name: str) -> str:
    """A name as it is compared."""
    return " ".join(name.split()).casefold()


def any_account(connection: Connection) -> bool:
    """Tell whether there is an account that can sign in."""
    query = select(func.count()).select_from(accounts).where(accounts.c.password.is_not(None))
    return bool(connection.execute(query).scalar_one())


def by_name(connection: Connection, name: str) -> Row[Any] | None:
    """The account of a name that may sign in."""
    query = select(accounts).where(accounts.c.folded == fold(name), accounts.c.active.is_(True))
    return connection.execute(query).first()


def view(row: Row[Any]) -> dict[str, Any]:
    """An account as callers see it."""
    return {
        "id": row.id,
        "version": row.version,
        "name": row.name,
        "role": row.role,
        "active": row.active,
        "may_sign_in": row.active and row.password is not None,
    }


def account_list(connection: Connection) -> list[dict[str, Any]]:
    """All accounts by name."""
    return [view(row) for row in connection.execute(select(accounts).order_by(accounts.c.folded))]


def put_account(
    connection: Connection,
    account_id: str,
    version: int,
    *,
    name: str,
    role: str,
    active: bool,
    hashed: str | None,
    by: By,
) -> dict[str, Any]:
    """Create or change an account. A new password or role, or an end, ends its sessions.

    Raises
    ------
    Changed
        If the store has another version.
    InputError
        If the name is taken, or no lead would be left.
    Missing
        If a version is given of what never was.
    """
    row = connection.execute(select(accounts).where(accounts.c.id == account_id)).first()
    same = connection.execute(
        select(accounts.c.id).where(accounts.c.folded == fold(name), accounts.c.id != account_id)
    ).first()
    if same is not None:
        raise InputError(
            f"The name {name!r} is taken. Expected one of its own for each account. Choose another."
        )
    clean = " ".join(name.split())
    if row is None:
        if version != 0:
            raise Missing(
                f"There is no account {account_id}. Expected one in the store. Look it up in the list."
            )
        connection.execute(
            insert(accounts).values(
                id=account_id,
                version=1,
                name=clean,
                folded=fold(name),
                role=role,
                active=active,
                password=hashed,
                made_s=by.at_s,
            )
        )
        audit.note(connection, by, "create", "account", account_id, role=role)
    else:
        if (row.name, row.role, row.active) == (clean, role, active) and hashed is None:
            return view(row)
        if row.version != version:
            raise Changed(
                f"The account was changed meanwhile: it is at version {row.version}. Expected a change of "
                "the newest. Look at what it is now, and decide.",
                current=view(row),
            )
        values: dict[str, Any] = {"name": clean, "folded": fold(name), "role": role, "active": active}
        if hashed is not None:
            values["password"] = hashed
        connection.execute(
            update(accounts).where(accounts.c.id == account_id).values(version=version + 1, **values)
        )
        if hashed is not None or not active or role != row.role:
            connection.execute(delete(sessions).where(sessions.c.account_id == account_id))
        was = {"name": row.name, "role": row.role, "active": row.active}
        audit.note(connection, by, "change", "account", account_id, was=was, password=hashed is not None)
    leads = select(func.count()).where(
        accounts.c.role == "lead", accounts.c.active.is_(True), accounts.c.password.is_not(None)
    )
    if any_account(connection) and not connection.execute(leads).scalar_one():
        raise InputError(
            "No lead would be left who can sign in. Expected one at least. Make another lead first."
        )
    return view(connection.execute(select(accounts).where(accounts.c.id == account_id)).one())


def set_password(connection: Connection, account_id: str, hashed: str, keep: str, by: By) -> None:
    """Change one's own password; every session but `keep` (a token) ends."""
    connection.execute(update(accounts).where(accounts.c.id == account_id).values(password=hashed))
    connection.execute(
        delete(sessions).where(sessions.c.account_id == account_id, sessions.c.sum != token_sum(keep))
    )
    audit.note(connection, by, "password", "account", account_id)


def token_sum(token: str) -> str:
    """What the store keeps of a session's token or a key."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def begin_session(connection: Connection, account_id: str, old: str | None, by: By) -> tuple[str, str]:
    """A new session, its token and its CSRF token; the one of before, if any, ends."""
    token, csrf = secrets.token_urlsafe(32), secrets.token_urlsafe(32)
    if old is not None:
        end_session(connection, old)
    connection.execute(
        insert(sessions).values(
            sum=token_sum(token), account_id=account_id, csrf=csrf, made_s=by.at_s, seen_s=by.at_s
        )
    )
    audit.note(connection, by, "sign in", "account", account_id)
    return token, csrf


def session(
    connection: Connection, token: str, *, now_s: float, idle_s: float, longest_s: float
) -> Session | None:
    """The session of a token, if it holds."""
    query = (
        select(sessions, accounts.c.name, accounts.c.role, accounts.c.active)
        .join(accounts, accounts.c.id == sessions.c.account_id)
        .where(sessions.c.sum == token_sum(token))
    )
    row = connection.execute(query).first()
    if row is None or not row.active or now_s - row.seen_s > idle_s or now_s - row.made_s > longest_s:
        return None
    return Session(account=Account(id=row.account_id, name=row.name, role=row.role), csrf=row.csrf)


def touch_session(connection: Connection, token: str, now_s: float) -> None:
    """Note that a session is in use."""
    connection.execute(update(sessions).where(sessions.c.sum == token_sum(token)).values(seen_s=now_s))


def end_session(connection: Connection, token: str) -> None:
    """End a session."""
    connection.execute(delete(sessions).where(sessions.c.sum == token_sum(token)))


def sweep_sessions(connection: Connection, *, now_s: float, idle_s: float, longest_s: float) -> None:
    """Delete the sessions that hold no longer."""
    old = (sessions.c.seen_s < now_s - idle_s) | (sessions.c.made_s < now_s - longest_s)
    connection.execute(delete(sessions).where(old))


def make_key(connection: Connection, name: str, by: By) -> tuple[str, str]:
    """A recorder's key: its id, and the key itself, which is told this once."""
    key_id, key = new_id(), f"ffk_{secrets.token_urlsafe(32)}"
    connection.execute(
        insert(keys).values(id=key_id, name=name, sum=token_sum(key), made_s=by.at_s, ended_s=None)
    )
    audit.note(connection, by, "create", "key", key_id, name=name)
    return key_id, key


def end_key(connection: Connection, key_id: str, by: By) -> None:
    """End a key.

    Raises
    ------
    Missing
        If there is none such.
    """
    row = connection.execute(select(keys).where(keys.c.id == key_id)).first()
    if row is None:
        raise Missing(f"There is no key {key_id}. Expected one in the list. Look it up there.")
    if row.ended_s is None:
        connection.execute(update(keys).where(keys.c.id == key_id).values(ended_s=by.at_s))
        audit.note(connection, by, "end", "key", key_id)


def key_list(connection: Connection) -> list[dict[str, Any]]:
    """All keys, without themselves."""
    query = select(keys).order_by(keys.c.made_s, keys.c.id)
    return [
        {"id": row.id, "name": row.name, "made_s": row.made_s, "ended_s": row.ended_s}
        for row in connection.execute(query)
    ]


def key_holder(connection: Connection, key: str) -> str | None:
    """The id of a key that holds."""
    query = select(keys.c.id).where(keys.c.sum == token_sum(key), keys.c.ended_s.is_(None))
    return connection.execute(query).scalar()
