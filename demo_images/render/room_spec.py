"""What a picture of a room is described by, and what every room starts from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from .camera import View
from .materials import RGB, Finishes, linear
from .mesh import Model
from .shell import Room, common_finishes


@dataclass(frozen=True)
class RoomSpec:
    """One picture. Sizes in metres; colours are sRGB hex or linear reflectance."""

    kind: str
    seed: int = 1
    size: tuple[float, float, float] | None = None
    paint: str | RGB = "#e6e1d3"
    accents: dict[str, str] = field(default_factory=dict)
    trim: str = "#efede6"
    metal: str = "#cfcfcf"
    ceiling: str = "smooth"  # smooth or popcorn
    floor: tuple[str, ...] = ("carpet", "#a89a82")
    light: str = "day"  # day, overcast or night: what is outside
    level: float = 9.0  # radiance of the sky
    sun: bool = False
    lamp: RGB | None = (5.0, 4.2, 3.1)  # radiance of lit lamps, None when off
    fixture: str = "dome"
    cover: str | None = None
    fov: float = 76.0
    side: int = 1  # which front corner the camera stands in: 1 right, -1 left
    option: dict[str, Any] = field(default_factory=dict)

    def get(self, name: str, default: Any = None) -> Any:
        """An option of this kind of room."""
        return self.option.get(name, default)


def floor_finish(f: Finishes, spec: tuple[str, ...], name: str = "floor") -> None:
    """Floor of kind carpet, planks, tile, checker, vinyl, concrete or subfloor."""
    kind, colour, *more = spec
    if kind == "carpet":
        f.carpet(name, colour, 0.07)
    elif kind == "planks":
        f.planks(name, colour, float(more[0]) if more else 0.09)
    elif kind == "tile":
        f.tile(name, colour, more[0] if more else "#8f897d", (0.33, 0.33), mottle=0.08)
    elif kind == "checker":
        f.tile(name, colour, colour, (0.3, 0.3), second=more[0], rough=0.25, mottle=0.04)
    elif kind == "vinyl":
        f.tile(name, colour, more[0] if more else "#9c8c6c", (0.115, 0.115), rough=0.35, mottle=0.1)
    elif kind == "subfloor":
        f.rough_cast(name, colour, 0.18, 60, 1.0)
    else:
        f.rough_cast(name, colour, 0.09, 30, 2.5)


def start(spec: RoomSpec, size: tuple[float, float, float]) -> tuple[Model, Finishes, Room]:
    """Model, finishes and an unbuilt shell."""
    m = Model(spec.seed)
    f = Finishes(m)
    common_finishes(f, spec.trim, spec.metal)
    for name, colour, rough in (
        ("gap", "#14130f", 0.5),
        ("toe", "#1c1a17", 0.6),
        ("plate", "#ece8dc", 0.3),
        ("black_glass", "#0c0c0d", 0.06),
        ("coil", "#1d1c1b", 0.5),
        ("porcelain", "#eeeeea", 0.08),
        ("bowl", "#dcdcd6", 0.1),
        ("control", "#3a3d42", 0.3),
        ("mat_board", "#ece8de", None),
        ("pot", "#8a4f35", 0.6),
        ("leaf", "#3f6a2c", 0.45),
        ("cardboard", "#a8814f", None),
        ("tape", "#c9b48a", 0.3),
        ("copper", "#a8643a", 0.3),
    ):
        f.plain(name, colour, rough)
    f.metal("chrome")
    f.metal("steel", "#b9babb", 0.3)
    f.mirror()
    f.fabric("curtain", "#cfc4a8", "check" if spec.kind == "kitchen" else "weave", "#a8483a")
    paint = linear(spec.paint) if isinstance(spec.paint, str) else spec.paint
    f.plain("paint", paint)
    accents = {wall: f.plain(f"accent_{wall}", colour) for wall, colour in spec.accents.items()}
    if spec.ceiling == "popcorn":
        f.rough_cast("ceiling", "#e4e0d6", 0.07, 56, 0.9)
    else:
        f.plain("ceiling", "#f0efea")
    floor_finish(f, spec.floor)
    w, d, h = spec.size or size
    room = Room(m, w, d, h, accents=accents, crown=spec.get("crown", False))
    return m, f, room


def corner(
    spec: RoomSpec, room: Room, aim: float = 0.5, high: float = 1.42, drop: float = 0.22
) -> View:
    """Camera in a front corner, looking to `aim` (share of the width) on the back wall."""
    rng = np.random.default_rng(spec.seed + 77)
    inward, forward, turn, lower = spec.get("roam", (0.0, 0.0, 0.0, 0.0))
    x = 0.28 + inward * (room.width / 2 - 0.28)
    x = room.width - x if spec.side > 0 else x
    aim, drop = aim + turn, drop + lower
    share = aim if spec.side > 0 else 1 - aim
    return View(
        (x, 0.22 + forward, high + float(rng.uniform(-0.08, 0.1))),
        (room.width * share + float(rng.uniform(-0.12, 0.12)), room.depth, high - drop),
        spec.fov,
    )


def facing(side: int, wall: str) -> str:
    """Swap left and right when the camera stands in the left corner."""
    return (
        wall if side > 0 or wall in ("back", "front") else {"left": "right", "right": "left"}[wall]
    )
