"""Can this photo be trusted: sharpness, size, tilt, bars around it, printed marks.

References
----------
.. [1] J. L. Pech-Pacheco et al., "Diatom autofocusing in brightfield microscopy: a comparative
   study", ICPR 2000: variance of the Laplacian.
.. [2] F. Crete et al., "The blur effect: perception and estimation with a new no-reference
   perceptual blur metric", SPIE 6492, 2007: what loses little by a second blur was blurred.
.. [3] R. Grompone von Gioi et al., "LSD: a line segment detector", IPOL 2012.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.photos.colour import ByteArray, Float32Array
from scorer.photos.reading import Trust

SMALL_SIDE_PX = 320  # below this a room's surfaces are a few cells wide; common practice, no source
MUCH_BORDER = 0.12  # of the frame: more than a listing page adds to a photo of its own; as above
TILT_DEGREES = 3.0  # plainly crooked; common practice, no source
BLURRED = 0.58  # of `blur_left`: above it, a photo is blurred; chosen with tests/measure/quality.py
_GREY_SPREAD = 4  # 8-bit levels between the channels of a grey that was encoded as a colour
_LINES_PX = 384
_UPRIGHT_DEGREES = 15.0


def sharpness(lightness: Float32Array) -> float:
    """Variance of the Laplacian of L* [L*²] [1]_; it falls with blur and with picture scale."""
    return float(cv2.Laplacian(lightness, cv2.CV_32F).var())


def blur_left(lightness: Float32Array) -> float:
    """Share of fine contrast that survives another blur [0–1]; near 1 the photo is blurred [2]_.

    The mean absolute difference of neighbours after a 9-pixel box blur along the row or column,
    over that before, taken from the better of the two directions.
    """
    kept = []
    for axis, size in ((1, (9, 1)), (0, (1, 9))):
        before = np.abs(np.diff(lightness, axis=axis))
        after = np.abs(np.diff(cv2.blur(lightness, size), axis=axis))
        lost = np.maximum(before - after, 0.0).sum(dtype=np.float64)
        total = before.sum(dtype=np.float64)
        kept.append(1.0 if total <= 0 else 1.0 - float(lost / total))
    return max(kept)


def tilt_degrees(grey: ByteArray) -> float | None:
    """Turn of the camera about its axis [degrees], clockwise positive; None with too few lines.

    Lean of the near-vertical line segments [3]_ at the picture's centre: looking up or down makes
    verticals converge, which shows as a lean that grows from the centre outwards and is taken out.
    """
    height, width = grey.shape
    scale = _LINES_PX / max(height, width)
    if scale < 1:
        size = (max(1, round(width * scale)), max(1, round(height * scale)))
        grey = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(grey)[0]
    if found is None:
        return None
    lines = np.asarray(found, dtype=np.float64).reshape(-1, 4)
    dx, dy = lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]
    length = np.hypot(dx, dy)
    downwards = np.where(dy < 0, -1.0, 1.0)
    lean = -np.degrees(np.arctan2(dx * downwards, np.abs(dy)))  # top to the right is positive
    use = (np.abs(lean) < _UPRIGHT_DEGREES) & (length > 0.06 * max(grey.shape))
    if use.sum() < 5:
        return None
    across = (lines[use, 0] + lines[use, 2]) / 2 / grey.shape[1] - 0.5
    design = np.stack([np.ones_like(across), across], axis=1)
    weight = length[use]
    lean = lean[use]
    answer = np.zeros(2)
    for _ in range(8):  # reweighted towards least absolute deviation: clutter has no say
        root = np.sqrt(weight / np.maximum(np.abs(lean - design @ answer), 0.5))
        answer = np.linalg.lstsq(design * root[:, None], lean * root, rcond=None)[0]
    residual = np.abs(lean - design @ answer)
    near = residual < 2.0
    if weight[near].sum() < 0.4 * weight.sum():
        return None
    return round(float(answer[0]), 2)


def is_black_and_white(rgb: ByteArray) -> bool:
    """Whether a picture of shape (h, w, 3), 8-bit sRGB, holds no colour but what encoding leaves.

    In 454 listing photos, renders and demo photos, white rooms and dark ones among them, at least
    1 % of the pixels have channels 16 levels apart or more; turned black and white, none.
    """
    red, green, blue = cv2.split(rgb)  # planes: many times faster than along the last axis
    strongest = cv2.max(cv2.max(red, green), blue)
    weakest = cv2.min(cv2.min(red, green), blue)
    return bool((cv2.subtract(strongest, weakest) > _GREY_SPREAD).mean() < 0.01)


def looks_marked(grey: ByteArray) -> bool:
    """Whether lettering lies over the photo near its top or bottom edge, as a watermark does.

    Letters are fine strokes of about one height on one line. A hint only.
    """
    height = grey.shape[0]
    band = max(12, height // 9)
    for strip in (grey[:band], grey[-band:]):
        for sign in (cv2.MORPH_TOPHAT, cv2.MORPH_BLACKHAT):
            strokes = cv2.morphologyEx(strip, sign, np.ones((5, 5), np.uint8))
            mask = (strokes > 40).astype(np.uint8)
            count, _, boxes, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
            if count < 8:
                continue
            left, top, wide, tall = (boxes[1:, k] for k in range(4))
            letter = (tall >= 6) & (tall <= band * 0.7) & (wide <= 1.6 * tall) & (wide >= 2)
            if letter.sum() >= 7 and _on_one_line(left[letter], (top + tall)[letter], tall[letter]):
                return True
    return False


def _on_one_line(
    left: NDArray[np.int32], bottom: NDArray[np.int32], tall: NDArray[np.int32]
) -> bool:
    """At least seven letters that share a base line and a height and follow each other closely."""
    for base in np.unique(bottom):
        same = np.abs(bottom - base) <= 1
        if same.sum() < 7:
            continue
        height = float(np.median(tall[same]))
        same &= np.abs(tall - height) <= 0.25 * height
        gaps = np.diff(np.sort(left[same]))
        if same.sum() >= 7 and np.sum(gaps < 2.2 * height) >= 6:
            return True
    return False


def trust(
    width_px: int,
    height_px: int,
    grey: ByteArray,
    lightness: Float32Array,
    picture: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0),
    *,
    colourless: bool = False,
) -> Trust:
    """What speaks against trusting a photo.

    Parameters
    ----------
    width_px, height_px : size of the original [px]
    grey, lightness : (h, w) 8-bit grey and L* of the analysed picture
    picture : the part of the original inside plain bars, which was analysed (shares of width and
        height: left, top, right, bottom)
    colourless : whether it is black and white
    """
    reasons = []
    left, top, right, bottom = picture
    wide, tall = round(width_px * (right - left)), round(height_px * (bottom - top))
    if min(wide, tall) < SMALL_SIDE_PX:
        reasons.append(f"small: {wide} × {tall} pixels")
    if blur_left(lightness) > BLURRED:
        reasons.append("blurred")
    if colourless:
        reasons.append("black and white, so no colour can be judged")
    tilt = tilt_degrees(grey)
    if tilt is not None and abs(tilt) > TILT_DEGREES:
        reasons.append(f"tilted by {abs(tilt):.0f} degrees")
    border = 1.0 - (right - left) * (bottom - top)
    if border > MUCH_BORDER:
        reasons.append(f"plain bars around it (left out, {border:.0%}), as on a screenshot")
    if looks_marked(grey):
        reasons.append("may carry a watermark or lettering")
    return Trust(
        width_px=width_px,
        height_px=height_px,
        tilt_degrees=tilt,
        picture=None if border <= 0 else picture,
        reasons=tuple(reasons),
    )
