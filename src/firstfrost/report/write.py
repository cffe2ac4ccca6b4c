"""Write a report: the name's ending tells which kind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from firstfrost.errors import InputError
from firstfrost.quantities.show import System
from firstfrost.visit.result import Result


def write_report(
    result: Result, path: str | Path, *, system: System = "us", costs: tuple[str, ...] = ()
) -> None:
    """Write the report of `result` to `path`, as HTML or PDF by its ending.

    Parameters
    ----------
    result : Result
        What the visit gave.
    path : str or Path
        Ends in .html or .pdf. An older file there is replaced.
    system : {"us", "si"}
        Units of the numbers; the paper is Letter with "us" and A4 with "si".
    costs : tuple of str
        Sentences on what the failures cost over a winter, for the householder.

    Raises
    ------
    InputError
        If the ending is another, or the file cannot be written.
    """

    def html() -> str:
        from firstfrost.report.html import html_report

        return html_report(result, system, costs)

    def pdf() -> bytes:
        from firstfrost.report.pdf import pdf_report

        return pdf_report(result, system, costs)

    write_as(path, html=html, pdf=pdf)


def write_as(path: str | Path, *, html: Callable[[], str], pdf: Callable[[], bytes]) -> None:
    """Write what `html` or `pdf` makes, by the path's ending; only that one is made.

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
    content = html().encode("utf-8") if ending == ".html" else pdf()
    try:
        target.write_bytes(content)
    except OSError as err:
        raise InputError(
            f"The report cannot be written to {str(path)!r}: {err.strerror or err}. "
            "Expected a folder that exists and can be written to. Choose another place."
        ) from err
