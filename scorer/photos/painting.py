"""Show a room with its walls in another paint.

Each wall pixel is divided by the reflectance of the paint that is there and multiplied by that of
the new one, in linear light, so shading, texture and the edges of shadows stay. The edge of the
wall follows the photo by matting.

A preview: the light that the new walls throw back is counted for the room as a whole, not from
wall to wall.

References
----------
.. [1] K. He, J. Sun, X. Tang, "Guided image filtering", IEEE TPAMI 35:1397–1409, 2013.
.. [2] C. Tomasi, R. Manduchi, "Bilateral filtering for gray and color images", ICCV 1998.
.. [3] S. A. Shafer, "Using color to separate reflection components", Color Res. Appl. 10:210,
   1985.
.. [4] W. E. Sumpner, "The diffusion of light", Phil. Mag. 35:81–97, 1893.
.. [5] IES Lighting Handbook, 1st ed. 1947, p. 10-34: ceiling 65–80 %, walls 35–55 %, floor 10–20 %.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from scorer.errors import InputError
from scorer.photos.colour import (
    LUMINANCE_WEIGHTS,
    ByteArray,
    Float32Array,
    FloatArray,
    bytes_of_hex,
    bytes_to_linear,
    linear_to_bytes,
    srgb_to_linear,
)
from scorer.photos.decode import PhotoSource
from scorer.photos.matting import guided_filter
from scorer.photos.read import open_scene
from scorer.photos.scene import WALL, Scene
from scorer.photos.walls import read_wall, wall_mask, wall_tint
from scorer.photos.white import estimate_white

LIGHT_NEUTRAL = "#e6e2d8"
"""A light warm neutral, LRV about 76; our own choice."""

_MATTE_RADIUS, _MATTE_EPSILON = 6, 2e-4
_SHOULDER = 0.82  # above this linear level highlights are rolled off rather than clipped
_DARKEST = 0.03  # reflectance: less would blow up the camera's noise
_BRIGHTEST_WALL = 0.75  # linear level to which a camera lets a pale wall rise
_WALL_SHARE = 0.5  # of the surface of an ordinary room; common practice, no source
_OTHERS = 0.4  # mean reflectance of ceiling, floor and furniture, between the values of [5]
_LEAST_EXPOSURE = 0.65  # the rest of the room must not turn grey for it


@dataclass(frozen=True)
class Repainted:
    """The room as it is and as it would look, and how much of each pixel is wall.

    ``before`` and ``after`` are (h, w, 3) 8-bit sRGB; ``matte`` is (h, w), 0–1. ``brightened`` is
    the factor by which all light in the picture changed: thrown back by the new walls, less what
    the camera takes off.
    """

    before: ByteArray
    after: ByteArray
    matte: Float32Array
    brightened: float


def repaint(
    path_or_bytes: PhotoSource, paint_hex: str = LIGHT_NEUTRAL, *, same_exposure: bool = False
) -> Repainted:
    """Paint the walls of a photo.

    Parameters
    ----------
    path_or_bytes
        A file, or its bytes.
    paint_hex
        The paint's colour as it looks under daylight, ``#rrggbb``.
    same_exposure
        Keep the camera's exposure; else it is lowered, as a camera would, where pale walls would
        come out too bright.

    Raises
    ------
    InputError
        When the photo cannot be read, or no wall is found in it.
    ValueError
        When `paint_hex` is not a colour.
    """
    return repaint_scene(open_scene(path_or_bytes), paint_hex, same_exposure=same_exposure)


def repaint_scene(
    scene: Scene, paint_hex: str = LIGHT_NEUTRAL, *, same_exposure: bool = False
) -> Repainted:
    """As `repaint`, for a photo whose surfaces have been found."""
    if not re.fullmatch("#[0-9a-fA-F]{6}", paint_hex):
        raise ValueError(f"paint_hex must be a colour like #e6e2d8: {paint_hex!r}")
    target = srgb_to_linear(bytes_of_hex(paint_hex) / 255)
    wall = read_wall(scene)
    if wall is None or wall.lrv is None:
        raise InputError("No wall is seen in this photo, so there is nothing to repaint.")
    white = estimate_white(scene)
    matte = wall_matte(scene)
    linear = bytes_to_linear(scene.photo.rgb)
    tint = wall_tint(scene, wall_mask(scene)).astype(np.float32)
    light_tint = white.tint.astype(np.float32)
    glint = glint_share(linear, tint, light_tint)
    level = wall_y(linear)
    present = max(wall.lrv.typical / 100, _DARKEST)
    gain = float(wall_y(target)) / present
    body = calmed(level * (1 - glint), matte, gain) * np.float32(1 / present)
    painted = body[..., None] * (target.astype(np.float32) * light_tint)
    painted += (level * glint)[..., None] * light_tint
    mixed = np.asarray(linear + matte[..., None] * (painted - linear), np.float32)
    factor = bounce_factor(present, float(wall_y(target)))
    if not same_exposure:
        factor *= _exposure_factor(factor * painted, matte)
    shown = linear_to_bytes(soften_highlights(mixed * factor))
    return Repainted(scene.photo.rgb, shown, matte, float(factor))


def glint_share(linear: Float32Array, tint: Float32Array, light_tint: Float32Array) -> Float32Array:
    """Part of each pixel's luminance that is the light mirrored, not the paint's colour [0–1] [3]_.

    A painted surface sends back its own colour and, like any gloss, the light's. The two are told
    apart by least squares where paint and light differ in colour; on a grey wall they do not, and
    nothing is taken for a glint. A stretch of white wall in a red room counts as all glint, and so
    stays as it is.
    """
    angle = float(tint @ light_tint / np.sqrt((tint @ tint) * (light_tint @ light_tint)))
    apart = np.degrees(np.arccos(np.clip(angle, -1, 1)))
    trusted = np.float32(np.clip((apart - 6) / 8, 0, 1))
    if trusted == 0:
        return np.zeros(linear.shape[:2], np.float32)
    smooth = cv2.GaussianBlur(linear, (0, 0), 2.0)
    basis = np.stack([tint, light_tint], axis=1)
    paint, gloss = np.moveaxis(smooth @ np.linalg.pinv(basis).T.astype(np.float32), -1, 0)
    paint, gloss = np.maximum(paint, 0), np.maximum(gloss, 0)
    share = gloss / np.maximum(paint + gloss, 1e-5)  # both colours have luminance 1
    ordinary = float(np.median(share))
    share = np.maximum(share - 0.3 * ordinary, 0) / max(1 - 0.3 * ordinary, 0.1)
    return np.asarray(np.clip(share, 0, 1) * trusted, np.float32)


def bounce_factor(old: float, new: float) -> np.float32:
    """How much lighter the whole room gets when its walls reflect more [4]_.

    In a closed room the light settles at the lamp's light over one minus the mean reflectance.
    """
    mean_old, mean_new = (_WALL_SHARE * y + (1 - _WALL_SHARE) * _OTHERS for y in (old, new))
    return np.float32((1 - mean_old) / (1 - mean_new))


def calmed(level: Float32Array, matte: Float32Array, gain: float) -> Float32Array:
    """The wall's level smoothed between edges by as much as the new paint will raise it.

    Noise hidden by a dark paint must not show on a pale one.
    """
    strength = min(max((gain - 1.5) / 6.0, 0.0), 1.0)
    if strength == 0 or not (matte > 0.5).any():
        return level
    calm = np.exp(_edge_keeping(np.log(np.maximum(level, 1e-4)), matte))
    return np.asarray(level ** (1 - strength) * calm**strength, np.float32)


def _edge_keeping(log_level: Float32Array, matte: Float32Array) -> Float32Array:
    """Smooth log luminance within the wall, keeping the edges of shadows [2]_."""
    inside = np.where(matte > 0.5, log_level, np.median(log_level[matte > 0.5]))
    inside = inside.astype(np.float32)
    calm = cv2.bilateralFilter(inside, 9, 0.6, 4.0)
    calm = cv2.bilateralFilter(calm, 9, 0.3, 4.0)
    return np.asarray(np.where(matte > 0.5, calm, log_level), np.float32)


def wall_y(linear: Float32Array | FloatArray) -> Any:
    """Luminance along the last axis, in the type of what is given."""
    return linear @ LUMINANCE_WEIGHTS.astype(linear.dtype)


def _exposure_factor(painted: Float32Array, matte: Float32Array) -> np.float32:
    wall = wall_y(painted)[matte > 0.5]
    if wall.size == 0:
        return np.float32(1)
    bright = float(np.percentile(wall, 75))
    return np.float32(max(_LEAST_EXPOSURE, min(1.0, _BRIGHTEST_WALL / max(bright, 1e-4))))


def soften_highlights(linear: Float32Array) -> Float32Array:
    """Roll luminance above the shoulder off towards 1, keeping the colour's proportions."""
    y = wall_y(linear)
    room = 1 - _SHOULDER
    over = np.maximum(y - _SHOULDER, 0)
    rolled = np.where(y > _SHOULDER, _SHOULDER + room * (1 - np.exp(-over / room)), y)
    scale = rolled / np.maximum(y, 1e-6)
    # What the camera clipped stays white.
    scale = np.where(linear.min(axis=-1) >= 0.97, 1.0, scale)
    return np.asarray(linear * scale[..., None], np.float32)


def wall_matte(scene: Scene) -> Float32Array:
    """Share of each pixel of the analysed picture that is wall [0–1] [1]_."""
    height, width = scene.photo.rgb.shape[:2]
    guide = np.asarray(scene.photo.rgb, np.float32) * np.float32(1 / 255)
    coarse = cv2.resize(scene.probability[WALL], (width, height), interpolation=cv2.INTER_LINEAR)
    fine = guided_filter(guide, coarse, _MATTE_RADIUS, _MATTE_EPSILON)
    # Sure wall is all wall and sure other is none: only the seam is graded.
    graded = np.clip((fine - 0.3) / 0.35, 0, 1)
    return np.asarray(graded, np.float32)
