"""A service of its own, and the browser of the machine, for journeys through the pages."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import uuid
from pathlib import Path

import pytest
from pages_built import built_or_skip

ROOT = Path(__file__).resolve().parents[2]
SIZES = {"phone": (360, 740), "tablet": (820, 1180), "desktop": (1440, 900)}
ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
        "--disable-sync", "--no-first-run"]  # fmt: skip
PLATE = {
    "unit": {
        "refrigerant": "R-410A",
        "nominal_capacity": "2.5 ton_refrigeration",
        "metering": "expansion valve",
    },
    "coil_sensor": {"closes_at": "30 degF", "opens_at": "60 degF"},
    "board": {"interval": "60 min"},
    "site": {"altitude": "1340 ft", "zone": "America/Denver"},
}


@pytest.fixture(scope="session")
def browser():
    """Chromium of this machine, or a skip with the reason."""
    sync = pytest.importorskip(
        "playwright.sync_api", reason="Playwright is not installed: pip install --group pages"
    )
    path = next(
        (
            p
            for p in ("/usr/bin/chromium", shutil.which("chromium"), shutil.which("google-chrome"))
            if p and os.path.exists(p)
        ),
        None,
    )
    if path is None:
        pytest.skip("no Chromium on this machine (Debian: apt install chromium)")
    with sync.sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=path, args=ARGS)
        found.path_of_chromium = path
        yield found
        found.close()


def wait_until_installed(page) -> None:
    """Wait until the service worker holds the pages."""
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.wait_for_function(
        """async () => {
          const [name] = await caches.keys();
          return !!name && (await (await caches.open(name)).keys()).length > 20;
        }"""
    )


class Service:
    """`firstfrost serve` as a process, and what a recorder or another device would say to it."""

    def __init__(self, folder: Path, *more: str) -> None:
        import httpx2 as httpx

        self.more = more
        self.store = folder / "visits.db"
        self.log = folder / "serve.log"
        self.port = 0
        self.process: subprocess.Popen[bytes] | None = None
        self.http = httpx.Client(timeout=30)
        self.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it; on a restart on the port of before, as the pages know it."""
        with self.log.open("ab") as out:
            before = self.log.stat().st_size
            self.process = subprocess.Popen(
                [
                    sys.executable,
                    "-m",
                    "firstfrost",
                    "serve",
                    "--store",
                    str(self.store),
                    "--port",
                    str(self.port),
                    *(self.more or ("--demo",)),
                ],
                cwd=ROOT,
                env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONUNBUFFERED": "1"},
                stdout=out,
                stderr=subprocess.STDOUT,
            )
        until = time.monotonic() + 60
        while time.monotonic() < until:
            said = self.log.read_bytes()[before:].decode()
            if self.more and "The store:" in said:
                return
            if "The pages: http://" in said:
                self.port = int(said.split("The pages: http://127.0.0.1:")[1].split("/")[0])
                try:
                    self.hello()
                    return
                except Exception:
                    pass
            assert self.process.poll() is None, said
            time.sleep(0.1)
        raise AssertionError(self.log.read_text())

    def stop(self) -> None:
        """Take it away without a word, as a power cut would."""
        if self.process and self.process.poll() is None:
            self.process.kill()
            self.process.wait()

    def end(self) -> None:
        """Take it away for good."""
        self.stop()
        self.http.close()

    def hello(self) -> None:
        answer = self.http.get(f"{self.url}/api/session")
        self.http.headers["X-CSRF-Token"] = answer.json()["csrf"]

    def get(self, path: str):
        answer = self.http.get(self.url + path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def put(self, path: str, body):
        answer = self.http.put(self.url + path, json=body)
        assert answer.status_code in (200, 201), answer.text
        return answer.json()

    def post(self, path: str, body):
        answer = self.http.post(self.url + path, json=body)
        assert answer.status_code in (200, 201), answer.text
        return answer.json()

    def unit(self, name: str | None = None, **plate) -> str:
        """A unit of its own; its id."""
        made = str(uuid.uuid4())
        name = name or f"Cabin {made[:6]}"
        self.put(f"/api/units/{made}", {
            "version": 0, "site_id": None, "name": name, "serial": "", "practice": False, "note": "",
            "plate": {**PLATE, **plate},
        })  # fmt: skip
        return made

    def visit(self, unit: str, **more) -> str:
        """An open visit; its id."""
        made = str(uuid.uuid4())
        self.put(f"/api/visits/{made}", {
            "version": 0, "unit_id": unit, "planned_on": None, "started_s": time.time(),
            "technician": "A. Field",
            "purpose": "Before winter", "note": "", "instruments": [], "outdoor": None, "humidity": None,
            "indoor": None, "marks_complete": False, **more,
        })  # fmt: skip
        return made

    def demo(self) -> tuple[str, str]:
        """Visit and unit of the demo."""
        visit = next(v for v in self.get("/api/visits")["visits"] if v["note"].startswith("The demo"))
        return visit["id"], visit["unit_id"]


@pytest.fixture(scope="session")
def service(tmp_path_factory):
    """One service for all journeys of a process; each has units and visits of its own."""
    pytest.importorskip("fastapi", reason="the service is not installed: pip install --group serve")
    built_or_skip()
    running = Service(tmp_path_factory.mktemp("service"))
    yield running
    running.end()


class Device:
    """A browser with storage of its own, as one phone is."""

    def __init__(self, browser, base: str, size: str, folder: Path | None = None, **more) -> None:
        width, height = SIZES[size]
        more = {
            "base_url": base,
            "viewport": {"width": width, "height": height},
            "has_touch": size != "desktop",
            "accept_downloads": True,
            **more,
        }
        if folder is None:
            self.context = browser.new_context(**more)
        else:
            # On the disk, as on a phone: in memory a browser does not give back what was let go.
            self.context = browser.browser_type.launch_persistent_context(
                folder, executable_path=browser.path_of_chromium, args=ARGS, **more
            )
        self.faults: list[str] = []
        self.page = self.new_page()

    def new_page(self):
        page = self.context.new_page()
        page.set_default_timeout(15_000)
        page.on("pageerror", lambda err: self.faults.append(str(err)))
        page.on(
            "console",
            lambda m: (
                self.faults.append(m.text) if m.type == "error" and "Content Security" in m.text else None
            ),
        )
        return page

    def offline(self, off: bool) -> None:
        self.context.set_offline(off)

    def installed(self) -> None:
        """Wait until the service worker holds the pages."""
        self.page.goto("/")
        wait_until_installed(self.page)

    def sent(self) -> None:
        """Wait until nothing waits to be sent."""
        self.page.wait_for_function(
            "() => document.querySelector('[data-testid=signal]')?.textContent === 'Connected'",
            timeout=40_000,
        )

    def type_reading(self, channel: str, keys: str) -> None:
        """Type one reading on the pad, with the keys of the screen."""
        self.page.locator(f"[data-channel={channel}]").click()
        names = {"-": "Change sign", ".": "Decimal point"}
        for key in keys:
            self.page.locator("dialog.pad").get_by_role(
                "button", name=names.get(key, key), exact=True
            ).click()
        self.page.get_by_test_id("keep").click()
        self.page.locator("dialog.pad").wait_for(state="detached")

    def close(self) -> None:
        self.context.close()
        assert self.faults == []


@pytest.fixture
def device(browser, service):
    """Makes devices; at the end none of their pages may have had an error."""
    made = []

    def make(size: str = "phone", **more) -> Device:
        made.append(Device(browser, service.url, size, **more))
        return made[-1]

    yield make
    for one in made:
        one.close()
