"""House fronts, decks and the world about them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from .materials import Finishes, noise
from .mesh import FLOOR, OTHER, TRIM, WALL, WINDOW, Model
from .openings import casing


@dataclass(frozen=True)
class House:
    """What a front picture shows."""

    siding: str = "#c9c4b4"
    trim: str = "#f1efe8"
    door: str = "#d9d6cc"
    roof: str = "#4a4744"
    shutters: str | None = None
    units: int = 1
    width: float = 9.6
    porch: bool = True
    lawn: str = "#657245"
    cloud: float = 0.5
    sun: tuple[float, float] = (38.0, 50.0)  # turn from straight on, height [degrees]


def sky(m: Model, cloud: float, turn: float, height: float) -> None:
    """Sky dome and sun; `cloud` 1 hides the sun."""
    h = 128
    up = np.clip(1 - np.arange(h)[:, None] / (h / 2), 0, 1)
    blue = (
        np.array([0.30, 0.52, 0.95]) * (0.55 + 0.3 * up[..., None])
        + 0.42 * (1 - up[..., None]) ** 2
    )
    mass = noise(m.rng, 256, (6, 10), 5)[:h] * 0.5 + cloud * 2.4 - 1.3
    white = np.clip(mass, 0, 1)[..., None]
    dome = blue * (1 - white) + np.array([0.95, 0.97, 1.0]) * white
    dome[h // 2 :] = [0.16, 0.18, 0.12]
    m.lights.append({"sky": dome})
    strength = 3.4 * max(0.0, 1 - cloud) ** 0.7
    if strength > 0.05:
        a, e = np.radians(turn), np.radians(height)
        m.lights.append(
            {
                "type": "directional",
                "direction": [
                    float(np.sin(a) * np.cos(e)),
                    float(np.cos(a) * np.cos(e)),
                    float(-np.sin(e)),
                ],
                "irradiance": (strength, strength * 0.93, strength * 0.8),
            }
        )


def siding(
    m: Model,
    mat: str,
    x0: float,
    x1: float,
    z0: float,
    z1: float,
    y: float,
    holes: list[tuple[float, float, float, float]],
) -> None:
    """Lap siding on a wall that faces -y, left out at `holes` (x0, x1, z0, z1)."""
    lap = 0.115
    for z in np.arange(z0, z1 - 1e-6, lap):
        top = min(z + lap, z1)
        cuts = sorted({x0, x1, *(h[i] for h in holes for i in (0, 1) if x0 < h[i] < x1)})
        for a, b in pairwise(cuts):
            mid = (a + b) / 2
            if any(h[0] < mid < h[1] and h[2] <= (z + top) / 2 <= h[3] for h in holes):
                continue
            m.quad(mat, WALL, (a, y - 0.018, z), (b - a, 0, 0), (0, 0.014, top - z))
            m.quad(mat, WALL, (a, y, z), (b - a, 0, 0), (0, -0.018, 0))


def pane(
    m: Model, x: float, half: float, z0: float, z1: float, y: float, shutter: str | None
) -> None:
    """Window seen from outside."""
    with m.at((x, y, 0)):
        m.quad("pane", WINDOW, (-half, 0.03, z0), (2 * half, 0, 0), (0, 0, z1 - z0))
        for lo, hi in (
            ((-half, 0, z0), (-half + 0.05, 0.04, z1)),
            ((half - 0.05, 0, z0), (half, 0.04, z1)),
            ((-half, 0, z0), (half, 0.04, z0 + 0.05)),
            ((-half, 0, z1 - 0.05), (half, 0.04, z1)),
            ((-half, 0, (z0 + z1) / 2 - 0.025), (half, 0.04, (z0 + z1) / 2 + 0.025)),
        ):
            m.box("trim", TRIM, lo, hi)
        m.quad(
            "inner_blind",
            WINDOW,
            (-half, 0.028, (z0 + z1) / 2 + 0.1),
            (2 * half, 0, 0),
            (0, 0, (z1 - z0) / 2 - 0.1),
        )
        with m.at((0, 0, 0), 180):
            casing(m, "trim", half, z0, z1, True)
        if shutter:
            for s in (-1, 1):
                a, b = sorted((s * (half + 0.09), s * (half + 0.45)))
                m.box("shutter", TRIM, (a, -0.035, z0 - 0.04), (b, -0.005, z1 + 0.04))
                for z in np.arange(z0 + 0.05, z1, 0.06):
                    m.box("shutter", TRIM, (a + 0.04, -0.045, z), (b - 0.04, -0.03, z + 0.03))


def entrance(m: Model, x: float, y: float, floor: float, steps: int) -> None:
    """Plain front door with casing, light, bell and steps."""
    with m.at((x, y, floor)):
        m.box("door", TRIM, (-0.46, 0.0, 0), (0.46, 0.04, 2.05), "z")
        for z0, z1 in ((0.2, 0.75), (0.9, 1.4)):
            for a, b in ((-0.35, -0.05), (0.05, 0.35)):
                m.box("door", TRIM, (a, -0.012, z0), (b, 0.01, z1), "z")
        for a in (-0.35, -0.11, 0.13):
            m.box("pane", WINDOW, (a, -0.006, 1.58), (a + 0.22, 0.01, 1.9))
        m.ball("knob", OTHER, (0.38, -0.06, 0.98), (0.03, 0.03, 0.03))
        with m.at((0, 0, 0), 180):
            casing(m, "trim", 0.46, 0, 2.05, False)
        m.rbox("gap", OTHER, (0.66, -0.14, 1.72), (0.8, -0.02, 1.98), 0.02)
        m.box("number", OTHER, (-0.78, -0.03, 1.6), (-0.62, -0.02, 1.82))
        for i in range(steps):
            tread = floor / steps
            m.box(
                "concrete",
                OTHER,
                (-0.8, -1.15 - 0.3 * (steps - i), -floor),
                (0.8, -1.15 - 0.3 * (steps - i - 1) + 0.001, -floor + tread * (i + 1) - 0.02),
            )


def bush(m: Model, x: float, y: float, r: float, mat: str = "leaf") -> None:
    """Lumpy shrub with loose leaves."""
    for _ in range(9):
        dx, dy, dz = m.rng.normal(0, 0.38, 3) * r
        s = r * m.rng.uniform(0.45, 0.7)
        m.ball(
            "leaf_dark", OTHER, (x + dx, y + dy, max(0.2 * r, r * 0.75 + dz)), (s, s, s * 0.9), 12
        )
    leaves(m, x, y, r * 0.8, r * 1.05, 420, mat, 0.055)


def leaves(
    m: Model, x: float, y: float, z: float, r: float, count: int, mat: str, size: float
) -> None:
    """Loose leaves on a ball, as small quads at random turns."""
    d = m.rng.normal(size=(count, 3))
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    centre = np.array([x, y, z]) + d * r * m.rng.uniform(0.75, 1.05, (count, 1))
    a = m.rng.normal(size=(count, 3))
    a *= size / np.linalg.norm(a, axis=1, keepdims=True)
    b = np.cross(a, d)
    b *= size / (np.linalg.norm(b, axis=1, keepdims=True) + 1e-9)
    vertices = np.stack([centre - a, centre - b * 0.6, centre + a, centre + b * 0.6], 1)
    normal = np.cross(a, b)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True) + 1e-9
    base = np.arange(count)[:, None] * 4
    faces = np.concatenate([base + np.array(c) for c in ((0, 1, 2), (0, 2, 3))])
    m.add(
        mat,
        OTHER,
        vertices.reshape(-1, 3),
        np.repeat(normal, 4, 0),
        np.tile([[0, 0], [1, 0], [1, 1], [0, 1]], (count, 1)).astype(float),
        faces,
    )


def tree(m: Model, x: float, y: float, high: float) -> None:
    """Trunk and crown."""
    m.tube("bark", OTHER, [(x, y, -0.2), (x + 0.05, y, high * 0.45), (x, y, high * 0.7)], 0.16)
    for _ in range(8):
        dx, dy, dz = m.rng.normal(0, 0.17, 3) * high
        r = high * m.rng.uniform(0.13, 0.2)
        centre = (x + dx, y + dy, high * 0.78 + dz * 0.6)
        m.ball("leaf_dark", OTHER, centre, (r * 0.8, r * 0.8, r * 0.7), 12)
        leaves(m, *centre, r, 700, "leaf", 0.11)


def ground(m: Model, lawn: str) -> None:
    """Lawn, soil and growing things' finishes."""
    f = Finishes(m)
    f.rough_cast("lawn", lawn, 0.22, 90, 2.2)
    f.rough_cast("concrete", "#a9a59c", 0.07, 40, 1.5)
    f.plain("leaf", "#4d6b2e", 0.6)
    f.plain("leaf_dark", "#2a3d1b")
    f.wood("bark", "#5b4a3a", 0.8)
    m.quad("lawn", FLOOR, (-40, -30, -0.001), (80, 0, 0), (0, 80, 0))


