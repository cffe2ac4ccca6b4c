"""Photos on a device: kept until the shop has them, then told where they are; and a device that is full."""

import os
from pathlib import Path

import pytest
from device_store import Room, a_photo, inside

SHOTS = os.environ.get("FIRSTFROST_SHOTS")
"""A folder to put pictures of the pages into, to be looked at."""

IMAGES = "[...document.querySelectorAll('img')].filter((one) => one.complete && {}).length"
SHOWN = f"(n) => {IMAGES.format('one.naturalWidth > 0')} === n"
BROKEN = f"() => {IMAGES.format('!one.naturalWidth')}"
AWAY = "Stored at the shop, not on this device. It shows when there is signal."


HELD = """
const ask = window.fetch;
let fail;
const held = new Promise((_, no) => { fail = no; });
held.catch(() => 0);
window.fetch = (what, ...more) => (String(what.url ?? what).includes("/api/") ? held : ask(what, ...more));
window.lost = (after_ms) => {
  fail(new TypeError("no signal"));
  setTimeout(() => {
    for (const image of document.querySelectorAll("a.photo img")) image.dispatchEvent(new Event("error"));
  }, after_ms);
};
"""
"""Answers of the service do not come, until `lost`: then they fail, and the pictures `after_ms` later."""


def shown(page, count):
    page.wait_for_function(SHOWN, arg=count)
    assert page.evaluate(BROKEN) == 0


def signal_back(one):
    """The signal is back, and the page is told: a browser that plays at being offline may not do so."""
    one.offline(False)
    one.page.evaluate("() => window.dispatchEvent(new Event('online'))")


def understood(page):
    """What could not be saved is told until one has read it."""
    fault = page.get_by_test_id("storage-fault").first
    fault.get_by_role("button", name="Understood").click()
    page.get_by_test_id("storage-fault").first.wait_for(state="detached")


def looked_at(page, name):
    if SHOTS:
        page.screenshot(path=Path(SHOTS) / f"{name}.png")


@pytest.mark.parametrize("of", ["visit", "unit"])
def test_a_photo_is_let_go_once_it_is_sent_and_the_page_says_where_it_is(device, service, of):
    unit = service.unit()
    visit = service.visit(unit)
    one = device("phone")
    page = one.page
    one.installed()
    page.goto(f"/visit/{visit}/finish" if of == "visit" else f"/unit/{unit}")
    chooser = page.locator("input[type=file][accept='image/*']")
    chooser.wait_for(state="attached")
    one.offline(True)
    for seed in (1, 2):
        chooser.set_input_files(a_photo(seed))
        shown(page, seed)
        page.get_by_text(f"{seed} to send").wait_for()
    before = inside(page)
    assert [row["n"] for row in before["bytes"]] == [row["n"] for row in before["photos"]]
    assert len(before["bytes"]) == 2
    # Without signal they are shown from the device, after a reload too.
    page.reload()
    shown(page, 2)

    signal_back(one)
    one.sent()
    after = inside(page)
    assert after["bytes"] == []
    assert after["photos"] == before["photos"]
    shown(page, 2)
    there = service.get(f"/api/{of}s/{visit if of == 'visit' else unit}")["attachments"]
    assert sorted(row["sha256"] for row in there) == sorted(row["sha256"] for row in before["bytes"])
    # Again from the service; and without signal no broken picture, but where it is.
    page.reload()
    shown(page, 2)
    one.offline(True)
    page.reload()
    page.get_by_text(AWAY).first.wait_for()
    assert page.get_by_text(AWAY).count() == 2
    page.get_by_text(AWAY).last.scroll_into_view_if_needed()
    looked_at(page, f"away-{of}")
    assert page.evaluate(BROKEN) == 0
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    # And when the signal is back they are there by themselves.
    signal_back(one)
    shown(page, 2)


