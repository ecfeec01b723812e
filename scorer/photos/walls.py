"""The wall as a surface: light reflectance value, tone and colour, lighting discounted.

What a camera records of a wall is its reflectance times the light that falls on it. The light is
taken out by comparing the wall with surfaces of known kind in the same photo, above all where they
meet the wall, since both get the same light there. One distribution of the wall's L* comes
out; the LRV range and the chances of dark, mid and light are read from it, so they always agree.

References
----------
.. [1] BS 8493:2008+A1:2010: light reflectance value, 100 × CIE Y.
.. [2] CIE 015:2018: L* of Y (LRV 25 is L* 57.1, LRV 60 is L* 81.8).
"""

from __future__ import annotations

import math

import cv2
import numpy as np

from scorer.photos.calibration import LinearModel, calibration, log_odds, logistic
from scorer.photos.colour import (
    LUMINANCE_WEIGHTS,
    FloatArray,
    lightness,
    linear_to_lab,
    luminance_of_lightness,
)
from scorer.photos.names import colour_of_lab
from scorer.photos.reading import Tone, ToneProbability, Wall
from scorer.photos.scene import CABINET, CEILING, FLOOR, LAMP, TRIM, WALL, WINDOW, Mask, Scene
from scorer.photos.white import White, estimate_white
from scorer.records import Range

DARK_BELOW_LRV, LIGHT_FROM_LRV = 25.0, 60.0
LEAST_FRACTION = 0.02
_LEAST_CELLS = 40
_CUTS = tuple(float(lightness(v / 100)) for v in (DARK_BELOW_LRV, LIGHT_FROM_LRV))
_LOWEST_LRV, _HIGHEST_LRV = 3.0, 94.0  # blackest and whitest paints on sale: standards give 5 to 93
_NINETY = math.log(0.95 / 0.05)  # 95th percentile of the standard logistic distribution
_NEXT_TO = 13  # cells: a boundary's neighbourhood, about 5 % of the frame


def wall_mask(scene: Scene) -> Mask:
    """The cells that every wall figure and the wall's overlay are made from."""
    return scene.mask(WALL)


def read_wall(scene: Scene) -> Wall | None:
    """Measure the wall; None without a surface map, only `fraction` where too little is seen."""
    if scene.surfaces is None:
        return None
    mask = wall_mask(scene)
    fraction = round(float(mask.mean()), 4)
    if fraction < LEAST_FRACTION or mask.sum() < _LEAST_CELLS:
        return Wall(fraction=fraction)
    white = estimate_white(scene)
    features = wall_features(scene, mask, white)
    models = calibration().models
    mean, spread = lightness_distribution(models["wall_lightness"], features)
    chances = tone_chances(mean, spread, models["wall_lightness"].cuts or _CUTS)
    bold = models["wall_bold"].probability(features)
    lrv = Range(
        low=_lrv(mean - _NINETY * spread),
        typical=_lrv(mean),
        high=_lrv(mean + _NINETY * spread),
    )
    lab = wall_lab(scene, mask, white, lrv.typical)
    return Wall(
        fraction=fraction,
        tone=most_likely_tone(chances),
        tone_probability=chances,
        lrv=lrv,
        colour=colour_of_lab(lab),
        bold_probability=round(bold, 4),
        reference=white.reference,
        region=bounding_box(mask),
    )


def lightness_distribution(model: LinearModel, features: dict[str, float]) -> tuple[float, float]:
    """Centre and scale of the logistic distribution of the wall's L*."""
    mean, log_spread = model.sums(features)
    low, high = model.spread or (2.0, 15.0)
    return mean, min(max(math.exp(log_spread), low), high)


def tone_chances(mean: float, spread: float, cuts: tuple[float, ...]) -> ToneProbability:
    """Chances that L* lies below, between and above the two cuts."""
    dark = logistic((cuts[0] - mean) / spread)
    light = logistic((mean - cuts[1]) / spread)
    dark, light = round(dark, 4), round(light, 4)
    return ToneProbability(dark=dark, mid=max(0.0, round(1 - dark - light, 4)), light=light)


def most_likely_tone(chances: ToneProbability) -> Tone:
    """The tone with the greatest chance."""
    if chances.dark >= max(chances.mid, chances.light):
        return "dark"
    return "mid" if chances.mid >= chances.light else "light"


