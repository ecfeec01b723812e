"""Bedrooms, living rooms, halls and basements."""

from __future__ import annotations

import numpy as np

from . import furniture as fu
from . import small_things as small
from .bathroom import switch_plate
from .camera import View
from .mesh import OTHER, Model
from .room_spec import RoomSpec, corner, facing, floor_finish, start
from .shell import ceiling_light


def bedroom(spec: RoomSpec) -> tuple[Model, View]:
    """Bed, stands, dresser, window and perhaps a closet."""
    m, f, room = start(spec, (3.5, 3.8, 2.44))
    g = spec.get
    f.wood("wood", g("furniture", "#7a4b2a"), 0.35)
    f.fabric("cover", *g("cover", ("#7d8fa3", "weave")))
    f.fabric("pillow", g("pillow", "#e9e6dd"))
    f.fabric("curtain", *g("curtain", ("#b9a88a", "weave")))
    f.plain("lamp_body", g("lamp_body", "#39606a"), 0.2)
    f.wood("frame", "#2c231c", 0.4)
    far = facing(spec.side, "left")
    bed_wall = g("bed_wall", "back")
    window_wall = g("window_wall", far)
    along = 0.5 if window_wall == "back" else 0.55
    room.hole(
        "window",
        window_wall,
        room.length(window_wall) * g("window_at", along),
        g("window_w", 1.3),
        0.82,
        2.02,
        sashes=g("sashes", 2),
        cover=spec.cover,
        lites=g("lites", 1),
        open=g("open", 0.15),
        slat=g("slat", 30),
    )
    if g("closet"):
        wall = g("closet_wall", facing(spec.side, "right") if window_wall != "back" else far)
        if g("closet_floor"):
            floor_finish(f, g("closet_floor"), "closet_floor")
        if g("closet_paint"):
            f.plain("closet_paint", g("closet_paint"))
        room.hole(
            "closet",
            wall,
            room.length(wall) * g("closet_at", 0.6),
            g("closet_w", 1.5),
            0,
            2.03,
            clothes=g("clothes", 8),
            floor="closet_floor" if g("closet_floor") else "floor",
            paint="closet_paint" if g("closet_paint") else "paint",
            doors=g("closet") == "doors",
        )
    if g("door"):
        room.hole("door", facing(spec.side, "right"), room.depth * 0.72, 0.78, 0, 2.03)
    room.build(spec.light, spec.level, spec.sun)
    lamp = spec.lamp
    if g("bed", True):
        width = g("bed_w", 1.4)
        u = room.length(bed_wall) * g("bed_at", 0.55)
        with m.at(*room.frame(bed_wall, u)):
            fu.bed(m, width, "wood", "cover", "pillow")
            for s in (-1, 1) if g("stands", 2) == 2 else (1,):
                with m.at((s * (width / 2 + 0.33), 0, 0)):
                    fu.drawers(m, 0.45, 0.55, 0.38, "wood", 2, 1, "knob")
                    small.table_lamp(
                        m, (0, 0.2, 0.572), "lamp_body", lamp if g("lamps_on", True) else None
                    )
            if g("picture", True):
                small.picture(m, 0.7, 0.5, 1.6, "frame")
    if g("dresser", True):
        wall = g("dresser_wall", far)
        with m.at(*room.frame(wall, room.length(wall) * g("dresser_at", 0.2))):
            fu.drawers(m, 1.0, 0.82, 0.46, "wood", 3, 2, "knob")
            small.vase(m, (0.2, 0.2, 0.842), f.plain("vase", g("vase", "#a8653a"), 0.2), 1.3)
    if g("rug"):
        f.fabric("rug", *g("rug"))
        small.rug(m, (room.width * 0.5, room.depth * 0.38), (1.6, 1.1), "rug")
    for i in range(g("boxes", 0)):
        small.carton(
            m,
            (room.width * (0.3 + 0.16 * i), room.depth - 0.4 - 0.12 * i, 0),
            (0.42, 0.36, 0.34),
            m.rng.uniform(-30, 30),
        )
    if g("ceiling_light", True):
        ceiling_light(
            m,
            spec.fixture,
            (room.width / 2, room.depth / 2, room.height),
            lamp if g("ceiling_on", True) else None,
        )
    return m, corner(spec, room, g("aim", 0.42), 1.4, 0.24)


