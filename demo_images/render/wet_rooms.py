"""Kitchens, bathrooms and laundry rooms."""

from __future__ import annotations

from . import furniture as fu
from . import small_things as small
from .bathroom import light_bar, mirror, switch_plate, toilet, towel_bar, tub, vanity
from .camera import View
from .kitchen import CabinetStyle, run
from .materials import Finishes
from .mesh import OTHER, Model
from .room_spec import RoomSpec, corner, facing, start
from .shell import Room, ceiling_light


def kitchen(spec: RoomSpec) -> tuple[Model, View]:
    """L- or single-run kitchen."""
    m, f, room = start(spec, (3.5, 3.4, 2.44))
    g = spec.get
    if g("wood", True):
        f.wood("cabinet", g("cabinet", "#a8712f"), 0.35)
    else:
        f.plain("cabinet", g("cabinet", "#e9e7e0"), 0.35)
    f.stone("counter", *g("counter", ("#b9a98a", "#8f7c5c")), amount=0.3, rough=g("gloss", 0.3))
    f.metal("pull", g("pull", "#b08d57"), 0.3)
    splash = None
    if g("splash"):
        f.tile("splash", g("splash"), g("grout", "#cfcac0"), (0.15, 0.075), True, rough=0.12)
        splash = "splash"
    look = g("appliance", "#eeece4")
    if look == "steel":
        f.metal("appliance", "#b4b5b6", 0.35)
    else:
        f.plain("appliance", look, 0.25)
    style = CabinetStyle(
        panel=g("panel", "raised"), pull_kind=g("pull_kind", "knob"), splash=splash
    )
    far = facing(spec.side, "left")
    items = g(
        "items",
        [("fridge", 0.8), ("base", 0.45), ("stove", 0.76), ("base", 0.5), ("drawers", 0.45)],
    )
    total = sum(w for _, w in items)
    at, yaw = room.frame("back", room.width - 0.02)
    room.skip_base = {"back": [(room.width - total - 0.02, room.width)]}
    second = g("second", [("corner", 0.63), ("base", 0.6), ("sink", 0.9), ("dishwasher", 0.6)])
    with_second = bool(second)
    length = sum(w for _, w in second)
    win_centre = room.depth - 0.63 - 0.6 - 0.45
    if with_second:
        room.skip_base[far] = [(room.depth - length, room.depth)]
        room.hole(
            "window",
            far,
            win_centre,
            0.95,
            1.1,
            2.05,
            cover=spec.cover,
            floor_length=False,
            lites=g("lites", 1),
            open=0.55,
        )
    else:
        room.hole(
            "window",
            far,
            room.depth * 0.5,
            1.1,
            0.9,
            2.05,
            cover=spec.cover,
            open=0.5,
            floor_length=False,
        )
    room.build(spec.light, spec.level, spec.sun)
    if spec.side > 0:  # main run along the back wall, fridge towards the camera's side
        with m.at(at, yaw):
            run(m, style, items, microwave=g("microwave", False), smooth=g("smooth", False))
    else:
        with m.at(room.frame("back", total + 0.02)[0], 180):
            run(m, style, items[::-1], microwave=g("microwave", False), smooth=g("smooth", False))
    if with_second:
        flip = far == "left"
        order = [("base" if k == "corner" else k, w) for k, w in second]
        origin, turn = (
            room.frame("left", room.depth) if flip else room.frame("right", room.depth - length)
        )
        start_x = length - (0.63 + 0.6 + 0.9) if not flip else 1.23
        with m.at(origin, turn):
            run(
                m,
                style,
                order if flip else order[::-1],
                window=(start_x, start_x + 0.9) if g("uppers2", True) else None,
                uppers=g("uppers2", True),
            )
    ceiling_light(m, spec.fixture, (room.width / 2, room.depth * 0.45, room.height), spec.lamp)
    if with_second:
        clutter_kitchen(m, f, room, g("clutter", 3), far)
    if g("table"):
        f.wood("table", "#8a5a30", 0.4)
        with m.at((room.width * (0.62 if spec.side > 0 else 0.38), room.depth * 0.42, 0)):
            fu.table(m, 0.9, 0.75, 0.75, "table")
            for yaw2, off in ((0, -0.62), (180, 0.62)):
                with m.at((0, off, 0), yaw2):
                    fu.chair(m, "table")
    return m, corner(spec, room, 0.38, 1.45, 0.3)


def clutter_kitchen(m: Model, f: Finishes, room: Room, count: int, far: str) -> None:
    """Small things on the counters."""
    inks = ["#a33b2a", "#2f6f73", "#d8c9a0", "#e9e9e6", "#3d5a34", "#c98b2b"]
    for i in range(count):
        name = f.plain(f"thing{i}", inks[int(m.rng.integers(len(inks)))], 0.25)
        y = room.depth - 0.75 - m.rng.uniform(0, 0.5) - 0.9 * (i % 2)
        x = m.rng.uniform(0.12, 0.3)
        spot = (x if far == "left" else room.width - x, y, 0.908)
        if i % 3 == 2:
            m.lathe(
                name,
                OTHER,
                spot,
                [(0.07, 0), (0.13, 0.05), (0.14, 0.07), (0.12, 0.06), (0.001, 0.02)],
            )
        elif i % 3 == 1:
            m.rbox(
                name,
                OTHER,
                (spot[0] - 0.08, y - 0.13, 0.908),
                (spot[0] + 0.08, y + 0.13, 1.1),
                0.03,
            )
        else:
            small.vase(m, spot, name, m.rng.uniform(0.8, 1.2))


