"""A drawn room with known paint, light and camera, and its exact surface map."""

from __future__ import annotations

import cv2
import numpy as np

from scorer.photos.colour import linear_to_bytes
from scorer.photos.decode import CameraExposure, DecodedPhoto
from scorer.photos.scene import CEILING, FLOOR, TRIM, WALL, WINDOW, Scene, Surfaces, build_scene

WIDTH, HEIGHT = 480, 320


def draw_room(
    wall_lrv: float = 50.0,
    *,
    wall_tint: tuple[float, float, float] = (1.0, 1.0, 1.0),
    exposure: float = 1.0,
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0),
    window: bool = True,
    heads: dict[str, dict[str, float]] | None = None,
    camera: CameraExposure | None = None,
) -> Scene:
    """Ceiling 80 %, trim 75 %, floor 20 % reflectance; light falls off from left to right."""
    codes = np.full((HEIGHT, WIDTH), WALL, np.uint8)
    codes[: HEIGHT // 5] = CEILING
    codes[4 * HEIGHT // 5 :] = FLOOR
    codes[4 * HEIGHT // 5 - 12 : 4 * HEIGHT // 5] = TRIM
    if window:
        codes[100:190, 40:140] = WINDOW
        codes[92:198, 32:40] = codes[92:198, 140:148] = TRIM
        codes[92:100, 32:148] = codes[190:198, 32:148] = TRIM
    reflectance = np.zeros((HEIGHT, WIDTH, 3))
    reflectance[codes == WALL] = np.array(wall_tint) * wall_lrv / 100
    reflectance[codes == CEILING] = 0.80
    reflectance[codes == TRIM] = 0.75
    reflectance[codes == FLOOR] = 0.20
    reflectance[codes == WINDOW] = 3.0
    light = np.linspace(1.0, 0.5, WIDTH)[None, :, None] * np.array(cast)
    linear = reflectance * light * exposure
    noise = np.random.default_rng(3).normal(0, 0.002, linear.shape)
    photo = DecodedPhoto(linear_to_bytes(linear + noise), WIDTH, HEIGHT, camera)
    layers = np.stack([(codes == code).astype(np.float32) for code in range(10)])
    small = [cv2.resize(layer, (128, 88), interpolation=cv2.INTER_AREA) for layer in layers]
    return build_scene(photo, Surfaces(np.asarray(small, np.float32), heads or {}))
