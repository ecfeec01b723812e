"""What fills the openings of a room: windows, doors, closets, a further space."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from .materials import Finishes, outdoor_view
from .mesh import CEILING, FLOOR, LAMP, OTHER, TRIM, WALL, WINDOW, Model

if TYPE_CHECKING:
    from .shell import Room


def casing(m: Model, trim: str, half: float, z0: float, z1: float, sill: bool) -> None:
    """Flat boards about an opening; a stool and apron under a window."""
    w, t, low = 0.065, 0.018, z0 if sill else 0.0
    for side in (-1, 1):
        a, b = sorted((side * half, side * (half + w)))
        m.box(trim, TRIM, (a, 0, low), (b, t, z1), "z")
    m.box(trim, TRIM, (-half - w, 0, z1), (half + w, t + 0.004, z1 + w), "x")
    if sill:
        m.box(trim, TRIM, (-half - w - 0.02, -0.02, z0 - 0.02), (half + w + 0.02, 0.05, z0), "x")
        m.box(trim, TRIM, (-half - w, 0, z0 - 0.08), (half + w, t, z0 - 0.02), "x")


def reveal(
    m: Model, mat: str, half: float, z0: float, z1: float, deep: float, bottom: bool = True
) -> None:
    """The four sides of an opening `deep` metres thick."""
    m.quad(mat, TRIM, (-half, -deep, z0), (0, deep, 0), (0, 0, z1 - z0))
    m.quad(mat, TRIM, (half, 0, z0), (0, -deep, 0), (0, 0, z1 - z0))
    m.quad(mat, TRIM, (-half, 0, z1), (2 * half, 0, 0), (0, -deep, 0))
    if bottom:
        m.quad(mat, TRIM, (-half, -deep, z0), (2 * half, 0, 0), (0, deep, 0))


def window(m: Model, trim: str, hole: dict[str, Any], light: str, level: float, sun: bool) -> None:
    """Double-hung or picture window with what is seen through it and an optional cover."""
    half, z0, z1 = hole["w"] / 2, hole["z0"], hole["z1"]
    reveal(m, trim, half, z0, z1, 0.14)
    if not hole.get("bare"):
        casing(m, trim, half, z0, z1, True)
    name = f"view{len(m.emitters)}"
    away = 1.3 if sun else 0.16
    spread_x, drop = (2.2, 1.2) if sun else (0.0, 0.0)
    tall = min(z1 - z0 + drop + 0.3, 2.35) if sun else z1 - z0
    Finishes(m).glow(name, outdoor_view(m.rng, light, level))
    base = z1 + 0.28 - tall if sun else z0
    m.quad(
        name,
        WINDOW,
        (half + spread_x, -away, base),
        (-2 * (half + spread_x), 0, 0),
        (0, 0, tall),
        unit=True,
    )
    sashes = hole.get("sashes", 1)
    each = 2 * half / sashes
    for i in range(sashes):
        a, b = -half + i * each, -half + (i + 1) * each
        for lo, hi, y in ((z0, (z0 + z1) / 2, -0.06), ((z0 + z1) / 2, z1, -0.09)):
            bar = 0.04
            m.box(trim, TRIM, (a, y - 0.03, lo), (a + bar, y, hi), "z")
            m.box(trim, TRIM, (b - bar, y - 0.03, lo), (b, y, hi), "z")
            m.box(trim, TRIM, (a, y - 0.03, lo), (b, y, lo + bar), "x")
            m.box(trim, TRIM, (a, y - 0.03, hi - bar), (b, y, hi), "x")
            for k in range(1, hole.get("lites", 1)):
                x = a + (b - a) * k / hole["lites"]
                m.box(trim, TRIM, (x - 0.009, y - 0.02, lo), (x + 0.009, y - 0.005, hi), "z")
            if hole.get("lites", 1) > 1 and hi - lo > 0.5:
                m.box(
                    trim,
                    TRIM,
                    (a, y - 0.02, (lo + hi) / 2 - 0.009),
                    (b, y - 0.005, (lo + hi) / 2 + 0.009),
                )
    cover = hole.get("cover")
    if cover == "blinds":
        drop_to = z0 + (z1 - z0) * hole.get("open", 0.1)
        for z in np.arange(drop_to, z1 - 0.04, 0.03):
            with m.at((0, -0.025, z), 0, hole.get("slat", 28)):
                m.box("blind", OTHER, (-half + 0.01, -0.0125, 0), (half - 0.01, 0.0125, 0.0012))
        m.box("blind", OTHER, (-half + 0.005, -0.045, z1 - 0.04), (half - 0.005, -0.005, z1))
    elif cover == "shade":
        m.box(
            "blind",
            OTHER,
            (-half + 0.01, -0.03, z0 + (z1 - z0) * hole.get("open", 0.6)),
            (half - 0.01, -0.024, z1),
        )
    elif cover == "curtain":
        curtain_pair(m, half, z0, z1, hole.get("fabric", "curtain"), hole.get("floor_length", True))


def curtain_pair(m: Model, half: float, z0: float, z1: float, fabric: str, to_floor: bool) -> None:
    """Two gathered curtains on a rod."""
    top, low = z1 + 0.13, 0.04 if to_floor else z0 - 0.12
    m.tube("rod", OTHER, [(-half - 0.28, 0.09, top), (half + 0.28, 0.09, top)], 0.011)
    for side in (-1, 1):
        m.ball("rod", OTHER, (side * (half + 0.29), 0.09, top), (0.022, 0.022, 0.022))
        folds, wide = m.rng.uniform(5, 7), 0.22 + 0.3 * half
        phase = m.rng.uniform(0, 6)

        hang = partial(_gathered, side, half, wide, (folds, phase), (top, low))
        m.sheet(fabric, OTHER, hang, 90, 8, (wide * 1.8, top - low), flip=side > 0)


def _gathered(
    side: int,
    half: float,
    wide: float,
    wave: tuple[float, float],
    ends: tuple[float, float],
    u: np.ndarray,
    v: np.ndarray,
) -> np.ndarray:
    x = side * (half + 0.22 - u * wide * (0.8 + 0.2 * (1 - v)))
    y = 0.09 + 0.035 * np.sin(u * wave[0] * 2 * np.pi + wave[1] + 0.5 * np.sin(3 * v))
    return np.stack([x, y, ends[0] - 0.01 - v * (ends[0] - ends[1])], -1)


def door(m: Model, finish: str, trim: str, hole: dict[str, Any]) -> None:
    """Closed door with casing: flat slab, or raised panels in two columns."""
    half, z1 = hole["w"] / 2, hole["z1"]
    reveal(m, trim, half, 0, z1, 0.1, bottom=False)
    casing(m, trim, half, 0, z1, False)
    m.box(finish, TRIM, (-half, -0.06, 0.008), (half, -0.025, z1), "z")
    if hole.get("style", "panel") == "panel":
        for x0, x1 in ((-half + 0.11, -0.05), (0.05, half - 0.11)):
            for z0, zz in ((0.22, 0.78), (0.92, 1.5), (1.6, z1 - 0.12)):
                m.box("shadow", TRIM, (x0, -0.0255, z0), (x1, -0.0235, zz))
                m.box(
                    finish,
                    TRIM,
                    (x0 + 0.012, -0.026, z0 + 0.012),
                    (x1 - 0.012, -0.018, zz - 0.012),
                    "z",
                )
    if hole.get("style") == "bifold":
        m.box("shadow", TRIM, (-0.003, -0.03, 0), (0.003, -0.024, z1))
        for side in (-1, 1):
            m.ball("knob", OTHER, (side * 0.06, 0, 0.95), (0.016, 0.02, 0.016))
        return
    side = hole.get("hinge", 1)
    m.ball("knob", OTHER, (side * (half - 0.07), 0.03, 0.95), (0.028, 0.024, 0.028))
    m.tube(
        "knob",
        OTHER,
        [(side * (half - 0.07), -0.03, 0.95), (side * (half - 0.07), 0.03, 0.95)],
        0.011,
    )


def annex(m: Model, room: Room, hole: dict[str, Any]) -> None:
    """Cased opening into a further lit space."""
    half, z1, deep = hole["w"] / 2, hole["z1"], hole.get("deep", 2.2)
    reveal(m, room.trim, half, 0, z1, 0.12, bottom=False)
    casing(m, room.trim, half, 0, z1, False)
    beyond, wide, top = hole.get("paint", room.paint), half + 0.7, room.height
    m.quad(room.floor, FLOOR, (-wide, -deep, 0), (2 * wide, 0, 0), (0, deep, 0))
    m.quad(room.ceiling, CEILING, (-wide, -deep, top), (0, deep, 0), (2 * wide, 0, 0))
    m.quad(beyond, WALL, (wide, -deep, 0), (-2 * wide, 0, 0), (0, 0, top))
    m.quad(beyond, WALL, (-wide, -deep, 0), (0, deep, 0), (0, 0, top))
    m.quad(beyond, WALL, (wide, -deep, 0), (0, deep, 0), (0, 0, top))
    m.box(room.trim, TRIM, (-wide, -deep, 0), (wide, -deep + 0.014, room.baseboard or 0.09))
    lit = hole.get("glow", 3.0)
    Finishes(m).glow("annex_light", (lit, lit * 0.9, lit * 0.75))
    m.ball("annex_light", LAMP, (0, -deep / 2, top - 0.04), (0.14, 0.14, 0.05))


def closet(m: Model, room: Room, hole: dict[str, Any]) -> None:
    """Open closet: shelf, rod, hanging clothes or none; its floor may be bare."""
    half, z1, deep = hole["w"] / 2, hole["z1"], 0.62
    reveal(m, room.trim, half, 0, z1, 0.1, bottom=False)
    casing(m, room.trim, half, 0, z1, False)
    inside, wide, top = hole.get("paint", room.paint), half + 0.05, room.height
    m.quad(hole.get("floor", room.floor), FLOOR, (-wide, -deep, 0), (2 * wide, 0, 0), (0, deep, 0))
    m.quad(inside, WALL, (-wide, -deep, top), (0, deep, 0), (2 * wide, 0, 0))
    m.quad(inside, WALL, (wide, -deep, 0), (-2 * wide, 0, 0), (0, 0, top))
    m.quad(inside, WALL, (-wide, -deep, 0), (0, deep, 0), (0, 0, top))
    m.quad(inside, WALL, (wide, -deep, 0), (0, deep, 0), (0, 0, top))
    m.box(room.trim, OTHER, (-wide, -deep, 1.72), (wide, -deep + 0.34, 1.74))
    m.tube("rod", OTHER, [(-wide, -0.32, 1.64), (wide, -0.32, 1.64)], 0.014)
    for i in range(hole.get("clothes", 0)):
        x = -half + 0.12 + i * 0.075
        colour = tuple(m.rng.uniform(0.02, 0.5, 3))
        cloth = Finishes(m).plain(f"cloth{i % 7}", colour)
        m.rbox(cloth, OTHER, (x, -0.5, m.rng.uniform(0.7, 0.95)), (x + 0.045, -0.14, 1.58), 0.02)
    if hole.get("doors"):
        for side in (-1, 1):  # folded bifold leaves at each side
            for k in range(2):
                with m.at((side * half, -0.02, 0), side * (78 - 22 * k)):
                    m.box(room.trim, TRIM, (-0.012, 0.02, 0.02), (0.012, half / 2, z1 - 0.02), "z")
