"""The shell of a room: walls with openings, windows, doors, trim, ceiling lights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from .materials import Finishes, linear
from .mesh import CEILING, FLOOR, LAMP, OTHER, TRIM, WALL, Model
from .openings import annex, closet, door, window

WALLS = ("back", "left", "right", "front")


@dataclass
class Room:
    """A box room, x from 0 to `width`, y from 0 (front, behind the camera) to `depth` [m]."""

    model: Model
    width: float
    depth: float
    height: float = 2.44
    paint: str = "paint"
    floor: str = "floor"
    ceiling: str = "ceiling"
    trim: str = "trim"
    accents: dict[str, str] = field(default_factory=dict)
    openings: list[dict[str, Any]] = field(default_factory=list)
    baseboard: float = 0.09
    crown: bool = False
    skip_base: dict[str, list[tuple[float, float]]] = field(default_factory=dict)

    def frame(self, wall: str, u: float = 0.0, z: float = 0.0) -> tuple[tuple[float, ...], float]:
        """Placement on a wall: local y points into the room, local x along the wall."""
        if wall == "back":
            return (u, self.depth, z), 180.0
        if wall == "left":
            return (0.0, u, z), -90.0
        if wall == "right":
            return (self.width, u, z), 90.0
        return (u, 0.0, z), 0.0

    def length(self, wall: str) -> float:
        """Length of a wall [m]."""
        return self.width if wall in ("back", "front") else self.depth

    def local(self, wall: str, u: float) -> float:
        """Wall coordinate to local x, measured from the placement at u = 0."""
        return -u if wall in ("back", "left") else u

    def hole(
        self,
        kind: str,
        wall: str,
        centre: float,
        width: float,
        low: float,
        high: float,
        **more: Any,
    ) -> None:
        """Declare a window, door or opening before `build`."""
        self.openings.append(
            {"kind": kind, "wall": wall, "u": centre, "w": width, "z0": low, "z1": high, **more}
        )

    def build(self, light: str = "day", level: float = 12.0, sun: bool = False) -> None:
        """Make walls, floor, ceiling, trim and what fills each opening."""
        m = self.model
        m.quad(self.floor, FLOOR, (0, 0, 0), (self.width, 0, 0), (0, self.depth, 0))
        m.quad(self.ceiling, CEILING, (0, 0, self.height), (0, self.depth, 0), (self.width, 0, 0))
        for wall in WALLS:
            self._wall(wall)
        for hole in self.openings:
            at, yaw = self.frame(hole["wall"], hole["u"])
            with m.at(at, yaw):
                if hole["kind"] == "window":
                    window(m, self.trim, hole, light, level, sun)
                elif hole["kind"] == "door":
                    door(m, hole.get("finish", self.trim), self.trim, hole)
                elif hole["kind"] == "closet":
                    closet(m, self, hole)
                else:
                    annex(m, self, hole)

    def _wall(self, wall: str) -> None:
        m = self.model
        paint = self.accents.get(wall, self.paint)
        length = self.length(wall)
        holes = [
            (h["u"] - h["w"] / 2, h["u"] + h["w"] / 2, h["z0"], h["z1"])
            for h in self.openings
            if h["wall"] == wall
        ]
        us = sorted({0.0, length, *(h[0] for h in holes), *(h[1] for h in holes)})
        zs = sorted({0.0, self.height, *(h[2] for h in holes), *(h[3] for h in holes)})
        at, yaw = self.frame(wall)
        with m.at(at, yaw):
            for u0, u1 in pairwise(us):
                for z0, z1 in pairwise(zs):
                    mu, mz = (u0 + u1) / 2, (z0 + z1) / 2
                    if any(h[0] < mu < h[1] and h[2] < mz < h[3] for h in holes):
                        continue
                    a, b = sorted((self.local(wall, u0), self.local(wall, u1)))
                    m.quad(paint, WALL, (b, 0, z0), (a - b, 0, 0), (0, 0, z1 - z0))
            gaps = [(h[0] - 0.07, h[1] + 0.07) for h in holes if h[2] < 0.05]
            gaps += self.skip_base.get(wall, [])
            edges = sorted({0.0, length, *(np.clip(v, 0, length) for g in gaps for v in g)})
            for u0, u1 in pairwise(edges):
                if any(g[0] <= (u0 + u1) / 2 <= g[1] for g in gaps) or not self.baseboard:
                    continue
                a, b = sorted((self.local(wall, u0), self.local(wall, u1)))
                m.box(self.trim, TRIM, (a, 0, 0), (b, 0.014, self.baseboard))
                m.box(self.trim, TRIM, (a, 0, 0), (b, 0.024, 0.018))
            if self.crown:
                a, b = sorted((self.local(wall, 0), self.local(wall, length)))
                m.quad(self.trim, TRIM, (b, 0, self.height - 0.08), (a - b, 0, 0), (0, 0.07, 0.08))


def ceiling_light(
    m: Model, kind: str, at: Sequence[float], radiance: Sequence[float] | None
) -> None:
    """Ceiling light `kind` at (x, y, ceiling height); `radiance` None leaves it off."""
    f = Finishes(m)
    x, y, z = at
    if radiance is None:
        glass = f.plain("globe", "#e9e6dd", 0.2)
    else:
        glass = f.glow(f"lamp_{kind}", tuple(radiance))
    if kind == "dome":
        m.lathe("fixture", OTHER, (x, y, z), [(0.17, 0), (0.175, -0.02), (0.165, -0.03)])
        m.lathe(
            glass,
            LAMP,
            (x, y, z),
            [(0.16, -0.025), (0.15, -0.06), (0.11, -0.095), (0.05, -0.115), (0.001, -0.12)],
        )
    elif kind == "tube":
        m.rbox(glass, LAMP, (x - 0.6, y - 0.14, z - 0.09), (x + 0.6, y + 0.14, z), 0.04)
        for s in (-1, 1):
            m.box(
                "fixture",
                OTHER,
                (x + s * 0.61 - 0.015, y - 0.15, z - 0.1),
                (x + s * 0.61 + 0.015, y + 0.15, z),
            )
    elif kind == "cans":
        for dx in (-0.8, 0.8):
            for dy in (-0.7, 0.7):
                m.lathe("fixture", OTHER, (x + dx, y + dy, z), [(0.085, -0.002), (0.07, -0.006)])
                m.lathe(glass, LAMP, (x + dx, y + dy, z), [(0.068, -0.004), (0.001, -0.005)])
    elif kind == "bulb":
        m.lathe("fixture", OTHER, (x, y, z), [(0.06, 0), (0.055, -0.03), (0.025, -0.06)])
        m.ball(glass, LAMP, (x, y, z - 0.11), (0.035, 0.035, 0.045))
    elif kind == "fan":
        m.tube("fixture", OTHER, [(x, y, z), (x, y, z - 0.25)], 0.018)
        m.lathe(
            "fixture",
            OTHER,
            (x, y, z - 0.25),
            [(0.02, 0.02), (0.11, 0), (0.12, -0.08), (0.08, -0.1)],
        )
        for i in range(5):
            with m.at((x, y, z - 0.27), i * 72 + 20):
                m.box("blade", OTHER, (0.12, -0.06, 0), (0.62, 0.06, 0.008))
        m.ball(glass, LAMP, (x, y, z - 0.4), (0.1, 0.1, 0.07))


def common_finishes(f: Finishes, trim: str = "#efede6", metal: str = "#cfcfcf") -> None:
    """Materials that every room may use."""
    f.plain("trim", trim, 0.35)
    f.plain("blind", "#e8e6e0", 0.5)
    f.plain("shadow", tuple(0.45 * v for v in linear(trim)))
    f.metal("knob", "#c9a860" if metal == "brass" else metal, 0.25)
    f.metal("rod", "#55504a", 0.35)
    f.plain("fixture", "#d9d5cb", 0.3)
    f.wood("blade", "#7a5a3c", 0.4)
