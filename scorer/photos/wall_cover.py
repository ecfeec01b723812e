"""Whether the wall is plain paint, or tile, stone, panels or paper: a hint with its chance.

Plain paint is even: take slow shading away, and next to nothing is left. Joints, grooves, grain and
print leave fine contrast all over. Two figures, measured on the wall's own cells:

``wall_pattern``
    Fine contrast on the wall, less what the photo's own grain would leave at that scale.
``wall_shading``
    The same contrast at twice the scale. Bumps, shadows and things on the wall raise both figures;
    a pattern raises the first above all.

Contrast is the difference between the means over 3 × 3 and over 5 × 5 pixels of the photo at half
and at a quarter of its analysis size, in 8-bit levels; grain is measured with Immerkær's mask [1]_.
All are taken over the whole wall, so a tiled corner beside a painted wall leaves them as they are.

References
----------
.. [1] J. Immerkær, "Fast Noise Variance Estimation", Computer Vision and Image Understanding 64(2),
   300–302, 1996.
"""

from __future__ import annotations

import math
from functools import lru_cache
from importlib.resources import files

import cv2
import numpy as np
from pydantic import ValidationError

from scorer.errors import InputError
from scorer.photos.calibration import Calibration
from scorer.photos.colour import ByteArray, Float32Array
from scorer.photos.scene import Mask

MODEL = "wall_covered"
LEAST_PIXELS = 400
"""Wall pixels, of the photo at half its analysis size, below which nothing is said."""

_NOISE_MASK = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32) / 6.0  # of norm 1
# Gaussian noise of deviation 1: upper quartile of its absolute value after the noise mask, and
# median of its absolute value after the difference of the two means (whose norm is 4/15).
_QUARTILE_OF_NOISE = 1.1503
_MEDIAN_OF_CONTRAST = 0.6745 * 4 / 15
_LEAST_CONTRAST = 0.05  # [levels]: what 8 bits hardly show
_SAMPLE = 6000
_EDGE = np.ones((5, 5), np.uint8)


@lru_cache(maxsize=1)
def cover_calibration() -> Calibration:
    """The model of ``data/wall_cover.json`` (written by `scorer.training.fit_wall_cover`).

    Raises
    ------
    InputError
        when the file is missing or does not hold what it should.
    """
    source = files("scorer.photos") / "data" / "wall_cover.json"
    try:
        return Calibration.model_validate_json(source.read_text(encoding="utf-8"))
    except (OSError, ValidationError) as error:
        first = str(error).splitlines()[0]
        raise InputError(
            f"scorer/photos/data/wall_cover.json cannot be used ({first}); install the package "
            f"again."
        ) from error


def covered_probability(grey: ByteArray, mask: Mask) -> float | None:
    """Chance that most of the wall is not plain paint [0–1]; None where too little is in view.

    Parameters
    ----------
    grey
        (h, w) the photo at the analysis size.
    mask
        Wall cells, on any grid over the same frame.
    """
    figures = cover_features(grey, mask)
    if not math.isfinite(figures["wall_pattern"]):
        return None
    return round(cover_calibration().models[MODEL].probability(figures), 4)


def cover_features(grey: ByteArray, mask: Mask) -> dict[str, float]:
    """``wall_pattern`` and ``wall_shading``, natural logs of 8-bit levels; NaN where not known.

    Parameters are those of `covered_probability`.
    """
    rows, columns = grey.shape[0] // 2, grey.shape[1] // 2
    nothing = {"wall_pattern": math.nan, "wall_shading": math.nan}
    if rows < 8 or columns < 8:
        return nothing
    wall = cv2.resize(mask.astype(np.uint8), (columns, rows), interpolation=cv2.INTER_NEAREST)
    inner = cv2.erode(wall, _EDGE)
    if cv2.countNonZero(inner) < LEAST_PIXELS:
        inner = wall
    if cv2.countNonZero(inner) < LEAST_PIXELS:
        return nothing
    half = _smaller(grey, rows, columns).astype(np.float32)
    place = _places(inner)
    grain = np.abs(cv2.filter2D(half, -1, _NOISE_MASK)).ravel()[place]
    noise = float(np.percentile(grain, 75)) / _QUARTILE_OF_NOISE
    fine = float(np.median(_contrast(half).ravel()[place]))
    left = math.sqrt(max(fine**2 - (noise * _MEDIAN_OF_CONTRAST) ** 2, 0.0))
    quarter = _smaller(half, rows // 2, columns // 2)
    low = cv2.resize(inner, (columns // 2, rows // 2), interpolation=cv2.INTER_NEAREST)
    coarse = float(np.median(_contrast(quarter).ravel()[_places(low)])) if low.any() else fine
    return {
        "wall_pattern": math.log(left + _LEAST_CONTRAST),
        "wall_shading": math.log(coarse + _LEAST_CONTRAST),
    }


def _smaller(grey: ByteArray | Float32Array, rows: int, columns: int) -> Float32Array:
    """Halved on both sides, an odd row or column left out."""
    whole = grey[: 2 * rows, : 2 * columns]
    return np.asarray(cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA))


def _contrast(grey: Float32Array) -> Float32Array:
    return np.asarray(cv2.absdiff(cv2.blur(grey, (3, 3)), cv2.blur(grey, (5, 5))))


def _places(mask: np.ndarray) -> np.ndarray:
    """Flat indices of the mask's pixels, thinned evenly where there are many."""
    found = np.flatnonzero(mask)
    return np.asarray(found[:: max(1, len(found) // _SAMPLE)])
