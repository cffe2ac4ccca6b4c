"""A service to ask in tests: in this process for most, over a socket for what streams."""

import asyncio
import json
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import httpx2 as httpx
import pytest
import uvicorn
from shop import PLATE, new
from starlette.testclient import TestClient

from firstfrost.store.accounts import begin_session, by_name, hash_password, put_account
from firstfrost.store.store import Store
from firstfrost.web.app import make_app
from firstfrost.web.settings import Settings
from firstfrost.web.signin import COOKIE

PUBLIC = "https://visits.example"
PASSWORD = "a quiet yard in autumn"
ALONE = Settings(workers=0)
SHOP = Settings(mode="shop", public_url=PUBLIC, workers=0)
ROLES = ("lead", "technician", "teacher", "read-only")
_HASHED = {}


def finished(work):
    """What a coroutine gives, in a thread of its own: a browser's driver may hold a loop in this one."""
    with ThreadPoolExecutor(1) as one:
        return one.submit(asyncio.run, work).result()


def hashed(password=PASSWORD):
    if password not in _HASHED:
        _HASHED[password] = hash_password(password, name="x")
    return _HASHED[password]


class Client(TestClient):
    """A browser: keeps its cookies and sends the CSRF token it was given."""

    csrf = None

    def request(self, method, url, **kw):
        headers = dict(kw.pop("headers", None) or {})
        if self.csrf and method not in ("GET", "HEAD"):
            headers.setdefault("X-CSRF-Token", self.csrf)
        return super().request(method, url, headers=headers, **kw)

    def hello(self):
        self.csrf = self.get("/api/session").json()["csrf"]
        return self

    def sign_in(self, name, password=PASSWORD):
        answer = self.post("/api/session", json={"name": name, "password": password})
        if answer.status_code == 200:
            self.csrf = answer.json()["csrf"]
        return answer


@contextmanager
def alone(store, settings=ALONE):
    """One person on this machine."""
    with Client(make_app(store, settings), base_url="http://127.0.0.1:8137") as client:
        yield client.hello()


@contextmanager
def shop_at(path):
    """A shop with one account of each role, named after it."""
    with Store(str(path)) as store:
        for role in ROLES:
            store.write(
                lambda c, role=role: put_account(
                    c, new(), 0, name=role, role=role, active=True, hashed=hashed(), by=store.by("command")
                )
            )
        app = make_app(store, SHOP)
        with TestClient(app):
            yield app


@pytest.fixture
def shop_app(tmp_path):
    with shop_at(tmp_path / "shop.db") as app:
        yield app


def browser(app, name=None):
    """A browser at a shop that runs, signed in if a name is given, without the time that a password takes."""
    client = Client(app, base_url=PUBLIC)
    if name is not None:
        store = app.state.service.store
        row = store.read(lambda c: by_name(c, name))
        token, client.csrf = store.write(lambda c: begin_session(c, row.id, None, store.by(row.id)))
        client.cookies.set(COOKIE, token, domain="visits.example")
    return client


def new_unit(client, **over):
    unit = new()
    body = {"version": 0, "name": "Alder Row 3", "plate": PLATE, **over}
    answer = client.put(f"/api/units/{unit}", json=body)
    assert answer.status_code == 200, answer.text
    return unit


def new_visit(client, unit=None, **over):
    visit = new()
    body = {"version": 0, "unit_id": unit or new_unit(client), **over}
    answer = client.put(f"/api/visits/{visit}", json=body)
    assert answer.status_code == 200, answer.text
    return visit


@contextmanager
def running(store, settings=ALONE):
    """The service on a socket of its own; gives its address."""
    app = make_app(store, settings)
    config = uvicorn.Config(
        app, host="127.0.0.1", port=0, log_config=None, lifespan="on", timeout_graceful_shutdown=1, ws="none"
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        until = time.monotonic() + 20
        while not server.started:
            assert time.monotonic() < until
            time.sleep(0.01)
        port = server.servers[0].sockets[0].getsockname()[1]
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(20)


@pytest.fixture
def live(store):
    """A service for one person over a socket, and a client for it."""
    with running(store) as base, httpx.Client(base_url=base, timeout=20) as client:
        client.headers["X-CSRF-Token"] = client.get("/api/session").json()["csrf"]
        yield client


class Events:
    """A viewer of a visit: reads the stream in a thread of its own."""

    def __init__(self, client, visit, **headers):
        self.seen = []
        self._ready = threading.Event()
        self._client = httpx.Client(base_url=client.base_url, timeout=30)
        self._thread = threading.Thread(target=self._read, args=(visit, headers), daemon=True)
        self._thread.start()
        assert self._ready.wait(10)

    def _read(self, visit, headers):
        event = {}
        try:
            with self._client.stream("GET", f"/api/visits/{visit}/events", headers=headers) as answer:
                self.status = answer.status_code
                if self.status != 200:
                    self._ready.set()
                    return
                for line in answer.iter_lines():
                    if not line:
                        if "event" in event:
                            self.seen.append((event["event"], json.loads(event["data"]), event.get("id")))
                            self._ready.set()
                        event = {}
                    elif not line.startswith(":"):
                        name, _, value = line.partition(": ")
                        event[name] = value
        except (httpx.HTTPError, RuntimeError):
            pass
        finally:
            self._client.close()

    def until(self, name, count=1, timeout_s=15.0):
        """All events of a name, once there are so many."""
        end = time.monotonic() + timeout_s
        while True:
            found = [data for event, data, _ in list(self.seen) if event == name]
            if len(found) >= count:
                return found
            assert time.monotonic() < end, f"{len(found)} of {count} {name}: {[e for e, _, _ in self.seen]}"
            time.sleep(0.02)

    def close(self):
        self._client.close()
        self._thread.join(5)
