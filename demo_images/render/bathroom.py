"""Bathroom fixtures. Local x runs along the wall, y out of it, z up."""

from __future__ import annotations

import numpy as np

from .kitchen import CabinetStyle, base_cabinet, tap
from .materials import Finishes
from .mesh import CABINET, LAMP, MIRROR, OTHER, TILE, TRIM, Model


def vanity(m: Model, style: CabinetStyle, width: float, pedestal: bool = False) -> None:
    """Vanity cabinet with top, bowl and tap, centred on local x = 0; or a pedestal sink."""
    if pedestal:
        m.lathe("porcelain", OTHER, (0, 0.2, 0), [(0.13, 0), (0.1, 0.1), (0.075, 0.4), (0.1, 0.68)])
        m.rbox("porcelain", OTHER, (-0.3, 0.0, 0.68), (0.3, 0.46, 0.84), 0.07)
        m.lathe(
            "bowl",
            OTHER,
            (0, 0.25, 0.842),
            [(0.2, 0.001), (0.17, -0.002), (0.001, -0.004)],
            (1.0, 0.7),
        )
        tap(m, (0, 0.09, 0.84), 0.14, 0.12)
        return
    low = CabinetStyle(
        front=style.front,
        counter=style.counter,
        pull=style.pull,
        panel=style.panel,
        pull_kind=style.pull_kind,
        base_depth=0.5,
    )
    with m.at((-width / 2, 0, -0.06)):
        base_cabinet(m, low, 0, width, "base")
    top = 0.835
    m.rbox(
        style.counter,
        CABINET,
        (-width / 2 - 0.015, 0, 0.805),
        (width / 2 + 0.015, 0.53, top),
        0.006,
    )
    m.box(
        style.counter, CABINET, (-width / 2 - 0.015, 0, top), (width / 2 + 0.015, 0.018, top + 0.09)
    )
    ring = [
        (0.21, 0.0),
        (0.205, 0.012),
        (0.19, 0.012),
        (0.17, 0.003),
        (0.08, 0.002),
        (0.001, 0.001),
    ]
    m.lathe("porcelain", OTHER, (0, 0.29, top), ring, (1.0, 0.75))
    m.lathe("chrome", OTHER, (0, 0.29, top + 0.002), [(0.022, 0.001), (0.001, 0.002)])
    tap(m, (0, 0.08, top), 0.15, 0.13)


def mirror(m: Model, width: float, z0: float, z1: float, frame: str | None) -> None:
    """Wall mirror centred on local x = 0."""
    h, y = width / 2, 0.014
    m.quad("mirror", MIRROR, (h, y, z0), (-width, 0, 0), (0, 0, z1 - z0))
    m.box("gap", OTHER, (-h, 0, z0), (h, y - 0.001, z1))
    if frame:
        b = 0.045
        for lo, hi in (
            ((-h - b, 0, z0 - b), (-h, 0.028, z1 + b)),
            ((h, 0, z0 - b), (h + b, 0.028, z1 + b)),
            ((-h, 0, z0 - b), (h, 0.028, z0)),
            ((-h, 0, z1), (h, 0.028, z1 + b)),
        ):
            m.box(frame, OTHER, lo, hi)


def light_bar(
    m: Model, z: float, radiance: tuple[float, ...] | None, bulbs: int = 3, style: str = "globe"
) -> None:
    """Bar of lamps over a mirror; `radiance` None leaves it off."""
    f = Finishes(m)
    glass = (
        f.plain("globe", "#ecebe6", 0.15) if radiance is None else f.glow("vanity_lamp", radiance)
    )
    half = 0.12 * bulbs
    m.rbox("chrome", OTHER, (-half, 0, z - 0.05), (half, 0.03, z + 0.05), 0.01)
    for i in range(bulbs):
        x = -half + 0.12 + 0.24 * i
        if style == "globe":
            m.ball(glass, LAMP, (x, 0.09, z), (0.055, 0.055, 0.055), 16)
        else:
            m.lathe(
                glass, LAMP, (x, 0.09, z - 0.02), [(0.001, -0.08), (0.065, -0.075), (0.045, 0.04)]
            )
            m.tube("chrome", OTHER, [(x, 0.02, z), (x, 0.09, z + 0.01), (x, 0.09, z + 0.03)], 0.01)


def toilet(m: Model, mat: str = "porcelain") -> None:
    """Two-piece toilet centred on local x = 0."""
    m.rbox(mat, OTHER, (-0.22, 0.015, 0.4), (0.22, 0.21, 0.76), 0.03)
    m.rbox(mat, OTHER, (-0.235, 0.008, 0.76), (0.235, 0.225, 0.8), 0.014)
    m.tube("chrome", OTHER, [(-0.16, 0.2, 0.7), (-0.16, 0.23, 0.7), (-0.1, 0.235, 0.69)], 0.009)
    m.lathe(
        mat,
        OTHER,
        (0, 0.4, 0),
        [
            (0.12, 0),
            (0.125, 0.04),
            (0.1, 0.1),
            (0.105, 0.2),
            (0.165, 0.32),
            (0.19, 0.385),
            (0.185, 0.395),
        ],
        (0.95, 1.35),
    )
    m.rbox(mat, OTHER, (-0.1, 0.1, 0.0), (0.1, 0.4, 0.36), 0.04)
    m.rbox(mat, OTHER, (-0.15, 0.08, 0.33), (0.15, 0.3, 0.4), 0.03)
    seat = [(0.001, 0.445), (0.17, 0.44), (0.192, 0.425), (0.196, 0.41), (0.19, 0.396)]
    m.lathe(mat, OTHER, (0, 0.43, 0), seat[::-1], (0.98, 1.2))


