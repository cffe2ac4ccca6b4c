"""The maker's tables on the unit's page: checked as they are chosen, kept with the plate, used."""

GOOD = "external_static_pressure [inH2O],airflow [cfm]\n0.1,1060\n0.5,930\n0.8,790\n"
BAD = "external_static_pressure [inH2O],airflow [cfm]\n0.1,1060\n0.5,n/a\n"


def file(name, text):
    return {"name": name, "mimeType": "text/csv", "buffer": text.encode()}


def test_a_table_is_read_by_the_service_before_it_is_taken(device, service):
    unit = service.unit()
    one = device("phone")
    page = one.page
    page.goto(f"/unit/{unit}")
    page.get_by_role("link", name="Change").click()
    row = page.locator("[data-setting='maker.blower']")
    row.locator("input[type=file]").set_input_files(file("blower.csv", BAD))
    row.get_by_text("blower.csv, row 3, column 'airflow [cfm]' is 'n/a'").wait_for()
    assert "none" in row.inner_text()
    row.locator("input[type=file]").set_input_files(file("blower.csv", GOOD))
    row.get_by_text("blower.csv, 3 rows").wait_for()
    assert row.get_by_role("alert").count() == 0
    page.get_by_label("Blower tap, as the table names it").fill("high")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("link", name="Change").wait_for()  # back on the unit's page: it is in the journal
    page.get_by_text("blower.csv, 3 rows").wait_for()
    one.sent()
    plate = service.get(f"/api/units/{unit}")["plate"]
    assert plate["maker"] == {"blower": {"name": "blower.csv", "text": GOOD}}
    assert plate["blower"] == {"tap": "high"}
    page.get_by_role("link", name="Change").click()
    page.get_by_role("button", name="Leave out: Blower table").click()
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("link", name="Change").wait_for()  # back on the unit's page: it is in the journal
    one.sent()
    assert "maker" not in service.get(f"/api/units/{unit}")["plate"]


def test_without_signal_a_table_is_kept_and_sent_later(device, service):
    unit = service.unit()
    one = device("phone")
    page = one.page
    page.goto(f"/unit/{unit}")
    page.get_by_role("link", name="Change").click()
    one.context.set_offline(True)
    row = page.locator("[data-setting='maker.blower']")
    row.locator("input[type=file]").set_input_files(file("blower.csv", GOOD))
    page.get_by_text("the table is checked when the unit is sent").wait_for()
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("link", name="Change").wait_for()  # back on the unit's page: it is in the journal
    page.get_by_text("blower.csv, 3 rows").wait_for()
    one.context.set_offline(False)
    one.sent()
    assert service.get(f"/api/units/{unit}")["plate"]["maker"]["blower"]["text"] == GOOD
