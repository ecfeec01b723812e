"""Labels of the evaluation data as arrays; without torch, so that measuring needs none."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scorer.errors import InputError
from scorer.photos.surfaces import HEADS, LIGHTNESS_CUTS, TONE_CLASSES

# Letters of surfaces.csv in the order of the network's logits; X (cannot tell) is left out.
SURFACE_LETTERS = "WCFNLKAODM"
LETTER_CODE = {
    "W": 1, "C": 2, "F": 3, "N": 4, "L": 5, "K": 6, "A": 7, "O": 7, "D": 8, "M": 9,
}  # fmt: skip
CODE_NAMES = (
    "unknown", "wall", "ceiling", "floor", "window", "lamp",
    "cabinet or counter", "other", "trim or door", "mirror",
)  # fmt: skip
GRID_ROWS, GRID_COLUMNS = 6, 8

TARGETS: dict[str, tuple[str, ...]] = {**HEADS, "tone": tuple(TONE_CLASSES)}
"""What can be told of a picture: the network's heads, and the wall's tone, which is less."""

MORE_LABELS = Path(__file__).parent / "data" / "more_labels.csv"
"""One more pass by eye over photos that `tone.csv` leaves out: to learn from, never to judge by."""

PAINTED_FIELDS = ("file", "house", "tone")
"""Columns of truth.csv in a folder of photos whose walls were painted anew."""

_COLUMNS = {
    "era": "era", "floor": "floor", "cabinets": "cabinets", "tone": "wall_tone",
    "bold": "wall_bold", "exposure": "exposure", "light": "room_light",
}  # fmt: skip
_RENAMED = {"floor": {"vinyl": "other"}, "bold": {"y": "bold", "n": "neutral"}}


def letter_to_code_matrix() -> NDArray[np.float32]:
    """Matrix (10 codes, letters) of 0 and 1 that sums letter probabilities into codes."""
    matrix = np.zeros((len(CODE_NAMES), len(SURFACE_LETTERS)), np.float32)
    for column, letter in enumerate(SURFACE_LETTERS):
        matrix[LETTER_CODE[letter], column] = 1.0
    return matrix


@dataclass(frozen=True)
class Picture:
    """One picture with whatever is labelled in it.

    Attributes
    ----------
    name : file name without ending
    group : house or rendered scene; pictures of a group stay on one side of every split
    path : the picture
    points : (48, 3) x and y as fractions of width and height, and index in `SURFACE_LETTERS`
        (-1 left out); empty when the surfaces are not labelled
    mask : path of an 8-bit mask of surface codes, of a rendered picture
    targets : per name in `TARGETS`, the mean of the labellers' choices, summing to 1
    """

    name: str
    group: str
    path: Path
    points: NDArray[np.float32]
    mask: Path | None = None
    targets: dict[str, NDArray[np.float32]] = field(default_factory=dict)

    @property
    def rendered(self) -> bool:
        return self.group.startswith("scene")

    @property
    def house(self) -> bool:
        """Whether it is a photo of a listed house."""
        return self.group.startswith("house")

    @property
    def has_finishes(self) -> bool:
        """Whether it shows a kitchen or bathroom, whose finishes can be dated."""
        return self.name.endswith(("kitchen", "bathroom"))

    def pixels(self) -> NDArray[np.uint8]:
        """RGB pixels, upright (h, w, 3)."""
        with Image.open(self.path) as image:
            return np.asarray(image.convert("RGB"))


def _rows(path: Path) -> list[dict[str, str]]:
    if not path.is_file():
        raise InputError(f"{path} is missing; give the folder that holds photos/ and its labels.")
    with path.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def read_points(row: dict[str, str], path: Path) -> NDArray[np.float32]:
    """Points of one row of surfaces.csv as fractions of width and height with their letter."""
    points = []
    for r, key in enumerate("ABCDEF"):
        letters = row.get(key) or ""
        if len(letters) != GRID_COLUMNS or set(letters) - set(SURFACE_LETTERS + "X"):
            raise InputError(
                f"{path}, row {row.get('name')}, field {key}: expected 8 letters of "
                f"{SURFACE_LETTERS}X, found {letters!r}."
            )
        for c, letter in enumerate(letters):
            points.append(
                (
                    (c + 0.5) / GRID_COLUMNS,
                    (r + 0.5) / GRID_ROWS,
                    SURFACE_LETTERS.find(letter),
                )
            )
    return np.array(points, np.float32)


def _soft(row: dict[str, str], head: str) -> NDArray[np.float32] | None:
    """Mean of the labellers' choices for one head, or None when nobody chose one of its classes."""
    classes = TARGETS[head]
    total = np.zeros(len(classes), np.float32)
    for labeller in ("_1", "_2"):
        value = row.get(_COLUMNS[head] + labeller) or ""
        value = _RENAMED.get(head, {}).get(value, value)
        if value in classes:
            total[classes.index(value)] += 1.0
    return total / total.sum() if total.any() else None