def tub(
    m: Model,
    length: float,
    wall_tile: str | None,
    curtain: str | None,
    mat: str = "porcelain",
    top_of_tile: float = 1.95,
    sill: float | None = None,
    end_high: str = "left",
) -> None:
    """Alcove tub along the wall from local x = 0, with tile, shower fittings and curtain.

    On the long wall the tile ends at `sill` where a window stands there.
    """
    w, h, rim = 0.76, 0.42, 0.07
    m.rbox(mat, OTHER, (0, w - rim, 0), (length, w, h), 0.02)
    m.box(mat, OTHER, (0, 0, h - 0.05), (length, rim, h))
    m.box(mat, OTHER, (0, 0, h - 0.05), (rim, w, h))
    m.box(mat, OTHER, (length - rim, 0, h - 0.05), (length, w, h))
    inner, floor = (rim, rim, length - rim, w - rim), (0.22, 0.16, length - 0.3, w - 0.16)

    def at(u: np.ndarray, v: np.ndarray) -> np.ndarray:
        angle = u * 2 * np.pi
        power = np.sign(np.cos(angle)) * np.abs(np.cos(angle)) ** 0.35
        other = np.sign(np.sin(angle)) * np.abs(np.sin(angle)) ** 0.35
        depth = np.clip(v / 0.75, 0, 1)
        k = np.clip((v - 0.75) / 0.25, 0, 1)
        x0, y0, x1, y1 = (
            np.array(i)[..., None, None] + (np.array(j) - np.array(i))[..., None, None] * depth
            for i, j in zip(inner, floor, strict=True)
        )
        x = (x0 + x1) / 2 + (x1 - x0) / 2 * power * (1 - k)
        y = (y0 + y1) / 2 + (y1 - y0) / 2 * other * (1 - k)
        z = h - 0.002 - (h - 0.1) * depth**1.4 + 0 * k
        return np.stack([np.squeeze(x), np.squeeze(y), np.squeeze(z)], -1)

    m.sheet(mat, OTHER, at, 60, 17, (3, 1))
    if wall_tile:
        m.box(wall_tile, TILE, (0, 0, h), (length, 0.009, sill or top_of_tile))
        m.box(wall_tile, TILE, (0, 0, h), (0.009, w + 0.02, top_of_tile), "y")
        m.box(wall_tile, TILE, (length - 0.009, 0, h), (length, w + 0.02, top_of_tile), "y")
    x = 0.012 if end_high == "left" else length - 0.012
    s = 1 if end_high == "left" else -1
    m.tube(
        "chrome",
        OTHER,
        [(x, w / 2, 2.0), (x + s * 0.12, w / 2, 2.03), (x + s * 0.2, w / 2, 1.94)],
        0.009,
    )
    m.ball("chrome", OTHER, (x + s * 0.21, w / 2, 1.92), (0.05, 0.05, 0.025))
    m.tube("chrome", OTHER, [(x, w / 2, 0.66), (x + s * 0.12, w / 2, 0.65)], 0.022)
    m.tube("chrome", OTHER, [(x, w / 2, 0.98), (x + s * 0.02, w / 2, 0.98)], 0.075, 20)
    m.ball("chrome", OTHER, (x + s * 0.05, w / 2, 0.98), (0.035, 0.03, 0.03))
    if curtain:
        rod_z, y = 1.98, w + 0.01
        m.tube("chrome", OTHER, [(0, y, rod_z), (length, y, rod_z)], 0.012)
        share = float(m.rng.uniform(0.34, 0.48)) * length
        start = 0.02 if end_high != "left" else length - 0.02
        d = 1 if end_high != "left" else -1

        def hang(u: np.ndarray, v: np.ndarray) -> np.ndarray:
            wave = 0.035 * np.sin(u * 2 * np.pi * 8 + np.sin(2 * v)) * (0.6 + 0.4 * v)
            return np.stack([start + d * u * share, y + 0.01 + wave, rod_z - 0.02 - v * 1.75], -1)

        m.sheet(curtain, OTHER, hang, 110, 8, (share * 1.9, 1.75), flip=d > 0)


def towel_bar(m: Model, z: float, towel: str) -> None:
    """Bar with a towel, centred on local x = 0."""
    m.tube("chrome", OTHER, [(-0.3, 0, z), (-0.3, 0.06, z), (0.3, 0.06, z), (0.3, 0, z)], 0.009)
    m.rbox(towel, OTHER, (-0.2, 0.04, z - 0.62), (0.2, 0.085, z + 0.015), 0.015)


def switch_plate(m: Model, z: float = 1.12) -> None:
    """Light switch or outlet plate at local x = 0."""
    m.rbox("plate", OTHER, (-0.036, 0, z - 0.058), (0.036, 0.006, z + 0.058), 0.004)
    m.box("shadow", TRIM, (-0.006, 0.005, z - 0.014), (0.006, 0.009, z + 0.014))
