"""Keep photos of pale rooms with their walls painted anew, to fit the small models to.

``python -m scorer.training.painted_views DATA --walls WALLS --out PAINTED`` writes a few views of
every photo that `scorer.training.repainting` found can be painted, and ``truth.csv`` with the tone
that its walls then have. ``python -m scorer.training … --painted PAINTED`` has them answered by the
network that has not seen their house, and `scorer.training.fit_walls` learns from what is measured.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.photos.colour import ByteArray, linear_to_bytes, srgb_to_linear
from scorer.photos.decode import decode
from scorer.photos.scene import ANALYSIS_PX
from scorer.training.labels import PAINTED_FIELDS, TARGETS, load_pictures
from scorer.training.repainting import can_be_painted, choose_paints

VIEWS = 8  # of each photo
_EXPOSURE_STOPS = 0.2  # standard deviation of what the camera makes of the same room
_JPEG_QUALITY = 92


def painted_view(
    rgb: ByteArray,
    matte: NDArray[np.float64],
    ratio: NDArray[np.float64],
    taken_back: float,
    stops: float = 0.0,
) -> ByteArray:
    """A photo with its walls in another paint.

    Parameters
    ----------
    rgb : (h, w, 3)
    matte : (h, w) share of each pixel that is wall
    ratio : (3,) new over old colour of the paint, linear
    taken_back : exponent [0–1] of the light lost by which the exposure is raised again
    stops : further change of exposure
    """
    linear = srgb_to_linear(rgb / 255)
    painted = linear * (1 + matte[..., None] * (ratio - 1))
    painted *= (linear.mean() / painted.mean()) ** taken_back * 2.0**stops
    return linear_to_bytes(np.clip(painted, 0, 1).astype(np.float32))


def write_views(data: Path, walls: Path, out: Path) -> int:
    """Write the views and ``truth.csv``; the same folders give the same views."""
    out.mkdir(parents=True, exist_ok=True)
    rows = []
    for index, picture in enumerate(load_pictures(data, more_labels=True)):
        wall = walls / f"{picture.name}.png"
        if not can_be_painted(picture) or not wall.is_file():
            continue
        rgb = decode(picture.path, longest_px=ANALYSIS_PX).rgb
        kept = np.asarray(cv2.imread(str(wall), cv2.IMREAD_GRAYSCALE))
        matte = cv2.resize(kept, rgb.shape[1::-1], interpolation=cv2.INTER_AREA) / 255
        rng = np.random.default_rng(index)
        paints = choose_paints(np.ones(VIEWS, np.bool_), rng, share=1.0, accents=0.0)
        for view in range(VIEWS):
            painted = painted_view(
                rgb,
                matte,
                paints.ratios[view],
                float(paints.taken_back[view]),
                float(rng.normal(0, _EXPOSURE_STOPS)),
            )
            name = f"{picture.name}~{view}.jpg"
            cv2.imwrite(
                str(out / name), painted[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY]
            )
            tone = TARGETS["tone"][int(paints.tone[view].argmax())]
            rows.append(dict(zip(PAINTED_FIELDS, (name, picture.group, tone), strict=True)))
    with (out / "truth.csv").open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, PAINTED_FIELDS)
        writer.writeheader()
        writer.writerows(rows)
    return len(rows)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--walls", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args()
    print(f"{given.out}: {write_views(given.data, given.walls, given.out)} painted views")


if __name__ == "__main__":
    main()
