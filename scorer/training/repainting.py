"""Photos of pale rooms with their walls painted dark or in mid tones, to learn wall tone from.

Dark walls are rare in listings, so the few that are labelled teach little. A pale neutral wall
becomes any other when its linear light is multiplied by the ratio of the two paints' colours:
shading, texture, the room around it and the photo's own light stay.

``python -m scorer.training.repainting DATA --predictions OOF.npz --out FOLDER`` keeps the share of
wall in each pixel of every photo that can be painted, found by a network that had not seen its
house; ``python -m scorer.training --walls FOLDER`` then paints it anew in every view.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.photos.colour import LUMINANCE_WEIGHTS, lab_to_linear, luminance_of_lightness
from scorer.training.labels import TARGETS, Picture, load_pictures

SHARE = 0.5  # of the views of photos that can be painted
LEAST_WALL = 0.04  # share of the frame: less paint would not show
MOST_SEAM = 0.45  # area of half-wall over wall: more, and the paint comes out in blotches
_PALE = 0.72  # reflectance that a wall labelled light is taken to have
# reflectance of the new paint: a pale wall may have 0.6 to 0.9, and the tone must hold for both
# Of dark, mid and light, as in `TARGETS`; light again: what painting spoils must not tell the tone.
_CHANCES = (0.4, 0.4, 0.2)
_REFLECTANCE = np.array([(0.035, 0.165), (0.30, 0.44), (0.68, 0.84)])
_NEUTRAL_CHROMA, _STRONG_CHROMA = (0.0, 13.0), (20.0, 55.0)  # CIE L*a*b*
ACCENTS = 0.3  # share of the dark and mid paints that go on a part of the walls only
_CUT = (0.3, 0.7)  # where that part begins or ends, as a share of the view's width
_MOST_TAKEN_BACK = 0.8  # a camera takes back at most so much of the light that dark walls swallow
_SURE = 0.9  # that a strong or dark paint is called bold, and a weak mid one is not


@dataclass(frozen=True)
class Paints:
    """New paint of each view of a batch.

    Attributes
    ----------
    ratios : (n, 3) new over old colour, linear; 1 where the wall stays as it is
    painted : (n,) whether it was painted
    span : (n, 2) between which shares of the view's width the walls are painted: 0 and 1, or less
        for an accent wall
    taken_back : (n,) exponent [0–1] of the light lost by which the exposure is raised again
    tone, bold : (n, classes) what the wall then is, in the order of `TARGETS`
    """

    ratios: NDArray[np.float64]
    painted: NDArray[np.bool_]
    span: NDArray[np.float64]
    taken_back: NDArray[np.float64]
    tone: NDArray[np.float32]
    bold: NDArray[np.float32]


def can_be_painted(picture: Picture) -> bool:
    """Whether it is a photo whose walls are known to be pale and plain."""
    pale, plain = picture.targets.get("tone"), picture.targets.get("bold")
    if not picture.house or pale is None or plain is None:
        return False
    return float(pale[TARGETS["tone"].index("light")]) == 1.0 and float(plain[0]) == 1.0


def choose_paints(
    possible: NDArray[np.bool_],
    rng: np.random.Generator,
    *,
    share: float = SHARE,
    accents: float = ACCENTS,
) -> Paints:
    """Paint some of the views that can be: mostly dark or in mid tones, half of those strong.

    Parameters
    ----------
    possible : (n,) which views can be painted
    share : of those, the share that is
    accents : share of the dark and mid paints that go on a part of the walls only
    """
    n = len(possible)
    painted = possible & (rng.random(n) < share)
    which = rng.choice(len(_CHANCES), n, p=_CHANCES)
    dark, strong = which == 0, (rng.random(n) < 0.5) & (which != 2)
    wanted = rng.uniform(*_REFLECTANCE[which].T)
    weakest, strongest = (
        np.where(strong, _STRONG_CHROMA[end], _NEUTRAL_CHROMA[end]) for end in (0, 1)
    )
    chroma, hue = rng.uniform(weakest, strongest), rng.uniform(0, 2 * np.pi, n)
    lightness = 116 * np.cbrt(wanted) - 16
    lab = np.stack([lightness, chroma * np.cos(hue), chroma * np.sin(hue)], axis=1)
    colour = np.clip(lab_to_linear(lab), 0.004, 1.0)
    colour *= (luminance_of_lightness(lightness) / (colour @ LUMINANCE_WEIGHTS))[:, None]
    tone = np.zeros((n, len(TARGETS["tone"])), np.float32)
    tone[np.arange(n), which] = 1.0
    bold = np.where(dark | strong, _SURE, 1 - _SURE)
    accent, cut = (rng.random(n) < accents) & (which != 2), rng.uniform(*_CUT, n)
    left = rng.random(n) < 0.5
    span = np.stack([np.where(accent & ~left, cut, 0.0), np.where(accent & left, cut, 1.0)], axis=1)
    return Paints(
        np.where(painted[:, None], colour / _PALE, 1.0),
        painted,
        span,
        np.where(painted, rng.uniform(0, _MOST_TAKEN_BACK, n), 0.0),
        tone,
        np.stack([1 - bold, bold], axis=1).astype(np.float32),
    )


def keep_walls(data: Path, predictions: Path, out: Path) -> int:
    """Write the share of wall in each pixel, 8-bit, of every photo that can be painted."""
    from scorer.photos.decode import decode
    from scorer.photos.painting import wall_matte
    from scorer.photos.scene import ANALYSIS_PX, build_scene
    from scorer.training.measured import read_predictions

    surfaces_of = read_predictions(predictions)
    out.mkdir(parents=True, exist_ok=True)
    count = 0
    for picture in load_pictures(data, more_labels=True):
        surfaces = surfaces_of(picture.path) if can_be_painted(picture) else None
        if surfaces is None:
            continue
        matte = wall_matte(build_scene(decode(picture.path, longest_px=ANALYSIS_PX), surfaces))
        sure, half = (matte > 0.9).sum(), ((matte > 0.1) & (matte <= 0.9)).sum()
        if float(matte.mean()) >= LEAST_WALL and half <= MOST_SEAM * sure:
            cv2.imwrite(str(out / f"{picture.name}.png"), np.rint(matte * 255).astype(np.uint8))
            count += 1
    return count


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--predictions", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args()
    print(f"{given.out}: walls of {keep_walls(given.data, given.predictions, given.out)} photos")


if __name__ == "__main__":
    main()