def front(m: Model, h: House) -> None:
    """House front, wall at y = 0 facing -y, ground at z = 0."""
    f = Finishes(m)
    for name, colour, rough in (
        ("siding", h.siding, 0.55),
        ("trim", h.trim, 0.4),
        ("door", h.door, 0.4),
        ("shutter", h.shutters or h.trim, 0.5),
        ("gap", "#1a1a1a", 0.4),
        ("number", "#26262a", 0.3),
    ):
        f.plain(name, colour, rough)
    f.plain("pane", "#0b0f12", 0.03, 0.9)
    f.plain("inner_blind", "#b5b4ac", 0.3)
    f.metal("knob", "#b08d57", 0.3)
    f.tile("shingle", h.roof, "#262524", (0.3, 0.14), True, rough=0.9, mottle=0.14)
    ground(m, h.lawn)
    sky(m, h.cloud, *h.sun)
    w, floor, eave = h.width / 2, 0.5, 3.25
    doors = [0.0] if h.units == 1 else [-0.9, 0.9]
    if h.units == 1:
        doors = [m.rng.choice([-0.8, 0.8])]
    holes = [(x - 0.46, x + 0.46, floor - 0.01, floor + 2.05) for x in doors]
    outer = [-w + 1.9, w - 1.9] if h.units == 2 else [-w + 1.8, w - 1.9]
    big = [(x, 0.75 if h.units == 1 and x * doors[0] < 0 else 0.5) for x in outer]
    holes += [(x - s, x + s, 1.35, 2.65) for x, s in big]
    m.box("concrete", WALL, (-w, -0.01, 0), (w, 7, 0.42))
    siding(m, "siding", -w, w, 0.42, eave, 0.0, holes)
    for x in (-w, w):
        m.box("trim", TRIM, (x - 0.05, -0.03, 0.42), (x + 0.05, 0.1, eave), "z")
        m.quad(
            "siding",
            WALL,
            (x, 7 if x < 0 else 0, 0.42),
            (0, -7 if x < 0 else 7, 0),
            (0, 0, eave - 0.42),
        )
    m.box("trim", TRIM, (-w, -0.035, 0.38), (w, 0.02, 0.46))
    for x, s in big:
        pane(m, x, s, 1.35, 2.65, 0.0, h.shutters)
    for x in doors:
        entrance(m, x, 0.0, floor, 3)
    m.box("concrete", OTHER, (min(doors) - 1.0, -1.2, 0), (max(doors) + 1.0, 0, floor - 0.02))
    over, rise = 0.45, 2.1  # side-gabled roof: the slope faces the street
    m.quad("shingle", OTHER, (-w - 0.35, -over, eave), (2 * w + 0.7, 0, 0), (0, 3.5 + over, rise))
    m.quad("trim", TRIM, (-w - 0.35, -over, eave - 0.02), (0, over + 0.1, 0), (2 * w + 0.7, 0, 0))
    m.box("trim", TRIM, (-w - 0.35, -over - 0.02, eave - 0.16), (w + 0.35, -over, eave + 0.03))
    m.tube(
        "trim",
        TRIM,
        [(-w - 0.35, -over - 0.07, eave - 0.04), (w + 0.35, -over - 0.07, eave - 0.04)],
        0.055,
    )
    if h.porch:
        a, b, out = min(doors) - 1.25, max(doors) + 1.25, 1.45
        m.quad("shingle", OTHER, (a, -out, 2.86), (b - a, 0, 0), (0, out, 0.55))
        m.box("trim", TRIM, (a, -out, 2.68), (b, -out + 0.1, 2.86))
        m.quad("trim", TRIM, (a, -out, 2.72), (0, out, 0), (b - a, 0, 0))
        for x in (a + 0.12, b - 0.12):
            m.box("trim", TRIM, (x - 0.06, -out + 0.02, 0), (x + 0.06, -out + 0.14, 2.7), "z")
    for x in doors:
        m.box("concrete", FLOOR, (x - 0.6, -14, 0), (x + 0.6, -1.6, 0.02))
    for x in (-w + 0.7, -w + 2.2, w - 2.3, w - 0.8):
        if min(abs(x - d) for d in doors) > 1.1:
            bush(m, x + m.rng.normal(0, 0.15), -0.75, m.rng.uniform(0.35, 0.55))
    tree(m, -w - 2.4, 3.5, 6.5)
    tree(m, w + 3.2, 6.0, 7.5)
    for x in (-14, -10, 11, 15):
        tree(m, x, 14, 8)