def living(spec: RoomSpec) -> tuple[Model, View]:
    """Sofa, table, lamp, screen, shelf and a wide window."""
    m, f, room = start(spec, (4.6, 4.4, 2.44))
    g = spec.get
    f.wood("wood", g("furniture", "#6b4526"), 0.35)
    f.fabric("cloth", *g("sofa", ("#6d7178", "weave")))
    f.fabric("cushion", *g("cushion", ("#c98b2b", "weave")))
    f.fabric("curtain", *g("curtain", ("#a59a86", "weave")))
    f.wood("frame", "#2c231c", 0.4)
    far = facing(spec.side, "left")
    near = facing(spec.side, "right")
    room.hole(
        "window",
        g("window_wall", far),
        room.depth * 0.58,
        g("window_w", 1.9),
        0.7,
        2.05,
        sashes=2,
        cover=spec.cover,
        lites=g("lites", 1),
        open=0.2,
    )
    if g("opening", True):
        room.hole(
            "opening",
            "back",
            room.width * (0.8 if spec.side > 0 else 0.2),
            0.95,
            0,
            2.05,
            glow=0.05 * spec.level if spec.lamp is None else 0.6 * spec.lamp[0],
        )
    room.build(spec.light, spec.level, spec.sun)
    if g("furnished", True):
        x = room.width * (0.4 if spec.side > 0 else 0.6)
        with m.at(*room.frame("back", x)):
            fu.sofa(m, 2.0, "cloth", "cushion")
            if g("picture", True):
                small.picture(m, 0.9, 0.6, 1.55, "frame")
        floor_x = 0.42 if spec.side > 0 else room.width - 0.42
        small.floor_lamp(m, (floor_x, room.depth - 0.4, 0), spec.lamp)
        f.fabric("rug", *g("rug", ("#8a5a44", "check", "#cbb894")))
        small.rug(m, (x, room.depth - 1.75), (2.4, 1.6), "rug")
        with m.at((x, room.depth - 1.65, 0)):
            fu.table(m, 1.05, 0.55, 0.44, "wood")
        small.vase(m, (x + 0.2, room.depth - 1.65, 0.44), f.plain("vase", "#35686b", 0.2))
        if g("screen", True):
            with m.at(*room.frame(near, room.depth * 0.62)):
                fu.drawers(m, 1.3, 0.52, 0.42, "wood", 2, 2, "knob")
                small.television(m, 1.0, 0.545)
        if g("plant", True):
            small.plant(m, (0.5 if far == "left" else room.width - 0.5, 1.2, 0), 1.0)
    for i in range(g("boxes", 0)):
        small.carton(
            m,
            (room.width * (0.25 + 0.14 * i), room.depth - 0.4 - 0.1 * i, 0),
            (0.42, 0.36, 0.34),
            m.rng.uniform(-30, 30),
        )
    if g("shelf"):
        with m.at(*room.frame(far, 0.75)):
            fu.shelf(m, 0.8, 1.8, "wood")
    ceiling_light(m, spec.fixture, (room.width / 2, room.depth / 2, room.height), spec.lamp)
    return m, corner(spec, room, 0.42, 1.42, 0.2)


