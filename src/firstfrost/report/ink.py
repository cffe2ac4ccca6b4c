"""The colours of the plots, each by what it stands for, on paper and on a dark screen.

Lines differ in dash and weight as well, bands in hatching and label: nothing is told by colour alone.
"""

from __future__ import annotations

from typing import Final

LIGHT: Final[dict[str, str]] = {
    "ink": "#1d2a33",
    "soft": "#55626c",
    "rule": "#c9d0d6",
    "grid": "#e4e8eb",
    "high": "#b23a1e",
    "bubble": "#c98a76",
    "low": "#1c5f9e",
    "coil": "#00736b",
    "air": "#7c6512",
    "supply": "#7b4a92",
    "limit": "#7d1436",
    "band_off": "#eceff1",
    "band_heating": "#fbf1e1",
    "band_chilldown": "#dfeaf4",
    "band_defrost": "#f3d3c8",
    "band_recovery": "#efe9cf",
    "band_cooling": "#d8ecec",
    "band_unknown": "#f5f5f6",
    "rated": "#dbe6e4",
}
"""Distinct hex codes, so that a drawing can be put into a page with each code exchanged for a variable."""

DARK: Final[dict[str, str]] = {
    "ink": "#e8edf0",
    "soft": "#a9b5bd",
    "rule": "#4a565f",
    "grid": "#2e383f",
    "high": "#ff8f6b",
    "bubble": "#b9705a",
    "low": "#74b4f0",
    "coil": "#4fd0c0",
    "air": "#d9bd57",
    "supply": "#cfa0e6",
    "limit": "#ff8bb0",
    "band_off": "#20282e",
    "band_heating": "#2c2820",
    "band_chilldown": "#1f3040",
    "band_defrost": "#4a2c24",
    "band_recovery": "#35321d",
    "band_cooling": "#1c3636",
    "band_unknown": "#22292d",
    "rated": "#24403c",
}
