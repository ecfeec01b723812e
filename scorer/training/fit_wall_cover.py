"""Fit the hint whether a wall is plain paint, from labels by eye.

``python -m scorer.training.fit_wall_cover DATA --predictions OOF.npz [--rendered FOLDER]`` writes
``scorer/photos/data/wall_cover.json`` and prints how well photos of houses that the model has not
seen are sorted. DATA and OOF.npz are those of `scorer.training.fit_walls`.

The labels (``data/wall_cover.csv``) say what the cells are that the network calls wall: ``paint``;
``tile`` (and stone), ``panels`` (and wood) or ``paper`` where they are most of it; ``part_…`` where
a quarter to three quarters; ``unclear``. One pass over all photos, a second one in another order
over those that were not plainly paint and 80 others; the second holds. Both passes were by the same
eye.

Grain must not be taken for a pattern: every photo is learned from with added noise too, and rooms
rendered with painted walls and a camera's noise are examples of paint.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from scorer.photos.calibration import Calibration, LinearModel
from scorer.photos.colour import ByteArray
from scorer.photos.decode import decode
from scorer.photos.scene import ANALYSIS_PX, Surfaces, build_scene
from scorer.photos.wall_cover import MODEL, cover_features
from scorer.photos.walls import wall_is_seen, wall_mask
from scorer.training.fit_walls import fit_logistic, split
from scorer.training.measured import Floats, read_predictions, read_truth

LABELS = Path(__file__).parent / "data" / "wall_cover.csv"
OUTPUT = Path(__file__).parents[1] / "photos" / "data" / "wall_cover.json"
NAMES = ("wall_pattern", "wall_shading")
COVERED = frozenset({"tile", "panels", "paper"})

_NOISES = (2.0, 4.0)  # standard deviation [8-bit levels]
_WEIGHT_OF_NOISY, _WEIGHT_OF_RENDERED = 0.3, 0.15  # chosen, not fitted
_LEAST_TILE = 0.01  # share of a rendered frame from which it is no example of a painted wall
_STRENGTH = 1.0


@dataclass(frozen=True)
class Example:
    """One picture: what was measured, what is known, and what it weighs in the fit."""

    name: str
    group: str
    figures: dict[str, float]
    cover: str
    weight: float = 1.0

    @property
    def is_photo(self) -> bool:
        """Whether it is a labelled photo as it was taken."""
        return self.weight == 1.0


def read_labels() -> dict[str, str]:
    """Cover by photo."""
    with LABELS.open(newline="", encoding="utf-8") as stream:
        return {row["name"]: row["cover_2"] or row["cover_1"] for row in csv.DictReader(stream)}


def examples_of(
    folder: Path, surfaces_of: Callable[[Path], Surfaces | None], rendered: Sequence[Path]
) -> Iterator[Example]:
    """Labelled photos, their noisy copies, and rendered rooms with painted walls."""
    for name, cover in read_labels().items():
        path = folder / "photos" / f"{name}.jpg"
        house = f"house {name.split('_')[0]}"
        yield from _measured(path, surfaces_of(path), name, house, cover, _NOISES)
    for source in (folder / "rendered", *rendered):
        for truth in read_truth(source):
            if float(truth.get("tile_fraction") or 0) >= _LEAST_TILE:
                continue
            path = source / truth["file"]
            scene = f"scene {source.name} {truth['scene']}"
            for found in _measured(path, surfaces_of(path), path.stem, scene, "paint", ()):
                yield Example(found.name, scene, found.figures, "paint", _WEIGHT_OF_RENDERED)


def _measured(
    path: Path,
    surfaces: Surfaces | None,
    name: str,
    group: str,
    cover: str,
    noises: Sequence[float],
) -> Iterator[Example]:
    if surfaces is None or cover == "unclear":
        return
    scene = build_scene(decode(path, longest_px=ANALYSIS_PX), surfaces)
    if not wall_is_seen(scene):
        return
    mask = wall_mask(scene)
    figures = cover_features(_grey(scene.photo.rgb), mask)
    if not np.isfinite(figures["wall_pattern"]):
        return
    yield Example(name, group, figures, cover)
    for noise in noises:
        rng = np.random.default_rng(int(noise))
        noisy = scene.photo.rgb + rng.normal(0, noise, scene.photo.rgb.shape)
        grey = _grey(np.clip(noisy, 0, 255).astype(np.uint8))
        yield Example(name, group, cover_features(grey, mask), cover, _WEIGHT_OF_NOISY)


def _grey(rgb: ByteArray) -> ByteArray:
    return np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), np.uint8)


def fit_cover(examples: Sequence[Example]) -> LinearModel:
    """The chance that most of the wall is not plain paint."""
    covered = np.array([float(example.cover in COVERED) for example in examples])
    weight = np.array([example.weight for example in examples])
    return fit_logistic([e.figures for e in examples], covered, weight, NAMES, _STRENGTH)


def held_out(examples: Sequence[Example], folds: int = 10, seed: int = 0) -> Floats:
    """Each picture's chance by a model fitted without its house or scene."""
    chances = np.zeros(len(examples))
    for out in split([example.group for example in examples], folds, seed):
        model = fit_cover([e for e, held in zip(examples, out, strict=True) if not held])
        for index in np.flatnonzero(out).tolist():
            chances[index] = model.probability(examples[index].figures)
    return chances


