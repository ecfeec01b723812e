"""Random rooms with exact truth, to train and judge the reading of photos; and repaint pairs."""

from __future__ import annotations

import csv
import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from .camera import Shot, render
from .develop import Development, develop, illuminant, meter
from .materials import RGB, encode, lab_to_linear, luminance
from .rooms import RoomSpec, build

KINDS = ("kitchen", "bathroom", "bedroom", "bedroom", "kitchen", "bathroom", "living", "hall")
SIZE = (512, 384)
AREAS = {"ceiling": 2, "floor": 3, "window": 4, "lamp": 5, "cabinet": 6, "trim": 8, "mirror": 9}


def lab(rgb: RGB) -> tuple[float, float, float]:
    """CIE L*a*b* (D65) of linear sRGB."""
    matrix = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    t = matrix @ np.array(rgb) / [0.95047, 1.0, 1.08883]
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return (float(116 * f[1] - 16), float(500 * (f[0] - f[1])), float(200 * (f[1] - f[2])))


def hex_colour(rgb: RGB) -> str:
    """sRGB hex of linear values."""
    return "#" + "".join(f"{v:02x}" for v in np.rint(encode(np.array(rgb)) * 255).astype(int))


def paint_of(rng: np.random.Generator, lrv: float) -> RGB:
    """A paint with light reflectance `lrv` [0..100] and a random hue; about half near neutral."""
    lightness = 116 * (lrv / 100) ** (1 / 3) - 16
    for _ in range(200):
        if rng.random() < 0.5:
            chroma, hue = rng.uniform(0, 9), np.radians(rng.normal(85, 40))
        else:
            chroma, hue = rng.uniform(10, 42), rng.uniform(0, 2 * np.pi)
        rgb = lab_to_linear(lightness, chroma * np.cos(hue), chroma * np.sin(hue))
        if abs(100 * luminance(rgb) - lrv) < max(1.0, 0.04 * lrv):
            return rgb
    grey = lrv / 100
    return (grey, grey, grey)


def _pick(rng: np.random.Generator, *choices: Any) -> Any:
    return choices[int(rng.integers(len(choices)))]


def _floor(rng: np.random.Generator, kind: str) -> tuple[str, ...]:
    soft = [
        ("carpet", _pick(rng, "#a89a82", "#6f6a66", "#c9bda6", "#5a6672", "#7a5a48", "#8f8a5e")),
        ("planks", _pick(rng, "#9a6a3c", "#5b3b25", "#c59a63", "#8d8a84", "#a9784a"), "0.1"),
    ]
    hard = [
        ("vinyl", _pick(rng, "#b79f74", "#a89a86", "#8f9a94", "#c2b7a2")),
        ("tile", _pick(rng, "#c9c2b2", "#8a8478", "#6b6a68", "#d8d4ca", "#a8785a")),
        ("checker", _pick(rng, "#1c1c1e", "#5a2a22", "#2d4a3e"), "#ddd9cc"),
        ("planks", _pick(rng, "#8d8a84", "#9a6a3c", "#6b5140"), "0.15"),
    ]
    return tuple(_pick(rng, *(hard if kind in ("kitchen", "bathroom") else soft)))