def deck(m: Model, grey: bool, h: House) -> None:
    """Back deck seen along the house wall (y = 0, facing -y); deck top at z = 0.45."""
    f = Finishes(m)
    for name, colour, rough in (
        ("siding", h.siding, 0.55),
        ("trim", h.trim, 0.4),
        ("door", h.door, 0.4),
        ("gap", "#1a1a1a", 0.4),
    ):
        f.plain(name, colour, rough)
    f.plain("pane", "#0b0f12", 0.03, 0.9)
    f.plain("inner_blind", "#b5b4ac", 0.3)
    f.metal("knob", "#b08d57", 0.3)
    f.wood("board", "#8d8a83" if grey else "#a9774a", 0.8, 0.3 if grey else 0.16)
    f.wood("board_b", "#7b786f" if grey else "#a06f43", 0.8, 0.34 if grey else 0.16)
    f.wood("fence", "#8b8070", 0.8, 0.25)
    f.plain("cushion", "#5b6b5a")
    ground(m, h.lawn)
    sky(m, h.cloud, *h.sun)
    wide, deep, top = 5.2, 3.3, 0.45
    for y in np.arange(-deep, 0, 0.146):
        warp = m.rng.normal(0, 0.004 if grey else 0.001)
        m.box(
            "board" if m.rng.random() < 0.6 else "board_b",
            FLOOR,
            (-wide / 2, y, top - 0.03 + warp),
            (wide / 2, y + 0.138, top + warp),
        )
    m.box("board_b", OTHER, (-wide / 2, -deep, top - 0.25), (wide / 2, -deep + 0.04, top - 0.03))
    for x in np.linspace(-wide / 2 + 0.05, wide / 2 - 0.05, 4):
        m.box(
            "board", OTHER, (x - 0.045, -deep + 0.02, 0), (x + 0.045, -deep + 0.11, top + 1.0), "z"
        )
    for z in (top + 0.12, top + 0.9):
        m.box("board_b", OTHER, (-wide / 2, -deep + 0.03, z), (wide / 2, -deep + 0.07, z + 0.08))
    m.box("board", OTHER, (-wide / 2, -deep, top + 1.0), (wide / 2, -deep + 0.13, top + 1.035))
    for x in np.arange(-wide / 2 + 0.1, wide / 2, 0.12):
        m.box(
            "board_b",
            OTHER,
            (x, -deep + 0.045, top + 0.12),
            (x + 0.035, -deep + 0.08, top + 0.95),
            "z",
        )
    for x in (-wide / 2, wide / 2 - 0.04):
        for z in (top + 0.12, top + 0.9, top + 1.0):
            m.box("board", OTHER, (x, -deep, z), (x + 0.04, -0.03, z + 0.06), "y")
        for y in np.arange(-deep + 0.12, -0.05, 0.12):
            m.box("board_b", OTHER, (x, y, top + 0.12), (x + 0.035, y + 0.035, top + 0.95), "z")
    holes = [(-0.46 + 0.9, 0.46 + 0.9, top - 0.01, top + 2.05), (-1.85, -0.65, 1.3, 2.5)]
    siding(m, "siding", -6, 6, 0.1, 4.2, 0.0, holes)
    pane(m, -1.25, 0.6, 1.3, 2.5, 0.0, None)
    with m.at((0.9, 0, top)):
        m.box("door", TRIM, (-0.46, 0, 0), (0.46, 0.04, 2.05), "z")
        m.box("pane", WINDOW, (-0.3, -0.01, 0.95), (0.3, 0.02, 1.9))
        m.box("trim", TRIM, (-0.012, -0.014, 0.95), (0.012, 0, 1.9))
        m.ball("knob", OTHER, (0.38, -0.06, 0.95), (0.03, 0.03, 0.03))
        with m.at((0, 0, 0), 180):
            casing(m, "trim", 0.46, 0, 2.05, False)
    for x in np.arange(-14, 14, 0.15):
        m.box("fence", OTHER, (x, -11, 0), (x + 0.14, -10.97, 1.8 + m.rng.normal(0, 0.01)), "z")
        m.box("fence", OTHER, (-9.03, x - 2, 0), (-9, x - 1.86, 1.8 + m.rng.normal(0, 0.01)), "z")
    for x, y in ((-9, -15), (-4, -16), (-12, -9), (-12.5, -4), (-13, 1), (-12, 6)):
        tree(m, x, y + m.rng.uniform(-1, 1), m.rng.uniform(5.5, 7.5))
    for x, yaw in ((-1.7, 150.0), (-0.6, 205.0)):
        with m.at((x, -1.5, top), yaw):
            for s in (-0.28, 0.24):
                m.box("trim", OTHER, (s, -0.25, 0), (s + 0.05, -0.2, 0.9), "z")
                m.box("trim", OTHER, (s, 0.25, 0), (s + 0.05, 0.3, 0.62), "z")
                m.box("trim", OTHER, (s - 0.02, -0.25, 0.6), (s + 0.07, 0.32, 0.63), "y")
            m.rbox("cushion", OTHER, (-0.26, -0.22, 0.38), (0.26, 0.3, 0.46), 0.03)
            for z in np.arange(0.5, 0.95, 0.09):
                m.box("trim", OTHER, (-0.25, -0.24, z), (0.25, -0.21, z + 0.06))
