"""A full day without signal: hundreds of readings, photos, a browser that dies; then a signal that flickers.

The browser is a process with a folder of its own, so that it can be killed as an empty battery would.
"""

import hashlib
import os
import signal
import subprocess
import time

import pytest
from conftest import ARGS, SIZES, wait_until_installed
from device_store import a_photo, inside

VISITS, READINGS, MARKS, PHOTOS = 8, 50, (8, 7), (3, 2)
ON_PAD = 5
CHANNELS = (
    ("suction_pressure", 104, 0.1, "psig"),
    ("suction_line_temp", 45, 0.1, "degF"),
    # Falling, so that no stop warning comes between: these readings are seconds apart, not minutes.
    ("liquid_pressure", 340, -0.5, "psig"),
    ("liquid_line_temp", 92, 0.1, "degF"),
    ("outdoor_air_temp", 47, 0.1, "degF"),
    ("return_air_temp", 70, 0.1, "degF"),
    ("supply_air_temp", 98, 0.1, "degF"),
)
ACTS = (
    "call-on", "fan-lead-off", "pins-bridged", "pins-released", "fan-lead-on", "call-off", "coil-covered",
    "coil-uncovered",
)  # fmt: skip
WAITS = (
    """Number(/(\\d+) to send/.exec(document.querySelector("[data-testid=signal]").textContent)?.[1] ?? 0)"""
)
TYPE = """
async (rows) => {
  const until = (look) => new Promise((done, fail) => {
    const began = performance.now();
    const again = () => {
      const found = look();
      if (found) done(found);
      else if (performance.now() - began > 20000) fail(new Error(`in vain: ${look}`));
      else setTimeout(again, 0);
    };
    again();
  });
  for (const [channel, keys] of rows) {
    document.querySelector(`[data-channel=${channel}]`).click();
    const field = await until(() => document.querySelector("dialog.pad input"));
    field.value = keys;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    (await until(() => document.querySelector("dialog.pad [data-testid=keep]:enabled"))).click();
    await until(() => !document.querySelector("dialog.pad"));
  }
}
"""
MARK = f"""
async ([acts, before]) => {{
  for (const [i, act] of acts.entries()) {{
    document.querySelector(`details .acts [data-act=${{act}}]`).click();
    while ({WAITS} !== before + i + 1) await new Promise((done) => setTimeout(done, 0));
  }}
}}
"""