def random_spec(seed: int, kind: str, paint: RGB) -> RoomSpec:
    """A random room of `kind` with the given wall paint."""
    rng = np.random.default_rng(9000 + seed)
    light = _pick(rng, "day", "day", "overcast", "night")
    warm = rng.uniform(0.35, 1.0)
    bright = rng.uniform(2.5, 9.0)
    lit = light == "night" or rng.random() < 0.55
    lamp = (bright, bright * (0.62 + 0.36 * warm), bright * (0.26 + 0.7 * warm)) if lit else None
    woods = ("#a8712f", "#8a5526", "#5b3420", "#3a241a", "#c79a5c", "#9c6b3f")
    paints = ("#e9e7e0", "#d9d4c6", "#5a6b70", "#2f3b46", "#7f8f7a", "#c2c4c2")
    wood = rng.random() < 0.55
    option: dict[str, Any] = {
        "wood": wood,
        "cabinet": _pick(rng, *(woods if wood else paints)),
        "panel": _pick(rng, "raised", "recessed", "slab"),
        "pull_kind": _pick(rng, "knob", "bar"),
        "counter": _pick(
            rng,
            ("#b9a98a", "#8f7c5c"),
            ("#2b2b2d", "#6b6b6b"),
            ("#e6e4de", "#b9b4a8"),
            ("#8a7a66", "#4d4238"),
            ("#6f7a74", "#c9cdc4"),
        ),
        "appliance": _pick(rng, "#eeece4", "#e2d9bd", "steel", "#1a1a1b", "#eeece4"),
        "porcelain": _pick(rng, "#efefeb", "#efefeb", "#e6dcc4", "#d9c3c0"),
    }
    if kind == "kitchen":
        option |= {
            "splash": _pick(rng, None, None, "#e6e3da", "#8fa39a", "#3b4a54", "#c9b08a"),
            "microwave": rng.random() < 0.4,
            "smooth": rng.random() < 0.4,
            "clutter": int(rng.integers(0, 6)),
            "lites": _pick(rng, 1, 1, 2),
            "uppers2": rng.random() < 0.6,
            "table": rng.random() < 0.25,
        }
        if rng.random() < 0.35:
            option |= {
                "second": [],
                "items": [
                    ("fridge", 0.8),
                    ("base", 0.45),
                    ("sink", 0.85),
                    ("stove", 0.76),
                    ("base", 0.5),
                ],
            }
    elif kind == "bathroom":
        option |= {
            "tile": _pick(
                rng, None, "#e8e6df", "#e6e6e4", "#23262a", "#8fa8a4", "#b58f72", "#d9a8a0"
            ),
            "bond": rng.random() < 0.5,
            "tile_size": _pick(rng, (0.11, 0.11), (0.15, 0.075), (0.3, 0.15)),
            "shower": rng.random() < 0.55,
            "curtain": hex_colour(tuple(rng.uniform(0.05, 0.8, 3))),
            "curtain_pattern": _pick(rng, "weave", "stripe", "dots", "leaves"),
            "pedestal": rng.random() < 0.2,
            "window": rng.random() < 0.7,
            "framed": rng.random() < 0.6,
            "bulbs": _pick(rng, "globe", "shade"),
            "rug": _pick(rng, None, "#7d98a8", "#a33b2a", "#d9d2c0"),
        }
    elif kind == "bedroom":
        option |= {
            "furniture": _pick(rng, *woods, "#e6e2d8"),
            "cover": (
                hex_colour(tuple(rng.uniform(0.03, 0.7, 3))),
                _pick(rng, "weave", "weave", "stripe", "check", "dots", "leaves"),
            ),
            "closet": _pick(rng, False, True, "doors"),
            "bed": rng.random() < 0.85,
            "dresser": rng.random() < 0.7,
            "boxes": _pick(rng, 0, 0, 3),
            "bed_w": _pick(rng, 0.99, 1.4, 1.55),
            "lamps_on": rng.random() < 0.8,
            "window_wall": _pick(rng, "left", "right", "back"),
            "bed_wall": "back",
            "clothes": int(rng.integers(0, 12)),
            "sashes": _pick(rng, 1, 2),
            "window_w": rng.uniform(0.8, 1.6),
            "rug": _pick(rng, None, ("#8a5a44", "stripe")),
        }
        if option["window_wall"] == "back":
            option |= {
                "bed_wall": "left" if rng.random() < 0.5 else "right",
                "dresser": False,
                "closet": False,
                "window_w": min(option["window_w"], 1.3),
            }
    elif kind == "living":
        option |= {
            "sofa": (hex_colour(tuple(rng.uniform(0.03, 0.6, 3))), "weave"),
            "furnished": rng.random() < 0.8,
            "shelf": rng.random() < 0.4,
            "rug": (
                hex_colour(tuple(rng.uniform(0.03, 0.6, 3))),
                _pick(rng, "check", "weave", "leaves"),
            ),
            "opening": rng.random() < 0.7,
        }
    else:
        option |= {
            "end": _pick(rng, "window", "opening"),
            "closet": rng.random() < 0.5,
            "wood_door": _pick(rng, None, None, "#8a5526"),
        }
    if lamp is None and kind == "bathroom" and not option["window"]:
        lamp = (bright, 0.9 * bright, 0.75 * bright)  # else no light at all
    base = {
        "kitchen": (3.5, 3.4),
        "bathroom": (2.45, 2.7),
        "bedroom": (3.5, 3.8),
        "living": (4.6, 4.4),
        "hall": (1.2, 4.8),
    }[kind]
    grow = rng.uniform(0.0, 0.5, 2) * (0.3 if kind == "hall" else 1.0)
    return RoomSpec(
        kind,
        seed=seed,
        paint=paint,
        size=(base[0] + grow[0], base[1] + grow[1], rng.uniform(2.35, 2.7)),
        trim=_pick(rng, "#efede6", "#efede6", "#f2f2f0", "#e3dcc8", "#c9a878", "#6b4526"),
        metal=_pick(rng, "#cfcfcf", "brass"),
        ceiling=_pick(rng, "smooth", "popcorn"),
        floor=_floor(rng, kind),
        light=light,
        level=rng.uniform(4, 14),
        sun=light == "day" and rng.random() < 0.3,
        lamp=lamp,
        fixture=_pick(rng, "dome", "dome", "tube", "cans", "fan", "bulb"),
        cover=_pick(rng, None, "blinds", "shade", "curtain"),
        fov=rng.uniform(66, 90),
        side=_pick(rng, 1, -1),
        option={
            **option,
            "roam": (
                rng.uniform(0, 0.4),
                rng.uniform(0, 0.5),
                rng.uniform(-0.2, 0.25),
                rng.uniform(-0.1, 0.25),
            ),
        },
    )


