"""Small explainable models read from a data file: weighted sums of named features.

Each model standardizes its features, replaces what was not seen by the training mean (a value of
zero after standardizing), adds up weight × feature, and turns the sum into a probability. The
coefficients and how they were fitted lie in ``data/calibration.json``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files

import numpy as np
from pydantic import ValidationError, model_validator

from scorer.errors import InputError
from scorer.records import Record

_FAR = 6.0  # standardized features are held within this, so that an odd photo cannot run away


class LinearModel(Record):
    """A weighted sum of standardized features.

    ``intercept`` is one figure or one for each class; ``weights`` has a row for each of them.
    """

    features: tuple[str, ...]
    mean: tuple[float, ...]
    scale: tuple[float, ...]
    weights: tuple[tuple[float, ...], ...]
    intercept: tuple[float, ...]
    classes: tuple[str, ...] = ()
    cuts: tuple[float, ...] = ()
    spread: tuple[float, ...] = ()
    trained_on: str = ""

    @model_validator(mode="after")
    def _shapes_agree(self) -> LinearModel:
        count = len(self.features)
        if len(self.mean) != count or len(self.scale) != count:
            raise ValueError("mean and scale must have one figure for each feature")
        if len(self.weights) != len(self.intercept) or any(len(w) != count for w in self.weights):
            raise ValueError("weights must have a row for each intercept, as long as features")
        if any(not s > 0 for s in self.scale):
            raise ValueError("scale must be positive")
        return self

    def sums(self, values: Mapping[str, float]) -> list[float]:
        """The weighted sums of one photo's features."""
        standardized = []
        for name, mean, scale in zip(self.features, self.mean, self.scale, strict=True):
            value = values.get(name, math.nan)
            z = (value - mean) / scale if math.isfinite(value) else 0.0
            standardized.append(min(max(z, -_FAR), _FAR))
        return [
            intercept + math.fsum(w * z for w, z in zip(row, standardized, strict=True))
            for row, intercept in zip(self.weights, self.intercept, strict=True)
        ]

    def probability(self, values: Mapping[str, float]) -> float:
        """Logistic of the first sum [0–1]."""
        return logistic(self.sums(values)[0])


class Calibration(Record):
    """All models of the data file, and the version that their readings carry."""

    version: str
    note: str
    models: dict[str, LinearModel]


def logistic(x: float) -> float:
    """1 / (1 + e⁻ˣ), safe at both ends."""
    return float(0.5 * (1.0 + np.tanh(0.5 * x)))


def log_odds(probability: float) -> float:
    """Natural log of p / (1 − p), held within ±7; NaN stays NaN."""
    if not math.isfinite(probability):
        return math.nan
    p = min(max(probability, 0.0009), 0.9991)
    return math.log(p / (1 - p))


@lru_cache(maxsize=1)
def calibration() -> Calibration:
    """The models of ``data/calibration.json``.

    Raises
    ------
    InputError
        when the file is missing or does not hold what it should.
    """
    source = files("scorer.photos") / "data" / "calibration.json"
    try:
        return Calibration.model_validate_json(source.read_text(encoding="utf-8"))
    except (OSError, ValidationError) as error:
        first = str(error).splitlines()[0]
        raise InputError(
            f"scorer/photos/data/calibration.json cannot be used ({first}); install the package "
            f"again."
        ) from error
