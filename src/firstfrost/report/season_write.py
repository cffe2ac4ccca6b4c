"""A season's report as HTML or PDF: the name's ending tells which."""

from __future__ import annotations

import dataclasses
import json
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Final

from firstfrost.errors import InputError
from firstfrost.quantities.show import System
from firstfrost.report.html import DARK_SIGNS, themed, variables
from firstfrost.report.ink import DARK, LIGHT
from firstfrost.report.pdf import compiled
from firstfrost.report.plots import Plot
from firstfrost.report.season_fields import season_fields
from firstfrost.report.season_plots import season_plots, setting_plots
from firstfrost.report.signs import COLOURS
from firstfrost.season.season import Season

_WIDE_IN: Final = 6.9
_SLIM_IN: Final = 3.5


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
    target = Path(path)
    ending = target.suffix.lower()
    if ending not in (".html", ".pdf"):
        raise InputError(
            f"The report {str(path)!r} ends in {ending or 'nothing'!r}. "
            "Expected a name that ends in .html or .pdf. Give it one of these endings."
        )
    if ending == ".html":
        content = season_html(made, system, failed).encode("utf-8")
    else:
        content = season_pdf(made, system, failed)
    try:
        target.write_bytes(content)
    except OSError as err:
        raise InputError(
            f"The report cannot be written to {str(path)!r}: {err.strerror or err}. "
            "Expected a folder that exists and can be written to. Choose another place."
        ) from err


def season_html(made: Season, system: System = "us", failed: tuple[str, ...] = ()) -> str:
    """The report as one HTML document that opens offline; choosing a setting shows it, without script."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    here = files("firstfrost.report")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    page = environment.from_string((here / "season.html.j2").read_text(encoding="utf-8"))
    style = (here / "page.css").read_text(encoding="utf-8")
    style = style.replace("{{ light }}", variables(LIGHT, COLOURS))
    style = style.replace("{{ dark }}", variables(DARK, DARK_SIGNS))
    style += (here / "season.css").read_text(encoding="utf-8")
    drawings = _both(
        season_plots(made, system, width_in=_WIDE_IN), season_plots(made, system, width_in=_SLIM_IN)
    )
    moves = _both(setting_plots(made, width_in=_WIDE_IN), setting_plots(made, width_in=_SLIM_IN))
    return page.render(
        f=season_fields(made, system, failed),
        now=made.current,
        style=Markup(style),
        drawings=drawings,
        moves=moves,
    )


def _both(wide: tuple[Plot, ...], slim: tuple[Plot, ...]) -> list[dict[str, str]]:
    """Each drawing for a broad and for a slim screen."""
    from markupsafe import Markup

    return [
        {
            "name": plot.name,
            "title": plot.title,
            "alt": plot.alt,
            "note": plot.note,
            "wide": Markup(themed(plot, "w")),
            "slim": Markup(themed(narrow, "n")),
        }
        for plot, narrow in zip(wide, slim, strict=True)
    ]


def season_pdf(made: Season, system: System = "us", failed: tuple[str, ...] = ()) -> bytes:
    """The report as PDF/UA-1. All text goes in as data, never as markup."""
    content = season_fields(made, system, failed)
    data = {
        "f": dataclasses.asdict(content),
        "drawings": [
            {"title": plot.title, "svg": plot.svg, "alt": plot.alt, "note": plot.note}
            for plot in season_plots(made, system, width_in=_WIDE_IN)
        ],
        "ink": LIGHT["ink"],
        "soft": LIGHT["soft"],
        "rule": LIGHT["rule"],
        "strong": LIGHT["limit"],
        "paper": "us-letter" if system == "us" else "a4",
    }
    return compiled("season.typ", {"data": json.dumps(data)}, datetime(1970, 1, 1, tzinfo=UTC))
