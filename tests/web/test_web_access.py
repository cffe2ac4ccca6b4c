"""The table of access, for every route and role; sessions, CSRF, hosts, headers, uploads that lie."""

import json
import re

import pytest
from serving import (
    ALONE,
    PASSWORD,
    PUBLIC,
    ROLES,
    SHOP,
    Client,
    alone,
    browser,
    hashed,
    new_unit,
    new_visit,
    shop_at,
)
from shop import PLATE, new
from starlette.testclient import TestClient

from firstfrost.errors import InputError
from firstfrost.store.accounts import fits, hash_password, put_account
from firstfrost.store.store import Store
from firstfrost.web.access import ACCESS, LETTERS, may
from firstfrost.web.app import make_app
from firstfrost.web.settings import LIMITS, Settings, check, parse_limits
from firstfrost.web.signin import COOKIE, Tries

VISIT = {"version": 0, "planned_on": None}
BODIES = {
    "/api/session": {"name": "nobody", "password": "x"},
    "/api/session/password": {"old": "wrong", "new": PASSWORD},
    "/api/setup": {"code": "x", "name": "x", "password": "x"},
    "/api/accounts/{account}": {"version": 0, "name": "Another", "role": "technician"},
    "/api/keys": {"name": "logger"},
    "/api/sites/{site}": {"version": 0, "name": "A site"},
    "/api/units/{unit}": {"version": 0, "name": "A unit", "plate": PLATE},
    "/api/units/{unit}/plan": {"outdoor": "warm"},
    "/api/units/{unit}/season": {"no": "weather"},
    "/api/plates": {"plate": PLATE},
    "/api/instruments/{instrument}": {"version": 0, "name": "gauges"},
    "/api/visits/{visit}/batches": {"client": "the-phone", "sequence": 0},
    "/api/visits/{visit}/files/{file}/use": {"aside": True},
    "/api/visits/{visit}/close": {"marks_complete": False},
    "/api/visits/{visit}/reopen": {"why": "x"},
    "/api/visits/{visit}/sign": {"name": "x", "role": "customer"},
    "/api/visits/{visit}/reports": {"format": "html"},
}


def routes(app):
    """Each route under /api/, as method and path; that of the description itself is not in it."""
    yield "GET", "/api/openapi.json"
    for path, methods in app.openapi()["paths"].items():
        yield from ((method.upper(), path) for method in methods)


def test_each_route_has_its_row_and_each_row_its_route(shop_app):
    assert sorted(routes(shop_app)) == sorted(ACCESS)
    for letters in ACCESS.values():
        assert set(letters) <= {*LETTERS.values(), "e", "*"}


def test_a_route_without_a_row_is_a_fault():
    with pytest.raises(KeyError):
        may("lead", "GET", "/api/nothing")


@pytest.fixture(scope="module")
def one_shop(tmp_path_factory):
    """One shop for all routes: nothing that is asked of it here changes what the next finds."""
    with shop_at(tmp_path_factory.mktemp("shop") / "shop.db") as app:
        yield app


@pytest.fixture(scope="module")
def made(one_shop):
    """A unit and a visit that are a customer's, and others for practice."""
    lead = browser(one_shop, "lead")
    unit, practice = new_unit(lead), new_unit(lead, practice=True)
    visits = {unit: new_visit(lead, unit), practice: new_visit(lead, practice)}
    key = lead.post("/api/keys", json={"name": "logger"}).json()["key"]
    return {"unit": unit, "practice": practice, "visits": visits, "key": key}


