"""Both systems of units, and a visit by keyboard alone."""

import re


def test_both_systems_say_the_same(device, service):
    visit, unit = service.demo()
    one = device("desktop")
    page = one.page
    page.goto("/settings")
    page.get_by_label("SI (°C, kPa)").check()
    page.goto(f"/visit/{visit}/ledger")
    page.get_by_text("-2.4 ± 0.6 °C").first.wait_for()
    text = page.locator("main").inner_text()
    assert "STOP before 3292 kPa(g)" in text
    assert "°F" not in text
    assert "psi" not in text
    page.goto(f"/unit/{unit}")
    page.get_by_text("3292 kPa(g)").wait_for()
    page.goto("/settings")
    page.get_by_label("US (°F, psig)").check()
    page.goto(f"/visit/{visit}/ledger")
    page.get_by_text("27.8 ± 1.0 °F").first.wait_for()
    assert "478 psig" in page.locator("main").inner_text()


def test_what_is_typed_in_si_arrives_as_it_was_written(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    page.goto("/settings")
    page.get_by_label("SI (°C, kPa)").check()
    page.goto(f"/visit/{visit}/readings")
    page.locator("[data-channel=liquid_pressure]").click()
    page.locator("dialog.pad").get_by_role("button", name="barg").click()
    page.keyboard.type("27")
    assert re.search(r"46\.\d °C saturation", page.locator("#pad-says").inner_text())
    page.keyboard.press("Enter")
    one.type_reading("outdoor_coil_temp", "-1.5")
    one.sent()
    typed = service.get(f"/api/visits/{visit}/readings")["typed"]
    assert [row["text"] for row in typed] == ["27 barg", "-1.5 degC"]
    assert typed[1]["value"] == -1.5


def tab_to(page, test):
    """Press Tab until what has the focus passes; a person would do the same."""
    for _ in range(120):
        page.keyboard.press("Tab")
        if page.evaluate(f"() => {{ const at = document.activeElement; return !!at && !!({test}); }}"):
            shown = page.evaluate(
                """() => {
                  const at = document.activeElement;
                  const by = at.matches('.choice input, .file-button input');
                  return by || getComputedStyle(at).outlineStyle !== 'none';
                }"""
            )
            assert shown, "what has the focus does not show it"
            return
    raise AssertionError(f"no way by Tab to {test}")


def test_a_visit_by_keyboard_alone(device, service):
    unit = service.unit()
    name = service.get(f"/api/units/{unit}")["name"]
    one = device("desktop")
    page = one.page
    page.goto("/")
    page.get_by_role("link", name="Start a visit").wait_for()
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip"
    tab_to(page, "at.textContent.includes('Start a visit')")
    page.keyboard.press("Enter")
    tab_to(page, f"at.textContent.includes('{name}')")
    page.keyboard.press("Enter")
    tab_to(page, "at.textContent.trim() === 'Start'")
    page.keyboard.press("Enter")
    page.get_by_test_id("stop-bar").wait_for()
    tab_to(page, "at.dataset.way === 'natural'")
    page.keyboard.press("Enter")
    page.get_by_text("Step 1 of").wait_for()
    for _ in range(2):
        tab_to(page, "at.textContent === 'Done'")
        page.keyboard.press("Space")
    page.get_by_text("Step 3 of").wait_for()
    tab_to(page, "at.dataset.act === 'call-on'")
    page.keyboard.press("Enter")
    page.get_by_text("Step 4 of").wait_for()
    tab_to(page, "at.textContent === 'Readings'")
    page.keyboard.press("Enter")
    tab_to(page, "at.dataset.testid === 'round'")
    page.keyboard.press("Enter")
    for keys in ("105", "391"):
        page.keyboard.type(keys)
        page.keyboard.press("Enter")
        page.wait_for_timeout(150)
    page.keyboard.press("Escape")
    page.locator("dialog.pad").wait_for(state="detached")
    page.locator("[data-channel=suction_pressure]", has_text="105 psig").wait_for()
    tab_to(page, "at.textContent === 'Ledger'")
    page.keyboard.press("Enter")
    tab_to(page, "at.dataset.function === 'valve_shifts'")
    page.keyboard.press("Enter")
    assert page.locator("[data-function=valve_shifts]").get_attribute("aria-expanded") == "true"
    tab_to(page, "at.textContent === 'Finish'")
    page.keyboard.press("Enter")
    tab_to(page, "at.dataset.testid === 'close'")
    page.keyboard.press("Enter")
    page.get_by_test_id("closed").wait_for()
    one.sent()
    visit = page.url.split("/visit/")[1].split("/")[0]
    told = service.get(f"/api/visits/{visit}/readings")
    assert [row["text"] for row in told["typed"]] == ["105 psig", "391 psig"]
    assert [row["act"] for row in told["marks"]] == ["call-on"]
