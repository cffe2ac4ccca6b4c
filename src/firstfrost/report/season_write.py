"""A season's report as HTML or PDF: the name's ending tells which."""

from __future__ import annotations

import dataclasses
import json
from datetime import UTC, datetime
from pathlib import Path

from firstfrost.quantities.show import System
from firstfrost.report.html import SLIM_IN, WIDE_IN, broad_and_slim, style, template
from firstfrost.report.ink import LIGHT
from firstfrost.report.pdf import compiled
from firstfrost.report.season_fields import season_fields
from firstfrost.report.season_plots import season_plots, setting_plots
from firstfrost.report.write import write_as
from firstfrost.season.season import Season


def write_season_report(
    made: Season, path: str | Path, *, system: System = "us", failed: tuple[str, ...] = ()
) -> None:
    """Write the report of `made` to `path`, as HTML or PDF by its ending.

    Parameters
    ----------
    made : Season
        Of `season.season`.
    path : str or Path
        Ends in .html or .pdf. An older file there is replaced.
    system : {"us", "si"}
        Units of the numbers; the paper is Letter with "us" and A4 with "si".
    failed : tuple of str
        Functions that failed at a visit.

    Raises
    ------
    InputError
        If the ending is another, or the file cannot be written.
    """
    write_as(
        path, html=lambda: season_html(made, system, failed), pdf=lambda: season_pdf(made, system, failed)
    )


def season_html(made: Season, system: System = "us", failed: tuple[str, ...] = ()) -> str:
    """The report as one HTML document that opens offline; choosing a setting shows it, without script."""
    from markupsafe import Markup

    drawings = broad_and_slim(
        season_plots(made, system, width_in=WIDE_IN), season_plots(made, system, width_in=SLIM_IN)
    )
    moves = broad_and_slim(setting_plots(made, width_in=WIDE_IN), setting_plots(made, width_in=SLIM_IN))
    return template("season.html.j2").render(
        f=season_fields(made, system, failed),
        now=made.current,
        style=Markup(style("season.css")),
        drawings=drawings,
        moves=moves,
    )


def season_pdf(made: Season, system: System = "us", failed: tuple[str, ...] = ()) -> bytes:
    """The report as PDF/UA-1. All text goes in as data, never as markup."""
    content = season_fields(made, system, failed)
    data = {
        "f": dataclasses.asdict(content),
        "drawings": [
            {"title": plot.title, "svg": plot.svg, "alt": plot.alt, "note": plot.note}
            for plot in season_plots(made, system, width_in=WIDE_IN)
        ],
        "ink": LIGHT["ink"],
        "soft": LIGHT["soft"],
        "rule": LIGHT["rule"],
        "strong": LIGHT["limit"],
        "paper": "us-letter" if system == "us" else "a4",
    }
    return compiled("season.typ", {"data": json.dumps(data)}, datetime(1970, 1, 1, tzinfo=UTC))
