"""Measured series: their file, and how a figure grows with what it is measured against.

A series is a list of points (x, y), one row each of a CSV file with the columns ``series``, ``x``,
``y`` and ``unit``; ``unit`` is that of y. A name of the form ``what by quantity`` says what x
counts. Lines that begin with ``#`` say where and when it was measured.

Growth is the slope of a least-squares line through the points on logarithmic axes: a slope of
``b`` means that y goes with the power ``b`` of x [1]_.

References
----------
.. [1] M. T. Goodrich, R. Tamassia, "Algorithm Design and Applications", Wiley 2015, 1.3: the power
   test for running times, with both axes logarithmic.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

COLUMNS = ("series", "x", "y", "unit")
RATIO = "ratio"
"""Unit of figures that stand for themselves: they are in the table and not in the picture."""


class Point(NamedTuple):
    """One row of the file; x and y are positive."""

    series: str
    x: float
    y: float
    unit: str


class Growth(NamedTuple):
    """How a series grows.

    Attributes
    ----------
    slope
        Of the whole series on logarithmic axes; NaN for fewer than three points.
    late_slope
        Of its upper half: what costs the same at every size hides the growth of small sizes.
    """

    slope: float
    late_slope: float

    @property
    def words(self) -> str:
        """The late slope in words."""
        return in_words(self.late_slope)


def what_and_quantity(series: str) -> tuple[str, str]:
    """``read a photo by megapixels`` is ``read a photo`` and ``megapixels``."""
    what, _, quantity = series.rpartition(" by ")
    return (what, quantity) if what else (series, "size")


def slope(points: Sequence[Point]) -> float:
    """Slope of the least-squares line through the logarithms; NaN where none can be drawn."""
    x = [math.log(point.x) for point in points]
    y = [math.log(point.y) for point in points]
    if len(set(x)) < 2:
        return math.nan
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    across = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    return across / sum((a - mean_x) ** 2 for a in x)


def growth(points: Sequence[Point]) -> Growth:
    """Slopes of one series."""
    if len(points) < 3:
        return Growth(math.nan, math.nan)
    ordered = sorted(points, key=lambda point: point.x)
    middle = math.sqrt(ordered[0].x * ordered[-1].x)
    late = [point for point in ordered if point.x >= middle * 0.999]
    return Growth(slope(ordered), slope(late if len(late) >= 3 else ordered[-3:]))


def in_words(slope_: float) -> str:
    """What a slope means, for a reader who has never seen one."""
    if math.isnan(slope_):
        return "too few points to tell"
    if slope_ < -0.15:
        return "falls"
    if slope_ < 0.15:
        return "stays the same"
    if slope_ < 0.85:
        return f"grows slowly: twice the size, {2**slope_:.1f} times as much"
    if slope_ <= 1.15:
        return "in proportion: twice the size, twice as much"
    return f"grows faster: twice the size, {2**slope_:.1f} times as much"


def read_points(path: Path) -> list[Point]:
    """The points of a file.

    Raises
    ------
    ValueError
        If a column is missing or a figure is no positive number; names file and line.
    """
    points = []
    with path.open(encoding="utf-8", newline="") as file:
        lines = [(at, line) for at, line in enumerate(file, 1) if not line.startswith("#")]
    rows = csv.DictReader(line for _, line in lines)
    if not set(COLUMNS) <= set(rows.fieldnames or ()):
        raise ValueError(f"{path}: the first line must name the columns {', '.join(COLUMNS)}.")
    for (number, _), row in zip(lines[1:], rows, strict=True):
        try:
            x, y = float(row["x"]), float(row["y"])
        except (TypeError, ValueError):
            x = y = math.nan
        if not (0 < x < math.inf and 0 < y < math.inf):
            raise ValueError(f"{path}, line {number}: x and y must be positive numbers.")
        points.append(Point(row["series"], x, y, row["unit"] or ""))
    return points


def add_points(path: Path, points: Iterable[Point], note: str = "") -> None:
    """Write points behind those that a file holds, with a note on where they were measured."""
    fresh = not path.exists()
    with path.open("a", encoding="utf-8", newline="") as file:
        write = csv.writer(file, lineterminator="\n").writerow
        if fresh:
            write(COLUMNS)
        if note:
            file.write(f"# {note}\n")
        for point in points:
            write((point.series, f"{point.x:.6g}", f"{point.y:.4g}", point.unit))


def by_series(points: Iterable[Point]) -> list[list[Point]]:
    """Points of each series and unit by x, in the order in which the series were met."""
    found: dict[tuple[str, str], list[Point]] = {}
    for point in points:
        found.setdefault((point.series, point.unit), []).append(point)
    return [sorted(rows, key=lambda point: point.x) for rows in found.values()]