def truth_of(shot: Shot, paint: RGB, spec: RoomSpec) -> dict[str, Any]:
    """Columns of truth.csv that do not change between versions."""
    value = 100 * luminance(paint)
    lightness, a, b = lab(paint)
    row: dict[str, Any] = {
        "kind": spec.kind,
        "wall_lrv": round(value, 2),
        "wall_srgb_hex": hex_colour(paint),
        "wall_lab_L": round(lightness, 2),
        "wall_lab_a": round(a, 2),
        "wall_lab_b": round(b, 2),
        "tone": "dark" if value < 25 else "mid" if value < 60 else "light",
        "wall_fraction_of_frame": round(float((shot.codes == 1).mean()), 4),
        "light": spec.light,
        "sun": int(spec.sun),
        "lamp_on": int(spec.lamp is not None),
        "tile_fraction": round(float((shot.codes == 10).mean()), 4),
    }
    for name, code in AREAS.items():
        row[f"{name}_fraction"] = round(float((shot.codes == code).mean()), 4)
    return row


def save_masks(shot: Shot, folder: Path, stem: str) -> dict[str, str]:
    """Write the surface map, and the wall tile beside it where there is some."""
    plain = np.where(shot.codes == 10, 7, shot.codes).astype(np.uint8)
    Image.fromarray(plain).save(folder / f"{stem}_mask.png")
    names = {"mask": f"{stem}_mask.png", "tile_mask": ""}
    if (shot.codes == 10).any():
        Image.fromarray((shot.codes == 10).astype(np.uint8)).save(folder / f"{stem}_tile.png")
        names["tile_mask"] = f"{stem}_tile.png"
    return names


