"""Backup heat against its plate."""

import pytest

from firstfrost.equipment.plates import Backup
from firstfrost.errors import InputError
from firstfrost.heating.backup_plate import (
    ELEMENT_LIMIT,
    Step,
    backup_lockout,
    compressor_lockout,
    expected_power_w,
    sequence,
    stage_power_w,
    stages_on,
)
from firstfrost.instruments.budget import Value

TWO = Backup(stages_w=(4800.0, 9600.0), first_delay_s=60.0, stage_delay_s=30.0)


def value(number, u=0.0, source="x"):
    return Value(value=number, sources={source: u} if u else {})


def test_power_goes_as_the_volts_squared():
    """208 V on 240 V elements: 75 % of the plate, as every heater's plate prints it (3.6 for 4.8 kW)."""
    low = stage_power_w(4800.0, 240.0, value(208.0, 1.0, "meter"))
    assert low.value == pytest.approx(3605.3, abs=0.1)
    assert low.sources["meter"] == pytest.approx(2 * 3605.3 / 208, rel=1e-4)
    half = (ELEMENT_LIMIT[1] - ELEMENT_LIMIT[0]) / 2
    assert low.sources["make of the elements"] == pytest.approx(low.value * half / 3**0.5)
    assert expected_power_w(TWO, value(240.0)).value == pytest.approx(14_400)
    assert expected_power_w(TWO, value(240.0), 1).value == pytest.approx(4800)
    with pytest.raises(
        InputError, match=r"^The unit file has 2 stages of backup heat, and 3 are asked for\."
    ):
        expected_power_w(TWO, value(240.0), 3)
    with pytest.raises(InputError, match=r"^The plate says 0 W at 240 V\."):
        stage_power_w(0.0, 240.0, value(240.0))


@pytest.mark.parametrize(
    ("power", "volts", "fits"),
    [
        (0.0, 240.0, ((),)),
        (4750.0, 240.0, ((1,),)),
        (9700.0, 240.0, ((2,),)),
        (14_200.0, 240.0, ((1, 2),)),
        (10_816.0, 208.0, ((1, 2),)),
        (7200.0, 240.0, ()),
    ],
)
def test_which_stages_a_power_fits(power, volts, fits):
    found = stages_on(TWO, value(power, 0.02 * power, "clamp"), value(volts, 1.0, "meter"))
    assert found.fits == fits
    assert found.fits == () or found.nearest == fits[0]


def test_equal_stages_cannot_be_told_apart():
    twins = Backup(stages_w=(5000.0, 5000.0))
    assert stages_on(twins, value(4900.0), value(240.0)).fits == ((1,), (2,))
    assert stages_on(TWO, value(7200.0), value(240.0)).off_by == pytest.approx(-0.25)
    with pytest.raises(InputError, match=r"^The plate of the backup heat is not known\."):
        stages_on(Backup(), value(1.0), value(240.0))


def run(*steps, backup=TWO, volts=240.0):
    return sequence(backup, call_s=100.0, steps=[Step(time_s=t, rise_w=w) for t, w in steps], volts=volts)


def test_order_and_delays():
    good = run((50.0, 4800.0), (120.0, 4750.0), (160.0, 9650.0), (300.0, -9600.0))
    assert (good.stages, good.delays_s, good.in_order) == ((1, 2), (20.0, 40.0), True)
    assert (good.late, good.early) == ((), ())
    wrong = run((180.0, 9600.0), (190.0, 4800.0))
    assert (wrong.stages, wrong.in_order, wrong.late, wrong.early) == ((2, 1), False, (1,), (2,))
    strange = run((120.0, 7200.0))
    assert (strange.stages, strange.in_order) == ((None,), None)
    low = run((120.0, 3605.0), (160.0, 7210.0), volts=208.0)
    assert low.stages == (1, 2)
    twins = Backup(stages_w=(5000.0, 5000.0))
    assert run((120.0, 5000.0), (150.0, 5000.0), backup=twins).in_order is None
    assert run().delays_s == ()


def test_lockouts():
    set_at = Backup(compressor_lockout_c=-15.0, backup_lockout_c=5.0)
    assert compressor_lockout(set_at, value(-20.0, 0.5), running=True) == "broken"
    assert compressor_lockout(set_at, value(-20.0, 0.5), running=False) == "kept"
    assert compressor_lockout(set_at, value(-15.5, 0.5), running=True) == "cannot tell"
    assert compressor_lockout(set_at, value(-10.0, 0.5), running=False) == "cannot tell"
    assert compressor_lockout(Backup(), value(-20.0), running=True) == "not set"
    assert backup_lockout(set_at, value(8.0, 0.5), running=True, excused=False) == "broken"
    assert backup_lockout(set_at, value(8.0, 0.5), running=False, excused=False) == "kept"
    assert backup_lockout(set_at, value(8.0, 0.5), running=True, excused=True) == "cannot tell"
    assert backup_lockout(set_at, value(5.5, 0.5), running=True, excused=False) == "cannot tell"
    assert backup_lockout(Backup(), value(8.0), running=True, excused=False) == "not set"
