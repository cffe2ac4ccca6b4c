"""The sign of each standing as a small drawing: told apart by shape, whatever the colour.

A disc fills up with what is known: full, half, open; a stroke through it where the part was out of circuit;
a square with a cross where it failed.
"""

from __future__ import annotations

from typing import Final

from firstfrost.proofs.finding import Standing

_RING: Final = '<circle cx="8" cy="8" r="6" fill="none" stroke="{ink}" stroke-width="1.7"/>'

_SHAPES: Final[dict[Standing, str]] = {
    "shown": '<circle cx="8" cy="8" r="6.85" fill="{ink}"/>',
    "prompted": _RING + '<path d="M8 2 A6 6 0 0 0 8 14 Z" fill="{ink}"/>',
    "doubtful": _RING
    + '<path d="M4.3 8.9 Q6.2 5.6 8 8 T11.7 7.1" fill="none" stroke="{ink}" stroke-width="1.7" '
    'stroke-linecap="round"/>',
    "bypassed": _RING + '<path d="M3.7 12.3 L12.3 3.7" stroke="{ink}" stroke-width="1.7"/>',
    "unseen": '<circle cx="8" cy="8" r="6" fill="none" stroke="{ink}" stroke-width="1.7" '
    'stroke-dasharray="2.35 2.35"/>',
    "failed": '<rect x="1.2" y="1.2" width="13.6" height="13.6" fill="{ink}"/>'
    '<path d="M4.6 4.6 L11.4 11.4 M11.4 4.6 L4.6 11.4" stroke="{paper}" stroke-width="2"/>',
}

COLOURS: Final[dict[Standing, str]] = {
    "shown": "#0b6a5c",
    "prompted": "#1f5a94",
    "doubtful": "#855600",
    "bypassed": "#694a86",
    "unseen": "#566169",
    "failed": "#a1201c",
}
"""On white each has a contrast of at least 4.5 to 1."""


def drawing(standing: Standing, *, ink: str, paper: str) -> str:
    """The sign as an SVG of 16 by 16."""
    shape = _SHAPES[standing].format(ink=ink, paper=paper)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16" width="16" height="16" '
        f'aria-hidden="true">{shape}</svg>'
    )
