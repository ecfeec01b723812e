"""Plain dark or pale bars around a photo, as letterboxes, screenshots and listing pages have.

A bar is no wall and no ceiling, and its black or white says nothing of the room's light, so
what is measured is the picture inside.

A bar is told from a blown-out ceiling or a night sky by its edge: along a bar nearly every pixel is
of one level, and within a few pixels most of them are of another. The edge of a ceiling or of the
sky is slanted or ragged, or fades.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scorer.photos.colour import ByteArray
from scorer.photos.decode import DecodedPhoto

Box = tuple[int, int, int, int]
"""Left, top, right, bottom [px]; right and bottom are the first that lie outside."""

# Chosen on 347 listing photos, 5 of which have bars, 54 renders and 53 demo photos: no bar was
# found where there is none, and of 5,388 borders drawn around them all but 15 were found to 3 px.
_DARK, _PALE = 34, 236  # 8-bit level of a bar: a dark page is near 32, video black 16
_TINT = 12  # 8-bit levels between its channels
_NEAR = 14  # 8-bit levels that JPEG leaves in a bar next to the picture
_PLAIN = 0.995  # of a plain line is of the bar's level
_PLAIN_LINES = 0.4  # of a bar's lines are plain, the outermost among them
_MOSTLY = 0.7  # of any other line is of that level: lettering may lie over it
_DROP = 0.5  # by which that share falls at the edge
_EDGE_PX = 3  # within so many lines
_LEAST_PX = 3  # fewer lines are a seam of the camera's or the scanner's
_LEAST_PICTURE = 0.15  # of the frame; with less left, the bars are the picture


def without_bars(photo: DecodedPhoto) -> DecodedPhoto:
    """The photo with only the picture inside its bars; ``picture`` says which part that is."""
    height, width = photo.rgb.shape[:2]
    left, top, right, bottom = picture_box(photo.rgb)
    if (left, top, right, bottom) == (0, 0, width, height):
        return photo
    return replace(
        photo,
        rgb=np.ascontiguousarray(photo.rgb[top:bottom, left:right]),
        picture=(left / width, top / height, right / width, bottom / height),
    )


def picture_box(rgb: ByteArray) -> Box:
    """The part of a photo that lies inside plain bars; the whole frame where there are none.

    Parameters
    ----------
    rgb : (h, w, 3) 8-bit sRGB
    """
    height, width = rgb.shape[:2]
    left, top, right, bottom = 0, 0, width, height
    for _ in range(2):  # bars at the sides may hide those above and below
        above, below = _bars(rgb[top:bottom, left:right])
        top, bottom = top + above, bottom - below
        before, after = _bars(rgb[top:bottom, left:right].transpose(1, 0, 2))
        left, right = left + before, right - after
    if (right - left) * (bottom - top) < _LEAST_PICTURE * height * width:
        return 0, 0, width, height
    return left, top, right, bottom


def _bars(rgb: ByteArray) -> tuple[int, int]:
    """Lines of bar before the first and after the last line of the picture."""
    first, last = _bar(rgb), _bar(rgb[::-1])
    # Where the picture is as dark or as pale as its bars, only one of a pair shows an edge.
    if first and not last and _of_level(rgb[-first:], _level(rgb)) >= _PLAIN:
        last = first
    elif last and not first and _of_level(rgb[:last], _level(rgb[::-1])) >= _PLAIN:
        first = last
    return (first, last) if first + last < len(rgb) else (0, 0)


def _bar(rgb: ByteArray) -> int:
    """Lines of bar from the first on."""
    level = _level(rgb)
    neutral = level.max() - level.min() <= _TINT
    if _DARK < level.mean() < _PALE or not neutral or _of_level(rgb[:1], level) < _PLAIN:
        return 0
    share = np.array([_of_level(line, level) for line in rgb])
    if (share >= _MOSTLY).all():
        return 0
    edge = int(np.argmax(share < _MOSTLY))
    beyond = share[edge : edge + _EDGE_PX]
    plain = (share[:edge] >= _PLAIN).mean()
    sharp = share[edge - 1] - beyond.min() >= _DROP
    if edge < _LEAST_PX or plain < _PLAIN_LINES or not sharp:
        return 0
    return edge + int(np.argmax(beyond <= share[edge - 1] - _DROP))


def _level(rgb: ByteArray) -> NDArray[np.int16]:
    """Colour of the first line."""
    return np.asarray(np.median(rgb[0], axis=0), np.int16)


def _of_level(rgb: ByteArray, level: NDArray[np.int16]) -> float:
    """Share of the pixels that have a bar's level in each channel [0–1]."""
    low, high = (np.clip(level + d, 0, 255).astype(np.uint8) for d in (-_NEAR, _NEAR))
    return float(((rgb >= low) & (rgb <= high)).all(axis=-1).mean())
