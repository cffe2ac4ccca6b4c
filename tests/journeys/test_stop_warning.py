"""The stop warning: full screen, before the ceiling is met, from a recorder and from what is typed."""

import time

from firstfrost.refrigerants import refrigerant

CEILING_C = (130.0 - 32.0) / 1.8


def batch(service, visit, sequence, time_s, **channels):
    service.post(f"/api/visits/{visit}/batches", {
        "client": "recorder-1", "sequence": sequence, "sent_s": time_s,
        "samples": {"time_s": [time_s], "channels": {name: [value] for name, value in channels.items()}},
    })  # fmt: skip


def heating(t):
    """A unit that heats steadily."""
    return {
        "suction_pressure": 8.2e5, "discharge_pressure": 2.5e6, "outdoor_coil_temp": 1.0,
        "outdoor_air_temp": 8.0,
        "vapor_line_temp": 65.0, "compressor_current": 10.0, "fan_current": 1.0, "supply_air_temp": 36.0,
        "return_air_temp": 21.0, "valve_voltage": 0.0, "heating_call": 1.0,
    }  # fmt: skip


def test_a_recorders_climb_is_warned_of_before_the_ceiling(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    page.add_init_script("navigator.vibrate = (p) => { (window.shaken ??= []).push(p); return true; };")
    page.goto(f"/visit/{visit}/next")
    page.get_by_test_id("stop-bar").click()
    page.wait_for_timeout(500)
    fluid = refrigerant("R-410A")
    start = time.time() - 300
    samples = {"time_s": [start + i for i in range(240)], "channels": {}}
    for name, value in heating(0).items():
        samples["channels"][name] = [value] * 240
    service.post(f"/api/visits/{visit}/batches", {
        "client": "recorder-1", "sequence": 0, "sent_s": time.time(), "samples": samples,
    })  # fmt: skip
    page.get_by_text("● live").wait_for()
    assert page.get_by_test_id("alarm").count() == 0
    # The valve turns, the coil warms, and the high side climbs a kelvin a second.
    temp_c, sequence, seen_at_c = 22.0, 1, None
    while temp_c < CEILING_C + 2:
        batch(service, visit, sequence, start + 240 + sequence,
              suction_pressure=6.0e5, discharge_pressure=fluid.dew_pressure_pa(temp_c),
              outdoor_coil_temp=temp_c - 8.0,
              outdoor_air_temp=8.0, vapor_line_temp=5.0, compressor_current=9.0, fan_current=0.0,
              supply_air_temp=24.0, return_air_temp=21.0, valve_voltage=24.0, heating_call=1.0)  # fmt: skip
        page.wait_for_timeout(60)
        if page.get_by_test_id("alarm").count():
            seen_at_c = temp_c
            break
        temp_c, sequence = temp_c + 1.0, sequence + 1
    assert seen_at_c is not None
    assert seen_at_c < CEILING_C - 3
    alarm = page.get_by_test_id("alarm")
    box = alarm.bounding_box()
    assert (box["x"], box["y"], box["width"], box["height"]) == (0, 0, 360, 740)
    said = alarm.inner_text()
    assert "STOP THE DEFROST" in said
    assert "478 psig" in said
    assert "Switch the call for heat off" in said
    assert page.evaluate("() => window.shaken.length") > 0
    page.get_by_role("button", name="The call is off").click()
    alarm.wait_for(state="detached")
    page.get_by_text("call for heat off, ").wait_for()
    one.sent()
    assert "call-off" in [m["act"] for m in service.get(f"/api/visits/{visit}/readings")["marks"]]


def test_a_typed_reading_near_the_ceiling_warns_without_signal(device, service):
    visit = service.visit(service.unit())
    one = device("phone")
    page = one.page
    one.installed()
    page.goto(f"/visit/{visit}/readings")
    page.locator("[data-channel=liquid_pressure]").wait_for()
    one.offline(True)
    one.type_reading("liquid_pressure", "391")
    assert page.get_by_test_id("alarm").count() == 0
    one.type_reading("liquid_pressure", "468")
    alarm = page.get_by_test_id("alarm")
    alarm.wait_for()
    page.keyboard.press("Escape")
    assert alarm.is_visible()
    page.get_by_role("button", name="Silence").click()
    alarm.wait_for(state="detached")
    assert "near" in page.get_by_test_id("stop-bar").get_attribute("class")


HEARD = """
  window.tones = []; window.shaken = [];
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) {
    window.tones.push({ state: this.context.state, hertz: this.frequency.value });
    return start.call(this, at);
  };
  navigator.vibrate = (p) => { window.shaken.push(p); return true; };
"""


def heard(page):
    return page.evaluate("() => ({ tones: window.tones, shaken: window.shaken })")


def warned(one, service, *settings):
    """A device on which the warning has just opened by a typed reading."""
    page = one.page
    page.add_init_script(HEARD)
    page.goto("/settings")
    for name in settings:
        page.get_by_label(name).uncheck()
    visit = service.visit(service.unit())
    page.goto(f"/visit/{visit}/readings")
    one.type_reading("liquid_pressure", "391")
    assert heard(page) == {"tones": [], "shaken": []}
    one.type_reading("liquid_pressure", "468")
    page.get_by_test_id("alarm").wait_for()
    return page


def test_the_warning_sounds_and_shakes_until_it_is_answered(device, service):
    page = warned(device("phone"), service)
    # Again and again, each time two tones, in a context that runs: the touch of before has readied it.
    page.wait_for_function("() => window.tones.length >= 4 && window.shaken.length >= 2")
    got = heard(page)
    assert {tone["state"] for tone in got["tones"]} == {"running"}
    assert [tone["hertz"] for tone in got["tones"][:2]] == [880, 1320]
    assert got["shaken"][:2] == [[350, 120, 350]] * 2
    page.get_by_role("button", name="Silence").click()
    page.get_by_test_id("alarm").wait_for(state="detached")
    after = heard(page)
    # The motor is stopped at once, and two rounds later nothing has come.
    assert after["shaken"][-1] == 0
    page.wait_for_timeout(2000)
    assert heard(page) == after


def test_what_is_switched_off_in_the_settings_stays_off(device, service):
    page = warned(device("phone"), service, "Sound")
    page.wait_for_function("() => window.shaken.length >= 2")
    assert heard(page)["tones"] == []
