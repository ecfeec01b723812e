"""Kitchen cabinets, counters and appliances. Local x runs along the wall, y out of it, z up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .mesh import CABINET, OTHER, TILE, Model


@dataclass(frozen=True)
class CabinetStyle:
    """Finish and form of the cabinets."""

    front: str = "cabinet"
    counter: str = "counter"
    pull: str = "pull"
    panel: str = "raised"  # raised, recessed or slab
    pull_kind: str = "knob"  # knob or bar
    splash: str | None = None  # material of a tiled backsplash; None gives a short lip
    appliance: str = "appliance"
    base_depth: float = 0.6


def cabinet_door(
    m: Model,
    s: CabinetStyle,
    x0: float,
    x1: float,
    z0: float,
    z1: float,
    y: float,
    pull_at: str = "right-top",
    drawer: bool = False,
) -> None:
    """One door or drawer front, its face at `y` + 20 mm."""
    g, t = 0.004, 0.02
    x0, x1, z0, z1 = x0 + g, x1 - g, z0 + g, z1 - g
    m.box("gap", CABINET, (x0 - g, y - 0.002, z0 - g), (x1 + g, y + 0.0005, z1 + g))
    rail = min(0.06, (x1 - x0) * 0.28, (z1 - z0) * 0.3)
    if s.panel == "slab" or (drawer and s.panel != "recessed"):
        m.box(s.front, CABINET, (x0, y, z0), (x1, y + t, z1), "x" if drawer else "z")
    else:
        m.box(s.front, CABINET, (x0, y, z0), (x0 + rail, y + t, z1), "z")
        m.box(s.front, CABINET, (x1 - rail, y, z0), (x1, y + t, z1), "z")
        m.box(s.front, CABINET, (x0 + rail, y, z0), (x1 - rail, y + t, z0 + rail), "x")
        m.box(s.front, CABINET, (x0 + rail, y, z1 - rail), (x1 - rail, y + t, z1), "x")
        grain = "x" if drawer else "z"
        m.box(
            s.front, CABINET, (x0 + rail, y, z0 + rail), (x1 - rail, y + t * 0.5, z1 - rail), grain
        )
        if s.panel == "raised":
            e = 0.022
            m.box(
                s.front,
                CABINET,
                (x0 + rail + e, y, z0 + rail + e),
                (x1 - rail - e, y + t * 0.95, z1 - rail - e),
                grain,
            )
    cx = (x0 + x1) / 2 if drawer else (x0 + 0.03 if "left" in pull_at else x1 - 0.03)
    cz = (z0 + z1) / 2 if drawer else (z1 - 0.06 if "top" in pull_at else z0 + 0.06)
    if s.pull_kind == "knob":
        m.ball(s.pull, OTHER, (cx, y + t + 0.017, cz), (0.015, 0.013, 0.015), 10)
    else:
        dx, dz = (0.055, 0.0) if drawer else (0.0, 0.055)
        z = cz if drawer else cz - 0.03 * (1 if "top" in pull_at else -1)
        m.tube(
            s.pull,
            OTHER,
            [
                (cx - dx, y + t, z - dz),
                (cx - dx, y + t + 0.028, z - dz),
                (cx + dx, y + t + 0.028, z + dz),
                (cx + dx, y + t, z + dz),
            ],
            0.005,
        )


def doors(
    m: Model, s: CabinetStyle, x0: float, x1: float, z0: float, z1: float, y: float, top: bool
) -> None:
    """One door, or two where the cabinet is wider than 0.55 m, on a face frame."""
    where = "top" if top else "bottom"
    frame = 0.02
    if x1 - x0 > 0.55:
        mid = (x0 + x1) / 2
        cabinet_door(m, s, x0 + frame, mid, z0, z1, y, f"right-{where}")
        cabinet_door(m, s, mid, x1 - frame, z0, z1, y, f"left-{where}")
    else:
        cabinet_door(m, s, x0 + frame, x1 - frame, z0, z1, y, f"right-{where}")


def base_cabinet(m: Model, s: CabinetStyle, x0: float, x1: float, kind: str = "base") -> None:
    """Base cabinet with toe kick; `kind` base, drawers or sink."""
    d = s.base_depth
    m.box("toe", CABINET, (x0, 0, 0), (x1, d - 0.075, 0.1))
    m.box(s.front, CABINET, (x0, 0, 0.1), (x1, d, 0.87), "z")
    if kind == "drawers":
        for z0, z1 in ((0.12, 0.4), (0.4, 0.66), (0.66, 0.85)):
            cabinet_door(m, s, x0 + 0.02, x1 - 0.02, z0, z1, d, drawer=True)
    else:
        cabinet_door(m, s, x0 + 0.02, x1 - 0.02, 0.68, 0.85, d, drawer=True)
        doors(m, s, x0, x1, 0.12, 0.67, d, True)


def counter(
    m: Model, s: CabinetStyle, x0: float, x1: float, hole: tuple[float, float] | None = None
) -> None:
    """Counter top with a lip, open where a sink (centre, width) sits."""
    d, z0, z1 = s.base_depth + 0.03, 0.87, 0.908
    if hole is None:
        m.box(s.counter, CABINET, (x0, 0, z0), (x1, d, z1))
    else:
        a, b = hole[0] - hole[1] / 2, hole[0] + hole[1] / 2
        m.box(s.counter, CABINET, (x0, 0, z0), (a, d, z1))
        m.box(s.counter, CABINET, (b, 0, z0), (x1, d, z1))
        m.box(s.counter, CABINET, (a, 0, z0), (b, 0.12, z1))
        m.box(s.counter, CABINET, (a, d - 0.1, z0), (b, d, z1))
        basin(m, a, b, 0.12, d - 0.1, z1)
        tap(m, (hole[0], 0.08, z1))
    if s.splash:
        m.box(s.splash, TILE, (x0, 0, z1), (x1, 0.008, 1.37))
    else:
        m.box(s.counter, CABINET, (x0, 0, z1), (x1, 0.02, z1 + 0.1))


def basin(
    m: Model,
    a: float,
    b: float,
    y0: float,
    y1: float,
    top: float,
    deep: float = 0.17,
    mat: str = "steel",
    bowls: int = 2,
) -> None:
    """Recessed sink with a rim."""
    rim = 0.018
    for lo, hi in (
        ((a - rim, y0 - rim, top), (a + rim, y1 + rim, top + 0.006)),
        ((b - rim, y0 - rim, top), (b + rim, y1 + rim, top + 0.006)),
        ((a, y0 - rim, top), (b, y0 + rim, top + 0.006)),
        ((a, y1 - rim, top), (b, y1 + rim, top + 0.006)),
    ):
        m.box(mat, OTHER, lo, hi)
    z = top - deep
    m.quad(mat, OTHER, (a, y0, z), (b - a, 0, 0), (0, y1 - y0, 0))
    m.quad(mat, OTHER, (a, y0, z), (0, 0, deep), (b - a, 0, 0))
    m.quad(mat, OTHER, (a, y1, z), (b - a, 0, 0), (0, 0, deep))
    m.quad(mat, OTHER, (a, y0, z), (0, y1 - y0, 0), (0, 0, deep))
    m.quad(mat, OTHER, (b, y0, z), (0, 0, deep), (0, y1 - y0, 0))
    if bowls == 2:
        m.box(mat, OTHER, ((a + b) / 2 - 0.02, y0, z), ((a + b) / 2 + 0.02, y1, top + 0.004))


def tap(
    m: Model,
    at: tuple[float, float, float],
    height: float = 0.26,
    reach: float = 0.19,
    mat: str = "chrome",
) -> None:
    """Gooseneck tap with one lever."""
    x, y, z = at
    angle = np.linspace(0, np.pi, 9)
    arc = [
        (x, y + reach / 2 - reach / 2 * np.cos(t), z + height - reach / 2 + reach / 2 * np.sin(t))
        for t in angle
    ]
    m.tube(
        mat,
        OTHER,
        [(x, y, z), (x, y, z + height * 0.4), *arc, (x, y + reach, z + height * 0.45)],
        0.011,
    )
    m.lathe(mat, OTHER, at, [(0.028, 0), (0.026, 0.012), (0.016, 0.02)])
    m.tube(mat, OTHER, [(x + 0.02, y, z + 0.05), (x + 0.09, y, z + 0.085)], 0.007)


def upper_cabinet(
    m: Model,
    s: CabinetStyle,
    x0: float,
    x1: float,
    z0: float = 1.37,
    z1: float = 2.13,
    d: float = 0.32,
) -> None:
    """Wall cabinet."""
    m.box(s.front, CABINET, (x0, 0, z0), (x1, d, z1), "z")
    doors(m, s, x0, x1, z0 + 0.01, z1 - 0.01, d, False)


def handle(
    m: Model,
    a: tuple[float, ...],
    b: tuple[float, ...],
    out: float = 0.045,
    mat: str = "steel",
    r: float = 0.009,
) -> None:
    """Bar handle standing `out` along y."""
    m.tube(mat, OTHER, [a, (a[0], a[1] + out, a[2]), (b[0], b[1] + out, b[2]), b], r)


def stove(m: Model, s: CabinetStyle, x0: float, x1: float, smooth: bool = False) -> None:
    """Free-standing electric range, coil or smooth top, with backguard."""
    a, d = s.appliance, s.base_depth + 0.03
    m.rbox(a, OTHER, (x0 + 0.004, 0, 0.02), (x1 - 0.004, d, 0.9), 0.012)
    m.rbox(a, OTHER, (x0 + 0.012, d - 0.01, 0.24), (x1 - 0.012, d + 0.03, 0.78), 0.015)
    m.box("black_glass", OTHER, (x0 + 0.1, d + 0.028, 0.36), (x1 - 0.1, d + 0.032, 0.64))
    m.rbox(a, OTHER, (x0 + 0.012, d - 0.01, 0.05), (x1 - 0.012, d + 0.025, 0.225), 0.012)
    bar = "chrome" if a != "black_appliance" else "black_glass"
    handle(m, (x0 + 0.07, d + 0.025, 0.73), (x1 - 0.07, d + 0.025, 0.73), mat=bar, r=0.012)
    m.box("black_glass" if smooth else a, OTHER, (x0 + 0.004, 0.02, 0.9), (x1 - 0.004, d, 0.918))
    cx = (x0 + x1) / 2
    for dx, y, r in (
        (-0.18, 0.44, 0.1),
        (0.18, 0.44, 0.075),
        (-0.18, 0.2, 0.075),
        (0.18, 0.2, 0.1),
    ):
        if smooth:
            continue
        m.lathe(
            "steel", OTHER, (cx + dx, y, 0.918), [(r + 0.02, 0.004), (r, -0.006), (0.001, -0.01)]
        )
        for k in range(3):
            t = np.linspace(0, 2 * np.pi, 25)
            rr = r * (0.35 + 0.3 * k)
            m.tube(
                "coil",
                OTHER,
                [(cx + dx + rr * np.cos(q), y + rr * np.sin(q), 0.925) for q in t],
                0.007,
                8,
            )
    m.rbox(a, OTHER, (x0 + 0.004, 0.0, 0.9), (x1 - 0.004, 0.07, 1.09), 0.012)
    m.box("black_glass", OTHER, (cx - 0.12, 0.069, 0.97), (cx + 0.12, 0.0725, 1.05))
    for dx in (-0.3, -0.21, 0.21, 0.3):
        m.tube(
            "coil" if a == "appliance" else "chrome",
            OTHER,
            [(cx + dx, 0.065, 1.0), (cx + dx, 0.1, 1.0)],
            0.02,
        )


def refrigerator(
    m: Model, s: CabinetStyle, x0: float, width: float = 0.76, high: float = 1.7
) -> None:
    """Top-freezer refrigerator."""
    a, d, x1, split = s.appliance, 0.68, x0 + width, high * 0.68
    m.rbox(a, OTHER, (x0 + 0.005, 0.03, 0.02), (x1 - 0.005, d, high), 0.015)
    m.rbox(a, OTHER, (x0 + 0.005, d + 0.006, 0.07), (x1 - 0.005, d + 0.065, split - 0.004), 0.022)
    m.rbox(a, OTHER, (x0 + 0.005, d + 0.006, split + 0.004), (x1 - 0.005, d + 0.065, high), 0.022)
    m.box("gap", OTHER, (x0 + 0.02, d, 0.03), (x1 - 0.02, d + 0.05, 0.07))
    bar = "steel" if a != "appliance" else a
    for z0, z1 in ((split - 0.55, split - 0.08), (split + 0.07, high - 0.1)):
        handle(m, (x0 + 0.06, d + 0.06, z0), (x0 + 0.06, d + 0.06, z1), 0.045, bar, 0.013)


def dishwasher(m: Model, s: CabinetStyle, x0: float, x1: float) -> None:
    """Built-in dishwasher front."""
    d = s.base_depth
    m.box("toe", CABINET, (x0, 0, 0), (x1, d - 0.06, 0.1))
    m.rbox(s.appliance, OTHER, (x0 + 0.004, 0.02, 0.1), (x1 - 0.004, d + 0.025, 0.865), 0.012)
    m.box("black_glass", OTHER, (x0 + 0.01, d + 0.023, 0.77), (x1 - 0.01, d + 0.028, 0.85))
    handle(m, (x0 + 0.1, d + 0.02, 0.74), (x1 - 0.1, d + 0.02, 0.74), 0.03, "steel")


def hood(m: Model, s: CabinetStyle, x0: float, x1: float, microwave: bool) -> None:
    """Range hood, or a microwave in its place."""
    if microwave:
        m.rbox(s.appliance, OTHER, (x0, 0, 1.37), (x1, 0.38, 1.78), 0.012)
        m.box("black_glass", OTHER, (x0 + 0.03, 0.379, 1.42), (x1 - 0.2, 0.384, 1.73))
        m.box("gap", OTHER, (x1 - 0.17, 0.379, 1.42), (x1 - 0.03, 0.383, 1.73))
        handle(m, (x1 - 0.185, 0.38, 1.44), (x1 - 0.185, 0.38, 1.72), 0.03, "steel")
    else:
        m.box(s.appliance, OTHER, (x0, 0, 1.66), (x1, 0.3, 1.78))
        m.box(s.appliance, OTHER, (x0, 0, 1.62), (x1, 0.46, 1.68))


def run(
    m: Model,
    s: CabinetStyle,
    items: list[tuple[str, float]],
    uppers: bool = True,
    microwave: bool = False,
    smooth: bool = False,
    window: tuple[float, float] | None = None,
) -> float:
    """A straight run of `items` (kind, width) from local x = 0; returns its length.

    Kinds: base, drawers, sink, stove, dishwasher, fridge, tall, gap. Uppers stay clear of
    `window` (from, to) in local x.
    """
    x = 0.0
    for kind, width in items:
        x1 = x + width
        if kind in ("base", "drawers", "sink"):
            base_cabinet(m, s, x, x1, kind)
            counter(
                m, s, x, x1, (x + width / 2, min(0.7, width - 0.14)) if kind == "sink" else None
            )
        elif kind == "dishwasher":
            dishwasher(m, s, x, x1)
            counter(m, s, x, x1)
        elif kind == "stove":
            stove(m, s, x, x1, smooth)
            if s.splash:
                m.box(s.splash, TILE, (x, 0, 0.9), (x1, 0.008, 1.66))
        elif kind == "fridge":
            refrigerator(m, s, x + 0.01, width - 0.02)
        elif kind == "tall":
            m.box(s.front, CABINET, (x, 0, 0.1), (x1, s.base_depth, 2.13), "z")
            doors(m, s, x, x1, 0.12, 1.3, s.base_depth, True)
            doors(m, s, x, x1, 1.32, 2.11, s.base_depth, False)
        clear = window is None or x1 <= window[0] + 0.01 or x >= window[1] - 0.01
        if uppers and clear:
            if kind in ("base", "drawers", "sink", "dishwasher"):
                upper_cabinet(m, s, x, x1)
            elif kind == "stove":
                hood(m, s, x, x1, microwave)
                upper_cabinet(m, s, x, x1, 1.79)
            elif kind == "fridge":
                upper_cabinet(m, s, x, x1, 1.78, 2.13, 0.32)
        x = x1
    return x
