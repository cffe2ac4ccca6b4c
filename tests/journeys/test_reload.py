"""A reload in the middle of a visit, and of each of its parts, changes nothing that one sees."""


def test_a_reload_in_the_middle_keeps_place_plan_and_readings(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    page.goto(f"/visit/{visit}")
    page.locator("[data-way=coil-covered]").click()
    for _ in range(2):
        page.get_by_role("button", name="Done").click()
    page.get_by_test_id("next").locator("[data-act=call-on]").click()
    page.get_by_text("Step 4 of").wait_for()
    before = page.get_by_test_id("next").inner_text()
    page.reload()
    page.get_by_text("Step 4 of").wait_for()
    assert page.get_by_test_id("next").inner_text() == before
    page.get_by_role("link", name="Readings").click()
    one.type_reading("outdoor_coil_temp", "-3")
    page.reload()
    page.locator("[data-channel=outdoor_coil_temp]", has_text="-3.0 °F").wait_for()
    one.sent()


def test_a_mark_can_be_moved_and_taken_back(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    page.goto(f"/visit/{visit}")
    page.get_by_text("Other marks").click()
    page.locator("[data-act=pins-bridged]").click()
    page.get_by_role("button", name="10 s earlier").click()
    page.get_by_text("test pins bridged since").wait_for()
    one.sent()
    marks = service.get(f"/api/visits/{visit}/readings")["marks"]
    assert [(m["act"], m["withdrawn"]) for m in sorted(marks, key=lambda m: m["time_s"])] == [
        ("pins-bridged", False),
        ("pins-bridged", True),
    ]
    times = sorted(m["time_s"] for m in marks)
    assert abs(times[1] - times[0] - 10) < 0.01
    page.get_by_role("button", name="Undo").click()
    page.locator(".open-act").wait_for(state="detached")
    one.sent()
    assert all(m["withdrawn"] for m in service.get(f"/api/visits/{visit}/readings")["marks"])


def test_a_typed_reading_that_is_withdrawn_stays_in_the_record(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    page.goto(f"/visit/{visit}/readings")
    one.type_reading("suction_pressure", "15")
    page.get_by_text("What was typed").click()
    page.get_by_role("button", name="Withdraw").click()
    page.get_by_text("withdrawn").wait_for()
    one.sent()
    (row,) = service.get(f"/api/visits/{visit}/readings")["typed"]
    assert row["withdrawn"] is True
    assert row["text"] == "15 psig"
