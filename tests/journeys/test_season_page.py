"""A unit's winter: from its page to a picture that moves with the setting, by touch and by keyboard."""

import pytest
from journeys_pages import axe_faults

pytest.importorskip("numba", reason="without Numba a season takes a minute")


def heights(page):
    return page.locator(".season-bar").evaluate_all(
        "rows => rows.map((one) => Number(one.getAttribute('height')))"
    )


def ready(page):
    page.get_by_role("heading", name="How to set the board").wait_for(timeout=90_000)


@pytest.mark.parametrize(("size", "theme"), [("phone", "light"), ("phone", "dark"), ("desktop", "light")])
def test_moving_the_setting_moves_the_picture(device, service, size, theme):
    one = device(size, color_scheme=theme, bypass_csp=True)
    page = one.page
    page.goto(f"/unit/{service.unit()}")
    page.get_by_role("link", name="Winter").click()
    page.get_by_role("button", name="Work it out").click()
    ready(page)
    before, says = heights(page), page.locator(".season-says").first.inner_text()
    assert max(before) > 0
    page.get_by_label("30 min").check()
    often = heights(page)
    months = len(often) // 2
    assert max(often[:months]) > max(before[:months])
    assert page.locator(".season-says").first.inner_text() != says
    assert page.locator(".season-now").count() > 0
    # By keyboard: the next setting is an arrow away.
    page.get_by_label("30 min").focus()
    page.keyboard.press("ArrowRight")
    assert page.get_by_label("60 min").is_checked()
    assert max(heights(page)[:months]) < max(often[:months])
    small = page.locator(".choice span").evaluate_all(
        "rows => rows.filter((row) => row.getBoundingClientRect().height < 47.5).length"
    )
    assert small == 0
    assert page.evaluate("() => document.documentElement.scrollWidth - window.innerWidth") <= 0
    assert axe_faults(page) == []


def test_a_file_is_taken_refused_and_the_winter_stays_on_the_device(device, service):
    one = device("phone")
    page = one.page
    path = f"/season/{service.unit()}"
    page.goto(path)
    page.get_by_label("A file of the place").check()
    hours = "\n".join(
        f"2026-12-{1 + n // 24:02d}T{n % 24:02d}:00,{-3 + n % 24 / 4:.2f}" for n in range(30 * 24)
    )
    dry = {
        "name": "yard.csv",
        "mimeType": "text/csv",
        "buffer": f"time,temperature [degC]\n{hours}\n".encode(),
    }
    page.locator("input[type=file]").set_input_files(dry)
    page.get_by_role("button", name="Work it out").click()
    page.locator("[role=alert]").wait_for()
    assert "humidity" in page.locator("[role=alert]").inner_text()
    page.get_by_label("Humidity, if the file has none", exact=True).fill("85")
    page.get_by_role("button", name="Work it out").click()
    ready(page)
    page.get_by_text("In the weather of yard.csv").wait_for()
    us = page.locator("main").inner_text()
    assert "°F" in us
    page.goto("/settings")
    page.get_by_label("SI (°C, kPa)").check()
    page.goto(path)
    ready(page)
    page.get_by_text("°C").first.wait_for()
    page.wait_for_timeout(500)
    assert "°F" not in page.locator("main").inner_text().split("What was assumed")[0]
