"""Render a model: path tracing (Mitsuba 3), a denoiser, and the surface under each pixel."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from .mesh import Model

_LLVM = "/usr/lib/x86_64-linux-gnu/libLLVM.so.19.1"


@dataclass(frozen=True)
class View:
    """Where the camera stands [m] and its horizontal field of view [degrees]."""

    origin: tuple[float, float, float]
    target: tuple[float, float, float]
    fov: float = 74.0


@dataclass(frozen=True)
class Shot:
    """What the renderer returns: linear radiance, base colour, surface codes (0 at edges)."""

    radiance: np.ndarray
    albedo: np.ndarray
    codes: np.ndarray


@lru_cache(maxsize=1)
def renderer() -> Any:
    """Mitsuba with the fastest variant that works here."""
    if "DRJIT_LIBLLVM_PATH" not in os.environ and Path(_LLVM).exists():
        os.environ["DRJIT_LIBLLVM_PATH"] = _LLVM
    import mitsuba as mi

    wanted = os.environ.get("RENDER_VARIANT", "cuda_ad_rgb llvm_ad_rgb scalar_rgb").split()
    for variant in wanted:
        try:
            mi.set_variant(variant)
            ball = {"type": "sphere", "light": {"type": "area"}}
            mi.render(
                mi.load_dict(
                    {
                        "type": "scene",
                        "ball": ball,
                        "way": {"type": "path"},
                        "eye": {
                            "type": "perspective",
                            "film": {"type": "hdrfilm", "width": 4, "height": 4},
                        },
                    }
                ),
                spp=1,
            )
        except Exception:  # no device or no LLVM: try the next
            continue
        return mi
    raise RuntimeError(f"none of the renderer variants {wanted} starts on this machine")


def _texture(mi: Any, spec: Any) -> dict:
    kind = spec[0]
    if kind == "rgb":
        return {"type": "rgb", "value": [float(v) for v in spec[1]]}
    across, down = spec[2]
    return {
        "type": "bitmap",
        "bitmap": mi.Bitmap(np.ascontiguousarray(spec[1], np.float32)),
        "raw": True,
        "wrap_mode": "repeat",
        "to_uv": mi.ScalarTransform4f().scale([1 / across, 1 / down, 1]),
    }


def _bsdf(mi: Any, spec: dict) -> dict:
    out = {k: _texture(mi, v) if isinstance(v, tuple) else v for k, v in spec.items()}
    return {"type": "twosided", "inside": out}


def _emitter(mi: Any, radiance: Any) -> dict:
    if isinstance(radiance, np.ndarray):
        return {
            "type": "area",
            "radiance": {
                "type": "bitmap",
                "bitmap": mi.Bitmap(radiance[::-1].astype(np.float32)),
                "raw": True,
            },
        }
    return {"type": "area", "radiance": {"type": "rgb", "value": [float(v) for v in radiance]}}


def render(
    model: Model,
    view: View,
    size: tuple[int, int] = (960, 640),
    spp: int = 96,
    depth: int = 7,
    want_codes: bool = True,
) -> Shot:
    """Path-trace `model` from `view`; `size` is (width, height) in pixels."""
    mi = renderer()
    width, height = size
    scene: dict[str, Any] = {"type": "scene"}
    with tempfile.TemporaryDirectory() as folder:
        for name, spec in model.materials.items():
            if name not in model.emitters:
                scene["m_" + name] = _bsdf(mi, spec)
        codes = []
        for number, (path, material, code) in enumerate(model.write(Path(folder))):
            shape: dict[str, Any] = {"type": "ply", "filename": str(path)}
            if material in model.emitters:
                shape["bsdf"] = _bsdf(mi, model.materials[material])
                shape["emitter"] = _emitter(mi, model.emitters[material])
            else:
                shape["bsdf"] = {"type": "ref", "id": "m_" + material}
            scene[f"s{number:03d}"] = shape
            codes.append(code)
        for number, light in enumerate(model.lights):
            light = dict(light)
            if "sky" in light:
                light = {
                    "type": "envmap",
                    "bitmap": mi.Bitmap(light["sky"].astype(np.float32)),
                    "to_world": mi.ScalarTransform4f().rotate([1, 0, 0], 90),
                }
            elif "irradiance" in light:
                light["irradiance"] = {"type": "rgb", "value": list(light["irradiance"])}
            scene[f"l{number}"] = light
        world = mi.load_dict(scene, optimize=False)  # merging would lose the surface codes

    def sensor(samples: int, filter_name: str) -> Any:
        return mi.load_dict(
            {
                "type": "perspective",
                "fov": view.fov,
                "fov_axis": "x",
                "near_clip": 0.02,
                "to_world": mi.ScalarTransform4f().look_at(
                    origin=list(view.origin), target=list(view.target), up=[0, 0, 1]
                ),
                "film": {
                    "type": "hdrfilm",
                    "width": width,
                    "height": height,
                    "rfilter": {"type": filter_name},
                    "pixel_format": "rgb",
                    "component_format": "float32",
                },
                "sampler": {"type": "independent", "sample_count": samples},
            }
        )

    integrator = mi.load_dict(
        {
            "type": "aov",
            "aovs": "alb:albedo,nn:sh_normal",
            "img": {"type": "path", "max_depth": depth, "rr_depth": 3},
        }
    )
    eye = sensor(spp, "box")
    passes = max(1, round(width * height * spp / 6e7))
    layers = np.mean(
        [
            np.array(
                mi.render(
                    world, sensor=eye, integrator=integrator, spp=max(1, spp // passes), seed=s
                )
            )
            for s in range(passes)
        ],
        axis=0,
    )
    surfaces = (
        surface_codes(mi, world, eye, codes, size)
        if want_codes
        else np.zeros((height, width), np.uint8)
    )
    if not np.isfinite(layers).all() or layers[..., :3].max() <= 0:
        raise ValueError("the picture is black or not a number: does the room have a light?")
    colour, albedo, normal = layers[..., :3], layers[..., 3:6], layers[..., 6:9]
    return Shot(denoise(colour, albedo, normal), albedo, surfaces)


def surface_codes(
    mi: Any, world: Any, eye: Any, codes: list[int], size: tuple[int, int]
) -> np.ndarray:
    """Code of the surface under each pixel, 0 where five points of the pixel do not agree."""
    import drjit as dr

    width, height = size
    shapes = world.shapes()
    scalar = mi.variant().startswith("scalar")
    index = (
        range(len(shapes))
        if scalar
        else [int(dr.reinterpret_array(mi.UInt32, mi.ShapePtr(s))[0]) for s in shapes]
    )
    table = np.zeros(max(index) + 2, np.uint8)
    for position, shape in zip(index, shapes, strict=True):
        name = shape.id()
        table[position] = codes[int(name[1:])] if name[:1] == "s" and name[1:].isdigit() else 0
    found = []
    for dx, dy in ((0.5, 0.5), (0.15, 0.15), (0.85, 0.15), (0.15, 0.85), (0.85, 0.85)):
        if scalar:  # one ray at a time
            look = np.zeros((height, width), np.uint8)
            for y in range(height):
                for x in range(width):
                    ray, _ = eye.sample_ray(0, 0, [(x + dx) / width, (y + dy) / height], [0, 0])
                    hit = world.ray_intersect(ray)
                    look[y, x] = table[shapes.index(hit.shape)] if hit.is_valid() else 0
        else:
            n = dr.arange(mi.UInt32, width * height)
            spot = mi.Point2f(
                (mi.Float(n % width) + dx) / width, (mi.Float(n // width) + dy) / height
            )
            ray, _ = eye.sample_ray(0, 0, spot, mi.Point2f(0))
            hit = world.ray_intersect_preliminary(ray)
            look = table[
                np.array(dr.select(hit.is_valid(), dr.reinterpret_array(mi.UInt32, hit.shape), 0))
            ].reshape(height, width)
        found.append(look)
    same = np.all([f == found[0] for f in found], axis=0)
    return np.where(same, found[0], 0).astype(np.uint8)


def denoise(colour: np.ndarray, albedo: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """Open Image Denoise where it is installed; single bright pixels removed elsewhere."""
    mi = renderer()
    if not mi.variant().startswith("cuda"):
        try:
            import pyoidn
        except ImportError:
            return despeckle(colour)
        args = [np.ascontiguousarray(a, np.float32) for a in (colour, albedo, normal)]
        return np.asarray(pyoidn.denoise(args[0], albedo=args[1], normal=args[2], hdr=True))
    return despeckle(colour)  # a GPU takes enough samples instead


def despeckle(colour: np.ndarray) -> np.ndarray:
    """Pull single bright pixels down to the brightest of their neighbours' medians."""
    padded = np.pad(colour, ((1, 1), (1, 1), (0, 0)), mode="edge")
    h, w = colour.shape[:2]
    around = np.stack(
        [padded[i : i + h, j : j + w] for i in range(3) for j in range(3) if (i, j) != (1, 1)]
    )
    limit = np.sort(around, axis=0)[5] * 1.5 + 1e-3
    return np.where((colour > limit).any(-1, keepdims=True), np.minimum(colour, limit), colour)