def train_scene(number: int, total: int, folder: Path, spp: int = 128) -> list[dict[str, Any]]:
    """Render scene `number` of `total` in three photographic versions; return its truth rows."""
    rng = np.random.default_rng(500 + number)
    kind = KINDS[number % len(KINDS)]
    place = (number * 0.6180339887) % 1.0  # even spread whatever the count
    paint = paint_of(rng, 4 + 86 * place)
    spec = random_spec(number, kind, paint)
    model, view = build(spec)
    shot = render(model, view, SIZE, spp)
    stem = f"{number:03d}_{kind}"
    fixed = {**truth_of(shot, paint, spec), **save_masks(shot, folder, stem)}
    third = _pick(rng, "bright", "warm", "cool")
    rows = []
    for version in ("normal", "dark", third):
        ev = {
            "normal": rng.normal(0.1, 0.3),
            "dark": rng.uniform(-2.2, -1.0),
            "bright": rng.uniform(0.6, 1.3),
        }.get(version, rng.normal(0, 0.4))
        warmth = {"warm": rng.uniform(0.25, 0.6), "cool": -rng.uniform(0.2, 0.5)}.get(
            version, rng.normal(0, 0.08)
        )
        how = Development(
            ev=float(ev),
            balance=float(rng.uniform(0.35, 1.0)),
            warmth=float(warmth),
            tint=float(rng.normal(0, 0.05)),
            curve=float(rng.uniform(0, 0.7)),
            glare=float(rng.uniform(0.005, 0.06)),
            vignette=float(rng.uniform(0, 0.35)),
            noise=float(rng.uniform(0.002, 0.03)),
            blur=float(rng.uniform(0, 0.8)),
            quality=int(rng.integers(70, 94)),
        )
        data, figures = develop(shot, how, number)
        name = f"{stem}_{version}.jpg"
        (folder / name).write_bytes(data)
        rows.append(
            {
                "file": name,
                **fixed,
                "ev_offset": round(how.ev, 3),
                "scene": f"{number:03d}",
                "version": version,
                "jpeg_q": how.quality,
                "s_curve": round(how.curve, 3),
                "glare": round(how.glare, 3),
                "vignette": round(how.vignette, 3),
                "clipped_fraction": round(figures.pop("clipped"), 4),
                **{k: round(v, 4) for k, v in figures.items()},
            }
        )
    return rows


def pair_scene(number: int, folder: Path, spp: int = 256) -> list[dict[str, Any]]:
    """Render one room twice, walls repainted a light neutral; same exposure and balance."""
    rng = np.random.default_rng(7700 + number)
    kind = ("kitchen", "bathroom", "bedroom", "living", "bedroom")[number % 5]
    before = paint_of(rng, 4 + 66 * ((number * 0.6180339887) % 1.0))
    after = lab_to_linear(rng.uniform(86, 92), rng.uniform(-1, 2), rng.uniform(1, 7))
    spec = random_spec(2000 + number, kind, before)
    shots = []
    for paint in (before, after):
        model, view = build(replace(spec, paint=paint))
        shots.append(render(model, view, SIZE, spp))
    gain = float(np.sqrt(meter(shots[0]) * meter(shots[1])))
    light = illuminant(shots[1])  # neutral walls tell the lamps' own colour
    how = Development(balance=0.9, noise=0.004, glare=0.01, curve=0.25, blur=0.3, quality=94)
    stem = f"{number:03d}_{kind}"
    masks = save_masks(shots[0], folder, stem)
    rows = []
    for version, shot, paint in zip(("before", "after"), shots, (before, after), strict=True):
        data, figures = develop(shot, how, number, gain, light)
        name = f"{stem}_{version}.jpg"
        (folder / name).write_bytes(data)
        rows.append(
            {
                "file": name,
                **truth_of(shot, paint, spec),
                **masks,
                "scene": f"{number:03d}",
                "version": version,
                "gain": round(gain, 4),
                "clipped_fraction": round(figures["clipped"], 4),
            }
        )
    return rows


def write_truth(rows: list[dict[str, Any]], folder: Path, name: str = "truth.csv") -> None:
    """Write the table in one step, so that a reader never sees half of it."""
    rows = sorted(rows, key=lambda row: row["file"])
    scratch = folder / f".{name}.{os.getpid()}"
    with scratch.open("w", newline="") as handle:
        writer = csv.DictWriter(handle, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    scratch.replace(folder / name)
