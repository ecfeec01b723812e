"""Measure lengths on a flat surface in a photo from four corners of something of known size.

References
----------
.. [1] R. Hartley and A. Zisserman, "Multiple View Geometry in Computer Vision", 2nd ed., Cambridge
   University Press, 2004: plane homography from four points (section 2.3), propagation of errors to
   first order (section 5.2).
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Annotated

import cv2
import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationError

from scorer.errors import InputError, wrong_field
from scorer.records import Range, Record

CLICK_ERROR_PX = 2.0
"""Standard error of one click in x and in y, in pixels of the photo shown (common practice)."""

LENS_ERROR_SHARE = 0.01
"""Standard error from what is left of a phone lens's distortion, share of the length (from memory;
phones correct most of it themselves)."""

P90 = 1.2816
"""90th percentile of the standard normal distribution."""

Point = tuple[float, float]
Array = NDArray[np.float64]


class KnownSize(Record):
    """Something of known size that is found in most homes.

    Attributes
    ----------
    width_in, height_in
        Usual size [in]; ``tolerance_share`` is its standard error as a share [0–1].
    """

    id: str
    label: str
    width_in: Annotated[float, Field(gt=0, le=1_200)]
    height_in: Annotated[float, Field(gt=0, le=1_200)]
    tolerance_share: Annotated[float, Field(ge=0, le=1)]
    source: Annotated[str, Field(min_length=3)]


class MeasuredLength(Record):
    """A length on the plane of the known thing [in], P10 to P90; always an estimate."""

    length_in: Range
    estimated: bool = True


@cache
def known_sizes() -> dict[str, KnownSize]:
    """Things of known size by id, from ``data/known_sizes.csv``."""
    source = files("scorer.photos") / "data" / "known_sizes.csv"
    return read_known_sizes(source.read_text(encoding="utf-8"), source.name)


def read_known_sizes(text: str, name: str) -> dict[str, KnownSize]:
    """Rows of CSV text by id; ``name`` stands for the file in errors.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    sizes: dict[str, KnownSize] = {}
    for number, row in enumerate(csv.DictReader(text.splitlines()), start=2):
        try:
            size = KnownSize.model_validate(row)
        except ValidationError as error:
            what = wrong_field(error, KnownSize.model_fields)
            raise InputError(f"{name}, row {number}, {what}.") from error
        if size.id in sizes:
            raise InputError(f"{name}, row {number}, field id: stands there twice; take one out.")
        sizes[size.id] = size
    return sizes


def length_between(
    corners: Sequence[Point],
    known: KnownSize,
    first: Point,
    second: Point,
    click_error_px: float = CLICK_ERROR_PX,
) -> MeasuredLength:
    """Distance between two points that lie in the plane of a known rectangle.

    Parameters
    ----------
    corners
        The rectangle's corners in the photo [px]: top left, top right, bottom right, bottom left.
    known
        What the rectangle is.
    first, second
        The points to measure between [px].
    click_error_px
        Standard error of a click [px].

    Returns
    -------
    MeasuredLength
        Low and high from click error, the known thing's tolerance and the lens, added as squares.

    Raises
    ------
    InputError
        If the corners don't go round a convex four-sided shape, or a point lies beyond the horizon
        of the plane.
    """
    clicks = np.array([*corners, first, second], dtype=np.float64)
    if clicks.shape != (6, 2) or not np.isfinite(clicks).all():
        raise InputError("Click four corners and two points, each with two numbers.")
    _check_corners(clicks[:4])
    length = _length(clicks, known)
    slopes = np.empty((6, 2))
    step = 0.5
    for at in np.ndindex(6, 2):
        ahead, behind = clicks.copy(), clicks.copy()
        ahead[at] += step
        behind[at] -= step
        slopes[at] = (_length(ahead, known) - _length(behind, known)) / (2 * step)
    variance = (click_error_px * np.linalg.norm(slopes)) ** 2
    variance += (length * known.tolerance_share) ** 2 + (length * LENS_ERROR_SHARE) ** 2
    spread = P90 * float(np.sqrt(variance))
    return MeasuredLength(
        length_in=Range(low=max(0.0, length - spread), typical=length, high=length + spread)
    )


def _length(clicks: Array, known: KnownSize) -> float:
    target = np.array(
        [
            [0.0, 0.0],
            [known.width_in, 0.0],
            [known.width_in, known.height_in],
            [0.0, known.height_in],
        ]
    )
    plane = cv2.getPerspectiveTransform(
        clicks[:4].astype(np.float32), target.astype(np.float32), cv2.DECOMP_SVD
    )
    places = np.c_[clicks, np.ones(6)] @ plane.T
    if (places[:, 2] * places[0, 2] <= 1e-9).any():
        raise InputError("A point lies beyond the horizon of that surface; click one on it.")
    on_plane = places[:, :2] / places[:, 2:]
    return float(np.linalg.norm(on_plane[5] - on_plane[4]))


def _check_corners(corners: Array) -> None:
    edges = np.roll(corners, -1, axis=0) - corners
    following = np.roll(edges, -1, axis=0)
    turns = edges[:, 0] * following[:, 1] - edges[:, 1] * following[:, 0]
    shortest = min(float(np.linalg.norm(b - a)) for a, b in pairwise([*corners, corners[0]]))
    if shortest < 4.0 or not (turns > 1.0).all():
        raise InputError(
            "The four corners must go round: top left, top right, bottom right, bottom left."
        )
