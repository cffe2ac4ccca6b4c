"""Straight-line interpolation on a grid of one to three axes, never beyond its edges."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError, OutOfRange
from firstfrost.instruments.budget import Value, combine
from firstfrost.quantities.show import show

Floats = NDArray[np.float64]

_ALIKE = 1e-6
"""Coordinates closer than this part of their axis are one."""


@dataclass(frozen=True, kw_only=True)
class Axis:
    """One direction of a grid: its name in words, its kind for texts, its coordinates in ascending order."""

    name: str
    kind: str
    nodes: Floats


@dataclass(frozen=True, kw_only=True)
class Grid:
    """Values over the product of the axes.

    Parameters
    ----------
    source : str
        For error texts.
    axes : tuple of Axis
        Each of two nodes or more.
    values : mapping of str to ndarray
        Each of the shape of the axes.
    """

    source: str
    axes: tuple[Axis, ...]
    values: Mapping[str, Floats]

    def many(self, name: str, *points: Floats) -> Floats:
        """Values (n,) at points (n,) along each axis; NaN outside and where a point is NaN."""
        return self._interpolate(self.values[name], points)[0]

    def one(self, name: str, points: Sequence[Value]) -> Value:
        """The value at one point, with what the points' uncertainty makes of it.

        Raises
        ------
        OutOfRange
            Outside, naming the nearest edge.
        """
        for axis, point in zip(self.axes, points, strict=True):
            self._check(axis, point.value)
        at = tuple(np.array([point.value]) for point in points)
        value, slopes = self._interpolate(self.values[name], at)
        parts = [(point, float(slope[0])) for point, slope in zip(points, slopes, strict=True)]
        return combine(float(value[0]), parts)

    def _check(self, axis: Axis, value: float) -> None:
        low, high = float(axis.nodes[0]), float(axis.nodes[-1])
        slack = _ALIKE * (high - low)
        if low - slack <= value <= high + slack:
            return
        edge = low if value < low else high
        raise OutOfRange(
            f"{self.source}: {axis.name} is {show(value, axis.kind)}, outside the table, which ends at "
            f"{show(edge, axis.kind)} (it holds {show(low, axis.kind)} to {show(high, axis.kind)}). "
            "Nothing is drawn out beyond it. Measure within the table, or type in more of the maker's rows."
        )

    def _interpolate(self, values: Floats, points: Sequence[Floats]) -> tuple[Floats, list[Floats]]:
        # In the cell that holds the point: the product of straight lines, and its slope along each axis.
        cells, parts, widths = [], [], []
        outside = np.zeros(np.shape(points[0]), dtype=bool)
        for axis, at in zip(self.axes, points, strict=True):
            nodes = axis.nodes
            slack = _ALIKE * (nodes[-1] - nodes[0])
            outside |= ~((at >= nodes[0] - slack) & (at <= nodes[-1] + slack))
            cell = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, len(nodes) - 2)
            width = nodes[cell + 1] - nodes[cell]
            cells.append(cell)
            parts.append(np.clip((at - nodes[cell]) / width, 0.0, 1.0))
            widths.append(width)
        total = np.zeros(outside.shape)
        slopes = [np.zeros(outside.shape) for _ in self.axes]
        for corner in itertools.product((0, 1), repeat=len(self.axes)):
            height = values[tuple(cell + step for cell, step in zip(cells, corner, strict=True))]
            weights = [part if step else 1.0 - part for part, step in zip(parts, corner, strict=True)]
            total += height * np.prod(weights, axis=0)
            for i, step in enumerate(corner):
                others = np.prod([w for j, w in enumerate(weights) if j != i], axis=0)
                slopes[i] += height * others * (1.0 if step else -1.0) / widths[i]
        total[outside] = np.nan
        return total, slopes


def grid_from(
    *,
    source: str,
    lines: Sequence[int],
    axes: Sequence[tuple[str, str, Floats]],
    values: Mapping[str, Floats],
) -> Grid:
    """The grid that rows of a file make.

    Parameters
    ----------
    source : str
        The file.
    lines : (n,) sequence of int
        Line of each row.
    axes : sequence of (name, kind, (n,) float64)
        Coordinates of each row; an axis of one coordinate alone is to be left out by the caller.
    values : mapping of str to (n,) float64
        What stands in the rows.

    Raises
    ------
    DataError
        If the rows do not fill the grid, or one condition has two rows.
    """
    made = [Axis(name=name, kind=kind, nodes=distinct(column)) for name, kind, column in axes]
    shape = tuple(len(axis.nodes) for axis in made)
    filled = np.zeros(shape, dtype=int)
    out = {name: np.full(shape, np.nan) for name in values}
    places = [
        np.abs(column[:, None] - axis.nodes).argmin(axis=1)
        for (_, _, column), axis in zip(axes, made, strict=True)
    ]
    for row, line in enumerate(lines):
        at = tuple(int(place[row]) for place in places)
        if filled[at]:
            raise DataError(
                f"{source}, rows {filled[at]} and {line} are for the same condition, {_words(made, at)}. "
                "Expected one row for each. Leave one out."
            )
        filled[at] = line
        for name, column in values.items():
            out[name][at] = column[row]
    for at in itertools.product(*(range(n) for n in shape)):
        if not filled[at]:
            raise DataError(
                f"{source} has no row for {_words(made, at)}. Expected one for each combination of "
                f"{' and '.join(axis.name for axis in made)}. Add it, or leave out the rows that need it."
            )
    return Grid(source=source, axes=tuple(made), values=out)


def distinct(column: Floats) -> Floats:
    """The different coordinates in ascending order."""
    nodes = np.unique(column)
    slack = _ALIKE * max(float(nodes[-1] - nodes[0]), 1e-12)
    return nodes[np.concatenate(([True], np.diff(nodes) > slack))]


def _words(axes: Sequence[Axis], at: tuple[int, ...]) -> str:
    return " with ".join(
        f"{axis.name} {show(float(axis.nodes[place]), axis.kind)}"
        for axis, place in zip(axes, at, strict=True)
    )