def test_a_photo_that_fails_in_the_moment_when_the_signal_goes_is_told_too(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    one.installed()
    page.goto(f"/visit/{visit}/finish")
    page.locator("input[type=file][accept='image/*']").set_input_files(a_photo(1))
    shown(page, 1)
    one.sent()
    page.add_init_script(HELD)
    for after_ms in range(0, 8):
        page.reload()
        shown(page, 1)
        one.offline(True)
        page.evaluate("(after_ms) => window.lost(after_ms)", after_ms)
        page.get_by_text(AWAY).wait_for()
        one.offline(False)


def test_a_full_device_says_so_and_nothing_that_was_typed_is_gone(device, service, tmp_path):
    """The browser's own quota, filled to the last byte."""
    visit = service.visit(service.unit())
    one = device("phone", folder=tmp_path / "profile")
    page = one.page
    room = Room(one, service.url, 4_000_000)
    one.installed()
    page.goto(f"/visit/{visit}/readings")
    one.type_reading("suction_pressure", "100")
    one.sent()
    one.offline(True)
    room.none()

    # A reading stays in its pad, and the pad says why.
    page.locator("[data-channel=suction_line_temp]").click()
    page.keyboard.type("45")
    page.get_by_test_id("keep").click()
    fault = page.locator("dialog.pad").get_by_test_id("storage-fault")
    fault.wait_for()
    assert fault.inner_text().startswith("Not saved: this device has no room left.")
    assert "send what waits" in fault.inner_text()
    assert page.locator("dialog.pad input").input_value() == "45"
    looked_at(page, "full-pad")
    understood(page)

    # With room again the same touch saves it.
    room.more(50_000)
    page.get_by_test_id("keep").click()
    page.locator("dialog.pad").wait_for(state="detached")
    page.get_by_text("1 to send").wait_for()

    # A mark keeps the time of its touch.
    room.none()
    page.get_by_role("link", name="Next").click()
    page.get_by_text("Other marks").click()
    page.locator("details .acts [data-act=call-on]").click()
    page.get_by_text("Not saved yet: call").wait_for()
    touched = page.evaluate("() => Date.now() / 1000")
    understood(page)
    page.locator("details .acts [data-act=call-off]").click()
    page.get_by_text("; call for heat off").wait_for()
    page.get_by_test_id("storage-fault").wait_for()
    looked_at(page, "full-mark")
    understood(page)
    page.wait_for_timeout(1500)
    room.more(50_000)
    page.locator(".toast").get_by_role("button", name="Save again").click()
    page.get_by_text("3 to send").wait_for()

    # A note stays in its form.
    room.none()
    page.get_by_role("button", name="Note", exact=True).click()
    page.get_by_label("What happened").fill("Ice at the base")
    page.get_by_role("button", name="Save", exact=True).click()
    page.locator("dialog").get_by_test_id("storage-fault").wait_for()
    assert page.locator("#note-text").input_value() == "Ice at the base"
    room.more(50_000)
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("4 to send").wait_for()

    # A photo stays on the page, through other pages too, and is saved from there.
    page.get_by_role("link", name="Finish").click()
    page.locator("input[type=file][accept='image/*']").set_input_files(a_photo(3))
    unsaved = page.get_by_test_id("unsaved")
    unsaved.get_by_text("Not saved yet").wait_for()
    looked_at(page, "full-photo")
    understood(page)
    page.get_by_role("link", name="Readings").click()
    page.get_by_role("link", name="Finish").click()
    unsaved.wait_for()
    assert inside(page)["bytes"] == []
    unsaved.get_by_role("button", name="Save again").click()
    page.get_by_test_id("storage-fault").wait_for()
    understood(page)
    room.more(600_000)
    unsaved.get_by_role("button", name="Save again").click()
    unsaved.wait_for(state="detached")
    shown(page, 1)
    (photo,) = inside(page)["bytes"]

    # Full to the last byte it still sends, and what was sent makes room.
    room.none()
    one.offline(False)
    one.sent()
    assert inside(page)["bytes"] == []
    page.get_by_role("link", name="Readings").click()
    page.locator("[data-channel=liquid_line_temp]").click()
    page.keyboard.type("92")
    page.get_by_test_id("keep").click()
    page.locator("dialog.pad").wait_for(state="detached")
    one.sent()
    told = service.get(f"/api/visits/{visit}/readings")
    assert [row["text"] for row in told["typed"]] == ["100 psig", "45 degF", "92 degF"]
    marks = [(row["act"], row["note"]) for row in told["marks"]]
    assert marks == [("call-on", ""), ("call-off", ""), ("note", "Ice at the base")]
    assert told["marks"][0]["time_s"] <= touched + 0.5
    (there,) = service.get(f"/api/visits/{visit}")["attachments"]
    assert there["sha256"] == photo["sha256"]
    (have,) = service.get(f"/api/visits/{visit}/batches")["clients"]
    assert have["have"] == [[0, 5]]
