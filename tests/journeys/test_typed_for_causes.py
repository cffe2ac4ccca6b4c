"""The causes' next reading, typed where the person stands: at once, without signal, and taken back."""

import tomllib
import uuid

import pytest
from bench.course import shipped_run
from journeys_pages import axe_faults

from firstfrost.bench.scenario.write import write_run


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """The files of a visit whose filter nobody changed."""
    folder = tmp_path_factory.mktemp("run")
    write_run(shipped_run("27-dirty-filter"), folder)
    return folder


@pytest.fixture
def visit(service, run):
    """An open visit with that fault in its log; its id."""
    plate = tomllib.loads((run / "unit.toml").read_text(encoding="utf-8"))
    made = service.visit(service.unit(**plate))
    path = f"{service.url}/api/visits/{made}/files/{uuid.uuid4()}?name=trace.csv"
    assert service.http.put(path, content=(run / "trace.csv").read_bytes()).status_code == 201
    return made


def filter_of(service, visit):
    """The probability of the fault that is there, and what the ranking took in."""
    causes = service.get(f"/api/visits/{visit}/result")["result"]["causes"]
    share = sum(row["probability"] for row in causes["answers"] if row["names"] == ["filter-blocked"])
    return share, [row["text"] for row in causes["readings"]]


def opened(page, visit):
    """The page of causes, judged."""
    page.goto(f"/visit/{visit}/causes")
    page.locator("[data-ask]").first.wait_for()


def test_the_first_cause_is_read_the_advised_reading_typed_and_the_ranking_moves(device, service, visit):
    before, _ = filter_of(service, visit)
    one = device("phone", bypass_csp=True)
    page = one.page
    opened(page, visit)
    first = page.locator(".cause-main").first
    assert "filter blocked" in first.inner_text() or "airflow" in first.inner_text()
    said = page.get_by_test_id("causes-sentence").inner_text()
    asked = {at.get_attribute("data-ask") for at in page.locator("[data-ask]").all()}
    assert asked & {"look-filter", "static-pressure"}
    assert axe_faults(page) == []
    more = page.get_by_test_id("more-looks")
    more.locator("summary").click()
    assert more.locator("[data-look]").count() > 40
    assert axe_faults(page) == []
    # By keyboard: the tile opens the words, the word is kept.
    more.locator("[data-look=filter_look]").focus()
    page.keyboard.press("Enter")
    page.get_by_role("dialog").get_by_role("button", name="dirty").focus()
    assert axe_faults(page) == []
    page.keyboard.press("Enter")
    listed = page.get_by_test_id("looked")
    listed.locator("[data-state=counts]").wait_for()
    assert "filter, looked at dirty" in " ".join(listed.inner_text().split())
    after, taken = filter_of(service, visit)
    assert taken == ["filter_look = dirty"]
    assert after > before
    page.wait_for_function(
        "(said) => document.querySelector('[data-testid=causes-sentence]').textContent !== said", arg=said
    )
    assert "filter blocked" in page.locator(".cause-main").first.inner_text()
    assert page.locator("[data-ask=look-filter]").count() == 0

    # A number on the pad: what cannot be is said at once, with the unit that would fit.
    more.locator("[data-look=filter_drop]").click()
    page.keyboard.type("150")
    assert "A working unit shows" in page.locator("#pad-says").inner_text()
    assert "Would fit in Pa" in page.locator("#pad-says").inner_text()
    page.get_by_role("button", name="Erase").click()
    page.get_by_role("button", name="Erase").click()
    for key in ("Decimal point", "1"):
        page.get_by_role("dialog").get_by_role("button", name=key, exact=True).click()
    assert "taken as good to ± 5 %" in page.locator("#pad-says").inner_text()
    assert axe_faults(page) == []
    page.get_by_test_id("keep").click()
    listed.locator("[data-state=counts]").nth(1).wait_for()
    assert filter_of(service, visit)[1] == ["filter_look = dirty", "filter_drop = 1.1 inH2O"]

    # Taken back, it stays in the list and no longer counts.
    listed.locator("li", has_text="filter, looked at").get_by_role("button", name="Withdraw").click()
    listed.locator("[data-state=withdrawn]").wait_for()
    one.sent()
    assert filter_of(service, visit)[1] == ["filter_drop = 1.1 inH2O"]