def ask(client, method, path, unit, visit, headers=None):
    """Ask a route of this unit and visit; what else it names is not there, nor is what it would delete."""
    if method == "DELETE":
        unit = visit = new()
    url = re.sub(
        r"\{(\w+)\}",
        lambda m: {"unit": unit, "visit": visit, "refrigerant": "R-410A"}.get(m[1]) or new(),
        path,
    )
    params = {}
    if method == "PUT" and path.endswith(("/{attachment}", "/{file}")):
        params = {"name": "x.png"}
    if (method, path) in (("DELETE", "/api/sites/{site}"), ("DELETE", "/api/units/{unit}")):
        params = {"confirm": "no such name"}
    if path.endswith("/events"):
        params = {"after": -1}  # refused after the door, so that no stream begins
    body = BODIES.get(path)
    if path == "/api/visits/{visit}":
        body = {**VISIT, "unit_id": unit}
    if path == "/api/units/{unit}":
        body = {**body, "practice": True} if headers is None else body
    content = None if body is None else json.dumps(body)
    headers = {**(headers or {}), "Content-Type": "application/json"}
    return client.request(method, url, content=content, params=params, headers=headers)


@pytest.mark.parametrize(("method", "path"), sorted(ACCESS))
def test_every_role_on_every_route(method, path, one_shop, made):
    letters = ACCESS[method, path]
    for role in (*ROLES, None):
        client = browser(one_shop, role)
        answer = ask(client, method, path, made["unit"], made["visits"][made["unit"]])
        code = answer.json()["error"]["code"] if answer.status_code in (401, 403) else None
        letter = LETTERS.get(role, "-")
        if "*" in letters or letter in letters:
            assert code in (None, "sign-in") if "session" in path or "setup" in path else code is None
        elif role is None:
            assert (answer.status_code, code) == (401, "sign-in")
        else:
            assert (answer.status_code, code) == (403, "not-allowed")
    key = {"Authorization": f"Bearer {made['key']}"}
    client = Client(one_shop, base_url=PUBLIC)
    answer = ask(client, method, path, made["unit"], made["visits"][made["unit"]], key)
    allowed = "K" in letters or "*" in letters
    assert (answer.status_code == 403) is not allowed, answer.text


@pytest.mark.parametrize(("method", "path"), sorted(key for key, row in ACCESS.items() if "e" in row))
def test_a_teacher_works_on_practice_units_only(method, path, one_shop, made):
    teacher = browser(one_shop, "teacher")
    refused = ask(teacher, method, path, made["unit"], made["visits"][made["unit"]])
    assert (refused.status_code, refused.json()["error"]["code"]) == (403, "not-allowed")
    answer = ask(teacher, method, path, made["practice"], made["visits"][made["practice"]])
    assert answer.status_code != 403, answer.text


def test_a_teacher_cannot_move_a_visit_or_unit_out_of_practice(one_shop, made):
    teacher = browser(one_shop, "teacher")
    visit = made["visits"][made["practice"]]
    moved = teacher.put(f"/api/visits/{visit}", json={"version": 1, "unit_id": made["unit"]})
    assert moved.status_code == 403
    opened = teacher.put(f"/api/visits/{new()}", json={"version": 0, "unit_id": made["unit"]})
    assert opened.status_code == 403
    body = {"version": 1, "name": "x", "plate": PLATE, "practice": False}
    assert teacher.put(f"/api/units/{made['practice']}", json=body).status_code == 403


