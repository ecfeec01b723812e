"""What stands for white in a photo, and the tint of the light.

Paint is judged against something known to be near white in the same light: a ceiling, trim and
doors, a fixture or appliance, else the brightest neutral part. Which one was used is kept with the
figure.

References
----------
.. [1] G. Buchsbaum, "A spatial processor model for object colour perception", J. Franklin Inst.
   310:1–26, 1980, and E. H. Land, "The retinex theory of color vision", Sci. Am. 237, 1977: the
   brightest neutral patch as the estimate of the illuminant.
.. [2] G. D. Finlayson and E. Trezzi, "Shades of gray and colour constancy", CIC 12, 2004.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scorer.photos.colour import LUMINANCE_WEIGHTS, Float32Array, FloatArray
from scorer.photos.scene import CEILING, LAMP, OTHER, TRIM, WINDOW, Mask, Scene

_LEAST_CELLS = 60
_UNCLIPPED = 0.25  # a cell with more clipped pixels than this tells no colour
_LEAST_LEVEL = 0.002  # linear: darker cells hold more noise than colour
_MOST_TINT = 3.2  # strongest channel over weakest: incandescent light unbalanced reaches about 3
_NEUTRAL = 1.45  # the same, against the photo's own grey, for a patch called neutral

# Of `light_tint`, chosen on 54 renders with known paint and 203 labelled photos.
_FADE_NEUTRAL, _FADE_TINT = 0.08, 0.15  # widths over which the two limits above fade [ln]
_NEAR_LEVEL = 0.25  # spread of the levels that count around a candidate's own [ln]
_WEIGHTS = {"ceiling": 1.0, "trim": 1.0, "fixture": 0.2, "bright neutral": 0.1}
_HALF_WEIGHT_CELLS, _LEAST_WEIGHT = 12.5, 0.25
_THINNED = np.s_[::2, ::2]  # a quarter of the cells tells the same
_GREY_WEIGHT = 0.02  # of the photo's own grey, which decides only where nothing white is seen


@dataclass(frozen=True)
class White:
    """The scene's white.

    Attributes
    ----------
    reference
        ``ceiling``, ``trim``, ``fixture``, ``bright neutral`` or ``photo``.
    linear
        (3,) linear light that a white surface sends back in this photo; may exceed 1.
    tint
        (3,) colour of the light, linear, with luminance 1.
    candidates
        By reference, the luminance [0–1] it suggests.
    """

    reference: str
    linear: FloatArray
    tint: FloatArray
    candidates: dict[str, float]


def estimate_white(scene: Scene) -> White:
    """Find the scene's white: the brightest of the surfaces that are usually white.

    The references follow one another by thresholds, as the models' figures need; for a colour to
    be shown, `light_tint` is steadier.
    """
    usable = scene.clipped < _UNCLIPPED
    grey = _shades_of_grey(scene.linear, scene.clipped)
    neutral = _channel_ratio(np.asarray(scene.linear / grey, np.float32)) < _NEUTRAL
    lit = usable & (scene.codes != WINDOW) & (scene.codes != LAMP)
    places: dict[str, tuple[Mask, float]] = {
        "ceiling": (scene.mask(CEILING) & usable, 60),
        "trim": (scene.mask(TRIM) & usable, 75),
        "fixture": (scene.mask(OTHER) & usable & neutral, 92),
        "bright neutral": (lit & neutral, 97),
    }
    found: dict[str, FloatArray] = {}
    for name, (mask, percent) in places.items():
        colour = _bright_colour(scene, mask, percent)
        if colour is None or _y(colour) < _LEAST_LEVEL:
            continue
        if colour.max() <= _MOST_TINT * colour.min():
            found[name] = colour
    if not found:
        level = float(np.percentile(scene.luminance, 98))
        white = np.maximum(grey * max(level, 1e-3), 1e-4)
        return White("photo", white, white / _y(white), {})
    candidates = {name: _y(colour) for name, colour in found.items()}
    # Ceiling and trim are painted white far oftener than other things are, so they go first; a
    # fixture or bright neutral takes over only where it is clearly brighter.
    first = {n: y for n, y in candidates.items() if n in {"ceiling", "trim"}}
    best = max(candidates, key=lambda n: candidates[n] * (1.0 if n in first or not first else 0.6))
    tinted = [found[n] / candidates[n] for n in (first or candidates)]
    tint = np.mean(tinted, axis=0)
    tint = tint / _y(tint)
    return White(best, tint * candidates[best], tint, candidates)


def light_tint(scene: Scene) -> FloatArray:
    """Colour of the light, linear, with luminance 1, without any threshold.

    The same references as in `estimate_white`, each cell counted by how surely it is one, each
    reference by how much of it is seen and how likely it is white; means are of logarithms. So a
    photo that is mirrored, encoded again or exposed a little more gives the same colour.

    Parameters
    ----------
    scene
        A photo whose surfaces have been found.

    Returns
    -------
    (3,) linear
    """
    linear, seen = scene.linear[_THINNED], scene.probability[:, *_THINNED]
    grey = _shades_of_grey(linear, scene.clipped[_THINNED])
    usable = np.clip(1 - scene.clipped[_THINNED] / (2 * _UNCLIPPED), 0, 1)
    ratio = np.log(np.maximum(_channel_ratio(np.asarray(linear / grey, np.float32)), 1.0))
    neutral = _fading(ratio, np.log(_NEUTRAL), _FADE_NEUTRAL)
    places = {
        "ceiling": (seen[CEILING], 60),
        "trim": (seen[TRIM], 75),
        "fixture": (seen[OTHER] * np.sqrt(neutral), 92),
        "bright neutral": ((1 - seen[WINDOW] - seen[LAMP]) * np.sqrt(neutral), 97),
    }
    colours = np.log(np.maximum(linear, 1e-4)).reshape(-1, 3)
    levels = np.log(np.maximum(scene.luminance[_THINNED], 1e-4)).ravel()
    order = np.argsort(levels)
    total, mean = _GREY_WEIGHT, _GREY_WEIGHT * np.log(grey)
    for name, (share, percent) in places.items():
        weight = (np.clip(share, 0, 1) ** 2 * usable).ravel()
        cells = float(weight.sum())
        if cells < _LEAST_WEIGHT:
            continue
        below = np.cumsum(weight[order])
        level = levels[order[np.searchsorted(below, percent / 100 * below[-1])]]
        if level < np.log(_LEAST_LEVEL):
            continue
        near = weight * np.exp(-0.5 * ((levels - level) / _NEAR_LEVEL) ** 2)
        colour = near @ colours / near.sum()
        colour -= np.log(_y(np.exp(colour)))
        trust = float(_fading(np.ptp(colour), np.log(_MOST_TINT), _FADE_TINT))
        part = _WEIGHTS[name] * trust * cells / (cells + _HALF_WEIGHT_CELLS)
        total += part
        mean += part * colour
    tint = np.exp(mean / total)
    return np.asarray(tint / _y(tint))


def _fading(value: FloatArray | Float32Array | float, limit: float, width: float) -> FloatArray:
    """1 well below a limit, 0 well above it, and a smooth way between."""
    return np.asarray(0.5 * (1 - np.tanh(0.5 * (np.asarray(value) - limit) / width)))


def _y(linear: FloatArray | Float32Array) -> float:
    return float(np.asarray(linear, dtype=np.float64) @ LUMINANCE_WEIGHTS)


def _channel_ratio(linear: FloatArray | Float32Array) -> Float32Array:
    """Strongest over weakest channel, last axis."""
    red, green, blue = (linear[..., k] for k in range(3))
    strongest = np.maximum(np.maximum(red, green), blue)
    weakest = np.minimum(np.minimum(red, green), blue)
    return np.asarray(strongest / np.maximum(weakest, 1e-4), np.float32)


def _shades_of_grey(linear: Float32Array, clipped: Float32Array) -> FloatArray:
    """Illuminant colour with luminance 1 by the Minkowski mean, p = 6, of unclipped cells [2]_."""
    cells = linear[clipped < _UNCLIPPED]
    if len(cells) < _LEAST_CELLS:
        return np.ones(3)
    squared = cells * cells
    mean = np.power(np.mean(squared * squared * squared, axis=0, dtype=np.float64), 1 / 6)
    mean = np.maximum(mean, 1e-4)
    return np.array(mean / _y(mean), dtype=np.float64)


def _bright_colour(scene: Scene, mask: Mask, percent: float) -> FloatArray | None:
    """Median colour of the cells near a luminance percentile of a region."""
    if mask.sum() < _LEAST_CELLS:
        return None
    cells = scene.linear[mask]
    y = scene.luminance[mask]
    level = float(np.percentile(y, percent))
    near = np.abs(y - level) <= 0.1 * level
    chosen = cells[near] if near.sum() >= 5 else cells
    return np.asarray(np.median(chosen, axis=0), dtype=np.float64)
