"""Ranges as bars on a common scale, for a page or a sheet."""

from __future__ import annotations

from scorer.records import Quantiles, Record
from scorer.report.table import money_words


class Bar(Record):
    """A bar on a scale from 0 to 100 [%]: where it starts, how wide it is, and its middle."""

    left: float
    width: float
    middle: float


def range_bar(figure: Quantiles, most: float) -> Bar:
    """A bar from the 10th to the 90th percentile with the middle marked.

    Parameters
    ----------
    figure
        In any unit; what is below zero is drawn at zero.
    most
        The end of the scale, in the same unit.
    """
    scale = 100.0 / most if most > 0 else 0.0
    low, middle, high = (
        min(max(v, 0.0) * scale, 100.0) for v in (figure.p10, figure.p50, figure.p90)
    )
    return Bar(left=low, width=high - low, middle=middle)


def range_words(figure: Quantiles) -> str:
    """The three figures as money, rounded ones as one."""
    low, middle, high = (money_words(v) for v in (figure.p10, figure.p50, figure.p90))
    if low == high:
        return low
    return f"{middle} ({low} to {high})"
