"""Where the measured records lie beside the repository, and the maps by which they are read."""

from __future__ import annotations

from pathlib import Path

import pytest

DATA = Path(__file__).parents[2] / "shared" / "data"
ALASKA = DATA / "cchrc_fig18_minisplit_defrost" / "digitised_39s.csv"
MINUS_NINE = DATA / "ba2015_fig26_defrost" / "digitised_1min.csv"
NIST = DATA / "nist_ir7350_cooling_steady" / "table_D_no_fault.csv"

ALASKA_MAP = """
[columns]
"T_coil_F" = "outdoor_coil_temp [degF]"
"T_out_F" = "outdoor_air_temp [degF]"
"T_deliv_F" = "supply_air_temp [degF]"
"T_return_F" = "return_air_temp [degF]"
"airflow_cfm" = "airflow [cfm]"
"P_in_W" = "power [W]"
"P_out_W" = "ignore"
[time]
zone = "America/Anchorage"
"""
MINUS_NINE_MAP = """
[columns]
"P_in_W" = "power [W]"
"P_in_W_spread" = "ignore"
"T_supply_F" = "supply_air_temp [degF]"
"T_supply_F_spread" = "ignore"
"""


def needs(path: Path) -> pytest.MarkDecorator:
    """Skip where a record is not there: the project must not ship it."""
    return pytest.mark.skipif(not path.exists(), reason="../shared/data is not beside the repository")