def hall(spec: RoomSpec) -> tuple[Model, View]:
    """Corridor with doors, a closet and a lit end."""
    m, f, room = start(spec, (1.2, 4.8, 2.44))
    g = spec.get
    f.wood("frame", "#3a2b20", 0.4)
    f.plain("door_leaf", g("door", spec.trim), 0.4)
    if g("wood_door"):
        f.wood("door_leaf", g("wood_door"), 0.35)
    style = g("door_style", "panel")
    for wall, u in (("left", 1.9), ("left", 3.6), ("right", 2.6)):
        room.hole("door", wall, u, 0.76, 0, 2.03, finish="door_leaf", style=style, hinge=-1)
    if g("closet"):
        floor_finish(f, g("closet_floor", ("subfloor", "#8a7453")), "closet_floor")
        room.hole("closet", "right", 3.9, 0.9, 0, 2.03, clothes=4, floor="closet_floor")
    if g("end", "window") == "window":
        room.hole("window", "back", 0.6, 0.7, 0.8, 2.0, cover=spec.cover, open=0.4)
    else:
        room.hole(
            "opening",
            "back",
            0.6,
            0.85,
            0,
            2.05,
            glow=0.25 if spec.lamp is None else 0.5 * spec.lamp[0],
        )
    room.build(spec.light, spec.level, spec.sun)
    with m.at(*room.frame("left", 2.75)):
        small.picture(m, 0.35, 0.45, 1.55, "frame")
    with m.at(*room.frame("right", 2.0)):
        switch_plate(m)
    if g("runner"):
        f.fabric("runner", *g("runner"))
        small.rug(m, (0.6, 2.9), (0.7, 2.6), "runner")
    ceiling_light(m, spec.fixture, (0.6, 2.6, room.height), spec.lamp)
    return m, View((0.66, 0.12, 1.45), (0.58, 4.8, 1.2), spec.fov)


def basement(spec: RoomSpec) -> tuple[Model, View]:
    """Block walls, open joists, post, furnace, water heater."""
    m, f, room = start(spec, (5.2, 5.0, 2.3))
    f.tile(
        "paint", spec.get("block", "#8f8d86"), "#6f6d67", (0.4, 0.2), True, rough=0.9, mottle=0.12
    )
    f.plain("ceiling", "#57452f")
    f.wood("joist", "#a08055", 0.7)
    f.plain("furnace", "#8d939a", 0.4)
    f.metal("duct", "#a9abad", 0.4)
    f.plain("heater", "#c9cdcc", 0.35)
    f.plain("post", "#7a2f24", 0.5)
    f.plain("appliance", "#e6e6e2", 0.25)
    room.baseboard = 0.0
    room.hole("window", "back", 3.6, 0.8, 1.6, 2.05, bare=True)
    room.build(spec.light, spec.level, spec.sun)
    for x in np.arange(0.2, room.width, 0.406):
        m.box(
            "joist",
            OTHER,
            (x - 0.02, 0, room.height - 0.2),
            (x + 0.02, room.depth, room.height),
            "y",
        )
    m.box("joist", OTHER, (0, 2.55, room.height - 0.4), (room.width, 2.68, room.height - 0.2), "x")
    m.tube("post", OTHER, [(2.9, 2.6, 0), (2.9, 2.6, room.height - 0.4)], 0.045)
    m.rbox("furnace", OTHER, (0.5, room.depth - 0.9, 0.05), (1.1, room.depth - 0.15, 1.45), 0.02)
    m.box("gap", OTHER, (0.58, room.depth - 0.905, 0.15), (1.02, room.depth - 0.898, 0.55))
    m.box("duct", OTHER, (0.55, room.depth - 0.8, 1.45), (1.05, room.depth - 0.3, 2.1))
    m.box("duct", OTHER, (0.55, room.depth - 0.75, 1.8), (4.6, room.depth - 0.4, 2.08))
    with m.at((1.6, room.depth - 0.5, 0), 180):
        fu.tank(m, "heater")
    with m.at(*room.frame("left", 2.6)):
        fu.washer(m)
    with m.at(*room.frame("left", 1.85)):
        fu.washer(m, front_load=True)
    for i in range(4):
        small.carton(
            m,
            (4.4 - 0.35 * (i % 2), 3.9 - 0.5 * (i // 2), 0),
            (0.45, 0.4, 0.36),
            m.rng.uniform(0, 40),
        )
    for y in (1.6, 3.6):
        ceiling_light(
            m, "bulb", (2.5, y, room.height - 0.1), spec.lamp and tuple(6 * v for v in spec.lamp)
        )
    return m, corner(spec, room, 0.35, 1.5, 0.3)
