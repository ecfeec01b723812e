"""What the wall models look at: a handful of figures, each of which a person can check by eye.

All are measured on the wall's cells in linear light. ``over_…`` are stops (log2 of a luminance
ratio) of the wall over something else in the photo; ``beside_…`` the same, measured only where the
wall meets it, since both get the same light there; ``level_…`` those as L*. ``net_…`` are log odds
of the room network's own answer. A figure is NaN where what it needs is not in the photo.
"""

from __future__ import annotations

import math

import cv2
import numpy as np

from scorer.photos.calibration import log_odds
from scorer.photos.colour import (
    LUMINANCE_WEIGHTS,
    Float32Array,
    FloatArray,
    lightness,
    linear_to_lab,
)
from scorer.photos.scene import CABINET, CEILING, FLOOR, LAMP, TRIM, WINDOW, Mask, Scene
from scorer.photos.surfaces import expected_lightness
from scorer.photos.white import White

LEAST_CELLS = 40
_ENOUGH, _SURELY_ENOUGH = 60, 240
_NEXT_TO = 13  # cells: a boundary's neighbourhood, about 5 % of the frame
_WHITE_REFLECTANCE = 0.85  # whitest common paint is near 85 to 93: LRV table in trade practice
_BEIGE_HUE = 80.0  # CIE L*a*b* hue angle of off-white and beige paints [degrees]
_SAMPLE = 1500
_NETWORK = (
    ("tone", "dark"), ("tone", "mid"), ("tone", "light"), ("bold", "bold"),
    ("light", "dim"), ("light", "bright"), ("exposure", "dark"), ("exposure", "bright"),
)  # fmt: skip


def wall_features(scene: Scene, mask: Mask, white: White) -> dict[str, float]:
    """Figures of the wall given by `mask`; see the module's notes for names and units."""
    log_y = np.log2(np.maximum(scene.luminance, 1e-4))
    wall = log_y[mask]
    middle = float(np.median(wall))
    low, high = np.percentile(wall, (10, 90))
    features = {
        "wall": middle,
        "wall_lightness": float(lightness(2.0**middle)),
        "frame": float(np.log2(max(float(scene.luminance.mean()), 1e-4))),
        "wall_unevenness": float(high - low),
        "wall_fraction": float(mask.mean()),
        "over_white": middle - _level(white.linear),
    }
    features |= _over_the_brightest(scene, log_y, middle)
    features |= _over_surfaces(scene, log_y, mask, middle)
    features |= _levels(features)
    features |= _colours(scene, mask, white)
    features["texture"] = _texture(scene, mask)
    for question, answer in _NETWORK:
        features[f"net_{question}_{answer}"] = log_odds(scene.head(question, answer))
    told = scene.surfaces.heads.get("lightness") if scene.surfaces else None
    features["net_lightness"] = expected_lightness(told) if told else math.nan
    return features


def _levels(features: dict[str, float]) -> dict[str, float]:
    """L* of the wall if what it is compared with reflects as much as a usual white paint."""
    levels = {}
    for name in ("over_p90", "over_p95", "over_p97", "over_best", "beside_best"):
        ratio = 2.0 ** features[name]
        levels[f"level_{name}"] = float(lightness(min(_WHITE_REFLECTANCE * ratio, 1.2)))
    return levels


def _level(linear: FloatArray) -> float:
    return math.log2(max(float(linear @ LUMINANCE_WEIGHTS), 1e-4))


def _over_the_brightest(scene: Scene, log_y: Float32Array, middle: float) -> dict[str, float]:
    """Wall over the bright end of everything that is neither a light nor blown out."""
    lit = (scene.codes != WINDOW) & (scene.codes != LAMP) & (scene.clipped < 0.5)
    values = log_y[lit] if lit.sum() >= _ENOUGH else log_y.ravel()
    levels = np.percentile(values, (50, 90, 95, 97))
    return {
        f"over_{name}": middle - float(level)
        for name, level in zip(("frame", "p90", "p95", "p97"), levels, strict=True)
    }


def _over_surfaces(
    scene: Scene, log_y: Float32Array, mask: Mask, middle: float
) -> dict[str, float]:
    features, cells = {}, {}
    for name, code in (
        ("ceiling", CEILING), ("trim", TRIM), ("floor", FLOOR), ("cabinet", CABINET),
    ):  # fmt: skip
        other = scene.mask(code, least=0.6)
        cells[name] = int(other.sum())
        seen = cells[name] >= _ENOUGH
        features[f"over_{name}"] = (
            middle - float(np.percentile(log_y[other], 80)) if seen else math.nan
        )
        features[f"beside_{name}"] = _beside(log_y, mask, other) if seen else math.nan
    for kind in ("over", "beside"):
        features[f"{kind}_best"] = _whiter(
            [(features[f"{kind}_{name}"], cells[name]) for name in ("ceiling", "trim")]
        )
    return features


