"""Demo photos changed in ways whose effect on a reading is known."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from colour.models import eotf_inverse_sRGB, eotf_sRGB
from numpy.typing import NDArray
from PIL import Image

from scorer.photos import read_photo
from scorer.photos.reading import Reading

HOMES = Path(__file__).parents[2] / "demo_images" / "homes"
PHOTOS = (
    "14-alder-court/02_living.jpg",  # dark blue walls
    "14-alder-court/05_bedroom_2.jpg",  # dark green walls
    "1150-harrow-road/bathroom.jpg",  # light walls
    "207-quarry-road/kitchen.jpg",  # light walls, dark photo
    "412-orchard-street/unit_2_living.jpg",  # light walls
    "88-mill-pond-road/bedroom.jpg",  # light walls
)

Rgb = NDArray[np.uint8]


@cache
def pixels(photo: str) -> Rgb:
    """A demo photo as (h, w, 3) 8-bit sRGB."""
    with Image.open(HOMES / photo) as image:
        return np.asarray(image.convert("RGB"))


@cache
def untouched(photo: str) -> Reading:
    """The reading of a demo photo as it is."""
    return read(pixels(photo))


def read(rgb: Rgb) -> Reading:
    """The reading of a picture, whose file keeps every pixel."""
    return read_photo(encoded(rgb, "BMP"), name="photo")


def encoded(rgb: Rgb, kind: str = "PNG", mode: str = "RGB", **options: object) -> bytes:
    """A picture as the bytes of a file."""
    out = io.BytesIO()
    Image.fromarray(rgb).convert(mode).save(out, kind, **options)
    return out.getvalue()


def linear(rgb: Rgb) -> NDArray[np.float64]:
    """Linear light [0–1] (IEC 61966-2-1, by colour-science)."""
    return np.asarray(eotf_sRGB(rgb / 255))


def from_linear(light: NDArray[np.float64]) -> Rgb:
    """8-bit sRGB; what is brighter than white clips, as in a camera."""
    return np.round(255 * eotf_inverse_sRGB(np.clip(light, 0, 1))).astype(np.uint8)


def exposed(rgb: Rgb, stops: float) -> Rgb:
    """As if the camera had exposed so many stops more."""
    return from_linear(linear(rgb) * 2.0**stops)


def with_bars(rgb: Rgb, level: int, above: float = 0.0, beside: float = 0.0) -> Rgb:
    """Plain bars above and below, and at both sides; shares of the picture's height and width."""
    rows, columns = round(above * rgb.shape[0]), round(beside * rgb.shape[1])
    grey = (level, level, level)
    return np.asarray(
        cv2.copyMakeBorder(rgb, rows, rows, columns, columns, cv2.BORDER_CONSTANT, value=grey)
    )


def turned(rgb: Rgb, degrees: float) -> Rgb:
    """As if the camera had been turned: what shows is turned clockwise, the corners cut off."""
    height, width = rgb.shape[:2]
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), -degrees, 1)
    out = cv2.warpAffine(rgb, matrix, (width, height), borderMode=cv2.BORDER_REFLECT)
    lean = np.tan(np.radians(abs(degrees))) / 2
    rows, columns = int(np.ceil(width * lean)), int(np.ceil(height * lean))
    return np.ascontiguousarray(out[rows : height - rows, columns : width - columns])
