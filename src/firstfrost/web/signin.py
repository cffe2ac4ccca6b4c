"""Who asks, and may they: sessions, keys, CSRF, and the slowing of those who try passwords."""

from __future__ import annotations

import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Annotated, Final

from fastapi import Depends, Request

from firstfrost.store.accounts import fits, fold, key_holder, session, touch_session
from firstfrost.store.store import ALONE, Store
from firstfrost.web.access import Caller, is_practice, may
from firstfrost.web.errors import Refused
from firstfrost.web.guard import SAFE
from firstfrost.web.settings import Settings

COOKIE: Final = "__Host-firstfrost"
FRESH_S: Final = 3.0
"""For so long the store's answer on a session or a key is taken as it was. [s]"""
TOUCH_S: Final = 60.0
WINDOW_S: Final = 900.0


class Tries:
    """Counts failed sign-ins of a name and of an address, and says how long to wait."""

    def __init__(self, most: int, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._most = most
        self._clock = clock
        self._failed: dict[tuple[str, str], deque[float]] = {}
        self._gate = threading.Lock()

    def _rows(self, name: str, address: str) -> tuple[tuple[tuple[str, str], int], ...]:
        return ((("name", fold(name)), self._most), (("address", address), 4 * self._most))

    def wait_s(self, name: str, address: str) -> float:
        """How long the next try has to wait; 0 for not at all."""
        now = self._clock()
        wait = 0.0
        with self._gate:
            for key, most in self._rows(name, address):
                times = self._failed.get(key)
                if times is None:
                    continue
                while times and now - times[0] >= WINDOW_S:
                    times.popleft()
                if not times:
                    del self._failed[key]
                elif len(times) >= most:
                    wait = max(wait, WINDOW_S - (now - times[-most]))
        return wait

    def failed(self, name: str, address: str) -> None:
        """Count one."""
        now = self._clock()
        with self._gate:
            if len(self._failed) > 20_000:
                self._failed = {k: t for k, t in self._failed.items() if now - t[-1] < WINDOW_S}
            for key, most in self._rows(name, address):
                self._failed.setdefault(key, deque(maxlen=most)).append(now)

    def passed(self, name: str) -> None:
        """Forget the failures of a name that has signed in."""
        with self._gate:
            self._failed.pop(("name", fold(name)), None)


class Door:
    """Tells who asks."""

    def __init__(self, store: Store, settings: Settings) -> None:
        self.store, self.settings = store, settings
        self.alone_csrf = secrets.token_urlsafe(32)
        self.setup_code: str | None = None
        self.tries = Tries(settings.limit("tries"))
        self._hashing = threading.Semaphore(2)
        self._known: dict[str, tuple[float, Caller]] = {}
        self._touched: dict[str, float] = {}

    def check_password(self, hashed: str | None, password: str) -> bool:
        """Check a password, two at a time at most: each costs 64 MiB for a moment, as it should."""
        with self._hashing:
            return fits(hashed, password)

    def forget(self) -> None:
        """Ask the store anew about everybody."""
        self._known.clear()

    def caller(self, request: Request) -> Caller:
        """Who asks.

        Raises
        ------
        Refused
            If a recorder's key does not hold.
        """
        words = request.headers.get("authorization", "").split()
        if len(words) == 2 and words[0].casefold() == "bearer":
            return self._known_or(f"key {words[1]}", lambda: self._recorder(words[1]))
        if self.settings.mode == "alone":
            return Caller(role="lead", who=ALONE, name="this machine", csrf=self.alone_csrf)
        token = request.cookies.get(COOKIE)
        return Caller() if not token else self._known_or(token, lambda: self._person(token))

    def _known_or(self, key: str, ask: Callable[[], Caller]) -> Caller:
        now = time.monotonic()
        there = self._known.get(key)
        if there is not None and now - there[0] < FRESH_S:
            return there[1]
        caller = ask()
        if len(self._known) > 5000:
            self._known.clear()
        if caller.role is not None:
            self._known[key] = (now, caller)
        return caller

    def _recorder(self, key: str) -> Caller:
        key_id = self.store.read(lambda c: key_holder(c, key))
        if key_id is None:
            raise Refused(
                401, "sign-in", "The key does not hold. Expected one that a lead has made. Ask for one."
            )
        return Caller(role="recorder", who=f"key:{key_id}", name="recorder")

    def _person(self, token: str) -> Caller:
        now_s = self.store.clock()
        idle, longest = self.settings.limit("idle"), self.settings.limit("session")
        found = self.store.read(lambda c: session(c, token, now_s=now_s, idle_s=idle, longest_s=longest))
        if found is None:
            return Caller()
        if time.monotonic() - self._touched.get(token, -1e9) > TOUCH_S:
            if len(self._touched) > 5000:
                self._touched.clear()
            self._touched[token] = time.monotonic()
            self.store.submit(lambda c: touch_session(c, token, now_s))
        who = found.account
        return Caller(role=who.role, who=who.id, name=who.name, csrf=found.csrf, token=token)


def allowed(request: Request) -> Caller:
    """Who asks, if they may: the one dependency of every route, by the table of access.

    Raises
    ------
    Refused
        401, or 403.
    """
    door: Door = request.app.state.door
    caller = door.caller(request)
    path = request.scope["route"].path
    verdict = may(caller.role, request.method, path)
    if verdict is False:
        if caller.role is None:
            text = "Nobody is signed in, or the session has ended. Expected a session. Sign in."
            raise Refused(401, "sign-in", text)
        text = f"The role {caller.role} may not do this. Expected another role. Ask the shop's lead."
        raise Refused(403, "not-allowed", text)
    if request.method not in SAFE and caller.role not in (None, "recorder"):
        sent = request.headers.get("x-csrf-token", "")
        open_to_all = path in ("/api/session", "/api/setup") and request.method == "POST"
        if not open_to_all and not secrets.compare_digest(sent.encode(), (caller.csrf or "").encode()):
            text = "X-CSRF-Token is missing or old. Expected csrf of GET /api/session. Get it, and try again."
            raise Refused(403, "csrf", text)
    if verdict is None:
        ids = request.path_params
        practice = door.store.read(
            lambda c: is_practice(c, unit_id=ids.get("unit"), visit_id=ids.get("visit"))
        )
        if not practice:
            raise only_practice()
        return Caller(**{**caller.__dict__, "only_practice": True})
    return caller


def only_practice() -> Refused:
    """What a teacher hears who wants to change a customer's records."""
    text = (
        "A teacher works on practice units only. Expected one marked as practice. Choose one, "
        "or ask the lead."
    )
    return Refused(403, "not-allowed", text)


Asking = Annotated[Caller, Depends(allowed)]
"""The parameter of a route that takes who asks."""
