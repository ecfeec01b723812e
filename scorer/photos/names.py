"""ISCC-NBS colour names, and the dominant colours of a photo.

References
----------
.. [1] K. L. Kelly and D. B. Judd, "Color: Universal Language and Dictionary of Names", NBS Special
   Publication 440, 1976 (level 3, 267 names).
"""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib.resources import files

import cv2
import numpy as np
from numpy.typing import ArrayLike

from scorer.errors import InputError
from scorer.photos.colour import (
    ByteArray,
    FloatArray,
    bytes_to_lab,
    ciede2000,
    hex_of_lab,
    lab_of_hex,
)
from scorer.photos.reading import Colour, DominantColour

_SAMPLE_SIDE = 64  # the clusters of a 64 px copy are those of the photo to within a few percent
_CLUSTERS = 6
_SAME_COLOUR = 6.0  # clusters nearer than this (CIEDE2000) would get the same words


@lru_cache(maxsize=1)
def centroids() -> tuple[tuple[str, ...], FloatArray]:
    """Names and the (267, 3) L*a*b* centroids."""
    source = files("scorer.photos") / "data" / "iscc_nbs_centroids.csv"
    names: list[str] = []
    labs = []
    with source.open(encoding="utf-8") as stream:
        for number, row in enumerate(csv.DictReader(stream), start=2):
            try:
                labs.append(lab_of_hex(row["hex"]))
                names.append(row["name"])
            except (KeyError, ValueError, TypeError) as error:
                raise InputError(
                    f"{source.name}, row {number}, field hex: not a colour like #a1b2c3."
                ) from error
    return tuple(names), np.array(labs)


def colour_name(lab: ArrayLike) -> str:
    """Nearest ISCC-NBS name by CIEDE2000, in lower case [1]_."""
    names, labs = centroids()
    return names[int(np.argmin(ciede2000(np.asarray(lab, dtype=np.float64), labs)))].lower()


def colour_of_lab(lab: ArrayLike) -> Colour:
    """The record of a colour given as CIE L*a*b* (D65)."""
    values = np.asarray(lab, dtype=np.float64)
    lightness, a, b = (round(float(v), 2) for v in values)
    return Colour(hex=hex_of_lab(values), name=colour_name(values), lab=(lightness, a, b))


def dominant_colours(rgb: ByteArray, *, clusters: int = _CLUSTERS) -> tuple[DominantColour, ...]:
    """Dominant colours, largest share first: k-means in CIE L*a*b* with a fixed seed.

    Clusters that a person would call the same colour are joined, so fewer may come back.

    Parameters
    ----------
    rgb : (h, w, 3) 8-bit sRGB
    clusters : the most colours to give
    """
    height, width = rgb.shape[:2]
    scale = _SAMPLE_SIDE / max(height, width)
    if scale < 1:
        size = (max(1, round(width * scale)), max(1, round(height * scale)))
        rgb = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    pixels = bytes_to_lab(rgb).reshape(-1, 3)
    distinct = len(np.unique(rgb.astype(np.uint32) @ np.array([1 << 16, 1 << 8, 1], np.uint32)))
    count = min(clusters, distinct)
    cv2.setRNGSeed(1)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    _, labels, centres = cv2.kmeans(
        pixels, count, np.empty(0, np.int32), stop, 1, cv2.KMEANS_PP_CENTERS
    )
    shares = np.bincount(labels.ravel(), minlength=count) / len(pixels)
    joined: list[tuple[float, FloatArray]] = []
    for index in np.argsort(-shares):
        share, centre = float(shares[index]), centres[index].astype(np.float64)
        for place, (other_share, other) in enumerate(joined):
            if ciede2000(centre, other) < _SAME_COLOUR:
                total = share + other_share
                joined[place] = (total, (centre * share + other * other_share) / total)
                break
        else:
            joined.append((share, centre))
    joined.sort(key=lambda pair: -pair[0])
    return tuple(
        DominantColour(hex=hex_of_lab(lab), name=colour_name(lab), share=round(min(share, 1.0), 4))
        for share, lab in joined
    )