class TestSessions:
    def test_a_session_from_before_is_not_taken_on(self, shop_app):
        client = browser(shop_app)
        client.cookies.set(COOKIE, "chosen-by-someone-else", domain="visits.example")
        assert client.sign_in("lead").status_code == 200
        tokens = [c.value for c in client.cookies.jar if c.name == COOKIE]
        assert "chosen-by-someone-else" not in tokens[-1:]
        old = tokens[-1]
        assert client.sign_in("technician").status_code == 200
        stale = browser(shop_app)
        stale.cookies.set(COOKIE, old, domain="visits.example")
        assert stale.get("/api/visits").status_code == 401

    def test_the_cookie_is_for_https_and_no_script(self, shop_app):
        client = browser(shop_app)
        answer = client.sign_in("lead")
        cookie = answer.headers["set-cookie"].lower()
        assert all(word in cookie for word in ("secure", "httponly", "samesite=strict", "path=/"))
        assert "domain" not in cookie

    def test_signing_out_ends_it_at_once(self, shop_app):
        client = browser(shop_app, "lead")
        token = client.cookies[COOKIE]
        assert client.get("/api/accounts").status_code == 200
        assert client.delete("/api/session").status_code == 204
        client.cookies.set(COOKIE, token, domain="visits.example")
        assert client.get("/api/accounts").status_code == 401

    def test_it_ends_when_it_is_not_used_and_after_its_time(self, tmp_path, clock):
        with Store(str(tmp_path / "s.db"), clock=clock) as store:
            store.write(
                lambda c: put_account(
                    c,
                    new(),
                    0,
                    name="lead",
                    role="lead",
                    active=True,
                    hashed=hashed(),
                    by=store.by("command"),
                )
            )
            app = make_app(store, SHOP)
            with TestClient(app):
                client = browser(app, "lead")
                clock.now_s += 11 * 3600
                shop_door(app)
                assert client.get("/api/accounts").status_code == 200
                store.write(lambda c: None)
                clock.now_s += 11 * 3600
                shop_door(app)
                assert client.get("/api/accounts").status_code == 200
                clock.now_s += 13 * 3600
                shop_door(app)
                assert client.get("/api/accounts").status_code == 401

    def test_a_new_password_ends_the_others_sessions(self, shop_app):
        one, two = browser(shop_app, "technician"), browser(shop_app, "technician")
        new_one = "seven wet leaves on a step"
        assert one.put("/api/session/password", json={"old": "x", "new": new_one}).status_code == 401
        assert one.put("/api/session/password", json={"old": PASSWORD, "new": new_one}).status_code == 204
        assert one.get("/api/visits").status_code == 200
        assert two.get("/api/visits").status_code == 401
        assert browser(shop_app).sign_in("technician").status_code == 401
        assert browser(shop_app).sign_in("technician", new_one).status_code == 200

    def test_an_account_that_is_ended_is_out(self, shop_app):
        lead, other = browser(shop_app, "lead"), browser(shop_app, "technician")
        row = next(a for a in lead.get("/api/accounts").json()["accounts"] if a["name"] == "technician")
        body = {"version": row["version"], "name": "technician", "role": "technician", "active": False}
        assert lead.put(f"/api/accounts/{row['id']}", json=body).status_code == 200
        assert other.get("/api/visits").status_code == 401
        assert browser(shop_app).sign_in("technician").status_code == 401

    def test_the_last_lead_stays(self, shop_app):
        lead = browser(shop_app, "lead")
        row = next(a for a in lead.get("/api/accounts").json()["accounts"] if a["name"] == "lead")
        body = {"version": row["version"], "name": "lead", "role": "technician"}
        refused = lead.put(f"/api/accounts/{row['id']}", json=body)
        assert refused.status_code == 422
        assert "No lead would be left" in refused.text

    def test_guessing_is_slowed_by_name_and_by_address(self, shop_app):
        client = browser(shop_app)
        for _ in range(5):
            assert client.sign_in("lead", "wrong wrong wrong").status_code == 401
        slowed = client.sign_in("lead")
        assert (slowed.status_code, slowed.json()["error"]["code"]) == (429, "too-often")
        assert int(slowed.headers["retry-after"]) > 800
        for k in range(15):
            client.sign_in(f"name {k}", "wrong wrong wrong")
        assert client.sign_in("technician").status_code == 429

    def test_the_wait_ends(self):
        now = [0.0]
        tries = Tries(3, clock=lambda: now[0])
        for _ in range(3):
            tries.failed("A  Name", "1.2.3.4")
        assert tries.wait_s("a name", "other") == pytest.approx(900)
        assert tries.wait_s("b", "1.2.3.4") == 0
        now[0] = 901.0
        assert tries.wait_s("a name", "1.2.3.4") == 0

    def test_csrf(self, shop_app):
        client = browser(shop_app, "lead")
        body = {"version": 0, "name": "x"}
        for token in ("", "wrong", "ä"):
            answer = client.put(
                f"/api/sites/{new()}", json=body, headers={"X-CSRF-Token": token.encode("latin-1")}
            )
            assert (answer.status_code, answer.json()["error"]["code"]) == (403, "csrf")
        assert client.put(f"/api/sites/{new()}", json=body).status_code == 200

    def test_another_sites_page_is_refused(self, shop_app):
        client = browser(shop_app, "lead")
        body = {"version": 0, "name": "x"}
        for headers in (
            {"Origin": "https://evil.example"},
            {"Origin": "http://visits.example"},
            {"Origin": "null"},
            {"Sec-Fetch-Site": "cross-site"},
            {"Sec-Fetch-Site": "same-site"},
        ):
            answer = client.put(f"/api/sites/{new()}", json=body, headers=headers)
            assert (answer.status_code, answer.json()["error"]["code"]) == (403, "host"), headers
        assert client.put(f"/api/sites/{new()}", json=body, headers={"Origin": PUBLIC}).status_code == 200

    @pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "a b", "localhost:80:80"])
    def test_another_host_is_refused(self, host, tmp_path):
        with Store(str(tmp_path / "s.db")) as store, alone(store) as client:
            answer = client.get("/api/session", headers={"Host": host})
            assert (answer.status_code, answer.json()["error"]["code"]) == (403, "host")

    def test_a_key_that_was_ended_does_not_hold(self, shop_app):
        lead = browser(shop_app, "lead")
        visit = new_visit(lead)
        made = lead.post("/api/keys", json={"name": "logger"}).json()
        recorder = Client(shop_app, base_url=PUBLIC, headers={"Authorization": f"Bearer {made['key']}"})
        body = {"client": "the-logger", "sequence": 0}
        assert recorder.post(f"/api/visits/{visit}/batches", json=body).status_code == 200
        assert lead.delete(f"/api/keys/{made['id']}").status_code == 204
        assert recorder.post(f"/api/visits/{visit}/batches", json=body).status_code == 401
        assert made["key"] not in lead.get("/api/keys").text