def area_under_curve(chances: Floats, positive: np.ndarray) -> float:
    """Chance that a positive one ranks above another, by Mann and Whitney's statistic."""
    high, low = chances[positive], chances[~positive]
    above = (high[:, None] > low[None, :]).mean() + (high[:, None] == low[None, :]).mean() / 2
    return float(above)


def area_with_interval(
    chances: Floats, positive: np.ndarray, groups: np.ndarray, draws: int = 2000
) -> tuple[float, float, float]:
    """The area, and its 95 % interval over houses drawn with replacement."""
    rng = np.random.default_rng(1)
    of_house = {house: np.flatnonzero(groups == house) for house in np.unique(groups)}
    houses = list(of_house)
    found = []
    for _ in range(draws):
        chosen = [of_house[houses[k]] for k in rng.integers(0, len(houses), len(houses))]
        rows = np.concatenate(chosen)
        if 0 < positive[rows].sum() < len(rows):
            found.append(area_under_curve(chances[rows], positive[rows]))
    low, high = np.percentile(found, (2.5, 97.5))
    return area_under_curve(chances, positive), float(low), float(high)


def report(examples: Sequence[Example], chances: Floats) -> Iterator[str]:
    """How well pictures of houses not seen are sorted, a line each."""
    photo = np.array([example.is_photo for example in examples])
    cover = np.array([example.cover for example in examples])
    group = np.array([example.group for example in examples])
    name = np.array([example.name for example in examples])
    covered, paint = np.isin(cover, list(COVERED)), cover == "paint"
    rooms = [("all", photo)]
    rooms += [(r, photo & np.char.endswith(name, r)) for r in ("bathroom", "kitchen", "bedroom")]
    for room, here in rooms:
        for what, used in (("paint or not", covered | paint), ("the same, parts too", cover != "")):
            rows = here & used
            yes = ~paint[rows]
            area, low, high = area_with_interval(chances[rows], yes, group[rows])
            count = f"{yes.sum()} of {rows.sum()}"
            yield f"{room}, {what}: AUC {area:.3f} ({low:.3f} to {high:.3f}), {count}"
    weights = np.array([example.weight for example in examples])
    for what, rows in (
        ("painted walls", photo & paint),
        ("painted walls with added noise", paint & (weights == _WEIGHT_OF_NOISY)),
        ("rendered painted walls", weights == _WEIGHT_OF_RENDERED),
        ("walls not of paint", photo & covered),
        ("walls partly not of paint", photo & ~covered & ~paint),
    ):
        yield f"{what} at one half and over: {(chances[rows] >= 0.5).mean():.1%} of {rows.sum()}"
    log = np.log(np.where(covered, chances, 1 - chances))[photo].mean()
    yield f"mean log likelihood on photos: {log:.3f}"


def main() -> None:
    """Command line of the fit."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--predictions", type=Path, required=True)
    parser.add_argument("--rendered", type=Path, action="append", default=[])
    parser.add_argument("--output", type=Path, default=OUTPUT)
    given = parser.parse_args()
    surfaces_of = read_predictions(given.predictions)
    examples = list(examples_of(given.data, surfaces_of, given.rendered))
    print("\n".join(report(examples, held_out(examples))))
    model = fit_cover(examples)
    photos = sum(example.is_photo for example in examples)
    rooms = sum(example.weight == _WEIGHT_OF_RENDERED for example in examples)
    body = json.dumps(model.model_dump(), sort_keys=True)
    calibration = Calibration(
        version=hashlib.sha256(body.encode()).hexdigest()[:8],
        note=(
            f"Written by scorer.training.fit_wall_cover from {photos} photos labelled by eye "
            "(Houses Dataset, Ahmed and Moustafa 2016), their noisy copies, and "
            f"{rooms} rendered pictures of painted walls; network answers out-of-fold."
        ),
        models={MODEL: model},
    )
    given.output.write_text(calibration.model_dump_json(indent=1) + "\n", encoding="utf-8")
    print(f"{given.output}: version {calibration.version}")


if __name__ == "__main__":
    main()