def _whiter(found: list[tuple[float, int]]) -> float:
    """The lower of two figures, as far as enough cells tell it; NaN where there is none.

    A patch just large enough to be counted must not outdo the other at once: else a few cells more
    would move the wall by a class.
    """
    told = sorted((value, cells) for value, cells in found if math.isfinite(value))
    if len(told) < 2:
        return told[0][0] if told else math.nan
    (lower, cells), (higher, _) = told
    sure = min(1.0, (cells - _ENOUGH) / (_SURELY_ENOUGH - _ENOUGH))
    return higher + sure * (lower - higher)


def _beside(log_y: Float32Array, mask: Mask, other: Mask) -> float:
    """Median of the wall's level less the other surface's, where the two lie side by side."""
    box = (_NEXT_TO, _NEXT_TO)

    def around(layer: Float32Array) -> Float32Array:
        blurred = cv2.boxFilter(layer, -1, box, normalize=True, borderType=cv2.BORDER_CONSTANT)
        return np.asarray(blurred, np.float32)

    here, there = mask.astype(np.float32), other.astype(np.float32)
    share_here, share_there = around(here), around(there)
    both = (share_here > 0.15) & (share_there > 0.15)
    if both.sum() < LEAST_CELLS:
        return math.nan
    difference = around(log_y * here)[both] / share_here[both]
    difference -= around(log_y * there)[both] / share_there[both]
    return float(np.median(difference))


def _colours(scene: Scene, mask: Mask, white: White) -> dict[str, float]:
    """Lightness and chroma of the wall against the scene's white, and how many colours it has."""
    cells = scene.linear[mask].astype(np.float64)
    cells = cells[:: max(1, len(cells) // _SAMPLE)]
    against = np.clip(cells / np.maximum(white.linear, 1e-4) * _WHITE_REFLECTANCE, 0, 1.1)
    lab = linear_to_lab(against)
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    unbalanced = linear_to_lab(
        np.clip(cells / 2.0 ** _level(white.linear) * _WHITE_REFLECTANCE, 0, 1.1)
    )
    middle = np.median(lab, axis=0)
    tint = np.median(cells / np.maximum(cells @ LUMINANCE_WEIGHTS, 1e-5)[:, None], axis=0)
    fixed = linear_to_lab(np.maximum(tint / white.tint, 1e-3) * 0.4)
    fixed_raw = linear_to_lab(np.maximum(tint, 1e-3) * 0.4)
    features = {
        "lightness_25": float(np.percentile(lab[:, 0], 25)),
        "lightness_75": float(np.percentile(lab[:, 0], 75)),
        "chroma": float(np.hypot(fixed[1], fixed[2])),
        "chroma_raw": float(np.hypot(fixed_raw[1], fixed_raw[2])),
        "chroma_75": float(np.percentile(chroma, 75)),
        "off_beige": float(_off_beige(middle)),
        "off_beige_90": float(np.percentile(_off_beige(unbalanced), 90)),
    }
    return features | _two_colours(lab)


def _off_beige(lab: FloatArray) -> FloatArray:
    """Chroma times how far the hue turns from beige: 0 for beige or grey, large for red or blue."""
    a, b = lab[..., 1], lab[..., 2]
    away = 1 - np.cos(np.arctan2(b, a) - math.radians(_BEIGE_HUE))
    return np.asarray(np.hypot(a, b) * away)


def _two_colours(lab: FloatArray) -> dict[str, float]:
    """How far the wall's two main colours lie apart (accent wall, panelling), and their chroma."""
    points = lab.astype(np.float32) * np.array([0.5, 1.0, 1.0], np.float32)  # shading counts half
    cv2.setRNGSeed(1)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 15, 0.5)
    _, labels, centres = cv2.kmeans(
        points, 2, np.empty(0, np.int32), stop, 1, cv2.KMEANS_PP_CENTERS
    )
    smaller = float(np.bincount(labels.ravel(), minlength=2).min()) / len(points)
    apart = float(np.linalg.norm(centres[0] - centres[1]))
    chroma = np.hypot(centres[:, 1], centres[:, 2])
    return {
        "two_colours": apart * min(1.0, 3 * smaller),
        "bolder_chroma": float(chroma.max()),
        "darker_chroma": float(chroma[np.argmin(centres[:, 0])]),
    }


def _texture(scene: Scene, mask: Mask) -> float:
    """Fine contrast on the wall, log of 8-bit levels: paper, panel and tile against plain paint."""
    inner = cv2.erode(mask.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    if inner.sum() < LEAST_CELLS:
        return math.nan
    grey = cv2.cvtColor(scene.photo.rgb, cv2.COLOR_RGB2GRAY)
    fine = cv2.absdiff(grey, cv2.GaussianBlur(grey, (0, 0), 2.0)).astype(np.float32)
    rows, columns = mask.shape
    small = cv2.resize(fine, (columns, rows), interpolation=cv2.INTER_AREA)
    return float(np.median(np.log(small[inner] + 0.3)))
