"""Two devices on one visit: joined by sequence, told of each other, conflicts shown, none overwritten."""

import time
import uuid


def test_two_phones_on_one_visit_see_each_other(device, service):
    visit = service.visit(service.unit())
    one, two = device("phone"), device("tablet")
    for each in (one, two):
        each.page.goto(f"/visit/{visit}/readings")
        each.page.locator("[data-channel=suction_pressure]").wait_for()
    one.type_reading("suction_pressure", "105")
    two.page.locator("[data-channel=suction_pressure]", has_text="105 psig").wait_for()
    two.type_reading("liquid_pressure", "391")
    one.page.get_by_test_id("stop-bar").get_by_text("391 psig").wait_for()
    two.page.get_by_role("link", name="Next").click()
    two.page.get_by_text("Other marks").click()
    two.page.locator("details [data-act=fan-lead-off]").click()
    one.page.get_by_role("link", name="Next").click()
    one.page.get_by_text("fan lead off since").wait_for()
    one.sent()
    two.sent()
    clients = service.get(f"/api/visits/{visit}/batches")["clients"]
    assert sorted(len(entry["have"]) for entry in clients) == [1, 1]
    assert sum(high - low + 1 for entry in clients for low, high in entry["have"]) == 3


def test_both_go_offline_and_their_readings_are_joined(device, service):
    visit = service.visit(service.unit())
    one, two = device("phone"), device("phone")
    for each in (one, two):
        each.installed()
        each.page.goto(f"/visit/{visit}/readings")
        each.page.locator("[data-channel=suction_pressure]").wait_for()
        each.offline(True)
    one.type_reading("suction_pressure", "101")
    two.type_reading("suction_pressure", "102")
    one.type_reading("suction_pressure", "103")
    two.offline(False)
    two.page.goto("/waiting")
    two.sent()
    one.offline(False)
    one.page.goto(f"/visit/{visit}/readings")
    one.sent()
    typed = service.get(f"/api/visits/{visit}/readings")["typed"]
    assert [row["text"] for row in sorted(typed, key=lambda row: row["time_s"])] == [
        "101 psig",
        "102 psig",
        "103 psig",
    ]
    one.page.get_by_text("What was typed").click()
    one.page.get_by_text("102 psig").wait_for()


def test_a_plate_changed_on_both_is_shown_and_chosen(device, service):
    unit = service.unit()
    one = device("phone")
    page = one.page
    one.installed()
    page.goto(f"/unit/{unit}/edit")
    page.get_by_label("Note", exact=True).wait_for()
    one.offline(True)
    page.get_by_label("Note", exact=True).fill("Key under the mat.")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Key under the mat.").wait_for()
    # Meanwhile another device puts another note.
    record = service.get(f"/api/units/{unit}")
    fields = ("site_id", "name", "serial", "practice", "plate")
    service.put(
        f"/api/units/{unit}",
        {"version": record["version"], "note": "Dog bites.", **{k: record[k] for k in fields}},
    )
    one.offline(False)
    page.goto("/waiting")
    trouble = page.get_by_test_id("trouble")
    trouble.wait_for()
    assert "Key under the mat." in trouble.inner_text()
    assert "Dog bites." in trouble.inner_text()
    assert service.get(f"/api/units/{unit}")["note"] == "Dog bites."
    page.get_by_role("button", name="Take mine").click()
    trouble.wait_for(state="detached")
    one.sent()
    assert service.get(f"/api/units/{unit}")["note"] == "Key under the mat."


def test_two_values_for_one_moment_are_both_shown(device, service):
    visit = service.visit(service.unit())
    at = round(time.time(), 3)
    for client, text in (("phone-one", "105 psig"), ("phone-two", "150 psig")):
        service.post(f"/api/visits/{visit}/batches", {
            "client": client, "sequence": 0, "sent_s": at,
            "typed": [{"id": str(uuid.uuid4()), "time_s": at, "channel": "suction_pressure", "text": text}],
        })  # fmt: skip
    one = device("phone")
    one.page.goto(f"/visit/{visit}/readings")
    conflicts = one.page.get_by_test_id("conflicts")
    conflicts.locator("summary").click()
    assert "105 psig" in conflicts.inner_text()
    assert "150 psig" in conflicts.inner_text()
    # On the day's page and in the shop's list it is counted in words, not by a colour.
    one.page.goto("/")
    row = one.page.locator(f"a[href='/visit/{visit}']")
    row.get_by_text("1 conflict to look at").wait_for()
    one.page.goto("/shop")
    one.page.get_by_text("Two devices disagree in one place of an open visit").wait_for()
