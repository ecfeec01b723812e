"""The wall as a surface: light reflectance value, tone and colour, lighting discounted.

What a camera records of a wall is its reflectance times the light that falls on it. The light is
taken out by comparing the wall with surfaces of known kind in the same photo, above all where they
meet the wall, since both get the same light there. One distribution of the wall's L* comes
out, and the chances of dark, mid and light; the LRV range is made to agree with both.

References
----------
.. [1] BS 8493:2008+A1:2010: light reflectance value, 100 × CIE Y.
.. [2] CIE 015:2018: L* of Y (LRV 25 is L* 57.1, LRV 60 is L* 81.8).
.. [3] R. C. Jeffrey, "The Logic of Decision", 1965: how a distribution changes when the chances of
   a few cases become known otherwise.
"""

from __future__ import annotations

import math

import numpy as np

from scorer.photos.calibration import LinearModel, calibration, logistic
from scorer.photos.colour import (
    LUMINANCE_WEIGHTS,
    FloatArray,
    lightness,
    linear_to_lab,
    luminance_of_lightness,
)
from scorer.photos.names import colour_of_lab
from scorer.photos.reading import Tone, ToneProbability, Wall
from scorer.photos.scene import WALL, Mask, Scene
from scorer.photos.wall_features import LEAST_CELLS, wall_features
from scorer.photos.white import estimate_white, light_tint
from scorer.records import Range

DARK_BELOW_LRV, LIGHT_FROM_LRV = 25.0, 60.0
LEAST_FRACTION = 0.006
_CUTS = tuple(float(lightness(v / 100)) for v in (DARK_BELOW_LRV, LIGHT_FROM_LRV))
_LOWEST_LRV, _HIGHEST_LRV = 3.0, 94.0  # blackest and whitest paints on sale: standards give 5 to 93
_SURE, _ENOUGH_SURE = 0.75, 200


def wall_mask(scene: Scene) -> Mask:
    """The cells that every wall figure and the wall's overlay are made from.

    Only sure wall counts, as long as there is enough of it: a strip of cabinet taken for wall does
    more harm than a strip of wall left out.
    """
    sure = scene.mask(WALL, least=_SURE)
    return sure if sure.sum() >= _ENOUGH_SURE else scene.mask(WALL)


def wall_is_seen(scene: Scene) -> bool:
    """Whether enough wall is in view to be judged."""
    seen = scene.mask(WALL)
    return bool(seen.mean() >= LEAST_FRACTION and seen.sum() >= LEAST_CELLS)


def read_wall(scene: Scene) -> Wall | None:
    """Measure the wall; None without a surface map, only `fraction` where too little is seen."""
    if scene.surfaces is None:
        return None
    fraction = round(float(scene.mask(WALL).mean()), 4)
    if not wall_is_seen(scene):
        return Wall(fraction=fraction)
    mask = wall_mask(scene)
    white = estimate_white(scene)
    features = wall_features(scene, mask, white)
    models = calibration().models
    chances = tone_chances(
        models["wall_dark"].probability(features), models["wall_light"].probability(features)
    )
    lrv = lrv_range(*lightness_distribution(models["wall_lightness"], features), chances)
    return Wall(
        fraction=fraction,
        tone=most_likely_tone(chances),
        tone_probability=chances,
        lrv=lrv,
        colour=colour_of_lab(wall_lab(scene, mask, light_tint(scene), lrv.typical)),
        bold_probability=round(models["wall_bold"].probability(features), 4),
        reference=white.reference,
        region=bounding_box(mask),
    )


def lightness_distribution(model: LinearModel, features: dict[str, float]) -> tuple[float, float]:
    """Centre and scale of the logistic distribution of the wall's L*, before its tone is known."""
    mean, log_spread = model.sums(features)
    return mean, math.exp(log_spread)


def tone_chances(dark: float, light: float) -> ToneProbability:
    """Chances of the three tones from those of dark against the rest and light against the rest."""
    mid = max(0.0, 1 - dark - light)
    total = dark + mid + light
    dark, light = round(dark / total, 4), round(light / total, 4)
    return ToneProbability(dark=dark, mid=max(0.0, round(1 - dark - light, 4)), light=light)


def lrv_range(mean: float, spread: float, chances: ToneProbability) -> Range:
    """LRV at the 5th, 50th and 95th percentile.

    The logistic distribution of L* keeps its shape within each tone's band and is scaled so that
    each band holds that tone's chance (Jeffrey's rule [3]_); so range and chances never contradict.
    """
    low, middle, high = (
        _lrv(_percentile(share, mean, spread, chances)) for share in (0.05, 0.5, 0.95)
    )
    return Range(low=low, typical=middle, high=high)


def _percentile(share: float, mean: float, spread: float, chances: ToneProbability) -> float:
    edges = (-math.inf, *_CUTS, math.inf)
    below = 0.0
    for index, chance in enumerate((chances.dark, chances.mid, chances.light)):
        left, right = edges[index], edges[index + 1]
        if share <= below + chance or index == 2:
            within = min(max((share - below) / chance, 0.0), 1.0) if chance > 0 else 0.0
            start, end = logistic((left - mean) / spread), logistic((right - mean) / spread)
            if end - start < 1e-9:  # the measured level lies far outside this band
                return left if mean < left else right
            level = min(max(start + within * (end - start), 1e-9), 1 - 1e-9)
            return min(max(mean + spread * math.log(level / (1 - level)), left), right)
        below += chance
    raise AssertionError("the last band takes what is left")


def most_likely_tone(chances: ToneProbability) -> Tone:
    """The tone with the greatest chance."""
    if chances.dark >= max(chances.mid, chances.light):
        return "dark"
    return "mid" if chances.mid >= chances.light else "light"


def _lrv(l_star: float) -> float:
    y = float(luminance_of_lightness(min(max(l_star, 0.0), 100.0)))
    return round(min(max(100 * y, _LOWEST_LRV), _HIGHEST_LRV), 1)


def wall_lab(scene: Scene, mask: Mask, light: FloatArray, lrv: float) -> FloatArray:
    """Colour of the paint under neutral light at the given LRV: wall's tint over the light's."""
    tint = wall_tint(scene, mask) / light
    tint = tint / float(tint @ LUMINANCE_WEIGHTS)
    return linear_to_lab(np.clip(tint * lrv / 100, 0.0, 1.0))


def wall_tint(scene: Scene, mask: Mask) -> FloatArray:
    """Median colour of the wall's unclipped cells, linear, with luminance 1."""
    usable = mask & (scene.clipped < 0.25)
    cells = scene.linear[usable if usable.sum() >= LEAST_CELLS else mask].astype(np.float64)
    y = np.maximum(cells @ LUMINANCE_WEIGHTS, 1e-5)
    tint = np.median(cells / y[:, None], axis=0)
    tint = np.maximum(tint, 1e-3)
    return np.asarray(tint / float(tint @ LUMINANCE_WEIGHTS))


def bounding_box(mask: Mask) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a region as shares of width and height."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    height, width = mask.shape
    return (
        round(float(columns[0]) / width, 4),
        round(float(rows[0]) / height, 4),
        round(float(columns[-1] + 1) / width, 4),
        round(float(rows[-1] + 1) / height, 4),
    )