def shop_door(app):
    app.state.door.forget()
    app.state.door._touched.clear()


class TestFirstRun:
    def test_the_first_lead_is_made_with_the_code_once(self, tmp_path):
        with Store(str(tmp_path / "s.db")) as store:
            app = make_app(store, SHOP)
            code = app.state.door.setup_code
            assert len(code) >= 20
            with TestClient(app):
                client = browser(app)
                assert client.get("/api/session").json()["setup_needed"]
                body = {"code": code, "name": "A. Lead", "password": PASSWORD}
                wrong = client.post("/api/setup", json={**body, "code": "x"})
                assert wrong.status_code == 401
                assert client.post("/api/setup", json={**body, "password": "password1234"}).status_code == 422
                assert client.post("/api/setup", json=body).status_code == 201
                assert client.get("/api/session").json()["account"]["role"] == "lead"
                assert client.post("/api/setup", json=body).status_code == 409
            assert make_app(store, SHOP).state.door.setup_code is None

    @pytest.mark.parametrize(
        "password",
        ["short", "passwordpassword", "Password123456!", "firstfrost2026", "123456789012", "aaaaaaaaaaaaaa",
         "ChangeMe!!1234", "anna anna anna 1", "x" * 300],
    )  # fmt: skip
    def test_a_password_that_everybody_tries_is_refused(self, password):
        with pytest.raises(InputError, match="Expected"):
            hash_password(password, name="Anna")

    @pytest.mark.parametrize("password", [PASSWORD, "Zx9!kd83Lq@1", "früher war mehr reif"])
    def test_a_good_one_is_taken_as_argon2id(self, password):
        kept = hash_password(password, name="Anna")
        assert kept.startswith("$argon2id$")
        assert fits(kept, password)
        assert not fits(kept, password + "x")
        assert not fits(None, password)
        assert not fits("nonsense", password)