def bathroom(spec: RoomSpec) -> tuple[Model, View]:
    """Vanity and toilet on the back wall, tub along a side wall."""
    m, f, room = start(spec, (2.45, 2.7, 2.44))
    g = spec.get
    if g("wood", False):
        f.wood("vanity", g("cabinet", "#a8712f"), 0.35)
    else:
        f.plain("vanity", g("cabinet", "#e9e7e0"), 0.35)
    f.stone("top", *g("counter", ("#e8e6df", "#d6d2c6")), amount=0.2, rough=0.15)
    f.metal("pull", g("pull", "#b9b9b9"), 0.25)
    f.plain("porcelain", g("porcelain", "#efefeb"), 0.08)
    f.wood("frame", g("frame", "#5b3d26"), 0.4)
    f.fabric("towel", g("towel", "#7d98a8"))
    f.fabric(
        "shower",
        g("curtain", "#d9d6cc"),
        g("curtain_pattern", "stripe"),
        g("curtain_second", "#a8b8b4"),
    )
    if g("tile"):
        f.tile(
            "tub_tile",
            g("tile"),
            g("grout", "#d2cec4"),
            g("tile_size", (0.15, 0.15)),
            g("bond", False),
            rough=0.12,
        )
    style = CabinetStyle(
        front="vanity", counter="top", panel=g("panel", "raised"), pull_kind=g("pull_kind", "knob")
    )
    tub_wall = facing(spec.side, "left")
    width = g("vanity", 0.76)
    long = min(room.depth, 1.62)
    w = room.width
    far_x = w - 0.1 if tub_wall == "left" else 0.1
    vanity_u = far_x - width / 2 if tub_wall == "left" else far_x + width / 2
    toilet_u = 1.06 if tub_wall == "left" else w - 1.06
    room.skip_base = {tub_wall: [(room.depth - long, room.depth)]}
    if g("window", True):
        wall = g("window_wall", tub_wall)
        if wall == tub_wall:
            room.hole(
                "window", wall, room.depth - long / 2, 0.6, 1.5, 2.1, cover=spec.cover, open=0.4
            )
        else:
            room.hole("window", wall, toilet_u, 0.55, 1.3, 2.05, cover=spec.cover, open=0.4)
    room.build(spec.light, spec.level, spec.sun)
    with m.at(*room.frame("back", vanity_u)):
        vanity(m, style, width, g("pedestal", False))
        mirror(m, min(width, 0.9) * 0.92, 1.02, 1.82, "frame" if g("framed", True) else None)
        light_bar(m, 1.98, spec.lamp, 3 if width < 0.9 else 4, g("bulbs", "globe"))
        with m.at((width / 2 + 0.1 if tub_wall == "right" else -width / 2 - 0.1, 0, 0)):
            switch_plate(m)
    with m.at(*room.frame("back", toilet_u)):
        toilet(m)
    end = (
        room.frame("left", room.depth)
        if tub_wall == "left"
        else room.frame("right", room.depth - long)
    )
    with m.at(*end):
        tub(
            m,
            long,
            "tub_tile" if g("tile") else None,
            "shower" if g("shower", True) else None,
            end_high="left" if tub_wall == "left" else "right",
            sill=1.42 if g("window", True) and g("window_wall", tub_wall) == tub_wall else None,
        )
    if not g("shower", True) and m.rng.random() < 0.7:
        other = facing(-spec.side, "left")
        with m.at(*room.frame(other, room.depth * 0.62)):
            towel_bar(m, 1.35, "towel")
    if g("rug"):
        f.fabric("bath_rug", g("rug"))
        small.rug(
            m,
            (w * 0.58 if tub_wall == "left" else w * 0.42, room.depth - 0.95),
            (0.8, 0.5),
            "bath_rug",
        )
    small.vase(
        m, (vanity_u - width * 0.33, room.depth - 0.16, 0.835), f.plain("soap", "#4f8f86", 0.2), 0.6
    )
    if g("ceiling_light", True):
        ceiling_light(
            m,
            "dome",
            (w * 0.6, room.depth * 0.5, room.height),
            spec.lamp and tuple(0.5 * v for v in spec.lamp),
        )
    view = corner(spec, room, 0.44, 1.45, 0.36)
    return m, view


def laundry(spec: RoomSpec) -> tuple[Model, View]:
    """Washer, dryer, shelf and water heater."""
    m, f, room = start(spec, (2.6, 2.6, 2.44))
    f.plain("appliance", "#ebebe8", 0.25)
    f.plain("heater", "#cfd3d2", 0.35)
    f.wood("shelf", "#b08a58", 0.5)
    room.hole("window", facing(spec.side, "left"), 1.5, 0.6, 1.3, 2.0, cover=spec.cover, open=0.4)
    room.build(spec.light, spec.level, spec.sun)
    far = 1 if spec.side > 0 else -1
    for i, x in enumerate((room.width / 2 - far * 0.45, room.width / 2 + far * 0.28)):
        with m.at(*room.frame("back", x)):
            fu.washer(m, front_load=i == 1)
    with m.at((room.width - 0.36 if far > 0 else 0.36, room.depth - 0.42, 0), 200):
        fu.tank(m, "heater")
    with m.at(*room.frame("back", room.width / 2)):
        m.box("shelf", OTHER, (-0.95, 0, 1.6), (0.95, 0.3, 1.625))
        for i, c in enumerate(("#c9422f", "#2f6fb0", "#e3e1da", "#d9a62e", "#5c8a4a")):
            x = -0.8 + i * 0.32
            f.plain(f"jug{i}", c, 0.3)
            m.rbox(f"jug{i}", OTHER, (x, 0.06, 1.625), (x + 0.15, 0.2, 1.86), 0.04)
    ceiling_light(m, spec.fixture, (room.width / 2, room.depth / 2, room.height), spec.lamp)
    return m, corner(spec, room, 0.45, 1.45, 0.35)
