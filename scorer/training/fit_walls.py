"""Fit the small models that turn measured features into probabilities and an LRV range.

``python -m scorer.training.fit_walls DATA`` writes ``scorer/photos/data/calibration.json``. DATA is laid
out as the evaluation data (photos/, tone.csv, rendered/truth.csv). The network's answers for a photo
must come from a network that never saw that photo's house (``--predictions``), else the models would
trust it too much.

Regularization is chosen by cross-validation with all photos of a house, and all pictures of a
rendered scene, on one side.

References
----------
.. [1] J. Tobin, "Estimation of relationships for limited dependent variables", Econometrica 26, 1958:
   labels that tell only an interval (dark, mid, light) enter the likelihood by that interval's chance.
"""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scorer.photos.calibration import Calibration, LinearModel
from scorer.photos.decode import decode
from scorer.photos.light import light_features, network_light
from scorer.photos.scene import ANALYSIS_PX, Surfaces, build_scene
from scorer.photos.walls import LEAST_FRACTION, wall_features, wall_mask
from scorer.photos.white import estimate_white

OUTPUT = Path(__file__).parents[1] / "photos" / "data" / "calibration.json"
Floats = NDArray[np.float64]

LIGHT_FEATURES = (
    "mean_lightness", "frame_25", "frame_75", "inside_5", "inside_25", "inside_50", "inside_75",
    "inside_95", "wall_lightness", "ceiling_lightness", "floor_lightness", "window_share",
    "clipped_share", "black_share", "wall_unevenness",
)  # fmt: skip


@dataclass
class Row:
    """One photo: what was measured and what is known of it."""

    name: str
    group: str
    light: dict[str, float]
    wall: dict[str, float] | None
    labels: tuple[dict[str, str], ...] = ()
    truth: dict[str, str] = field(default_factory=dict)


def measure(
    path: Path, surfaces: Surfaces | None
) -> tuple[dict[str, float], dict[str, float] | None]:
    """Light and wall features of one photo."""
    scene = build_scene(decode(path, longest_px=ANALYSIS_PX), surfaces)
    light = light_features(scene) | network_light(scene)
    mask = wall_mask(scene)
    if surfaces is None or mask.mean() < LEAST_FRACTION:
        return light, None
    return light, wall_features(scene, mask, estimate_white(scene))


def standardized(
    rows: Sequence[dict[str, float]], names: Sequence[str]
) -> tuple[Floats, Floats, Floats]:
    """Matrix with mean 0 and deviation 1 by column, NaN as 0; and the means and deviations."""
    matrix = np.array([[row.get(name, np.nan) for name in names] for row in rows], dtype=float)
    with np.errstate(all="ignore"):
        mean = np.nan_to_num(np.nanmean(matrix, axis=0))
        scale = np.nan_to_num(np.nanstd(matrix, axis=0))
    scale[scale < 1e-6] = 1.0
    z = np.nan_to_num((matrix - mean) / scale)
    return np.clip(z, -6, 6), mean, scale


def fit_logistic(
    rows: Sequence[dict[str, float]],
    target: Floats,
    names: Sequence[str],
    *,
    strength: float,
    note: str = "",
) -> LinearModel:
    """Logistic regression with an L2 penalty; `target` may be a share of labellers [0–1]."""
    from sklearn.linear_model import LogisticRegression

    z, mean, scale = standardized(rows, names)
    model = LogisticRegression(C=strength, max_iter=2000)
    both = np.concatenate([z, z])
    classes = np.concatenate([np.ones(len(z)), np.zeros(len(z))])
    weight = np.concatenate([target, 1 - target])
    keep = weight > 0
    model.fit(both[keep], classes[keep], sample_weight=weight[keep])
    return LinearModel(
        features=tuple(names),
        mean=_round(mean),
        scale=_round(scale),
        weights=(_round(model.coef_[0]),),
        intercept=(round(float(model.intercept_[0]), 5),),
        trained_on=note,
    )


def _round(values: Floats) -> tuple[float, ...]:
    return tuple(float(f"{v:.5g}") for v in values)


def read_labels(folder: Path) -> dict[str, tuple[dict[str, str], ...]]:
    """By photo, each labeller's answers."""
    labels = {}
    with (folder / "tone.csv").open(newline="", encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            labels[row["name"]] = tuple(
                {key[:-2]: value for key, value in row.items() if key.endswith(end)}
                for end in ("_1", "_2")
            )
    return labels


def read_truth(folder: Path) -> list[dict[str, str]]:
    with (folder / "truth.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def mask_surfaces(path: Path) -> Surfaces:
    """A perfect surface map, from a rendered picture's mask."""
    import cv2

    mask = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    layers = np.stack([(mask == code).astype(np.float32) for code in range(10)])
    small = [cv2.resize(layer, (128, 88), interpolation=cv2.INTER_AREA) for layer in layers]
    return Surfaces(np.asarray(small, np.float32))


def collect(
    folder: Path,
    surfaces_of: Callable[[Path], Surfaces | None],
    rendered: Sequence[Path] = (),
) -> list[Row]:
    """Measure every labelled photo and every rendered picture."""
    rows = []
    for name, labels in read_labels(folder).items():
        path = folder / "photos" / f"{name}.jpg"
        light, wall = measure(path, surfaces_of(path))
        rows.append(Row(name, f"house {name.split('_')[0]}", light, wall, labels))
    for source in (folder / "rendered", *rendered):
        for truth in read_truth(source):
            path = source / truth["file"]
            surfaces = surfaces_of(path) or mask_surfaces(source / truth["mask"])
            light, wall = measure(path, surfaces)
            rows.append(Row(path.stem, f"scene {truth['scene']}", light, wall, (), truth))
    return rows


def share(rows: Sequence[Row], question: str, answer: str) -> Floats:
    """Share of labellers that gave the answer [0, 0.5, 1]."""
    return np.array([np.mean([a[question] == answer for a in row.labels]) for row in rows])