def test_the_next_reading_itself_takes_the_word_or_leads_to_the_pad(device, service, visit):
    one = device("phone")
    page = one.page
    opened(page, visit)
    asked = page.locator("[data-ask]")
    for at in asked.all():
        offered = at.locator("[data-look], [data-read], a.button")
        assert offered.count() > 0, at.get_attribute("data-ask")
    boxes = [at.bounding_box() for at in page.locator("[data-ask] button, [data-ask] a.button").all()]
    assert boxes
    assert all(box["height"] >= 48 and box["width"] >= 48 for box in boxes)
    word = page.locator("[data-ask] [data-word]").first
    if word.count():
        name, text = (
            page.locator("[data-ask] [data-look]:has([data-word])").first.get_attribute("data-look"),
            word.inner_text(),
        )
        word.click()
        expected = f"{name} = {text}"
    else:
        first = page.locator("[data-ask] button[data-look]").first
        name = first.get_attribute("data-look")
        first.click()
        page.keyboard.type("1")
        page.get_by_test_id("keep").click()
        expected = f"{name} = 1"
    page.get_by_test_id("looked").locator("[data-state=counts]").wait_for()
    assert filter_of(service, visit)[1][0].startswith(expected)


def test_the_same_without_signal_is_kept_and_sent_later(device, service, visit):
    before, _ = filter_of(service, visit)
    one = device("phone", bypass_csp=True)
    page = one.page
    one.installed()
    opened(page, visit)
    one.offline(True)
    page.get_by_test_id("more-looks").locator("summary").click()
    page.locator("[data-testid=more-looks] [data-look=filter_look]").click()
    page.get_by_role("dialog").get_by_role("button", name="dirty").click()
    listed = page.get_by_test_id("looked")
    listed.locator("[data-state=waiting]").wait_for()
    page.reload()
    listed.locator("[data-state=waiting]").wait_for()
    listed.get_by_text("The ranking moves once this is sent").wait_for()
    assert axe_faults(page) == []
    assert filter_of(service, visit) == (before, [])
    page.goto("/waiting")
    page.get_by_text("filter, looked at dirty").wait_for()
    one.offline(False)
    page.get_by_role("button", name="Send now").click()
    one.sent()
    after, taken = filter_of(service, visit)
    assert taken == ["filter_look = dirty"]
    assert after > before
    page.goto(f"/visit/{visit}/causes")
    listed.locator("[data-state=counts]").wait_for()
    assert [row["text"] for row in service.get(f"/api/visits/{visit}/readings")["looked"]] == ["dirty"]


def test_two_devices_that_look_and_differ_are_shown(device, service, visit):
    one = device("phone")
    page = one.page
    opened(page, visit)
    page.get_by_test_id("more-looks").locator("summary").click()
    page.locator("[data-testid=more-looks] [data-look=filter_look]").click()
    page.get_by_role("dialog").get_by_role("button", name="dirty").click()
    listed = page.get_by_test_id("looked")
    listed.locator("[data-state=counts]").wait_for()
    (mine,) = service.get(f"/api/visits/{visit}/readings")["looked"]
    other = {**mine, "id": str(uuid.uuid4()), "time_s": mine["time_s"] + 1, "text": "clean"}
    other = {key: other[key] for key in ("id", "time_s", "name", "text")}
    body = {"client": "phone-two", "sequence": 0, "looked": [other]}
    service.post(f"/api/visits/{visit}/batches", body)
    conflicts = page.get_by_test_id("conflicts")
    conflicts.locator("summary").click()
    told = " ".join(conflicts.inner_text().split())
    assert "filter, looked at" in told
    assert "clean or dirty" in told
    listed.locator("[data-state=overtaken]").wait_for()
    # The other one was wrong: withdrawn here, that settles it.
    listed.locator("li", has_text="clean").get_by_role("button", name="Withdraw").click()
    conflicts.wait_for(state="detached")
    listed.locator("[data-state=counts]", has_text="in the ranking").wait_for()
