"""No signal: from start to end and back, through reloads, a closed tab and a dead service."""

import pytest


def rows(service, visit):
    """What has arrived of a visit: texts of readings, acts of marks, batches by client."""
    told = service.get(f"/api/visits/{visit}/readings")
    have = service.get(f"/api/visits/{visit}/batches")["clients"]
    return [row["text"] for row in told["typed"]], [row["act"] for row in told["marks"]], have


@pytest.fixture
def unit(service):
    return service.unit()


def started(page, name):
    """Start a visit at a unit that the device knows, without signal."""
    page.goto("/")
    page.get_by_role("link", name="Start a visit").click()
    page.get_by_role("button", name=name).click()
    page.get_by_role("button", name="Start", exact=True).click()
    page.get_by_test_id("stop-bar").wait_for()
    return page.url.split("/visit/")[1].split("/")[0]


def test_a_whole_visit_without_signal_arrives_once_and_in_order(device, service, unit):
    name = service.get(f"/api/units/{unit}")["name"]
    one = device("phone")
    page = one.page
    one.installed()
    page.goto("/units")
    page.get_by_role("button", name=name).wait_for()
    one.offline(True)

    visit = started(page, name)
    bar = page.get_by_test_id("stop-bar")
    assert "STOP before 478 psig" in bar.inner_text()
    page.get_by_text("No signal").first.wait_for()
    page.locator("[data-way=fan-stopped]").click()
    for _ in range(2):
        page.get_by_role("button", name="Done").click()
    page.get_by_test_id("next").locator("[data-act=call-on]").click()
    page.get_by_text("Step 4 of").wait_for()
    page.get_by_test_id("next").locator("[data-act=call-off]").click()
    page.get_by_test_id("next").locator("[data-act=fan-lead-off]").click()
    page.get_by_text("Step 5 of").wait_for()
    page.get_by_role("link", name="Readings").click()
    rounds = (("suction_pressure", "105"), ("suction_line_temp", "45"), ("liquid_pressure", "391"))
    for channel, keys in (*rounds, ("liquid_line_temp", "100")):
        one.type_reading(channel, keys)
    derived = page.locator(".derived").first
    derived.get_by_text("Subcooling").wait_for()
    # 105 psig and 391 psig of R-410A at 1340 ft: 33.6 and 114.8 degF, as `firstfrost plan` prints them.
    told = " ".join(derived.inner_text().split())
    assert "Suction saturation (dew) 33." in told
    assert "High-side saturation (dew) 114." in told
    assert "Superheat 11." in told
    assert "Subcooling 14." in told

    # Reload, close the tab, open another: all is there, and still nothing has been sent.
    page.reload()
    page.get_by_text("105 psig").first.wait_for()
    page.close()
    page = one.page = one.new_page()
    page.goto(f"/visit/{visit}/readings")
    page.get_by_text("391 psig").first.wait_for()
    one.type_reading("outdoor_air_temp", "60")
    page.get_by_role("link", name="Next").click()
    page.get_by_text("fan lead off since").wait_for()
    page.locator(".open-act [data-act=fan-lead-on]").click()
    page.get_by_text("fan lead off since").wait_for(state="detached")
    page.get_by_role("link", name="Finish").click()
    page.get_by_text("Still as you left it").wait_for()
    page.get_by_text("call for heat off since").wait_for()
    page.get_by_test_id("complete").check()
    page.get_by_label("Technician").fill("A. Field")
    page.get_by_test_id("close").click()
    page.get_by_test_id("closed").wait_for()
    page.get_by_role("button", name="Sign", exact=True).click()
    page.get_by_text("Signed by A. Field, technician").first.wait_for()
    page.goto("/waiting")
    page.get_by_text("Waits, in this order").wait_for()
    assert page.locator("ol.rows li").count() >= 12
    visits = service.get("/api/visits")["visits"]
    assert visit not in {row["id"] for row in visits}

    one.offline(False)
    page.get_by_role("button", name="Send now").click()
    one.sent()
    texts, acts, have = rows(service, visit)
    assert texts == ["105 psig", "45 degF", "391 psig", "100 degF", "60 degF"]
    assert acts == ["call-on", "call-off", "fan-lead-off", "fan-lead-on"]
    assert [entry["have"] for entry in have] == [[[0, 8]]]
    kept = service.get(f"/api/visits/{visit}")
    assert kept["state"] == "closed"
    assert kept["marks_complete"] is True
    assert [row["name"] for row in kept["signatures"]] == ["A. Field"]
    result = service.get(f"/api/visits/{visit}/result")["result"]
    assert len(result["functions"]) == 13
    page.goto(f"/visit/{visit}/ledger")
    page.get_by_test_id("counts").wait_for()


def test_a_service_that_dies_in_the_middle_gets_all_of_it_once(device, service, unit):
    visit = service.visit(unit)
    one = device("phone")
    page = one.page
    page.goto(f"/visit/{visit}/readings")
    one.type_reading("suction_pressure", "101")
    one.sent()
    service.stop()
    for keys in ("102", "103", "104"):
        one.type_reading("suction_pressure", keys)
    page.get_by_text("3 to send").wait_for()
    service.start()
    one.sent()
    texts, _, have = rows(service, visit)
    assert texts == ["101 psig", "102 psig", "103 psig", "104 psig"]
    assert [entry["have"] for entry in have] == [[[0, 3]]]
