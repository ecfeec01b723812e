"""Fit the small models that turn measured features into probabilities and an LRV range.

``python -m scorer.training.fit_walls DATA --predictions OOF.npz`` writes
``scorer/photos/data/calibration.json``. DATA is laid out as the evaluation data (photos/, tone.csv,
rendered/truth.csv). The network's answers must be out-of-fold: from a network that never saw that
photo's house, else the models would trust it too much.

All photos of a house, and all pictures of a rendered scene, are on one side of every split.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from sklearn.linear_model import LogisticRegression, Ridge

from scorer.photos.calibration import Calibration, LinearModel
from scorer.training.measured import Floats, Row, collect, read_predictions

OUTPUT = Path(__file__).parents[1] / "photos" / "data" / "calibration.json"

_LIGHT = (
    "mean_lightness", "frame_25", "frame_75", "inside_5", "inside_25", "inside_50", "inside_75",
    "inside_95", "wall_lightness", "ceiling_lightness", "floor_lightness", "window_share",
    "clipped_share", "black_share", "wall_unevenness",
    "net_exposure_dark", "net_exposure_bright", "net_light_dim", "net_light_bright",
)  # fmt: skip
_DARK = (
    "over_p95", "lightness_25", "wall_lightness", "beside_best", "chroma",
    "chroma_raw", "net_tone_dark", "net_tone_light", "net_light_dim", "net_exposure_dark",
)  # fmt: skip
_PALE = (
    "level_over_p90", "level_over_p97", "level_over_best", "level_beside_best", "chroma",
    "chroma_75", "wall", "frame", "net_tone_dark", "net_tone_mid", "net_tone_light",
    "net_lightness", "net_exposure_dark",
)  # fmt: skip
_BOLD = (
    "chroma", "off_beige", "off_beige_90", "two_colours", "texture", "over_p95", "net_bold_bold",
    "net_tone_light",
)  # fmt: skip
_REFLECTANCE = (
    "level_over_p90", "level_over_best", "level_beside_best", "over_frame", "frame", "chroma",
    "net_lightness",
)  # fmt: skip

# model: features, question and answer of the labels, strength of the L2 penalty as scikit-learn's C
QUESTIONS: dict[str, tuple[tuple[str, ...], str, str, float]] = {
    "wall_dark": (_DARK, "wall_tone", "dark", 0.1),
    "wall_light": (_PALE, "wall_tone", "light", 0.1),
    "wall_bold": (_BOLD, "wall_bold", "y", 0.05),
    "photo_dark": (_LIGHT, "exposure", "dark", 0.03),
    "photo_bright": (_LIGHT, "exposure", "bright", 0.1),
    "room_dim": (_LIGHT, "room_light", "dim", 0.03),
    "room_bright": (_LIGHT, "room_light", "bright", 0.3),
    "dated": (("net_age",), "era", "dated", 1.0),
}
_FINISHED = ("_kitchen", "_bathroom")  # only their finishes can be dated
_RENDERED_TELLS = {"wall_dark": "dark", "wall_light": "light"}
_MOST_EACH = 2.0  # weight of a picture that is no photo of a real wall, at most
_RENDERED_PICTURES = 400.0  # rendered pictures together weigh as much as this many photos
_PAINTED_TELLS = {"wall_dark": "dark"}  # among pale and mid walls, real ones are example enough
_PAINTED_PICTURES = 1200.0  # chosen by the log loss of photos of houses left out, as are all here
_RIDGE = 8.0
_SPREAD_OF_90 = 2 * 2.944  # width of the middle 90 % of the standard logistic distribution


def standardized(
    rows: Sequence[dict[str, float]], names: Sequence[str]
) -> tuple[Floats, Floats, Floats]:
    """Matrix with mean 0 and deviation 1 by column, NaN as 0; and the means and deviations."""
    matrix = np.array([[row.get(name, np.nan) for name in names] for row in rows], dtype=float)
    known = np.isfinite(matrix)
    count = np.maximum(known.sum(axis=0), 1)
    mean = np.where(known, matrix, 0).sum(axis=0) / count
    scale = np.sqrt(np.where(known, (matrix - mean) ** 2, 0).sum(axis=0) / count)
    scale[scale < 1e-6] = 1.0
    z = np.where(known, (matrix - mean) / scale, 0.0)
    return np.clip(z, -6, 6), mean, scale


def fit_logistic(
    rows: Sequence[dict[str, float]],
    target: Floats,
    weight: Floats,
    names: Sequence[str],
    strength: float,
) -> LinearModel:
    """Logistic regression with an L2 penalty; `target` may be a share of labellers [0–1]."""
    z, mean, scale = standardized(rows, names)
    both = np.concatenate([z, z])
    classes = np.concatenate([np.ones(len(z)), np.zeros(len(z))])
    weights = np.concatenate([target * weight, (1 - target) * weight])
    keep = weights > 0
    model = LogisticRegression(C=strength, max_iter=5000)
    model.fit(both[keep], classes[keep], sample_weight=weights[keep])
    return LinearModel(
        features=tuple(names),
        mean=_rounded(mean),
        scale=_rounded(scale),
        weights=(_rounded(model.coef_[0]),),
        intercept=_rounded(model.intercept_),
        trained_on=f"{len(rows)} pictures",
    )


def fit_lightness(rows: Sequence[Row], names: Sequence[str] = _REFLECTANCE) -> LinearModel:
    """Ridge regression of the wall's L*, its spread from errors on scenes left out."""
    known = [row for row in rows if row.rendered and row.wall]
    z, mean, scale = standardized([row.features for row in known], names)
    target = np.array([float(row.truth["wall_lab_L"]) for row in known])
    groups = [row.group for row in known]
    residual = np.zeros(len(known))
    for out in split(groups, 10, seed=0):
        model = Ridge(_RIDGE).fit(z[~out], target[~out])
        residual[out] = target[out] - model.predict(z[out])
    model = Ridge(_RIDGE).fit(z, target)
    low, high = np.quantile(residual, (0.05, 0.95))
    spread = float(high - low) / _SPREAD_OF_90
    return LinearModel(
        features=tuple(names),
        mean=_rounded(mean),
        scale=_rounded(scale),
        weights=(_rounded(model.coef_), (0.0,) * len(names)),
        intercept=_rounded(np.array([model.intercept_, np.log(spread)])),
        trained_on=f"{len(known)} rendered pictures of {len(set(groups))} scenes",
    )


