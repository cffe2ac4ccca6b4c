"""Signing in and out, the set-up of a shop, accounts, keys, the audit trail."""

from __future__ import annotations

import logging
import secrets
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from sqlalchemy import Connection

import firstfrost
from firstfrost.errors import InputError
from firstfrost.store import accounts, audit
from firstfrost.store.store import By, new_id
from firstfrost.web.access import Caller
from firstfrost.web.answers import (
    AccountOut,
    AccountsOut,
    AuditOut,
    Health,
    KeysOut,
    NewKey,
    SessionOut,
)
from firstfrost.web.bodies import (
    AccountIn,
    KeyIn,
    NewPassword,
    Setup,
    SignIn,
)
from firstfrost.web.errors import Refused
from firstfrost.web.settings import LIMITS
from firstfrost.web.signin import COOKIE, Asking
from firstfrost.web.state import Parts, PathId, Service

router = APIRouter(prefix="/api")
LOG = logging.getLogger("firstfrost.web.session")


def _told(service: Service, caller: Caller) -> dict[str, Any]:
    settings = service.settings
    signed_in = caller.role not in (None, "recorder")
    needed = settings.mode == "shop" and not service.store.read(accounts.any_account)
    return {
        "mode": settings.mode,
        "account": {"id": caller.who, "name": caller.name, "role": caller.role} if signed_in else None,
        "csrf": caller.csrf,
        "setup_needed": needed,
        "version": firstfrost.__version__,
        "now_s": service.store.clock(),
        "limits": {row.name: settings.limit(row.name) for row in LIMITS},
    }


def _begin(service: Service, response: Response, account_id: str, old: str | None) -> dict[str, Any]:
    """A new session, its cookie, and what is told of it."""
    store = service.store
    by = By(who=account_id, at_s=store.clock())
    token, csrf = store.write(lambda c: accounts.begin_session(c, account_id, old, by))
    row = store.read(lambda c: next(one for one in accounts.account_list(c) if one["id"] == account_id))
    response.set_cookie(COOKIE, token, secure=True, httponly=True, samesite="strict", path="/")
    caller = Caller(role=row["role"], who=account_id, name=row["name"], csrf=csrf, token=token)
    service.door.forget()
    return _told(service, caller)


def _shop(service: Service) -> None:
    if service.settings.mode != "shop":
        raise Refused(
            409, "state", "The service runs without accounts. Expected --shop. Nothing is to be done."
        )


@router.get("/health", response_model=Health)
def health(service: Parts, caller: Asking) -> dict[str, Any]:
    """Whether the service and its store answer."""
    service.store.read(lambda c: c.exec_driver_sql("SELECT 1"))
    return {"ok": True, "version": firstfrost.__version__, "store": "ok"}


@router.get("/session", response_model=SessionOut)
def get_session(service: Parts, caller: Asking) -> dict[str, Any]:
    """Who is signed in, the CSRF token, and the limits."""
    return _told(service, caller)


@router.post("/session", response_model=SessionOut)
def sign_in(
    body: SignIn, service: Parts, caller: Asking, request: Request, response: Response
) -> dict[str, Any]:
    """Sign in; the session of before ends."""
    _shop(service)
    door = service.door
    address = request.client.host if request.client else ""
    wait = door.tries.wait_s(body.name, address)
    if wait > 0:
        text = (
            f"Too many tries failed. Expected a wait of {wait / 60:.0f} min. Come back then, or ask the lead."
        )
        raise Refused(429, "too-often", text, retry_after_s=wait)
    row = service.store.read(lambda c: accounts.by_name(c, body.name))
    if not door.check_password(row.password if row else None, body.password) or row is None:
        door.tries.failed(body.name, address)
        LOG.warning("A sign-in from %s failed", address)
        raise Refused(401, "sign-in", "Name and password do not fit. Check both, capitals too.")
    door.tries.passed(body.name)
    return _begin(service, response, row.id, request.cookies.get(COOKIE))


@router.delete("/session", status_code=204)
def sign_out(service: Parts, caller: Asking) -> Response:
    """End the session."""
    if caller.token is not None:
        token = caller.token
        service.store.write(lambda c: accounts.end_session(c, token))
        service.door.forget()
    response = Response(status_code=204)
    response.delete_cookie(COOKIE, path="/", secure=True, httponly=True, samesite="strict")
    return response


