"""Short ways to read made files in the tests of this folder."""

from __future__ import annotations

from pathlib import Path

from firstfrost.trace.reader import Reading, read_trace

ATMOSPHERE_PA = 98_000.0
PSI_PA = 6894.757293168361
"""NIST SP 811 (2008), B.8: 6.894 757 E+03; further digits from 0.45359237 kg, 9.80665 m/s2, 0.0254 m."""


def psig(value: float) -> float:
    """A gauge reading in psi as absolute pressure [Pa]."""
    return value * PSI_PA + ATMOSPHERE_PA


def read(
    folder: Path,
    *files: str | bytes,
    zone: str | None = None,
    chart: str | None = None,
    names: tuple[str, ...] = ("a.csv", "b.csv", "c.csv"),
    refrigerant: str | None = None,
) -> Reading:
    """Read files of these contents as one visit."""
    paths = []
    for name, content in zip(names, files, strict=False):
        paths.append(folder / name)
        paths[-1].write_bytes(content if isinstance(content, bytes) else content.encode())
    if chart is not None:
        (folder / "map.toml").write_text(chart, encoding="utf-8")
    return read_trace(
        paths,
        atmosphere_pa=ATMOSPHERE_PA,
        columns=folder / "map.toml" if chart is not None else None,
        zone=zone,
        refrigerant=refrigerant,
    )