def one_hot(head: str, value: str) -> NDArray[np.float32]:
    return np.array([name == value for name in HEADS[head]], np.float32)


def load_pictures(
    folder: Path, extra: tuple[Path, ...] = (), *, more_labels: bool = False
) -> list[Picture]:
    """All pictures of a data folder laid out as the evaluation data, sorted by name.

    Parameters
    ----------
    folder : holds photos/, tone.csv, surfaces.csv and rendered/
    extra : more folders of rendered pictures, each with truth.csv, or of photos by kind of place
        (`<folder>/<kind>/*.jpg`, a kind of the head `kind`)
    more_labels : whether to take `MORE_LABELS` too

    Raises
    ------
    InputError
        when a file is missing or a label cannot be read.
    """
    tone = {row["name"]: row for row in _rows(folder / "tone.csv")}
    if more_labels:
        tone = {row["name"]: row for row in _rows(MORE_LABELS)} | tone
    surfaces = {row["name"]: row for row in _rows(folder / "surfaces.csv")}
    pictures = []
    for path in sorted((folder / "photos").glob("*.jpg")):
        house, _, kind = path.stem.partition("_")
        targets = {}
        if kind in HEADS["kind"]:
            targets["kind"] = one_hot("kind", kind)
        row = tone.get(path.stem)
        for head in _COLUMNS:
            soft = _soft(row, head) if row is not None else None
            if soft is not None:
                targets[head] = soft
        if kind == "bedroom":  # a bedroom's furniture says nothing of its kitchen
            targets.pop("era", None)
        points = (
            read_points(surfaces[path.stem], folder / "surfaces.csv")
            if path.stem in surfaces
            else np.zeros((0, 3), np.float32)
        )
        pictures.append(Picture(path.stem, f"house {house}", path, points, None, targets))
    if not pictures:
        raise InputError(f"{folder / 'photos'} holds no .jpg photo.")
    for source in (folder / "rendered", *extra):
        if (source / "truth.csv").is_file():
            pictures += _rendered(source, "" if source.parent == folder else f"{source.name} ")
        else:
            pictures += _by_kind(source)
    return pictures


def _rendered(folder: Path, prefix: str) -> list[Picture]:
    pictures = []
    for row in _rows(folder / "truth.csv"):
        kind = row.get("kind") or ""
        targets = {"kind": one_hot("kind", kind if kind in HEADS["kind"] else "other")}
        if row.get("wall_lab_L"):
            place = int(np.searchsorted(LIGHTNESS_CUTS, float(row["wall_lab_L"])))
            targets["lightness"] = one_hot("lightness", HEADS["lightness"][place])
        path = folder / row["file"]
        scene = f"scene {folder.name} {row.get('scene') or row['mask']}"
        pictures.append(
            Picture(
                prefix + path.stem,
                scene,
                path,
                np.zeros((0, 3), np.float32),
                folder / row["mask"],
                targets,
            )
        )
    return pictures


def _by_kind(folder: Path) -> list[Picture]:
    none = np.zeros((0, 3), np.float32)
    return [
        Picture(path.stem, f"{kind} {path.stem}", path, none, None, {"kind": one_hot("kind", kind)})
        for kind in HEADS["kind"]
        for path in sorted((folder / kind).glob("*.jpg"))
    ]


def load_painted(folder: Path) -> list[Picture]:
    """Photos with walls painted anew, of ``scorer.training.painted_views``; nothing is labelled."""
    none = np.zeros((0, 3), np.float32)
    return [
        Picture(Path(row["file"]).stem, row["house"], folder / row["file"], none)
        for row in _rows(folder / "truth.csv")
    ]


def folds(pictures: list[Picture], count: int, seed: int = 0) -> NDArray[np.int64]:
    """Fold of each picture; all pictures of a house or scene share one.

    Houses are dealt out in a shuffled order, so that each fold holds about as many.
    """
    groups = sorted({picture.group for picture in pictures})
    order = np.random.default_rng(seed).permutation(len(groups))
    fold = {groups[index]: place % count for place, index in enumerate(order)}
    return np.array([fold[picture.group] for picture in pictures])


def fold_of_names(pictures: list[Picture], count: int) -> dict[str, int]:
    """Fold of each picture by name."""
    return {p.name: int(f) for p, f in zip(pictures, folds(pictures, count), strict=True)}
