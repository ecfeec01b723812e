"""Lamps, pictures, rugs, plants and what else stands about."""

from __future__ import annotations

from functools import partial

import numpy as np

from .materials import Finishes
from .mesh import LAMP, OTHER, Model


def table_lamp(
    m: Model,
    at: tuple[float, float, float],
    body: str,
    radiance: tuple[float, ...] | None,
    scale: float = 1.0,
) -> None:
    """Lamp with a cloth shade; `radiance` None leaves it off."""
    f = Finishes(m)
    shade = f.plain("shade_off", "#e4d9c2") if radiance is None else f.glow("shade", radiance)
    s = scale
    m.lathe(
        body,
        OTHER,
        at,
        [
            (0.07 * s, 0),
            (0.07 * s, 0.015 * s),
            (0.03 * s, 0.04 * s),
            (0.055 * s, 0.12 * s),
            (0.05 * s, 0.2 * s),
            (0.012 * s, 0.26 * s),
            (0.01 * s, 0.34 * s),
        ],
    )
    m.lathe(shade, LAMP, at, [(0.15 * s, 0.3 * s), (0.11 * s, 0.52 * s)])


def floor_lamp(
    m: Model, at: tuple[float, float, float], radiance: tuple[float, ...] | None
) -> None:
    """Standing lamp."""
    f = Finishes(m)
    shade = f.plain("shade_off", "#e4d9c2") if radiance is None else f.glow("shade", radiance)
    x, y, z = at
    m.lathe("rod", OTHER, at, [(0.13, 0), (0.13, 0.02), (0.02, 0.04)])
    m.tube("rod", OTHER, [(x, y, z + 0.03), (x, y, z + 1.45)], 0.011)
    m.lathe(shade, LAMP, at, [(0.2, 1.3), (0.14, 1.58)])


def television(m: Model, width: float, z: float) -> None:
    """Screen on a foot, centred on local x = 0."""
    m.box(
        "black_glass",
        OTHER,
        (-width / 2, 0.16, z + 0.06),
        (width / 2, 0.19, z + 0.06 + width * 0.57),
    )
    m.box("gap", OTHER, (-0.04, 0.15, z), (0.04, 0.2, z + 0.08))
    m.rbox("gap", OTHER, (-0.2, 0.08, z), (0.2, 0.28, z + 0.015), 0.006)


def picture(m: Model, width: float, high: float, z: float, frame: str) -> None:
    """Framed print, centred on local x = 0."""
    name = Finishes(m).picture(f"print{len(m.materials)}")
    w, h, b = width / 2, high / 2, 0.022
    m.box(frame, OTHER, (-w - b, 0, z - h - b), (w + b, 0.02, z + h + b))
    m.box("mat_board", OTHER, (-w, 0.015, z - h), (w, 0.0215, z + h))
    m.quad(
        name, OTHER, (w * 0.8, 0.0225, z - h * 0.8), (-w * 1.6, 0, 0), (0, 0, h * 1.6), unit=True
    )


def rug(m: Model, at: tuple[float, float], size: tuple[float, float], cloth: str) -> None:
    """Rug flat on the floor."""
    x, y = at
    m.rbox(
        cloth,
        OTHER,
        (x - size[0] / 2, y - size[1] / 2, 0),
        (x + size[0] / 2, y + size[1] / 2, 0.014),
        0.006,
    )


def plant(m: Model, at: tuple[float, float, float], high: float = 0.9, pot: str = "pot") -> None:
    """Pot with arching leaves."""
    x, y, z = at
    s = high / 0.9
    m.lathe(
        pot,
        OTHER,
        at,
        [
            (0.1 * s, 0),
            (0.14 * s, 0.24 * s),
            (0.15 * s, 0.26 * s),
            (0.13 * s, 0.25 * s),
            (0.001, 0.22 * s),
        ],
    )
    for _ in range(26):
        angle, reach, rise = (
            m.rng.uniform(0, 6.28),
            m.rng.uniform(0.15, 0.42) * s,
            m.rng.uniform(0.3, 0.65) * s,
        )
        shape = partial(_leaf, (x, y, z + 0.22 * s), angle, reach, rise, 0.035 * s)
        m.sheet("leaf", OTHER, shape, 3, 8)


def _leaf(
    foot: tuple[float, ...],
    angle: float,
    reach: float,
    rise: float,
    width: float,
    u: np.ndarray,
    v: np.ndarray,
) -> np.ndarray:
    r = reach * v
    half = width * np.sin(np.pi * np.clip(v, 0.05, 1)) * (u - 0.5) * 2
    height = foot[2] + rise * np.sin(v * 2.2) / 0.9 - 0.02 * np.abs(u - 0.5)
    return np.stack(
        [
            foot[0] + r * np.cos(angle) - half * np.sin(angle),
            foot[1] + r * np.sin(angle) + half * np.cos(angle),
            height,
        ],
        -1,
    )


def vase(m: Model, at: tuple[float, float, float], mat: str, s: float = 1.0) -> None:
    """Small turned vessel."""
    m.lathe(
        mat,
        OTHER,
        at,
        [
            (0.04 * s, 0),
            (0.065 * s, 0.06 * s),
            (0.06 * s, 0.11 * s),
            (0.022 * s, 0.18 * s),
            (0.03 * s, 0.22 * s),
        ],
    )


def carton(
    m: Model, at: tuple[float, float, float], size: tuple[float, float, float], yaw: float
) -> None:
    """Moving box."""
    with m.at(at, yaw):
        w, d, h = size
        m.box("cardboard", OTHER, (-w / 2, -d / 2, 0), (w / 2, d / 2, h))
        m.box("tape", OTHER, (-w / 2, -0.025, h - 0.001), (w / 2, 0.025, h + 0.001))
