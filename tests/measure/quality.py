"""Measure blur, tilt and lettering on a folder of photos, and on copies spoilt by known amounts.

``python -m tests.measure.quality FOLDER`` prints how the limits in ``scorer/photos/quality.py``
were chosen: a limit is good if few photos pass it as they are and most do once they are spoilt.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np

from scorer.photos.colour import bytes_to_lab
from scorer.photos.decode import load_photo
from scorer.photos.quality import (
    BLURRED,
    TILT_DEGREES,
    blur_left,
    looks_marked,
    tilt_degrees,
)
from scorer.photos.scene import ANALYSIS_PX

SIGMAS = (0.0, 1.0, 2.0, 3.0, 5.0)
TURNS = (0.0, 2.0, 4.0, 6.0)


def blurred(rgb: np.ndarray, sigma: float) -> float:
    soft = cv2.GaussianBlur(rgb, (0, 0), sigma) if sigma else rgb
    return blur_left(np.ascontiguousarray(bytes_to_lab(soft)[..., 0]))


def turned(grey: np.ndarray, degrees: float) -> np.ndarray:
    height, width = grey.shape
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), -degrees, 1.15)
    return cv2.warpAffine(grey, matrix, (width, height))


def main() -> None:
    """Print the shares."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=2, help="take every n-th photo")
    given = parser.parse_args()
    blur: list[list[float]] = []
    lean: list[list[float]] = []
    marked = []
    for path in sorted(given.folder.glob("*.jpg"))[:: given.every]:
        rgb = load_photo(path, longest_px=ANALYSIS_PX)
        grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
        blur.append([blurred(rgb, sigma) for sigma in SIGMAS])
        found = [tilt_degrees(turned(grey, turn)) for turn in TURNS]
        lean.append([np.nan if value is None else value for value in found])
        if looks_marked(grey):
            marked.append(path.name)
    print(f"{len(blur)} photos, longest side {ANALYSIS_PX} px at most")
    for sigma, column in zip(SIGMAS, np.array(blur).T, strict=True):
        print(f"blur of {sigma:.0f} px: {np.mean(column > BLURRED):.2f} called blurred")
    tilts = np.array(lean)
    for turn, column in zip(TURNS, tilts.T, strict=True):
        error = column - tilts[:, 0] - turn
        print(
            f"turned by {turn:.0f} degrees: {np.mean(np.abs(column) > TILT_DEGREES):.2f} called "
            f"tilted, median error of the turn {np.nanmedian(np.abs(error)):.2f} degrees"
        )
    print(f"lettering seen in {len(marked)}: {', '.join(marked[:12])}")


if __name__ == "__main__":
    main()