def _lrv(l_star: float) -> float:
    y = float(luminance_of_lightness(min(max(l_star, 0.0), 100.0)))
    return round(min(max(100 * y, _LOWEST_LRV), _HIGHEST_LRV), 1)


def wall_lab(scene: Scene, mask: Mask, white: White, lrv: float) -> FloatArray:
    """Colour of the paint under neutral light at the given LRV: wall's tint over the light's."""
    tint = wall_tint(scene, mask) / white.tint
    tint = tint / float(tint @ LUMINANCE_WEIGHTS)
    return linear_to_lab(np.clip(tint * lrv / 100, 0.0, 1.0))


def wall_tint(scene: Scene, mask: Mask) -> FloatArray:
    """Median colour of the wall's unclipped cells, linear, with luminance 1."""
    usable = mask & (scene.clipped < 0.25)
    cells = scene.linear[usable if usable.sum() >= _LEAST_CELLS else mask].astype(np.float64)
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


def wall_features(scene: Scene, mask: Mask, white: White) -> dict[str, float]:
    """What the wall models look at; NaN where a surface is not in the photo.

    ``over_…`` are stops (log2 of a luminance ratio) of the wall's median over the named surface;
    ``beside_…`` the same, measured only where the wall meets it. ``net_…`` are log odds of the room
    network's own answer.
    """
    y = np.maximum(scene.luminance, 1e-4)
    log_y = np.log2(y)
    wall = log_y[mask]
    middle = float(np.median(wall))
    lit = ~((scene.codes == WINDOW) | (scene.codes == LAMP))
    low, high = np.percentile(wall, (10, 90))
    inside = log_y[lit] if lit.any() else log_y.ravel()
    features = {
        "wall": middle,
        "wall_lightness": float(lightness(2.0**middle)),
        "wall_low": float(low),
        "wall_high": float(high),
        "wall_unevenness": float(high - low),
        "wall_fraction": float(mask.mean()),
        "wall_clipped": float(scene.clipped[mask].mean()),
        "over_white": middle - math.log2(max(float(white.linear @ LUMINANCE_WEIGHTS), 1e-4)),
        "over_bright": middle - float(np.percentile(inside, 95)),
        "over_frame": middle - float(np.median(inside)),
        "over_dark": middle - float(np.percentile(inside, 5)),
        "frame": float(np.log2(y.mean())),
        "black_share": float(scene.black.mean()),
        "window_share": float((scene.codes == WINDOW).mean()),
    }
    for name, code in (
        ("ceiling", CEILING), ("trim", TRIM), ("floor", FLOOR), ("cabinet", CABINET),
    ):  # fmt: skip
        other = scene.mask(code)
        seen = other.sum() >= _LEAST_CELLS
        features[f"over_{name}"] = middle - float(np.median(log_y[other])) if seen else math.nan
        features[f"beside_{name}"] = _beside(log_y, mask, other) if seen else math.nan
    raw = linear_to_lab(wall_tint(scene, mask) * 0.4)
    corrected = linear_to_lab(np.maximum(wall_tint(scene, mask) / white.tint, 1e-3) * 0.4)
    features["chroma"] = float(np.hypot(corrected[1], corrected[2]))
    features["chroma_raw"] = float(np.hypot(raw[1], raw[2]))
    features["red_green"], features["yellow_blue"] = float(corrected[1]), float(corrected[2])
    for question, answer in (
        ("tone", "dark"), ("tone", "mid"), ("tone", "light"), ("bold", "bold"),
        ("light", "dim"), ("light", "bright"), ("exposure", "dark"), ("exposure", "bright"),
    ):  # fmt: skip
        features[f"net_{question}_{answer}"] = log_odds(scene.head(question, answer))
    return features


def _beside(log_y: FloatArray, mask: Mask, other: Mask) -> float:
    """Median of the wall's level less the other surface's, where the two lie side by side."""
    here, there = mask.astype(np.float32), other.astype(np.float32)
    box = (_NEXT_TO, _NEXT_TO)
    values = log_y.astype(np.float32)

    def around(layer: np.ndarray) -> np.ndarray:
        return cv2.boxFilter(layer, -1, box, normalize=True, borderType=cv2.BORDER_CONSTANT)

    share_here, share_there = around(here), around(there)
    both = (share_here > 0.15) & (share_there > 0.15)
    if both.sum() < _LEAST_CELLS:
        return math.nan
    difference = around(values * here)[both] / share_here[both]
    difference -= around(values * there)[both] / share_there[both]
    return float(np.median(difference))