def fit_models(rows: Sequence[Row]) -> dict[str, LinearModel]:
    """Every model of the calibration file."""
    models = {}
    for name, (features, question, answer, strength) in QUESTIONS.items():
        wall_only = name.startswith("wall")
        used = [row for row in rows if row.wall or not wall_only]
        if name == "dated":
            used = [row for row in used if row.name.endswith(_FINISHED)]
        real = [row for row in used if row.labels]
        target = share(real, question, answer)
        weight = np.ones(len(real))
        taken = list(real)
        for tone, more, together in (
            (_RENDERED_TELLS.get(name), [row for row in used if row.rendered], _RENDERED_PICTURES),
            (_PAINTED_TELLS.get(name), [row for row in used if row.painted], _PAINTED_PICTURES),
        ):
            if tone and more:
                told = np.array([float(row.truth["tone"] == tone) for row in more])
                target = np.concatenate([target, told])
                each = min(_MOST_EACH, together / len(more))
                weight = np.concatenate([weight, np.full(len(more), each)])
                taken += more
        models[name] = fit_logistic(
            [row.features for row in taken], target, weight, features, strength
        )
    models["wall_lightness"] = fit_lightness(rows)
    return models


def share(rows: Sequence[Row], question: str, answer: str) -> Floats:
    """Share of labellers that gave the answer: 0, 0.5 or 1."""
    return np.array([np.mean([a[question] == answer for a in row.labels]) for row in rows])


def split(groups: Sequence[str], folds: int, seed: int) -> list[np.ndarray]:
    """Held-out rows of each fold; the rows of a group stay together."""
    names = np.unique(groups)
    order = np.random.default_rng(seed).permutation(len(names))
    fold = {
        name: place % folds for name, place in zip(names[order], range(len(names)), strict=True)
    }
    side = np.array([fold[group] for group in groups])
    return [side == k for k in range(folds) if (side == k).any()]


def cross_validated(
    rows: Sequence[Row], folds: int = 10, seed: int = 0
) -> list[dict[str, LinearModel]]:
    """For each row, the models that were fitted without its house or scene."""
    chosen: list[dict[str, LinearModel]] = [{} for _ in rows]
    for out in split([row.group for row in rows], folds, seed):
        models = fit_models([row for row, held in zip(rows, out, strict=True) if not held])
        for index in np.flatnonzero(out):
            chosen[index] = models
    return chosen


def _rounded(values: Floats) -> tuple[float, ...]:
    return tuple(float(f"{v:.5g}") for v in np.atleast_1d(values))


def main() -> None:
    """Command line of the fit."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--predictions", type=Path, required=True)
    parser.add_argument("--rendered", type=Path, action="append", default=[])
    parser.add_argument("--painted", type=Path, action="append", default=[])
    parser.add_argument("--output", type=Path, default=OUTPUT)
    given = parser.parse_args()
    rows = collect(given.data, read_predictions(given.predictions), given.rendered, given.painted)
    models = fit_models(rows)
    photos = sum(bool(row.labels) for row in rows)
    twice = sum(len(row.labels) == 2 for row in rows)
    painted = sum(row.painted for row in rows)
    body = {name: model.model_dump() for name, model in models.items()}
    version = hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()[:8]
    calibration = Calibration(
        version=version,
        note=(
            f"Written by scorer.training.fit_walls from {photos} photos labelled by eye (Houses "
            f"Dataset, Ahmed and Moustafa 2016; {twice} by two passes) and "
            f"{len(rows) - photos - painted} rendered pictures with known paint; {painted} views "
            "of photos with walls painted anew (wall_dark only); network answers out-of-fold."
        ),
        models=models,
    )
    given.output.write_text(calibration.model_dump_json(indent=1) + "\n", encoding="utf-8")
    print(f"{given.output}: version {version}, {len(rows)} pictures")


if __name__ == "__main__":
    main()
