"""Ranges drawn as bars on a common scale, for a page."""

from __future__ import annotations

from html import escape

from scorer.records import Quantiles
from scorer.report.table import money_words

LENGTH = 200.0


def range_bar_svg(figure: Quantiles, most: float, label: str) -> str:
    """A bar from the 10th to the 90th percentile with a notch at the middle.

    Parameters
    ----------
    figure
        In any unit; what is below zero is drawn at zero.
    most
        The end of the scale, in the same unit.
    label
        Read out by screen readers, with the figures.

    Returns
    -------
    str
        A self-contained ``<svg>`` in the colour of the text around it.
    """
    scale = LENGTH / most if most > 0 else 0.0
    low, middle, high = (
        min(max(v, 0.0) * scale, LENGTH) for v in (figure.p10, figure.p50, figure.p90)
    )
    words = escape(f"{label}: {range_words(figure)}")
    return (
        f'<svg viewBox="0 0 {LENGTH:.0f} 12" width="100%" height="12" preserveAspectRatio="none" '
        f'role="img" aria-label="{words}" style="color: inherit; display: block">'
        f'<rect x="0" y="5.4" width="{LENGTH:.0f}" height="1.2" fill="currentColor" '
        f'opacity="0.25"/>'
        f'<rect x="{low:.1f}" y="2" width="{max(high - low, 1.5):.1f}" height="8" rx="2" '
        f'fill="currentColor" opacity="0.55"/>'
        f'<rect x="{max(middle - 1, 0):.1f}" y="0" width="2" height="12" fill="currentColor"/>'
        "</svg>"
    )


def range_words(figure: Quantiles) -> str:
    """The three figures as money."""
    low, middle, high = (money_words(v) for v in (figure.p10, figure.p50, figure.p90))
    return f"about {middle} ({low} to {high})"
