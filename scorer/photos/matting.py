"""Edge-aware refinement of a coarse probability map by the photo itself.

References
----------
.. [1] K. He, J. Sun, X. Tang, "Guided image filtering", IEEE TPAMI 35:1397–1409, 2013.
"""

from __future__ import annotations

import cv2
import numpy as np

from scorer.photos.colour import Float32Array


def guided_filter(
    guide: Float32Array, values: Float32Array, radius: int, epsilon: float
) -> Float32Array:
    """Filter `values` so that its edges follow those of a colour guide [1]_.

    Parameters
    ----------
    guide : (h, w, 3) picture, 0–1
    values : (h, w) to be filtered
    radius : half the window's side [px]
    epsilon : variance of the guide below which a window counts as flat
    """
    size = (2 * radius + 1, 2 * radius + 1)

    def mean(layer: Float32Array) -> Float32Array:
        return np.asarray(cv2.boxFilter(layer, cv2.CV_32F, size), np.float32)

    channels = [np.ascontiguousarray(guide[..., k]) for k in range(3)]
    means = [mean(c) for c in channels]
    mean_value = mean(values)
    covariance = np.empty((*values.shape, 3, 3), np.float32)
    for i in range(3):
        for j in range(i, 3):
            cell = mean(channels[i] * channels[j]) - means[i] * means[j]
            covariance[..., i, j] = covariance[..., j, i] = cell
    covariance[..., range(3), range(3)] += epsilon
    with_value = np.stack(
        [mean(c * values) - m * mean_value for c, m in zip(channels, means, strict=True)], axis=-1
    )
    slope = np.linalg.solve(covariance, with_value[..., None])[..., 0].astype(np.float32)
    offset = mean_value - np.einsum("hwk,hwk->hw", slope, np.stack(means, axis=-1))
    smooth = [mean(np.ascontiguousarray(slope[..., k])) for k in range(3)]
    result = mean(offset)
    for k in range(3):
        result = result + smooth[k] * channels[k]
    return np.asarray(result, np.float32)