class Battery:
    """A phone's browser that can go out: a process with a folder that outlives it."""

    def __init__(self, browser, folder, url):
        self.driver, self.program = browser.browser_type, browser.path_of_chromium
        self.folder, self.url = folder, url
        self.faults = []
        self.start(off=False)

    def start(self, *, off):
        told = self.folder / "DevToolsActivePort"
        told.unlink(missing_ok=True)
        self.process = subprocess.Popen(
            [self.program, *ARGS, "--headless=new", "--remote-debugging-port=0",
             f"--user-data-dir={self.folder}", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        until = time.monotonic() + 30
        while not (told.exists() and told.read_text().strip()):
            assert self.process.poll() is None, "the browser ended"
            assert time.monotonic() < until, "the browser does not answer"
            time.sleep(0.05)
        port = told.read_text().split()[0]
        self.browser = self.driver.connect_over_cdp(f"http://127.0.0.1:{port}")
        self.context = self.browser.contexts[0]
        self.context.set_offline(off)
        self.new_page()

    def new_page(self):
        self.page = self.context.new_page()
        self.page.set_default_timeout(20_000)
        self.page.set_viewport_size(dict(zip(("width", "height"), SIZES["phone"], strict=True)))
        self.page.on("pageerror", lambda err: self.faults.append(str(err)))

    def goto(self, path):
        self.page.goto(self.url + path)

    def empty(self):
        """The battery is empty: no page and no process hears of it."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def waits(self):
        """How much the page says is to be sent."""
        told = self.page.get_by_test_id("signal").inner_text()
        return int(told.split(" to send")[0].split()[-1]) if "to send" in told else 0


@pytest.fixture
def phone(browser, service, tmp_path):
    if not hasattr(os, "killpg"):
        pytest.skip("no process groups here")
    one = Battery(browser, tmp_path / "profile", service.url)
    yield one
    one.empty()
    assert one.faults == []


def readings_of(visit):
    """Channel and keys of each reading of one visit, in order."""
    rows = []
    for i in range(READINGS):
        channel, start, step, unit = CHANNELS[i % len(CHANNELS)]
        rows.append((channel, f"{start + visit + step * (i // len(CHANNELS)):.1f}", unit))
    return rows


def a_visit(phone, i, name, unit):
    """One visit from start to close, as far as it can be made without signal; its id."""
    page = phone.page
    phone.goto("/start")
    page.get_by_role("button", name=name).click()
    page.get_by_role("button", name="Start", exact=True).click()
    page.get_by_test_id("stop-bar").wait_for()
    visit = page.url.split("/visit/")[1].split("/")[0]
    page.get_by_text("Other marks").click()
    acts = [ACTS[k] for k in range(MARKS[i % 2])]
    page.evaluate(MARK, [acts, phone.waits()])
    page.get_by_role("link", name="Readings").click()
    rows = readings_of(i)
    for channel, keys, _ in rows[:ON_PAD]:
        page.locator(f"[data-channel={channel}]").click()
        if i % 4 == 0:
            pad = page.locator("dialog.pad")
            for key in keys:
                pad.get_by_role("button", name="Decimal point" if key == "." else key, exact=True).click()
        else:
            page.keyboard.type(keys)
        page.get_by_test_id("keep").click()
        page.locator("dialog.pad").wait_for(state="detached")
    page.evaluate(TYPE, [row[:2] for row in rows[ON_PAD:]])
    page.get_by_role("link", name="Finish").click()
    take(page, [100 * i + k for k in range(PHOTOS[0])])
    page.get_by_test_id("complete").check()
    page.get_by_label("Technician").fill("A. Field")
    page.get_by_test_id("close").click()
    page.get_by_test_id("closed").wait_for()
    phone.goto(f"/unit/{unit}")
    take(page, [100 * i + PHOTOS[0] + k for k in range(PHOTOS[1])])
    return visit


def take(page, seeds):
    for n, seed in enumerate(seeds):
        page.locator("input[type=file][accept='image/*']").set_input_files(a_photo(seed))
        page.wait_for_function("(n) => document.querySelectorAll('.photo img').length === n", arg=n + 1)


def digest(rows):
    return hashlib.sha256(repr(rows).encode()).hexdigest()


def test_a_full_day_without_signal_arrives_once_and_in_order(phone, service):
    """8 visits, 400 readings, 60 marks, 40 photos, with the network off from the first to the last.

    Of each visit five readings are typed on the pad, in two of them on its own keys; the other 360 go through
    the same pad by a script in the page (field, "Keep"), as typing each would take minutes. Marks too are
    touched by script.
    """
    units = [service.unit(f"Day {os.getpid()} row {i}") for i in range(VISITS)]
    page = phone.page
    phone.goto("/units")
    page.get_by_role("button", name=f"Day {os.getpid()} row 7").wait_for()
    wait_until_installed(page)
    phone.context.set_offline(True)
    began = time.monotonic()
    visits = []
    for i, unit in enumerate(units):
        visits.append(a_visit(phone, i, f"Day {os.getpid()} row {i}", unit))
        page = phone.page
        if i == 2:
            page.reload()
        elif i == 4:
            page.close()
            phone.new_page()
        elif i == 5:
            before = inside(page)
            phone.empty()
            phone.start(off=True)
            phone.goto("/waiting")
            phone.page.get_by_text("Waits, in this order").wait_for()
            after = inside(phone.page)
            assert {key: after[key] for key in before if key != "usage"} == {
                key: before[key] for key in before if key != "usage"
            }
    typed_s = time.monotonic() - began
    page = phone.page
    phone.goto("/waiting")
    page.get_by_text("Waits, in this order").wait_for()
    held = inside(page)
    marks, photos = sum(MARKS) * VISITS // 2, sum(PHOTOS) * VISITS
    # A visit is put when it starts and when it is finished, and closed.
    entries = VISITS * (READINGS + 3) + marks + photos
    assert (marks, photos) == (60, 40)
    assert held["entries"] == held["queue"] == entries == phone.waits()
    assert len(held["bytes"]) == len({row["sha256"] for row in held["bytes"]}) == photos
    sizes = [row["size"] for row in held["bytes"]]
    assert 150_000 < min(sizes) < max(sizes) < 400_000, (min(sizes), max(sizes))
    assert not {row["id"] for row in service.get("/api/visits")["visits"]} & set(visits)

    began, away_s = time.monotonic(), 0.0
    for left in (entries * 2 // 3, entries // 3):
        phone.context.set_offline(False)
        page.get_by_role("button", name="Send now").click()
        page.wait_for_function(
            f"(n) => {WAITS} < n", arg=left, timeout=60_000
        )  # fmt: skip
        phone.context.set_offline(True)
        gone = time.monotonic()
        page.get_by_text("No signal").first.wait_for()
        page.wait_for_timeout(700)
        assert 0 < phone.waits() < left
        away_s += time.monotonic() - gone
    phone.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    page.wait_for_function(
        "() => document.querySelector('[data-testid=signal]')?.textContent === 'Connected'", timeout=90_000
    )
    sent_s = time.monotonic() - began - away_s

    every_photo = []
    for i, visit in enumerate(visits):
        told = service.get(f"/api/visits/{visit}/readings")
        want = [(channel, f"{keys} {unit}") for channel, keys, unit in readings_of(i)]
        have = [(row["channel"], row["text"]) for row in told["typed"]]
        assert (len(have), digest(have)) == (len(want), digest(want))
        assert [row["act"] for row in told["marks"]] == list(ACTS[: MARKS[i % 2]])
        assert len({row["id"] for row in told["typed"] + told["marks"]}) == len(want) + MARKS[i % 2]
        assert told["conflicts"] == []
        (client,) = service.get(f"/api/visits/{visit}/batches")["clients"]
        assert client["have"] == [[0, READINGS + MARKS[i % 2] - 1]]
        kept = service.get(f"/api/visits/{visit}")
        assert (kept["state"], kept["technician"]) == ("closed", "A. Field")
        assert not kept["late"]
        there = service.get(f"/api/units/{units[i]}")["attachments"]
        every_photo += [(row["name"], row["sha256"]) for row in (*kept["attachments"], *there)]
        for row in (*kept["attachments"], *there):
            content = service.http.get(f"{service.url}/api/attachments/{row['id']}").content
            assert hashlib.sha256(content).hexdigest() == row["sha256"]
    names = {row["n"]: row["name"] for row in held["photos"]}
    assert every_photo == [(names[row["n"]], row["sha256"]) for row in held["bytes"]]

    left = inside(page)
    assert left["queue"] == 0
    assert left["bytes"] == []
    assert left["inline"] == 0
    assert left["fates"] == ["sent"] * entries
    assert left["photos"] == held["photos"]
    # Of ten megabytes some hundred bytes an entry are left, and the browser's own store shrinks with it.
    assert left["held_bytes"] < 400 * entries < 6_000_000 < held["held_bytes"]
    assert left["usage"] < held["usage"] / 3
    told = {
        "typed_s": round(typed_s, 1), "sent_s": round(sent_s, 1), "away_s": round(away_s, 1),
        "held_before_bytes": held["held_bytes"], "held_after_bytes": left["held_bytes"],
        "usage_before_bytes": held["usage"], "usage_after_bytes": left["usage"],
    }  # fmt: skip
    print(told)
