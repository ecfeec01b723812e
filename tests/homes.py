"""Photos and homes that tests make for themselves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

Color = tuple[int, int, int]

LIGHT: Color = (225, 222, 214)
DARK_RED: Color = (92, 30, 34)


def room_picture(wall: Color, floor: Color = (150, 120, 90), seed: int = 0) -> Image.Image:
    """A plain corner of a room: ceiling, two walls, floor, a window and some grain."""
    rng = np.random.default_rng(seed)
    height, width = 360, 540
    picture = np.empty((height, width, 3), np.float32)
    picture[:] = wall
    picture[:, width // 2 :] *= 0.9
    picture[:60] = (240, 240, 238)
    picture[280:] = floor
    left = 60 + 20 * (seed % 5)
    picture[110:200, left : left + 110] = (250, 250, 250)
    picture += rng.normal(0.0, 2.0, picture.shape)
    return Image.fromarray(np.clip(picture, 0, 255).astype(np.uint8))


def save_photo(path: Path, wall: Color = LIGHT, seed: int = 0) -> Path:
    """Write a made photo; the ending decides the format."""
    path.parent.mkdir(parents=True, exist_ok=True)
    room_picture(wall, seed=seed).save(path, quality=90)
    return path


def make_home(folder: Path, wall: Color = LIGHT, seed: int = 0) -> Path:
    """A home of four photos."""
    for number, name in enumerate(("kitchen", "bathroom", "bedroom", "front")):
        save_photo(folder / f"{name}.jpg", wall, seed=seed * 10 + number)
    return folder
