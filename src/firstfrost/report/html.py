"""The report as one HTML file that opens offline: styles and drawings inside, nothing fetched."""

from __future__ import annotations

import base64
from importlib.resources import files
from typing import TYPE_CHECKING, Final

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

if TYPE_CHECKING:
    from jinja2 import Template

DARK_SIGNS: Final[dict[Standing, str]] = {
    "shown": "#55cdb9",
    "prompted": "#83b9f0",
    "doubtful": "#e3b04b",
    "bypassed": "#c6a3e6",
    "unseen": "#aab5bc",
    "failed": "#ff8d80",
}
WIDE_IN: Final = 6.9
SLIM_IN: Final = 3.5


def html_report(
    result: Result, system: System = "us", costs: tuple[str, ...] = (), people: People | None = None
) -> str:
    """Return the report of `result` as an HTML document; `people` adds who made the visit and who signed.

    All text of the result is escaped; the page's own policy lets no script run and nothing be fetched.
    """
    from markupsafe import Markup

    numbers = Numbers(system, result.unit.site.atmosphere_pa)
    signs = {name: Markup(drawing(name, ink="currentColor", paper="var(--paper)")) for name in COLOURS}
    drawings = broad_and_slim(*(plots(result, numbers, width_in=width) for width in (WIDE_IN, SLIM_IN)))
    told = people_fields(people, clock(result))
    for one in told["signed"]:
        one["drawing"] = base64.b64encode(one["drawing"]).decode("ascii")
    return template("page.html.j2").render(
        f=fields(result, system, costs), people=told, drawings=drawings, signs=signs, style=Markup(style())
    )


def template(name: str) -> Template:
    """A page of this folder; what it is given is escaped, and what it lacks is an error."""
    from jinja2 import Environment, StrictUndefined

    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.from_string((files("firstfrost.report") / name).read_text(encoding="utf-8"))


def style(*more: str) -> str:
    """The style of every report, in light and dark, and of the further files of this folder."""
    here = files("firstfrost.report")
    text = (here / "page.css").read_text(encoding="utf-8")
    text = text.replace("{{ light }}", variables(LIGHT, COLOURS))
    text = text.replace("{{ dark }}", variables(DARK, DARK_SIGNS))
    return text + "".join((here / name).read_text(encoding="utf-8") for name in more)


def broad_and_slim(wide: tuple[Plot, ...], slim: tuple[Plot, ...]) -> list[dict[str, str]]:
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
