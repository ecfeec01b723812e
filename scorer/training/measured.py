"""Measure each labelled photo and rendered picture once, to fit small models to."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.photos.decode import decode
from scorer.photos.finish import finish_features
from scorer.photos.light import light_features, network_light
from scorer.photos.scene import ANALYSIS_PX, Surfaces, build_scene, cells_size
from scorer.photos.surfaces import upsample
from scorer.photos.wall_features import wall_features
from scorer.photos.walls import wall_is_seen, wall_mask
from scorer.photos.white import estimate_white
from scorer.training.labels import MORE_LABELS, TARGETS

Floats = NDArray[np.float64]


@dataclass
class Row:
    """One photo: what was measured and what is known of it."""

    name: str
    group: str
    light: dict[str, float]
    wall: dict[str, float] | None
    labels: tuple[dict[str, str], ...] = ()
    truth: dict[str, str] = field(default_factory=dict)
    reference: str = ""
    linear: tuple[float, float, float] | None = None  # wall over the light's tint, luminance 1

    @property
    def painted(self) -> bool:
        """Whether it is a photo whose walls were painted anew, of which only the tone is known."""
        return bool(self.truth) and self.group.startswith("house")

    @property
    def rendered(self) -> bool:
        """Whether it is a rendered picture, of which the paint is known."""
        return bool(self.truth) and not self.painted

    @property
    def features(self) -> dict[str, float]:
        """All figures of the photo."""
        return self.light | (self.wall or {})


def measure(
    path: Path, surfaces: Surfaces | None
) -> tuple[dict[str, float], dict[str, float] | None]:
    """Light and wall features of one photo."""
    scene = build_scene(decode(path, longest_px=ANALYSIS_PX), surfaces)
    light = light_features(scene) | network_light(scene) | finish_features(scene)
    if surfaces is None or not wall_is_seen(scene):
        return light, None
    return light, wall_features(scene, wall_mask(scene), estimate_white(scene))


def read_labels(folder: Path) -> dict[str, tuple[dict[str, str], ...]]:
    """By photo, each labeller's answers; those of one more pass where the folder has none."""
    labels: dict[str, tuple[dict[str, str], ...]] = {}
    with MORE_LABELS.open(newline="", encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            labels[row["name"]] = ({key.removesuffix("_1"): value for key, value in row.items()},)
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


def read_predictions(path: Path) -> Callable[[Path], Surfaces | None]:
    """The network's out-of-fold answers (an .npz of ``scorer.training``), by picture.

    Returns
    -------
    function of a picture's path that gives its surfaces, None where the file has none.
    """
    kept = np.load(path)
    names = set(kept.files)

    def surfaces_of(picture: Path) -> Surfaces | None:
        name = picture.stem
        if f"{picture.parent.name} {name}/surfaces" in names:  # rendered, beyond the evaluation's
            name = f"{picture.parent.name} {name}"
        if f"{name}/surfaces" not in names:
            return None
        heads = {
            head: dict(zip(TARGETS[head], map(float, kept[f"{name}/{head}"]), strict=True))
            for head in ("lightness", "tone", "era", "bold", "exposure", "light")
        }
        rgb = decode(picture, longest_px=ANALYSIS_PX).rgb
        rows, columns = cells_size(*rgb.shape[:2])
        guide = cv2.resize(rgb, (columns, rows), interpolation=cv2.INTER_AREA)
        maps = kept[f"{name}/surfaces"].astype(np.float32)
        fine = upsample(maps, np.asarray(cv2.cvtColor(guide, cv2.COLOR_RGB2GRAY), np.uint8))
        return Surfaces(fine, heads)

    return surfaces_of


def collect(
    folder: Path,
    surfaces_of: Callable[[Path], Surfaces | None],
    rendered: Sequence[Path] = (),
    painted: Sequence[Path] = (),
) -> list[Row]:
    """Measure every labelled photo, and what else the network has answered.

    `rendered` are further folders of rendered pictures, `painted` those of photos painted anew.
    """
    rows = []
    for name, labels in read_labels(folder).items():
        path = folder / "photos" / f"{name}.jpg"
        light, wall = measure(path, surfaces_of(path))
        rows.append(Row(name, f"house {name.split('_')[0]}", light, wall, labels))
    for source in (folder / "rendered", *rendered):
        for truth in read_truth(source):
            path = source / truth["file"]
            surfaces = surfaces_of(path)
            if surfaces is None:  # a perfect map would make the models trust maps too much
                continue
            light, wall = measure(path, surfaces)
            scene = f"scene {source.name} {truth['scene']}"
            rows.append(Row(path.stem, scene, light, wall, (), truth))
    for source in painted:
        for truth in read_truth(source):
            path = source / truth["file"]
            surfaces = surfaces_of(path)
            if surfaces is not None:
                light, wall = measure(path, surfaces)
                rows.append(Row(path.stem, truth["house"], light, wall, (), truth))
    return rows
