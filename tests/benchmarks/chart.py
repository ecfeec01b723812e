"""Series drawn on logarithmic axes, as one SVG file that needs nothing else [1]_.

A panel for each pair of what x counts and the unit of y, a grey line of slope 1 in each: a series
that runs along it grows in proportion. Below it stands what each mark means, with its slope.

References
----------
.. [1] Scalable Vector Graphics (SVG) 1.1 (Second Edition), W3C Recommendation, 2011.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from tests.benchmarks.growth import RATIO, Point, by_series, growth, what_and_quantity

WIDTH, HEIGHT, GAP = 330, 230, 26
LEFT, TOP, BOTTOM, ROW = 62, 44, 40, 16
ACROSS = 3
INKS = ("#1f5f4d", "#8c2617", "#1d4b5c", "#8a5a1d", "#5b4a7a", "#55605c")
PAPER, INK, FAINT = "#fbfaf6", "#22302c", "#d8d4c7"

UNITS = {"s": "seconds", "ms": "milliseconds", "MB": "megabytes"}

Panel = list[list[Point]]


def panels(points: Iterable[Point]) -> dict[tuple[str, str], Panel]:
    """Series to be drawn together, by what x counts and the unit of y."""
    found: dict[tuple[str, str], Panel] = {}
    for rows in by_series(points):
        if rows[0].unit != RATIO and len(rows) > 1:
            key = (what_and_quantity(rows[0].series)[1], rows[0].unit)
            found.setdefault(key, []).append(rows)
    order = [quantity for quantity, _ in found]
    return dict(sorted(found.items(), key=lambda item: order.index(item[0][0])))


def ticks(low: float, high: float) -> list[float]:
    """1, 2 and 5 times powers of ten from low to high; powers alone where those are many."""
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    wide = math.log10(high / low) > 2.2
    found = [m * 10.0**d for d in decades for m in ((1,) if wide else (1, 2, 5))]
    return [value for value in found if low * 0.999 <= value <= high * 1.001]


class _Axis:
    """Turns figures into places on one side of a panel."""

    def __init__(self, values: Sequence[float], start: float, end: float) -> None:
        low, high = min(values), max(values)
        room = max(1.15, (high / low) ** 0.06)
        self.low, self.high = low / room, high * room
        if self.high / self.low < 8:  # a flat series must not fill the height with its noise
            middle = math.sqrt(self.low * self.high)
            self.low, self.high = middle / math.sqrt(8), middle * math.sqrt(8)
        self.start, self.end = start, end

    def at(self, value: float) -> float:
        share = math.log(value / self.low) / math.log(self.high / self.low)
        return self.start + share * (self.end - self.start)

    def ticks(self) -> list[float]:
        return ticks(self.low, self.high)


def draw(points: Iterable[Point], title: str, note: str = "") -> str:
    """The picture.

    Parameters
    ----------
    points
        Of all series; ratios and single points are left out.
    title, note
        Above and below the panels; the note says where it was measured.

    Raises
    ------
    ValueError
        If there is no series of two points or more.
    """
    found = panels(points)
    if not found:
        raise ValueError("No series of two points or more: nothing to draw.")
    keys = list(found)
    rows = [keys[at : at + ACROSS] for at in range(0, len(keys), ACROSS)]
    heights = [HEIGHT + ROW * max(len(found[key]) for key in row) * 2 + 14 for row in rows]
    width = GAP + (WIDTH + GAP) * min(len(keys), ACROSS)
    height = 48 + sum(heights) + (30 if note else 10)
    body, top = [_text(GAP, 30, title, "start", 17, "bold")], 48.0
    for row, tall in zip(rows, heights, strict=True):
        for at, key in enumerate(row):
            body += _panel(key, found[key], GAP + at * (WIDTH + GAP), top)
        top += tall
    if note:
        body.append(_text(GAP, height - 14, note, "start", 11))
    about = "; ".join(
        f"{rows_[0].series} [{rows_[0].unit}]: slope {growth(rows_).late_slope:.2f}"
        for panel in found.values()
        for rows_ in panel
    )
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height:.0f}" '
            f'width="{width}" height="{height:.0f}" role="img" aria-labelledby="t d" '
            'font-family="system-ui, sans-serif">',
            f'<title id="t">{escape(title)}</title>',
            f'<desc id="d">{escape(about)}</desc>',
            f'<rect width="100%" height="100%" fill="{PAPER}"/>',
            *body,
            "</svg>\n",
        ]
    )


def _panel(key: tuple[str, str], series: Panel, left: float, top: float) -> list[str]:
    quantity, unit = key
    x = _Axis([p.x for rows in series for p in rows], left + LEFT, left + WIDTH)
    y = _Axis([p.y for rows in series for p in rows], top + HEIGHT - BOTTOM, top + TOP)
    out = [_text(left, top + 22, f"{UNITS.get(unit, unit)} by {quantity}", "start", 13, "bold")]
    for value in x.ticks():
        out.append(_line(x.at(value), y.start, x.at(value), y.end, FAINT))
        out.append(_text(x.at(value), y.start + 16, number(value), "middle"))
    for value in y.ticks():
        out.append(_line(x.start, y.at(value), x.end, y.at(value), FAINT))
        out.append(_text(x.start - 6, y.at(value) + 4, number(value), "end"))
    out.append(_guide(x, y))
    out.append(_text(x.end, y.start + 31, quantity, "end"))
    for at, rows in enumerate(series):
        ink = INKS[at % len(INKS)]
        places = [(x.at(p.x), y.at(p.y)) for p in rows]
        path = " ".join(f"{a:.1f},{b:.1f}" for a, b in places)
        out.append(f'<polyline points="{path}" fill="none" stroke="{ink}" stroke-width="1.6"/>')
        out += [_mark(at, a, b, ink) for a, b in places]
        line = top + HEIGHT + 8 + ROW * 2 * at
        grown = growth(rows)
        says = "" if math.isnan(grown.late_slope) else f"slope {grown.late_slope:.2f}: "
        out.append(_mark(at, left + 8, line, ink))
        out.append(_text(left + 20, line + 4, what_and_quantity(rows[0].series)[0], "start", 12))
        out.append(_text(left + 20, line + 4 + ROW * 0.9, says + grown.words, "start", 11))
    return out


def _guide(x: _Axis, y: _Axis) -> str:
    """A line of slope 1 through the panel's lower left corner, as far as it goes."""
    far = min(x.high / x.low, y.high / y.low)
    ends = (x.at(x.low), y.at(y.low), x.at(x.low * far), y.at(y.low * far))
    return _line(*ends, "#9a9688", ' stroke-dasharray="5 4"')


