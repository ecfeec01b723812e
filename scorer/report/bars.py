"""Ranges as bars on a common scale, for a page or a sheet."""

from __future__ import annotations

from scorer.records import Quantiles, Record


class Bar(Record):
    """A bar on a scale from 0 to 100 [%]: where it starts, how wide it is, and its middle."""

    left: float
    width: float
    middle: float


def range_bar(figure: Quantiles, most: float, least: float = 0.0) -> Bar:
    """A bar from the 10th to the 90th percentile with the middle marked.

    Parameters
    ----------
    figure
        In any unit; what lies beyond the scale is drawn at its end.
    most, least
        The ends of the scale, in the same unit.
    """
    low, middle, high = (
        place_on_scale(v, most, least) for v in (figure.p10, figure.p50, figure.p90)
    )
    return Bar(left=low, width=high - low, middle=middle)


def place_on_scale(value: float, most: float, least: float = 0.0) -> float:
    """Where a figure lies between the ends of a scale [%]; an empty scale has all at its start."""
    if most <= least:
        return 0.0
    return min(max(100.0 * (value - least) / (most - least), 0.0), 100.0)
