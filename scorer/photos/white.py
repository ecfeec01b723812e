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
    """Find the scene's white: the brightest of the surfaces that are usually white."""
    usable = scene.clipped < _UNCLIPPED
    grey = _shades_of_grey(scene)
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


def _y(linear: FloatArray | Float32Array) -> float:
    return float(np.asarray(linear, dtype=np.float64) @ LUMINANCE_WEIGHTS)


def _channel_ratio(linear: FloatArray | Float32Array) -> Float32Array:
    """Strongest over weakest channel, last axis."""
    red, green, blue = (linear[..., k] for k in range(3))
    strongest = np.maximum(np.maximum(red, green), blue)
    weakest = np.minimum(np.minimum(red, green), blue)
    return np.asarray(strongest / np.maximum(weakest, 1e-4), np.float32)


def _shades_of_grey(scene: Scene) -> FloatArray:
    """Illuminant colour with luminance 1 by the Minkowski mean, p = 6, of unclipped cells [2]_."""
    cells = scene.linear[scene.clipped < _UNCLIPPED]
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
