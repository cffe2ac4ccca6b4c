"""A winter with prices and with what a visit measured, typed on a phone."""

import pytest
from journeys_pages import axe_faults

pytest.importorskip("numba", reason="without Numba a season takes a minute")


def ready(page):
    page.get_by_role("heading", name="How to set the board").wait_for(timeout=90_000)


def ask(page, *, price="0,16"):
    page.get_by_text("As measured at a visit", exact=True).click()
    page.get_by_label("Coil sensor opens at", exact=True).fill("50")
    page.get_by_label("Heat measured, of what the ratings say", exact=True).fill("85")
    page.get_by_text("Prices and carbon", exact=True).click()
    page.get_by_label("The same at all times").check()
    page.get_by_label("Currency").fill("USD")
    page.get_by_label("Price of a kWh").fill(price)
    page.get_by_label("kg of CO₂ for a kWh, if known").fill("0.38")
    page.get_by_role("button", name="Add a fuel to compare with").click()
    page.get_by_label("Name of the fuel").fill("natural gas")
    page.get_by_label("Price, USD").fill("1.30")
    page.get_by_label("Heat in what the price is for").fill("29.3 kWh")
    page.get_by_label("Efficiency of the heater, %").fill("92")


@pytest.mark.parametrize(("size", "theme"), [("phone", "light"), ("phone", "dark"), ("desktop", "light")])
def test_prices_and_measurements_are_typed_and_told_back(device, service, size, theme):
    one = device(size, color_scheme=theme, bypass_csp=True)
    page = one.page
    page.goto(f"/season/{service.unit()}")
    ask(page, price="cheap")
    page.get_by_role("button", name="Work it out").click()
    assert "is not a number" in page.get_by_role("alert").inner_text()
    page.get_by_label("Price of a kWh").fill("0,16")
    page.get_by_role("button", name="Work it out").click()
    ready(page)
    text = page.locator("main").inner_text()
    for told in (
        "USD",
        "kg CO₂",
        "The same heat from natural gas",
        "The same heat from resistance alone",
        "Backup heat in defrosts",
        "The coil sensor opens at 50.0 °F",
        "85 ± 8 %",
        "Besides,",
    ):
        assert told in text, told
    assert page.evaluate("() => document.documentElement.scrollWidth - window.innerWidth") <= 0
    before = page.get_by_text("This unit, on this setting").locator("..").inner_text()
    page.get_by_label("120 min").check()
    assert page.get_by_text("This unit, on this setting").locator("..").inner_text() != before
    # What is typed stays on the device, and is there again.
    page.get_by_role("button", name="Ask anew").click()
    assert page.get_by_label("Price of a kWh").input_value() == "0,16"
    page.get_by_text("As measured at a visit", exact=True).click()
    assert axe_faults(page) == []


def test_a_tariff_is_a_file_and_its_mistake_names_the_row(device, service):
    page = device("phone").page
    page.goto(f"/season/{service.unit()}")
    page.get_by_text("Prices and carbon", exact=True).click()
    page.get_by_label("By time of use").check()
    page.get_by_label("Currency").fill("USD")
    for text in (
        "month,hour,price\nall,all,0.12\nall,25,0.3\n",
        "month,hour,price\nall,all,0.12\nall,17-20,0.3\n",
    ):
        file = {"name": "tariff.csv", "mimeType": "text/csv", "buffer": text.encode()}
        page.locator("input[accept='.csv,.txt']").set_input_files(file)
        page.get_by_label("Tariff", exact=True).wait_for()
        page.wait_for_function("t => document.getElementById('tariff').value === t", arg=text)
        page.get_by_role("button", name="Work it out").click()
        if "25" in text:
            page.get_by_role("alert").wait_for()
            assert "line 3" in page.get_by_role("alert").inner_text()
    ready(page)
    assert "USD" in page.locator("main").inner_text()
