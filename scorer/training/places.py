"""Gather pictures of places and things that are no kitchen, bathroom or bedroom.

``python -m scorer.training.places UNPACKED OUT`` writes OUT/front and OUT/other, for ``--extra`` of
``python -m scorer.training``. UNPACKED holds Debian's packages opencv-doc, mate-backgrounds and
stellarium-data, unpacked with ``dpkg -x``. House fronts rendered for the demo homes were added by
hand.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.errors import InputError

_EXAMPLES = "usr/share/doc/opencv-doc/examples"
_FRONTS = [
    "data/home.jpg",
    "data/building.jpg",
    "data/leuvenA.jpg",
    "data/leuvenB.jpg",
    "reg/home.png",
    "text/scenetext01.jpg",
    "text/scenetext03.jpg",
    "text/scenetext04.jpg",
    "text/scenetext06.jpg",
    "hfs/data/001.jpg",
    "hfs/data/002.jpg",
]
_OTHERS = [
    "data/stuff.jpg",
    "data/box_in_scene.png",
    "data/graf1.png",
    "hfs/data/000.jpg",
    "text/scenetext02.jpg",
    "text/scenetext05.jpg",
    "data/board.jpg",
    "data/aloeL.jpg",
    "data/licenseplate_motion.jpg",
    "ximgproc/stanford.png",
    "data/left01.jpg",
    "data/fruits.jpg",
    "data/sudoku.png",
    "data/cards.png",
]
_PANORAMAS = (
    "guereins/guereins[1-8].png",
    "garching/garching-gl?.png",
    "hurricane/hurricane[1-8].png",
)
_LONG_SIDE = 704  # [px]


def drawn_sky(height: int, width: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """A sky (h, w, 3), BGR 0 to 255, paler toward the horizon, with soft clouds."""
    top = np.array([rng.uniform(150, 235), rng.uniform(120, 180), rng.uniform(60, 130)])
    low = np.array([235.0, 225.0, 215.0])
    share = np.linspace(0, 1, height)[:, None, None]
    sky = np.broadcast_to(top * (1 - share) + low * share, (height, width, 3))
    noise = rng.normal(0, 1, (height, width)).astype(np.float32)
    cloud = np.asarray(cv2.GaussianBlur(noise, (0, 0), height / 9))
    cloud = np.clip(cloud / cloud.std() * 0.5, 0, 1)[..., None]
    return np.asarray(sky * (1 - cloud * 0.6) + 250 * cloud * 0.6)


def under_a_sky(panorama: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    """A landscape with transparency (h, w, 4) put under a drawn sky, most of the sky cut off."""
    solid = panorama[..., 3:] / 255.0
    rows = np.flatnonzero(solid[..., 0].max(axis=1) > 0.5)
    first = max(0, int(rows[0] - 0.25 * (rows[-1] - rows[0])))
    sky = drawn_sky(panorama.shape[0], panorama.shape[1], rng)
    mixed = panorama[..., :3] * solid + sky * (1 - solid)
    return np.clip(mixed[first:], 0, 255).astype(np.uint8)


def _write(image: NDArray[np.uint8], path: Path) -> None:
    scale = _LONG_SIDE / max(image.shape[:2])
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    path.parent.mkdir(parents=True, exist_ok=True)
    resized = cv2.resize(image, None, fx=scale, fy=scale, interpolation=way)
    cv2.imwrite(str(path), resized, [cv2.IMWRITE_JPEG_QUALITY, 88])


def _read(path: Path, flag: int = cv2.IMREAD_COLOR) -> NDArray[np.uint8]:
    image = cv2.imread(str(path), flag)
    if image is None:
        raise InputError(f"{path} is missing or no picture; unpack the three packages first.")
    return np.asarray(image, np.uint8)


def gather(unpacked: Path, out: Path) -> None:
    """Write all pictures; see the module for the folders."""
    rng = np.random.default_rng(0)
    for kind, names in (("front", _FRONTS), ("other", _OTHERS)):
        for name in names:
            source = unpacked / _EXAMPLES / name
            _write(_read(source), out / kind / f"{source.stem}.jpg")
    for source in sorted((unpacked / "usr/share/backgrounds/mate/nature").glob("*.jpg")):
        _write(_read(source), out / "other" / f"{source.stem}.jpg")
    for pattern in _PANORAMAS:
        for source in sorted((unpacked / "usr/share/stellarium/landscapes").glob(pattern)):
            view = under_a_sky(_read(source, cv2.IMREAD_UNCHANGED), rng)
            width = min(view.shape[1], int(view.shape[0] * 1.5))
            _write(view[:, :width], out / "front" / f"{source.stem}_0.jpg")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("unpacked", type=Path)
    parser.add_argument("out", type=Path)
    given = parser.parse_args()
    gather(given.unpacked, given.out)
