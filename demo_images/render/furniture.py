"""Beds, seats, tables, storage and appliances. Local x along the wall, y out of it, z up."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from .materials import Finishes
from .mesh import OTHER, TRIM, Model


def bed(
    m: Model,
    width: float,
    wood: str,
    cover: str,
    pillow: str,
    length: float = 2.0,
    headboard: float = 1.05,
) -> None:
    """Bed with its head at the wall, centred on local x = 0."""
    h = width / 2
    m.box(wood, OTHER, (-h - 0.03, 0, 0.12), (h + 0.03, 0.05, headboard), "x")
    for x in (-h - 0.03, h - 0.03):
        m.box(wood, OTHER, (x, 0, 0), (x + 0.06, 0.06, headboard + 0.06), "z")
        m.box(wood, OTHER, (x, length, 0), (x + 0.06, length + 0.05, 0.42), "z")
    for x in (-h, h - 0.03):
        m.box(wood, OTHER, (x, 0.05, 0.17), (x + 0.03, length, 0.33), "y")
    m.box(wood, OTHER, (-h, length, 0.17), (h, length + 0.03, 0.36), "x")
    m.rbox(pillow, OTHER, (-h + 0.02, 0.05, 0.3), (h - 0.02, length - 0.02, 0.56), 0.06)
    drop, top = 0.3, 0.585
    bumps = m.rng.uniform(0, 6, 4)

    def at(u: np.ndarray, v: np.ndarray) -> np.ndarray:
        wide = 2 * (h + drop)
        s = (u - 0.5) * wide
        x = np.clip(s, -h, h) + np.sign(s) * np.clip(np.abs(s) - h, 0, None) * 0.09
        over = np.clip(np.abs(s) - h, 0, None)
        y0 = 0.58
        t = y0 + v * (length - y0 + drop * 0.9)
        end = np.clip(t - length, 0, None)
        y = np.minimum(t, length) + 0.1 * end
        ripple = 0.012 * np.sin(9 * t + bumps[0]) * np.sin(7 * s + bumps[1]) + 0.008 * np.sin(
            17 * s + bumps[2] + 3 * t
        )
        z = top - np.maximum(over, end) + ripple
        fold = 0.02 * np.sin(t * 16 + bumps[3]) * (over > 0)
        return np.stack([x + fold * np.sign(s), y + 0.02 * np.sin(s * 15) * (end > 0), z], -1)

    m.sheet(cover, OTHER, at, 64, 56, (2 * (h + drop), length))
    count = 2 if width > 1.1 else 1
    for i in range(count):
        x = 0.0 if count == 1 else (i - 0.5) * width * 0.5
        with m.at((x, 0.3, 0.64), m.rng.uniform(-6, 6), 24):
            m.rbox(pillow, OTHER, (-0.33, -0.22, -0.05), (0.33, 0.22, 0.05), 0.045, puff=0.045)


def drawers(
    m: Model,
    width: float,
    high: float,
    deep: float,
    wood: str,
    rows: int,
    columns: int = 1,
    pull: str = "knob",
) -> None:
    """Chest, dresser or nightstand, centred on local x = 0."""
    h = width / 2
    m.box(wood, OTHER, (-h, 0.01, 0.06), (h, deep, high), "x")
    m.box(wood, OTHER, (-h - 0.015, 0.005, high), (h + 0.015, deep + 0.02, high + 0.022), "x")
    for x in (-h, h - 0.05):
        m.box(wood, OTHER, (x, 0.02, 0), (x + 0.05, deep, 0.06), "z")
    each, tall = width / columns, (high - 0.08) / rows
    for c in range(columns):
        for r in range(rows):
            x0, z0 = -h + c * each, 0.07 + r * tall
            m.box(
                "gap",
                OTHER,
                (x0 + 0.008, deep, z0 + 0.002),
                (x0 + each - 0.008, deep + 0.001, z0 + tall - 0.002),
            )
            m.box(
                wood,
                OTHER,
                (x0 + 0.013, deep, z0 + 0.007),
                (x0 + each - 0.013, deep + 0.015, z0 + tall - 0.007),
                "x",
            )
            for k in (0.5,) if each < 0.55 else (0.25, 0.75):
                m.ball(
                    pull,
                    OTHER,
                    (x0 + k * each, deep + 0.03, z0 + tall / 2),
                    (0.015, 0.015, 0.015),
                    10,
                )


def sofa(m: Model, width: float, cloth: str, cushion: str | None = None, seats: int = 3) -> None:
    """Sofa or armchair, its back to the wall, centred on local x = 0."""
    h, d = width / 2, 0.88
    m.rbox(cloth, OTHER, (-h, 0.05, 0.1), (h, d, 0.3), 0.03)
    m.rbox(cloth, OTHER, (-h, 0.02, 0.1), (h, 0.26, 0.8), 0.08)
    for x in (-h, h - 0.18):
        m.rbox(cloth, OTHER, (x, 0.05, 0.1), (x + 0.18, d + 0.01, 0.6), 0.07)
    each = (width - 0.38) / seats
    for i in range(seats):
        x0 = -h + 0.19 + i * each
        m.rbox(
            cloth,
            OTHER,
            (x0 + 0.004, 0.24, 0.28),
            (x0 + each - 0.004, d + 0.02, 0.46),
            0.05,
            puff=0.02,
        )
        with m.at((x0 + each / 2, 0.33, 0.64), 0, -12):
            m.rbox(
                cloth,
                OTHER,
                (-each / 2 + 0.01, -0.09, -0.2),
                (each / 2 - 0.01, 0.09, 0.23),
                0.07,
                puff=0.03,
            )
    if cushion:
        for s in (-1, 1):
            with m.at((s * (h - 0.4), 0.5, 0.64), s * 18, -68):
                m.rbox(cushion, OTHER, (-0.21, -0.21, -0.04), (0.21, 0.21, 0.04), 0.035, puff=0.05)
    for x in (-h + 0.06, h - 0.06):
        for y in (0.1, d - 0.06):
            m.tube("gap", OTHER, [(x, y, 0), (x, y, 0.12)], 0.025)


def table(m: Model, width: float, deep: float, high: float, wood: str) -> None:
    """Four-legged table centred on the local origin."""
    w, d = width / 2, deep / 2
    m.rbox(wood, OTHER, (-w, -d, high - 0.035), (w, d, high), 0.008)
    m.box(wood, OTHER, (-w + 0.05, -d + 0.05, high - 0.11), (w - 0.05, d - 0.05, high - 0.035))
    for sx in (-1, 1):
        for sy in (-1, 1):
            x, y = sx * (w - 0.07), sy * (d - 0.07)
            m.box(wood, OTHER, (x - 0.027, y - 0.027, 0), (x + 0.027, y + 0.027, high - 0.04), "z")


def chair(m: Model, wood: str) -> None:
    """Plain dining chair facing local +y."""
    for x in (-0.2, 0.17):
        m.box(wood, OTHER, (x, -0.2, 0), (x + 0.03, -0.17, 0.92), "z")
        m.box(wood, OTHER, (x, 0.18, 0), (x + 0.03, 0.21, 0.45), "z")
    m.rbox(wood, OTHER, (-0.21, -0.2, 0.44), (0.21, 0.22, 0.47), 0.01)
    for z in (0.6, 0.72, 0.84):
        m.box(wood, OTHER, (-0.17, -0.195, z), (0.17, -0.175, z + 0.06))


def shelf(m: Model, width: float, high: float, wood: str) -> None:
    """Open shelf with books, centred on local x = 0."""
    f, h = Finishes(m), width / 2
    inks = [f.plain(f"book{i}", tuple(m.rng.uniform(0.02, 0.45, 3)), 0.5) for i in range(5)]
    for x in (-h, h - 0.02):
        m.box(wood, OTHER, (x, 0.0, 0), (x + 0.02, 0.3, high), "z")
    m.box(wood, OTHER, (-h, 0, 0), (h, 0.01, high), "z")
    levels = np.linspace(0.04, high - 0.02, 5)
    for z in levels:
        m.box(wood, OTHER, (-h, 0, z), (h, 0.3, z + 0.02), "x")
    for z, up in pairwise(levels):
        x = -h + 0.04
        end = h - m.rng.uniform(0.05, width * 0.6)
        while x < end:
            t = m.rng.uniform(0.018, 0.05)
            m.box(
                inks[m.rng.integers(5)],
                OTHER,
                (x, 0.04, z + 0.02),
                (x + t, 0.22, z + 0.02 + (up - z) * m.rng.uniform(0.6, 0.85)),
            )
            x += t + 0.002


def washer(m: Model, mat: str = "appliance", front_load: bool = False) -> None:
    """Washer or dryer, 0.68 m wide, centred on local x = 0."""
    m.rbox(mat, OTHER, (-0.34, 0.06, 0.02), (0.34, 0.72, 0.92), 0.02)
    m.rbox(mat, OTHER, (-0.34, 0.06, 0.9), (0.34, 0.22, 1.09), 0.03)
    m.box("control", OTHER, (-0.3, 0.219, 0.96), (0.3, 0.223, 1.06))
    for x in (-0.2, 0.0, 0.2):
        m.tube("chrome", OTHER, [(x, 0.22, 1.01), (x, 0.25, 1.01)], 0.022)
    if front_load:
        m.rbox(mat, OTHER, (-0.22, 0.71, 0.3), (0.22, 0.735, 0.7), 0.02)
        m.box("gap", OTHER, (0.16, 0.733, 0.48), (0.19, 0.745, 0.56))
    else:
        m.rbox(mat, OTHER, (-0.28, 0.28, 0.915), (0.28, 0.68, 0.935), 0.01)


def tank(m: Model, mat: str, radius: float = 0.25, high: float = 1.45) -> None:
    """Water heater with pipes, centred on the local origin."""
    m.lathe(
        mat,
        OTHER,
        (0, 0, 0.06),
        [(radius, 0), (radius, high), (radius - 0.03, high + 0.03), (0.001, high + 0.04)],
    )
    m.rbox("gap", OTHER, (-0.1, radius - 0.03, 0.25), (0.1, radius + 0.015, 0.42), 0.01)
    for x in (-0.1, 0.1):
        m.tube("copper", OTHER, [(x, 0, high), (x, 0, 2.4)], 0.011)
    m.lathe("fixture", OTHER, (0, 0, 0), [(radius - 0.04, 0), (radius - 0.04, 0.06)])


def heater(m: Model, width: float) -> None:
    """Baseboard or radiator fins, centred on local x = 0."""
    for i in range(int(width / 0.06)):
        x = -width / 2 + i * 0.06
        m.rbox("fixture", TRIM, (x, 0.03, 0.08), (x + 0.045, 0.16, 0.68), 0.02)
