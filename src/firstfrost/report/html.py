"""The report as one HTML file that opens offline: styles and drawings inside, nothing fetched."""

from __future__ import annotations

import base64
from importlib.resources import files
from typing import Final

from firstfrost.proofs.finding import Standing
from firstfrost.quantities.show import System
from firstfrost.report.fields import fields
from firstfrost.report.ink import DARK, LIGHT
from firstfrost.report.numbers import Numbers
from firstfrost.report.people import People, people_fields
from firstfrost.report.plots import Plot, plots
from firstfrost.report.signs import COLOURS, drawing
from firstfrost.report.times import clock
from firstfrost.visit.result import Result

DARK_SIGNS: Final[dict[Standing, str]] = {
    "shown": "#55cdb9",
    "prompted": "#83b9f0",
    "doubtful": "#e3b04b",
    "bypassed": "#c6a3e6",
    "unseen": "#aab5bc",
    "failed": "#ff8d80",
}
_WIDE_IN: Final = 6.9
_SLIM_IN: Final = 3.5


def html_report(
    result: Result, system: System = "us", costs: tuple[str, ...] = (), people: People | None = None
) -> str:
    """Return the report of `result` as an HTML document; `people` adds who made the visit and who signed.

    All text of the result is escaped; the page's own policy lets no script run and nothing be fetched.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    here = files("firstfrost.report")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    page = environment.from_string((here / "page.html.j2").read_text(encoding="utf-8"))
    style = (here / "page.css").read_text(encoding="utf-8")
    style = style.replace("{{ light }}", variables(LIGHT, COLOURS))
    style = style.replace("{{ dark }}", variables(DARK, DARK_SIGNS))
    numbers = Numbers(system, result.unit.site.atmosphere_pa)
    wide, slim = (plots(result, numbers, width_in=width) for width in (_WIDE_IN, _SLIM_IN))
    signs = {name: Markup(drawing(name, ink="currentColor", paper="var(--paper)")) for name in COLOURS}
    drawings = [
        {
            "title": plot.title,
            "alt": plot.alt,
            "note": plot.note,
            "wide": Markup(themed(plot, "w")),
            "slim": Markup(themed(narrow, "n")),
        }
        for plot, narrow in zip(wide, slim, strict=True)
    ]
    told = people_fields(people, clock(result))
    for one in told["signed"]:
        one["drawing"] = base64.b64encode(one["drawing"]).decode("ascii")
    return page.render(
        f=fields(result, system, costs), people=told, drawings=drawings, signs=signs, style=Markup(style)
    )


def variables(ink: dict[str, str], signs: dict[Standing, str]) -> str:
    """Colours as variables of the page."""
    lines = [f"  --{name.replace('_', '-')}: {code};" for name, code in ink.items()]
    lines += [f"  --s-{name}: {code};" for name, code in signs.items()]
    return "\n".join(lines)


def themed(plot: Plot, mark: str) -> str:
    """The drawing with each colour as a variable of the page, and names that no other drawing has."""
    svg = plot.svg
    for name, code in LIGHT.items():
        svg = svg.replace(code, f"var(--{name.replace('_', '-')})")
    for attribute in ('id="', 'href="#', "url(#"):
        svg = svg.replace(attribute, f"{attribute}{plot.name}-{mark}-")
    return svg