@pytest.mark.parametrize(
    ("settings", "store", "match"),
    [
        (Settings(host="0.0.0.0"), "x.db", "this machine only"),
        (Settings(mode="shop"), "x.db", "beginning with https://"),
        (Settings(mode="shop", public_url="http://visits.example"), "x.db", "beginning with https://"),
        (Settings(mode="shop", public_url=PUBLIC), "postgresql://u:Postgres@h/x", "everybody knows"),
    ],
)
def test_settings_that_would_open_the_service_are_refused(settings, store, match):
    with pytest.raises(InputError, match=match):
        check(settings, store)


def test_settings_that_are_sound_pass():
    check(ALONE, "x.db")
    check(SHOP, "postgresql://u:kf8Jd0@h/x")
    check(Settings(mode="shop", public_url="http://localhost:8137"), "x.db")


def test_limits_are_set_by_name():
    assert parse_limits(["batch=1000"]) == {"batch": 1000}
    for word in ("bach=1", "batch", "batch=-1", "batch=x"):
        with pytest.raises(InputError, match="--limit"):
            parse_limits([word])
    assert len({row.name for row in LIMITS}) == len(LIMITS)


class TestUploads:
    @pytest.mark.parametrize(
        "content",
        [
            b"<html><script>alert(1)</script>",
            b"GIF89a",
            b"PK\x03\x04",
            b"MZ",
            b"RIFF\0\0\0\0WAVE",
            b"<svg/>",
            b"\xff\xd8",
        ],
    )
    def test_what_is_no_picture_is_refused_whatever_it_says(self, content, store):
        with alone(store) as client:
            unit = new_unit(client)
            answer = client.put(
                f"/api/units/{unit}/attachments/{new()}?name=x.png",
                content=content,
                headers={"Content-Type": "image/png"},
            )
            assert (answer.status_code, answer.json()["error"]["code"]) == (415, "media-type")

    def test_sizes_are_held_to_whatever_the_header_says(self, tmp_path):
        settings = Settings(workers=0, limits={"attachment": 1000, "body": 500})
        with Store(str(tmp_path / "s.db")) as store, alone(store, settings) as client:
            unit = new_unit(client)
            url = f"/api/units/{unit}/attachments/{new()}?name=x.png"
            big = b"\x89PNG\r\n\x1a\n" + b"x" * 1000

            def chunks():
                yield from (big[i : i + 100] for i in range(0, len(big), 100))

            for content, headers in ((big, {}), (chunks(), {}), (big[:900], {"Content-Length": "9000000"})):
                answer = client.put(url, content=content, headers=headers)
                assert (answer.status_code, answer.json()["error"]["code"]) == (413, "too-large")
            long = client.put(f"/api/sites/{new()}", json={"version": 0, "name": "x", "note": "y" * 600})
            assert long.status_code == 413
            assert "limit body" in long.text

    @pytest.mark.parametrize(
        "name", ["../../etc/passwd", "..\\..\\x", "a\r\nSet-Cookie: x=1", '"; x="', "ä/ö.csv"]
    )
    def test_names_stay_names(self, name, store):
        with alone(store) as client:
            visit, file = new_visit(client), new()
            url = f"/api/visits/{visit}/files/{file}"
            client.put(url, params={"name": name}, content=b"time [s],power [W]\n1,2\n2,3\n")
            answer = client.get(url)
            assert answer.status_code == 200
            head = answer.headers["content-disposition"]
            assert re.fullmatch(r'attachment; filename="[A-Za-z0-9._ -]+"', head)
            assert "set-cookie" not in answer.headers


