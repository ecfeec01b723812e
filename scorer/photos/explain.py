"""Show where a figure comes from: the region outlined on the photo, its swatch, the figure."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from scorer.errors import InputError
from scorer.photos.colour import ByteArray, bytes_of_hex
from scorer.photos.decode import PhotoSource, source_name
from scorer.photos.read import open_scene, read_scene
from scorer.photos.reading import Reading
from scorer.photos.scene import CABINET, FLOOR, WALL, WINDOW, Mask, Scene

_CODES = {"wall": WALL, "floor": FLOOR, "cabinets": CABINET, "windows": WINDOW}
SUBJECTS = (*_CODES, "exposure", "light")
_DARK, _PALE = (20, 20, 20), (255, 255, 255)


@dataclass(frozen=True)
class Overlay:
    """A photo with one figure explained.

    Attributes
    ----------
    rgb
        (h, w, 3) 8-bit sRGB: the photo with the outline, and a strip below with swatch and figure.
    caption
        The figure in words.
    swatch
        Its colour as ``#rrggbb``, None where the figure is not a colour.
    region
        (h, w) cells that the figure was measured on, and that are outlined.
    """

    rgb: ByteArray
    caption: str
    swatch: str | None
    region: Mask


def overlay(
    path_or_bytes: PhotoSource, subject: str = "wall", *, name: str | None = None
) -> Overlay:
    """Explain one figure of a photo.

    Parameters
    ----------
    path_or_bytes
        A file, or its bytes.
    subject
        ``wall``, ``floor``, ``cabinets``, ``windows``, ``exposure`` or ``light``.

    Raises
    ------
    InputError
        When the photo cannot be read.
    ValueError
        When `subject` is none of these.
    """
    if subject not in SUBJECTS:
        raise ValueError(f"subject must be one of {', '.join(SUBJECTS)}: {subject!r}")
    scene = open_scene(path_or_bytes, name=name)
    return overlay_scene(scene, read_scene(scene, file=source_name(path_or_bytes, name)), subject)


def overlay_scene(scene: Scene, reading: Reading, subject: str) -> Overlay:
    """As `overlay`, for a photo that was measured already."""
    region = figure_region(scene, subject)
    caption, swatch = figure_words(reading, subject)
    picture = _outlined(scene.photo.rgb, region)
    return Overlay(_with_strip(picture, caption, swatch), caption, swatch, region)


def figure_region(scene: Scene, subject: str) -> Mask:
    """The cells that the figure was measured on."""
    if subject in _CODES:
        return scene.mask(_CODES[subject])
    return np.ones(scene.luminance.shape, dtype=bool)


def figure_words(reading: Reading, subject: str) -> tuple[str, str | None]:
    """The figure in words, and its swatch."""
    if reading.error is not None:
        raise InputError(reading.error)
    if subject == "wall":
        return _wall_words(reading)
    if subject == "floor" and reading.floor is not None:
        floor = reading.floor
        return f"Floor: {floor.kind} ({floor.probability:.0%} likely)", None
    if subject == "cabinets" and reading.cabinets is not None:
        cabinets = reading.cabinets
        words = cabinets.tone.replace("_", " ")
        return f"Cabinets: {words} ({cabinets.probability:.0%} likely)", None
    if (
        subject == "windows"
        and reading.light is not None
        and reading.light.window_share is not None
    ):
        blown = reading.light.blown_window_share
        part = "" if blown is None else f", {blown:.0%} of that plain white"
        return f"Windows: {reading.light.window_share:.0%} of the photo{part}", None
    if subject == "exposure" and reading.exposure is not None:
        shot = reading.exposure
        return (
            f"Photo: {shot.kind}, lightness {shot.mean_lightness:.0f} of 100 on average, "
            f"{shot.clipped_bright_share:.0%} plain white",
            None,
        )
    if subject == "light" and reading.light is not None:
        light = reading.light
        lux = light.illuminance_lux
        extra = "" if lux is None else f", about {lux.low:.0f} to {lux.high:.0f} lux"
        return f"Room light: {light.kind} ({light.dim_probability:.0%} likely dim){extra}", None
    return f"{subject.capitalize()}: not seen in this photo", None


def _wall_words(reading: Reading) -> tuple[str, str | None]:
    wall = reading.wall
    if wall is None or wall.lrv is None or wall.tone is None:
        return "Wall: too little in view to judge", None
    colour = wall.colour.name if wall.colour else "colour not told by a black-and-white photo"
    return (
        f"Wall: {wall.tone}, {colour}, light reflectance {wall.lrv.typical:.0f} "
        f"({wall.lrv.low:.0f} to {wall.lrv.high:.0f}), white taken from: {wall.reference}",
        wall.colour.hex if wall.colour else None,
    )


def _outlined(rgb: ByteArray, region: Mask) -> ByteArray:
    height, width = rgb.shape[:2]
    picture = rgb.copy()
    if region.all() or not region.any():
        return picture
    big = cv2.resize(region.astype(np.uint8), (width, height), interpolation=cv2.INTER_NEAREST)
    contours, _ = cv2.findContours(big, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
    least = 0.0005 * width * height
    kept = [c for c in contours if cv2.contourArea(c) >= least] or list(contours)
    # Two lines, so that the outline shows on dark and on pale walls.
    cv2.drawContours(picture, kept, -1, _DARK, 4)
    cv2.drawContours(picture, kept, -1, _PALE, 2)
    return picture


def _with_strip(rgb: ByteArray, caption: str, swatch: str | None) -> ByteArray:
    height, width = rgb.shape[:2]
    size = max(12, width // 48)
    font = ImageFont.load_default(size)
    pad = size // 2
    left = pad + (3 * size if swatch else 0)
    lines = _wrapped(caption, font, width - left - pad)
    tall = max(2 * pad + int(1.35 * size) * len(lines), 3 * size if swatch else 0)
    image = Image.new("RGB", (width, height + tall), _PALE)
    image.paste(Image.fromarray(rgb), (0, 0))
    draw = ImageDraw.Draw(image)
    if swatch:
        box = (pad, height + pad, pad + 2 * size, height + tall - pad)
        draw.rectangle(box, fill=tuple(int(v) for v in bytes_of_hex(swatch)), outline=_DARK)
    for number, line in enumerate(lines):
        place = (left, height + pad + number * int(1.35 * size))
        draw.text(place, line, fill=_DARK, font=font)
    return np.asarray(image, dtype=np.uint8)


def _wrapped(
    text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont, width: int
) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        if lines and font.getlength(f"{lines[-1]} {word}") <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
