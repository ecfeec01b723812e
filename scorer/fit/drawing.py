"""Draw a room plan to scale as SVG, with the piece that was checked."""

from __future__ import annotations

from html import escape

from scorer.fit.geometry import Box, along_wall, door_swings
from scorer.fit.room_plan import FitResult, RoomPlan

PIXELS_PER_INCH = 3.0
MARGIN = 46.0
_FILL = {"pass": "#cfe3d4", "tight": "#f3e2b3", "fails": "#efc9c2"}
_LINE = "#30343b"


def plan_svg(plan: RoomPlan, result: FitResult | None = None, title: str = "Room plan") -> str:
    """The plan seen from above, north up, 3 px to the inch, with sizes in feet and inches.

    Parameters
    ----------
    plan
        The room.
    result
        A fit check; its piece is drawn in the colour of its verdict, the verdict written on it.
    title
        Read out by screen readers.

    Returns
    -------
    str
        One self-contained ``<svg>`` element; no script, no remote asset.
    """
    scale = PIXELS_PER_INCH
    width, height = plan.length_in * scale + 2 * MARGIN, plan.width_in * scale + 2 * MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'role="img" font-family="sans-serif" font-size="12"><title>{escape(title)}</title>',
        f'<g transform="translate({MARGIN:.0f} {MARGIN:.0f}) scale({scale:g})">',
        _rect(Box(0, 0, plan.length_in, plan.width_in), "#ffffff", _LINE, 3.0),
    ]
    for run in plan.cabinets:
        box = along_wall(plan, run.wall, run.offset_in, run.length_in, run.depth_in)
        dash = ' stroke-dasharray="4 3"' if run.kind == "wall" else ""
        fill = "none" if run.kind == "wall" else "#e8e4da"
        parts.append(_rect(box, fill, _LINE, 0.6, dash))
    for a in plan.appliances:
        box = along_wall(plan, a.wall, a.offset_in, a.width_in, a.depth_in)
        parts.append(_rect(box, "#dbe3ea", _LINE, 0.6))
        parts.append(_word(box, a.kind))
    parts += [
        _rect(swing, "none", "#8a8f98", 0.5, ' stroke-dasharray="2 2"')
        for swing in door_swings(plan)
    ]
    for o in plan.openings:
        box = along_wall(plan, o.wall, o.offset_in, o.width_in, 3.0)
        parts.append(_rect(box, "#9cc3de" if o.kind == "window" else "#ffffff", _LINE, 0.4))
    for outlet in plan.outlets:
        box = along_wall(plan, outlet.wall, max(0.0, outlet.offset_in - 1.5), 3.0, 3.0)
        parts.append(_rect(box, "#30343b", "none", 0.0))
    if result is not None and result.piece is not None:
        box = Box(*result.piece)
        parts.append(_rect(box, _FILL[result.verdict], _LINE, 1.0))
        parts.append(_word(box, f"{result.idea}: {result.verdict}"))
    parts.append("</g>")
    parts.append(_text(width / 2, MARGIN / 2, feet_and_inches(plan.length_in)))
    parts.append(_text(MARGIN / 2, height / 2, feet_and_inches(plan.width_in), turned=True))
    if plan.estimated:
        parts.append(_text(width / 2, height - MARGIN / 2, "sizes estimated from a photo"))
    parts.append("</svg>")
    return "".join(parts)


def feet_and_inches(length_in: float) -> str:
    """A length in words, for example ``10 ft 6 in``."""
    whole = round(length_in)
    return f"{whole // 12} ft {whole % 12} in" if whole % 12 else f"{whole // 12} ft"


def _rect(box: Box, fill: str, line: str, weight: float, extra: str = "") -> str:
    return (
        f'<rect x="{box.left:.1f}" y="{box.top:.1f}" width="{box.right - box.left:.1f}" '
        f'height="{box.bottom - box.top:.1f}" fill="{fill}" stroke="{line}" '
        f'stroke-width="{weight:g}"{extra}/>'
    )


def _word(box: Box, text: str) -> str:
    """A label in the middle of a box, turned along its long side."""
    x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    wide, high = box.right - box.left, box.bottom - box.top
    size = min(5.0, max(wide, high) / (0.62 * max(len(text), 1)))
    turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if high > wide else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" text-anchor="middle" '
        f'dominant-baseline="central" fill="{_LINE}"{turn}>{escape(text)}</text>'
    )


def _text(x: float, y: float, text: str, *, turned: bool = False) -> str:
    turn = f' transform="rotate(-90 {x:.0f} {y:.0f})"' if turned else ""
    return (
        f'<text x="{x:.0f}" y="{y:.0f}" text-anchor="middle" dominant-baseline="central" '
        f'fill="{_LINE}"{turn}>{escape(text)}</text>'
    )
