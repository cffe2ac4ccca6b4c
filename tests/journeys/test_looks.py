"""Every page at every size, light and dark: nothing cut off, targets for gloves, axe content."""

import json

import pytest
from journeys_pages import SIZE_NAMES, places
from pages_built import PAGES

SMALL_PX = 47.5
SERIOUS = ("serious", "critical")
TARGETS = """() => [...document.querySelectorAll('button, a[href], input, select, textarea, summary')]
  .filter((at) => at.checkVisibility({ checkOpacity: false }) && !at.closest('.skip, .hide'))
  // Links within a sentence and what a larger label carries are no targets of their own.
  .filter((at) => !at.closest('p, td, .check, .choice, .file-button, th'))
  .map((at) => ({ box: at.getBoundingClientRect(), what: at.outerHTML.slice(0, 120) }))
  .filter(({ box }) => box.width > 0 && (box.height < %s || box.width < %s))
  .map(({ box, what }) => `${Math.round(box.width)}x${Math.round(box.height)} ${what}`)""" % (SMALL_PX, 44)  # noqa: UP031


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZE_NAMES)
def test_every_page_is_whole_reachable_and_readable(device, service, size, theme):
    axe = (PAGES.FRONTEND / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
    visit, unit = service.demo()
    # The page's own policy lets no foreign script in; axe is put in past it.
    one = device(size, color_scheme=theme, bypass_csp=True)
    page = one.page
    found = []
    for name, path in places(visit, unit).items():
        page.goto(path)
        page.locator("h1").wait_for()
        page.wait_for_timeout(350)
        over = page.evaluate("() => document.documentElement.scrollWidth - window.innerWidth")
        if over > 0:
            found.append(f"{name}: {over} px wider than the screen")
        found += [f"{name}: small target {text}" for text in page.evaluate(TARGETS)]
        page.evaluate(axe)
        result = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
        for row in result["violations"]:
            if row["impact"] in SERIOUS:
                where = [node["html"][:140] for node in row["nodes"][:3]]
                found.append(f"{name}: {row['id']} ({row['impact']}) {json.dumps(where)}")
    assert found == [], "\n".join(found)


def test_the_pad_and_the_alarm_are_reachable_and_readable(device, service):
    axe = (PAGES.FRONTEND / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
    visit = service.visit(service.unit())
    one = device("phone", bypass_csp=True)
    page = one.page
    page.goto(f"/visit/{visit}/readings")
    page.locator("[data-channel=suction_pressure]").click()
    page.keyboard.type("3910")

    def serious():
        page.evaluate(axe)
        return [
            (row["id"], [node["html"][:140] for node in row["nodes"][:3]])
            for row in page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")["violations"]
            if row["impact"] in SERIOUS
        ]

    assert serious() == []
    assert page.locator("dialog.pad").bounding_box()["y"] >= 0
    page.goto("/settings")
    page.get_by_role("button", name="Try the warning").click()
    page.get_by_test_id("alarm").wait_for()
    page.wait_for_timeout(200)
    assert serious() == []


def test_the_first_page_is_there_in_two_seconds_on_a_slow_phone(device, service):
    """A processor four times slower, 1.6 Mbit/s. Bytes are counted; the time is only reported."""
    one = device("phone")
    cdp = one.context.new_cdp_session(one.page)
    cdp.send("Network.enable")
    cdp.send("Network.emulateNetworkConditions", {
        "offline": False, "latency": 150, "downloadThroughput": 1.6e6 / 8, "uploadThroughput": 750e3 / 8,
    })  # fmt: skip
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    sizes = []
    cdp.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    one.page.goto("/", wait_until="commit")
    one.page.get_by_role("link", name="Start a visit").wait_for()
    usable_ms = one.page.evaluate("() => performance.now()")
    print(f"usable after {usable_ms:.0f} ms, {sum(sizes) / 1000:.0f} kB so far")
    assert sum(sizes) < 150_000
