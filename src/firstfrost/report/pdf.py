"""The report as PDF, set by Typst: tagged for screen readers, and the same bytes for the same result."""

from __future__ import annotations

import dataclasses
import json
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any, Final

from firstfrost.quantities.show import System
from firstfrost.report.fields import fields
from firstfrost.report.ink import LIGHT
from firstfrost.report.numbers import Numbers
from firstfrost.report.people import People, people_fields
from firstfrost.report.plots import plots
from firstfrost.report.signs import COLOURS, drawing
from firstfrost.report.times import clock
from firstfrost.visit.result import Result

_WIDTH_IN: Final = 6.9
_SHORT: Final = 60
"""The unit's name is cut to this many characters in the foot of the page."""


def pdf_report(
    result: Result, system: System = "us", costs: tuple[str, ...] = (), people: People | None = None
) -> bytes:
    """Return the report of `result` as PDF/UA-1, on Letter with "us" and on A4 with "si".

    `people` adds who made the visit, their note, and the signatures.

    All text of the result goes in as data, never as markup. The date of the document is the day of the
    record, so that the same result gives the same bytes; it has none where that day is not known.
    """
    content = fields(result, system, costs)
    numbers = Numbers(system, result.unit.site.atmosphere_pa)
    first_s = float(result.trace.time_s[0]) if len(result.trace) else 0.0
    instant = result.trace.instant(first_s)
    day = clock(result).local(first_s) or instant
    name = content.unit_name
    told = people_fields(people, clock(result))
    for one in told["signed"]:
        # JSON has no bytes; Typst makes them of a list of numbers.
        one["drawing"] = list(one["drawing"])
    data = {
        "f": dataclasses.asdict(content),
        "people": told,
        "short_name": name if len(name) <= _SHORT else name[: _SHORT - 1] + "…",
        "drawings": [
            {"title": plot.title, "svg": plot.svg, "alt": plot.alt, "note": plot.note}
            for plot in plots(result, numbers, width_in=_WIDTH_IN)
        ],
        "signs": {name: drawing(name, ink=code, paper="#ffffff") for name, code in COLOURS.items()},
        "tones": COLOURS,
        "ink": LIGHT["ink"],
        "soft": LIGHT["soft"],
        "rule": LIGHT["rule"],
        "paper": "us-letter" if system == "us" else "a4",
        "date": None if day is None else [day.year, day.month, day.day],
    }
    # A PDF's dates hold whole seconds, and Typst refuses others; a typed reading has the time of its touch.
    made = (instant or datetime(1970, 1, 1, tzinfo=UTC)).replace(microsecond=0)
    try:
        return compiled("page.typ", {"data": json.dumps(data)}, made)
    except RuntimeError as err:  # typst.TypstError, without importing Typst for it
        if "failed to decode image" not in str(err):
            raise
        # A drawing that is broken within: the name stays, and no report fails for it.
        for one in told["signed"]:
            one.update(kind="", drawing=[], said=f"{one['said']} (the drawing cannot be read)")
        return compiled("page.typ", {"data": json.dumps(data)}, made)


def compiled(name: str, inputs: dict[str, str], timestamp: datetime) -> bytes:
    """Compile the page `name`, with the fonts that Typst carries if they have every sign of the text.

    A name in a script they lack is set with the machine's own fonts. Where these lack it too, the sign prints
    as an empty box, which PDF/UA does not allow.
    """
    import typst

    page = (files("firstfrost.report") / name).read_bytes()
    ways: tuple[tuple[bool, list[Any]], ...] = ((False, ["ua-1"]), (True, ["ua-1"]), (True, []))
    for system_fonts, standards in ways:
        try:
            made = typst.compile(
                page,
                format="pdf",
                font_paths=typst.Fonts(include_system_fonts=system_fonts, include_embedded_fonts=True),
                sys_inputs=inputs,
                timestamp=timestamp,
                pdf_standards=standards,
            )
        except typst.TypstError as err:
            if "could not be displayed with font" not in str(err) or not standards:
                raise
        else:
            assert isinstance(made, bytes)
            return made
    raise AssertionError("the last way returns or raises")
