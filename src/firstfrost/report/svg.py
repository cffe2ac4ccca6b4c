"""A figure as the text of an SVG that is the same each time it is drawn."""

from __future__ import annotations

import hashlib
import io
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_CLIP = re.compile(r'<clipPath id="(\w+)">\s*(<[^>]*>)')
_NUMBER = re.compile(r"-?\d+\.\d+")


def svg_text(figure: Figure, *, transparent: bool = False) -> str:
    """Write a figure as SVG, from the `<svg` tag on, with no date and no maker.

    Matplotlib names a clip after its bounds to the last digit, and the layout's solver may leave another
    last digit each time. Each clip is named here after its bounds as they are written, to 0.01 pt.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        What is drawn.
    transparent : bool
        Whether the page shows through.

    Returns
    -------
    str
        One tag with what is in it; several may stand in one page, for equal names are equal clips.
    """
    import matplotlib as mpl

    out = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "path", "svg.hashsalt": "firstfrost"}):
        figure.savefig(out, format="svg", transparent=transparent, metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<!--.*?-->|<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    for name, bounds in _CLIP.findall(text):
        text = text.replace(name, _clip_name(bounds))
    return re.sub(r"\n\s*\n+", "\n", text).strip()


def _clip_name(bounds: str) -> str:
    rounded = _NUMBER.sub(lambda number: f"{float(number.group()):.2f}", bounds)
    return "clip" + hashlib.sha256(rounded.encode()).hexdigest()[:10]
