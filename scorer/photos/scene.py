"""A decoded photo with its surfaces, reduced to the cells that all figures are measured on.

A cell is the mean linear light of a small square of pixels. The wall's figures, its overlay and its
outline all use the same cells.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.photos.colour import LINEAR_OF_BYTE, LUMINANCE_WEIGHTS, ByteArray, Float32Array
from scorer.photos.decode import DecodedPhoto

ANALYSIS_PX = 768
CELLS_PX = 256

WALL, CEILING, FLOOR, WINDOW, LAMP, CABINET, OTHER, TRIM, MIRROR = range(1, 10)
_CLIPPED = 252  # 8-bit values from here on are at the sensor's end or next to it

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Surfaces:
    """Where the surfaces are and what the picture shows as a whole, as the room network sees it.

    Attributes
    ----------
    probability
        (10, h, w) share of each surface code in each cell, at the network's own scale.
    heads
        By question (``kind``, ``tone``, ``light``, …) the probability of each answer.
    """

    probability: Float32Array
    heads: dict[str, dict[str, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class Scene:
    """One photo ready to be measured.

    Attributes
    ----------
    photo
        The decoded photo at the analysis size (longest side 768 px at most).
    surfaces
        The network's answer, or None where no network could be run.
    linear
        (h, w, 3) mean linear light of each cell, 1 is sRGB white; longest side 256 cells.
    clipped
        (h, w) share of each cell whose brightest channel is at the sensor's end [0–1].
    black
        (h, w) share of each cell that is at the dark end [0–1].
    """

    photo: DecodedPhoto
    surfaces: Surfaces | None
    linear: Float32Array
    clipped: Float32Array
    black: Float32Array

    @cached_property
    def luminance(self) -> Float32Array:
        """(h, w) relative luminance of each cell."""
        return np.asarray(self.linear @ LUMINANCE_WEIGHTS.astype(np.float32), np.float32)

    @cached_property
    def probability(self) -> Float32Array:
        """(10, h, w) share of each surface code in each cell; all code 0 without a network."""
        height, width = self.luminance.shape
        if self.surfaces is None:
            unknown = np.zeros((10, height, width), np.float32)
            unknown[0] = 1.0
            return unknown
        if self.surfaces.probability.shape[1:] == (height, width):
            return self.surfaces.probability
        channels = [
            cv2.resize(layer, (width, height), interpolation=cv2.INTER_LINEAR)
            for layer in self.surfaces.probability
        ]
        return np.asarray(channels, np.float32)

    @cached_property
    def codes(self) -> ByteArray:
        """(h, w) most probable surface code of each cell."""
        return np.asarray(np.argmax(self.probability, axis=0), np.uint8)

    def mask(self, code: int, *, least: float = 0.5) -> Mask:
        """Cells of one surface, seen with at least the given probability."""
        return np.asarray((self.codes == code) & (self.probability[code] >= least))

    def head(self, question: str, answer: str) -> float:
        """Probability of one answer of the network; NaN where it was not asked."""
        if self.surfaces is None:
            return float("nan")
        return self.surfaces.heads.get(question, {}).get(answer, float("nan"))


def build_scene(photo: DecodedPhoto, surfaces: Surfaces | None) -> Scene:
    """Reduce a photo to its cells."""
    rows, columns = cells_size(*photo.rgb.shape[:2])
    size = (columns, rows)
    linear = np.asarray(cv2.LUT(photo.rgb, LINEAR_OF_BYTE), np.float32)
    red, green, blue = (photo.rgb[..., k] for k in range(3))
    brightest = np.maximum(np.maximum(red, green), blue)
    return Scene(
        photo=photo,
        surfaces=surfaces,
        linear=_reduce(linear, size),
        clipped=_reduce((brightest >= _CLIPPED).astype(np.float32), size),
        black=_reduce((brightest <= 255 - _CLIPPED).astype(np.float32), size),
    )


def cells_size(height: int, width: int) -> tuple[int, int]:
    """Rows and columns of cells of a picture of the given size [px]."""
    scale = min(1.0, CELLS_PX / max(height, width))
    return max(1, round(height * scale)), max(1, round(width * scale))


def _reduce(values: NDArray[np.float32], size: tuple[int, int]) -> Float32Array:
    return np.asarray(cv2.resize(values, size, interpolation=cv2.INTER_AREA), np.float32)
