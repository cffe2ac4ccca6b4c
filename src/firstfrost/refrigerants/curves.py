"""Cubic pieces on a uniform grid, for one value in plain Python and for whole arrays.

A curve y(x) is known by value and slope at nodes x_i = start + i h (cubic Hermite interpolation). Piece i,
with s = (x - x_i) / h in [0, 1], is

    y = c0 + s (c1 + s (c2 + s c3))
    c0 = y_i,  c1 = h y'_i,  c2 = 3 (y_{i+1} - y_i) - h (2 y'_i + y'_{i+1}),
    c3 = 2 (y_i - y_{i+1}) + h (y'_i + y'_{i+1})

(any text on numerical methods). Its error is at most h^4 / 384 times the greatest fourth derivative. A
uniform grid needs no search for the piece, which is where its speed comes from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def temp_at(
    pressure_pa: float,
    pieces: Floats,
    start: float,
    per_step: float,
    pressure_low_pa: float,
    pressure_high_pa: float,
    temp_low_c: float,
    temp_high_c: float,
) -> float:
    """Saturation temperature [degC] at a pressure [Pa absolute]; NaN outside the table or for NaN.

    The table's grid is uniform in the square root of the pressure: it puts more nodes where the curve bends,
    and a square root, unlike a logarithm, is rounded the same way everywhere. This is plain Python that Numba
    compiles as it is (see `compiled`); the order of the operations is that of `Curve.many`, so that all three
    agree to the last bit.

    pieces : (n, 4) coefficients of a `Curve` over sqrt(p)
    start, per_step : its grid [sqrt(Pa)], [1/sqrt(Pa)]
    """
    if not (pressure_low_pa <= pressure_pa <= pressure_high_pa):
        return math.nan
    steps = (math.sqrt(pressure_pa) - start) * per_step
    piece = min(int(steps), pieces.shape[0] - 1)
    s = steps - piece
    temp_c = pieces[piece, 0] + s * (pieces[piece, 1] + s * (pieces[piece, 2] + s * pieces[piece, 3]))
    clipped: float = min(max(temp_c, temp_low_c), temp_high_c)
    return clipped


@dataclass(frozen=True)
class Curve:
    """A curve of cubic pieces.

    pieces : (n, 4) coefficients c0..c3 of each piece, in the unit of y
    start : x of the first node; per_step : 1 / h
    """

    pieces: Floats
    start: float
    per_step: float

    @classmethod
    def through(cls, nodes: Floats, start: float, step: float) -> Curve:
        """Make the pieces through `nodes`, (n, 2): value y and slope dy/dx at start, start + step, ..."""
        y, rise = nodes[:, 0], nodes[:, 1] * step
        pieces = np.empty((len(y) - 1, 4))
        pieces[:, 0] = y[:-1]
        pieces[:, 1] = rise[:-1]
        pieces[:, 2] = 3.0 * (y[1:] - y[:-1]) - (2.0 * rise[:-1] + rise[1:])
        pieces[:, 3] = 2.0 * (y[:-1] - y[1:]) + (rise[:-1] + rise[1:])
        return cls(pieces, float(start), 1.0 / float(step))

    def at(self, x: float) -> float:
        """Value at one x inside the grid, in the unit of y."""
        steps = (x - self.start) * self.per_step
        piece = min(int(steps), len(self.pieces) - 1)
        s = steps - piece
        c0, c1, c2, c3 = self.pieces[piece].tolist()
        return float(c0 + s * (c1 + s * (c2 + s * c3)))

    def many(self, x: Floats) -> Floats:
        """Values at x (n,) inside the grid: (n,), in the unit of y."""
        s, c = self._found(x)
        return c[..., 0] + s * (c[..., 1] + s * (c[..., 2] + s * c[..., 3]))

    def slopes(self, x: Floats) -> Floats:
        """Slopes dy/dx at x (n,) inside the grid: (n,)."""
        s, c = self._found(x)
        return (c[..., 1] + s * (2.0 * c[..., 2] + s * (3.0 * c[..., 3]))) * self.per_step

    def _found(self, x: Floats) -> tuple[Floats, Floats]:
        steps = (x - self.start) * self.per_step
        piece = np.minimum(steps.astype(np.intp), len(self.pieces) - 1)
        return steps - piece, self.pieces[piece]
