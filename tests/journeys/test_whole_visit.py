"""A whole visit, from the list of units to the signed PDF, at three sizes of screen."""

import re
import time

import pytest
from journeys_pages import SIZE_NAMES


def draw(page):
    """Sign with a finger."""
    pad = page.locator("canvas.sign-pad")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    page.mouse.move(box["x"] + 30, box["y"] + 60)
    page.mouse.down()
    for i in range(12):
        page.mouse.move(box["x"] + 30 + 15 * i, box["y"] + 60 + 25 * (-1) ** i)
    page.mouse.up()


@pytest.mark.parametrize("size", SIZE_NAMES)
def test_from_the_unit_to_the_signed_report(device, service, size, tmp_path):
    pymupdf = pytest.importorskip("pymupdf")
    name = f"Mill House {size}"
    one = device(size)
    page = one.page
    page.goto("/")
    page.get_by_role("link", name="Start a visit").click()
    page.get_by_role("link", name="A unit that is not in the list").click()
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Refrigerant", exact=True).select_option("R-410A")
    page.get_by_label("Closes at", exact=True).fill("30")
    page.get_by_label("Height above sea level", exact=True).fill("1340")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("heading", name=name).wait_for()
    assert "478 psig" in page.locator("main").inner_text()
    page.get_by_role("link", name="Start a visit here").click()
    page.get_by_role("button", name="Start", exact=True).click()
    page.get_by_test_id("stop-bar").wait_for()

    # Plan: today's weather, the way that works, its steps.
    page.get_by_label("Outdoors", exact=True).fill("60")
    page.get_by_label("Humidity", exact=True).fill("60")
    page.get_by_role("button", name="Plan the test").click()
    page.get_by_text("Step 1 of").wait_for(timeout=240_000)
    for _ in range(2):
        page.get_by_role("button", name="Done").click()
    now = page.get_by_test_id("next")
    assert "call for heat" in now.inner_text()
    assert re.search(r"high side, heating steadily\s+\d+ psig", now.inner_text())
    before = time.time()
    now.locator("[data-act=call-on]").click()
    page.get_by_text("Step 4 of").wait_for()

    # Type, and be told at once what it means and what cannot be.
    page.get_by_role("link", name="Readings").click()
    one.type_reading("suction_pressure", "105")
    page.locator("[data-channel=suction_line_temp]").click()
    page.keyboard.type("45")
    assert "superheat 11.4 °F" in page.locator("#pad-says").inner_text()
    page.keyboard.press("Enter")
    page.locator("[data-channel=liquid_pressure]").click()
    page.keyboard.type("3910")
    assert "Would fit in kPa(g)" in page.locator("#pad-says").inner_text()
    page.get_by_role("button", name="Erase").click()
    page.get_by_test_id("keep").click()
    page.get_by_test_id("stop-bar").get_by_text("15 °F below the limit").wait_for()
    one.sent()
    visit = page.url.split("/visit/")[1].split("/")[0]
    told = service.get(f"/api/visits/{visit}/readings")
    assert [row["text"] for row in told["typed"]] == ["105 psig", "45 degF", "391 psig"]
    assert [row["act"] for row in told["marks"]] == ["call-on"]
    assert abs(told["marks"][0]["time_s"] - before) < 3

    # Close, look at the ledger, sign, make the report and take it along.
    page.get_by_role("link", name="Finish").click()
    page.get_by_test_id("complete").check()
    page.get_by_label("Technician").fill("A. Field")
    page.get_by_label("Note for the report").fill("Fan guard loose.")
    page.get_by_test_id("close").click()
    page.get_by_test_id("closed").wait_for()
    one.sent()
    page.get_by_text("result 1").first.wait_for()
    draw(page)
    page.get_by_role("button", name="Sign", exact=True).click()
    page.get_by_test_id("signatures").wait_for()
    assert "Signed by A. Field, technician" in page.get_by_test_id("signatures").inner_text()
    page.get_by_test_id("make-pdf").click()
    page.get_by_test_id("reports").wait_for(timeout=60_000)
    with page.expect_download() as got:
        page.get_by_test_id("save-report").first.click()
    path = tmp_path / "report.pdf"
    got.value.save_as(path)
    with pymupdf.open(path) as paper:
        text = "\n".join(sheet.get_text() for sheet in paper)
    assert name in text
    assert "A. Field" in text
    page.get_by_role("link", name="Ledger").click()
    assert page.locator("[data-function]").count() == 13
    one.sent()


def test_the_demo_visit_lights_its_evidence(device, service):
    visit, _ = service.demo()
    one = device("phone")
    page = one.page
    page.goto(f"/visit/{visit}/ledger")
    line = page.locator("[data-function=sensor_closes]")
    page.get_by_text("27.8 ± 1.0 °F").first.wait_for()
    assert "shown" in line.inner_text()
    assert "7.2 °F to spare" in line.inner_text()
    assert "9 shown" in page.get_by_test_id("counts").inner_text().replace("\n", " ")
    strip = page.get_by_test_id("strip")
    line.click()
    assert line.get_attribute("aria-expanded") == "true"
    # The lane of the sensor's contact is told, and the strip stays in sight beside the line.
    page.locator(".lane.told").wait_for()
    assert strip.bounding_box()["y"] < 300
    assert line.bounding_box()["y"] < 740
    yellow = page.evaluate(
        """() => {
          const canvas = document.querySelector('.strip-plot canvas');
          const d = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
          let n = 0;
          for (let i = 0; i < d.length; i += 4) if (d[i] === 255 && d[i + 1] === 224 && d[i + 2] === 138) n++;
          return n;
        }"""
    )
    assert yellow > 300


def test_the_strip_follows_fingers_and_keys(device, service):
    visit, _ = service.demo()
    one = device("tablet")
    page = one.page
    page.goto(f"/visit/{visit}/ledger")
    page.locator(".band", has_text="heating").first.wait_for()
    strip = page.get_by_test_id("strip")
    strip.focus()

    def width():
        """Of the defrost, which stays in view when the strip comes nearer about its middle."""
        return page.locator(".b-defrost").bounding_box()["width"]

    whole = width()
    page.keyboard.press("+")
    page.wait_for_timeout(150)
    assert width() == pytest.approx(1.6 * whole, rel=0.05)
    page.keyboard.press("0")
    page.wait_for_timeout(150)
    assert width() == pytest.approx(whole, abs=1)
    box = page.locator(".strip-plot .u-over").bounding_box()
    cdp = one.context.new_cdp_session(page)
    middle, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def fingers(kind, apart):
        points = (
            []
            if kind == "touchEnd"
            else [{"x": middle - apart, "y": y, "id": 1}, {"x": middle + apart, "y": y, "id": 2}]
        )
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 50)
    for apart in range(60, 210, 10):
        fingers("touchMove", apart)
    fingers("touchEnd", 0)
    page.wait_for_timeout(150)
    # From 100 px apart to 400 px: four times as near.
    assert width() == pytest.approx(4 * whole, rel=0.1)
