"""A shop behind HTTPS: first set-up, people and their roles, sign-in, and what is kept while signed out."""

import contextlib
import re
import shutil
import socket
import ssl
import subprocess
import threading

import pytest
from conftest import ARGS, Device, Service
from pages_built import built_or_skip

HOST = "visits.example"
PASSWORD = "a quiet yard in autumn"


def pipe(a, b):
    """Carry bytes one way until the end."""
    with contextlib.suppress(OSError, ValueError):
        while part := a.recv(65536):
            b.sendall(part)
    for end in (a, b):
        with contextlib.suppress(OSError):
            end.shutdown(socket.SHUT_RDWR)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """The service in shop mode, and HTTPS before it as a proxy would give; port and set-up code."""
    pytest.importorskip("fastapi", reason="the service is not installed: pip install --group serve")
    if shutil.which("openssl") is None:
        pytest.skip("no openssl to make a certificate with")
    built_or_skip()
    folder = tmp_path_factory.mktemp("shop")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    running = Service(folder, "--shop", "--public-url", f"https://{HOST}", "--port", str(port))
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", f"/CN={HOST}",
         "-keyout", folder / "key.pem", "-out", folder / "cert.pem"],
        check=True, capture_output=True,
    )  # fmt: skip
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(folder / "cert.pem", folder / "key.pem")
    door = socket.create_server(("127.0.0.1", 0))

    def listen():
        while True:
            try:
                raw, _ = door.accept()
            except OSError:
                return
            threading.Thread(target=carry, args=(raw,), daemon=True).start()

    def carry(raw):
        with (
            contextlib.suppress(OSError, ssl.SSLError),
            context.wrap_socket(raw, server_side=True) as outer,
            socket.create_connection(("127.0.0.1", port)) as inner,
        ):
            back = threading.Thread(target=pipe, args=(inner, outer), daemon=True)
            back.start()
            pipe(outer, inner)
            back.join()

    threading.Thread(target=listen, daemon=True).start()
    code = re.search(r"code: (\S+)", running.log.read_text()).group(1)
    yield door.getsockname()[1], code
    door.close()
    running.end()


@pytest.fixture
def phone(browser, shop):
    """A phone that reaches the shop by its name."""
    port, _ = shop
    rules = f"--host-resolver-rules=MAP {HOST} 127.0.0.1:{port}"
    own = browser.browser_type.launch(executable_path=browser.path_of_chromium, args=[*ARGS, rules])
    made = []

    def make(size="phone"):
        made.append(Device(own, f"https://{HOST}", size, ignore_https_errors=True))
        return made[-1]

    yield make
    for one in made:
        one.close()
    own.close()


def sign_in(page, name, password):
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_a_shop_is_set_up_and_each_role_finds_its_own(phone, shop):
    _, code = shop
    lead = phone("desktop")
    page = lead.page
    page.goto("/")
    page.get_by_role("heading", name="First start of this shop").wait_for()
    page.get_by_label("Code").fill(code)
    page.get_by_label("Name", exact=True).fill("Lead")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Make the first account").click()
    page.get_by_role("heading", name="Today").wait_for()
    page.get_by_role("link", name="Shop", exact=True).click()
    page.get_by_role("link", name="People").click()
    page.get_by_role("button", name="Add a person").click()
    page.get_by_label("Name", exact=True).last.fill("Field")
    page.locator("dialog").get_by_label("Password").fill(PASSWORD)
    page.locator("dialog").get_by_role("button", name="Save").click()
    page.get_by_role("button", name="Field").wait_for()

    field = phone()
    page = field.page
    page.goto("/sign-in")
    sign_in(page, "Field", "not the password")
    page.get_by_role("alert").wait_for()
    # A visit is made all the same; it waits on the device until somebody is signed in.
    page.goto("/unit/new")
    page.get_by_label("Name", exact=True).fill("Cabin 9")
    page.get_by_label("Refrigerant", exact=True).select_option("R-32")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("heading", name="Cabin 9").wait_for()
    page.get_by_text("Sign in to send").wait_for()
    page.get_by_test_id("signal").click()
    page.get_by_text("What was done on this device is kept").wait_for()
    sign_in(page, "Field", PASSWORD)
    page.get_by_role("heading", name="Today").wait_for()
    field.sent()
    page.get_by_role("link", name="Shop", exact=True).click()
    page.get_by_text("Instruments").wait_for()
    assert page.get_by_role("link", name="People").count() == 0
    page.get_by_role("link", name="Settings", exact=True).click()
    page.get_by_text("Signed in as Field, technician.").wait_for()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("heading", name="Sign in").wait_for()

    # The lead sees what the technician sent, and who did it.
    lead.page.get_by_role("link", name="Units", exact=True).click()
    lead.page.reload()
    lead.page.get_by_role("button", name="Cabin 9").wait_for()
