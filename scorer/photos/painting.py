"""Show a room with its walls in another paint.

Each wall pixel is divided by the reflectance of the paint that is there and multiplied by that of
the new one, in linear light, so shading, texture and the edges of shadows stay. The edge of the
wall follows the photo by matting.

A preview: it leaves out the light that the new walls would throw onto everything else.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    lab_to_linear,
    linear_to_bytes,
    srgb_to_linear,
)
from scorer.photos.decode import PhotoSource
from scorer.photos.matting import guided_filter
from scorer.photos.read import open_scene
from scorer.photos.scene import WALL, Scene
from scorer.photos.walls import read_wall, wall_mask, wall_tint

LIGHT_NEUTRAL = "#e6e2d8"
"""A light warm neutral, LRV about 76; our own choice."""

_MATTE_RADIUS, _MATTE_EPSILON = 8, 1e-3
_SHOULDER = 0.82  # above this linear level highlights are rolled off rather than clipped
_FOREIGN = 0.28  # log-chromaticity distance from the wall's at which a pixel is no longer wall
_DARKEST = 0.03  # reflectance: less would blow up the camera's noise


@dataclass(frozen=True)
class Repainted:
    """The room as it is and as it would look, and how much of each pixel is wall.

    ``before`` and ``after`` are (h, w, 3) 8-bit sRGB; ``matte`` is (h, w), 0–1.
    """

    before: ByteArray
    after: ByteArray
    matte: Float32Array


def repaint(path_or_bytes: PhotoSource, paint_hex: str = LIGHT_NEUTRAL) -> Repainted:
    """Paint the walls of a photo.

    Parameters
    ----------
    path_or_bytes
        A file, or its bytes.
    paint_hex
        The paint's colour as it looks under daylight, ``#rrggbb``.

    Raises
    ------
    InputError
        When the photo cannot be read, or no wall is found in it.
    ValueError
        When `paint_hex` is not a colour.
    """
    return repaint_scene(open_scene(path_or_bytes), paint_hex)


def repaint_scene(scene: Scene, paint_hex: str = LIGHT_NEUTRAL) -> Repainted:
    """As `repaint`, for a photo whose surfaces have been found."""
    target = srgb_to_linear(bytes_of_hex(paint_hex) / 255)
    wall = read_wall(scene)
    if wall is None or wall.lrv is None or wall.colour is None:
        raise InputError("No wall is seen in this photo, so there is nothing to repaint.")
    present = np.maximum(lab_to_linear(wall.colour.lab), _DARKEST)
    matte = wall_matte(scene)
    linear = bytes_to_linear(scene.photo.rgb)
    # The light's own tint stays: new paint under a yellow lamp still looks yellowish.
    gain = (target / present).astype(np.float32)
    painted = soften_highlights(linear * gain)
    mixed = linear + matte[..., None] * (painted - linear)
    return Repainted(scene.photo.rgb, linear_to_bytes(mixed), matte)


def soften_highlights(linear: Float32Array) -> Float32Array:
    """Roll luminance above the shoulder off towards 1, keeping the colour's proportions."""
    y = linear @ LUMINANCE_WEIGHTS.astype(np.float32)
    room = 1 - _SHOULDER
    over = np.maximum(y - _SHOULDER, 0)
    rolled = np.where(y > _SHOULDER, _SHOULDER + room * (1 - np.exp(-over / room)), y)
    scale = rolled / np.maximum(y, 1e-6)
    return np.asarray(linear * scale[..., None], np.float32)


def wall_matte(scene: Scene) -> Float32Array:
    """Share of each pixel of the analysed picture that is wall [0–1]."""
    height, width = scene.photo.rgb.shape[:2]
    guide = np.asarray(scene.photo.rgb, np.float32) * np.float32(1 / 255)
    coarse = cv2.resize(scene.probability[WALL], (width, height), interpolation=cv2.INTER_LINEAR)
    fine = guided_filter(guide, coarse, _MATTE_RADIUS, _MATTE_EPSILON)
    # Sure wall is all wall and sure other is none: only the seam is graded.
    graded = np.clip((fine - 0.25) / 0.5, 0, 1)
    return np.asarray(graded * _wall_coloured(scene), np.float32)


def _wall_coloured(scene: Scene) -> Float32Array:
    """1 where a pixel has the wall's chromaticity, falling to 0 for pictures and sockets on it."""
    tint = wall_tint(scene, wall_mask(scene))
    linear = cv2.GaussianBlur(bytes_to_linear(scene.photo.rgb), (0, 0), 1.0) + 0.004
    own = _log_chromaticity(tint + 0.004)
    away = np.linalg.norm(_log_chromaticity(linear) - own, axis=-1)
    return np.asarray(np.clip(2 - away / _FOREIGN, 0, 1), np.float32)


def _log_chromaticity(linear: Float32Array | FloatArray) -> FloatArray:
    logs = np.log(np.maximum(linear, 1e-4))
    return np.asarray(logs - logs.mean(axis=-1, keepdims=True), np.float64)