@router.put("/session/password", status_code=204)
def change_password(body: NewPassword, service: Parts, caller: Asking, request: Request) -> Response:
    """Change one's own password; other sessions of it end."""
    _shop(service)
    address = request.client.host if request.client else ""
    row = service.store.read(lambda c: accounts.by_name(c, caller.name))
    wait = service.door.tries.wait_s(caller.name, address)
    if wait > 0:
        text = f"Too many tries failed. Expected a wait of {wait / 60:.0f} min. Come back then."
        raise Refused(429, "too-often", text, retry_after_s=wait)
    if not service.door.check_password(row.password if row else None, body.old):
        service.door.tries.failed(caller.name, address)
        raise Refused(401, "sign-in", "The old password does not fit. Expected the one in use. Check it.")
    hashed = accounts.hash_password(body.new, name=caller.name)
    by, token = service.by(caller), caller.token or ""
    service.store.write(lambda c: accounts.set_password(c, caller.who, hashed, token, by))
    service.door.forget()
    return Response(status_code=204)


@router.post("/setup", status_code=201, response_model=SessionOut)
def set_up(
    body: Setup, service: Parts, caller: Asking, request: Request, response: Response
) -> dict[str, Any]:
    """Make the first lead of a shop, with the code that the service printed when it was started."""
    _shop(service)
    door = service.door
    address = request.client.host if request.client else ""
    wait = door.tries.wait_s("", address)
    if wait > 0:
        raise Refused(429, "too-often", "Too many tries failed. Come back later.", retry_after_s=wait)
    code = door.setup_code
    if code is None:
        raise Refused(409, "state", "The shop is set up already. Expected an account. Sign in.")
    if not secrets.compare_digest(code.encode(), body.code.strip().encode()):
        door.tries.failed("", address)
        raise Refused(
            401, "sign-in", "The code does not fit. Expected the one printed at the start. Look there."
        )
    hashed = accounts.hash_password(body.password, name=body.name)
    by, account_id = service.store.by("command"), new_id()

    def job(connection: Connection) -> None:
        if accounts.any_account(connection):
            raise InputError("The shop is set up already. Expected an account. Sign in.")
        accounts.put_account(
            connection, account_id, 0, name=body.name, role="lead", active=True, hashed=hashed, by=by
        )

    service.store.write(job)
    door.setup_code = None
    return _begin(service, response, account_id, request.cookies.get(COOKIE))


@router.get("/accounts", response_model=AccountsOut)
def get_accounts(service: Parts, caller: Asking) -> dict[str, Any]:
    """All accounts."""
    return {"accounts": service.store.read(accounts.account_list)}


@router.put("/accounts/{account}", response_model=AccountOut)
def put_account(account: PathId, body: AccountIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Create or change an account."""
    hashed = None if body.password is None else accounts.hash_password(body.password, name=body.name)
    by = service.by(caller)
    out = service.store.write(
        lambda c: accounts.put_account(
            c,
            account,
            body.version,
            name=body.name,
            role=body.role,
            active=body.active,
            hashed=hashed,
            by=by,
        )
    )
    service.door.forget()
    return out


@router.get("/keys", response_model=KeysOut)
def get_keys(service: Parts, caller: Asking) -> dict[str, Any]:
    """The recorders' keys."""
    return {"keys": service.store.read(accounts.key_list)}


@router.post("/keys", status_code=201, response_model=NewKey)
def make_key(body: KeyIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """A key for a recorder, told this once."""
    by = service.by(caller)
    key_id, key = service.store.write(lambda c: accounts.make_key(c, body.name, by))
    return {"id": key_id, "key": key}


@router.delete("/keys/{key}", status_code=204)
def end_key(key: PathId, service: Parts, caller: Asking) -> Response:
    """End a key."""
    by = service.by(caller)
    service.store.write(lambda c: accounts.end_key(c, key, by))
    service.door.forget()
    return Response(status_code=204)


@router.get("/audit", response_model=AuditOut)
def get_audit(
    service: Parts,
    caller: Asking,
    before: Annotated[int | None, Query(ge=1, le=2**53)] = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 100,
) -> dict[str, Any]:
    """Who did what, the newest first."""
    return {"entries": service.store.read(lambda c: audit.entries(c, before=before, limit=limit))}