def test_html_in_free_text_stays_text_in_reports(store):
    evil = "<script>alert(1)</script><img src=x onerror=alert(2)>"
    with alone(store) as client:
        unit = new_unit(client, name=evil)
        visit = new_visit(client, unit, marks_complete=True)
        body = {
            "client": "the-phone", "sequence": 0,
            "samples": {"time_s": [1_795_600_000.0 + k for k in range(30)],
                        "channels": {"outdoor_coil_temp": [5.0] * 30}},
            "marks": [{"id": new(), "time_s": 1_795_600_005.0, "act": "note", "note": evil + " #import $y$"}],
        }  # fmt: skip
        assert client.post(f"/api/visits/{visit}/batches", json=body).status_code == 200
        for ending in ("html", "pdf"):
            made = client.post(f"/api/visits/{visit}/reports", json={"format": ending})
            assert made.status_code == 201, made.text
            report = client.get(f"/api/visits/{visit}/reports/{made.json()['report']['id']}")
            if ending == "html":
                assert "<script>alert" not in report.text
                assert "<img src=x" not in report.text
            else:
                import pymupdf

                text = "".join(page.get_text() for page in pymupdf.open(stream=report.content))
                assert "<script>" in text


class TestPages:
    @pytest.fixture
    def client(self, tmp_path):
        pages = tmp_path / "pages"
        (pages / "assets").mkdir(parents=True)
        (pages / "index.html").write_text("<!doctype html><title>pages</title>")
        (pages / "sw.js").write_text("self.x = 1;" * 100)
        (pages / "manifest.webmanifest").write_text("{}")
        (pages / "assets" / "app-1234.js").write_text("let x;")
        (pages / "secret.py").write_text("no")
        (tmp_path / "outside.txt").write_text("no")
        settings = Settings(workers=0, pages=pages)
        with Store(str(tmp_path / "s.db")) as store, alone(store, settings) as client:
            yield client

    @pytest.mark.parametrize(
        ("path", "media", "cache"),
        [
            ("/", "text/html; charset=utf-8", "no-cache"),
            ("/visits/78e04786-b44e-53e1-9a33-271155940a76", "text/html; charset=utf-8", "no-cache"),
            ("/sw.js", "text/javascript; charset=utf-8", "no-cache"),
            ("/manifest.webmanifest", "application/manifest+json", "no-cache"),
            ("/assets/app-1234.js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"),
        ],
    )
    def test_pages_come_with_their_headers(self, client, path, media, cache):
        answer = client.get(path)
        assert answer.status_code == 200
        assert answer.headers["content-type"] == media
        assert answer.headers["cache-control"] == cache
        policy = answer.headers["content-security-policy"]
        assert "script-src 'self';" in policy
        assert "unsafe" not in policy
        tag = answer.headers["etag"]
        assert client.get(path, headers={"If-None-Match": tag}).status_code == 304

    def test_the_service_worker_may_serve_all_and_text_is_packed(self, client):
        answer = client.get("/sw.js", headers={"Accept-Encoding": "gzip"})
        assert answer.headers["service-worker-allowed"] == "/"
        assert answer.headers["content-encoding"] == "gzip"
        assert answer.text == "self.x = 1;" * 100

    @pytest.mark.parametrize(
        "path",
        [
            "/secret.py",
            "/../outside.txt",
            "/..%2foutside.txt",
            "/assets/..%2f..%2foutside.txt",
            "/no.js",
            "/%2e%2e/outside.txt",
            "/x%00.js",
            f"/{'x' * 5000}.js",
        ],
    )
    def test_nothing_else_is_served(self, client, path):
        answer = client.get(path)
        assert answer.status_code == 404 or "<title>pages" in answer.text
        assert answer.text != "no"

    def test_routes_that_are_not_there(self, client):
        assert client.get("/api/nothing").json()["error"]["code"] == "not-found"
        answer = client.patch("/api/visits")
        assert (answer.status_code, answer.headers["allow"]) == (405, "GET")
        assert client.post("/").status_code == 405

    def test_without_built_pages_it_says_so(self, store, tmp_path):
        with alone(store, Settings(workers=0, pages=tmp_path / "none")) as client:
            assert "its pages are not built" in client.get("/").text