def number(value: float) -> str:
    """A tick's figure, short."""
    if value >= 1_000_000:
        return f"{value / 1_000_000:g}M"
    return f"{value / 1_000:g}k" if value >= 1_000 else f"{value:g}"


def _line(x1: float, y1: float, x2: float, y2: float, ink: str, more: str = "") -> str:
    ends = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
    return f'<line {ends} stroke="{ink}"{more}/>'


def _text(x: float, y: float, text: str, anchor: str, size: int = 11, weight: str = "") -> str:
    bold = f' font-weight="{weight}"' if weight else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}"{bold} '
        f'fill="{INK}">{escape(text)}</text>'
    )


def _mark(kind: int, x: float, y: float, ink: str) -> str:
    """A mark whose shape tells series apart without colour."""
    shapes = (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.4"',
        f'<rect x="{x - 3.1:.1f}" y="{y - 3.1:.1f}" width="6.2" height="6.2"',
        f'<path d="M{x:.1f} {y - 4.2:.1f}l4 7h-8z"',
        f'<path d="M{x:.1f} {y - 4.4:.1f}l4.4 4.4-4.4 4.4-4.4-4.4z"',
        f'<path d="M{x - 4:.1f} {y - 3:.1f}h8l-4 7z"',
    )
    return f'{shapes[kind % len(shapes)]} fill="{ink}"/>'
