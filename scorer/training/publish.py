"""From fitted weights to what is shipped: ONNX, out-of-fold predictions and model card."""

from __future__ import annotations

import os
import tempfile
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.errors import InputError
from scorer.photos.surfaces import RoomNet, tone_probability, working_size
from scorer.training.average import averaged
from scorer.training.card import write_card
from scorer.training.export import largest_difference, to_onnx
from scorer.training.labels import TARGETS, Picture, fold_of_names, load_painted, load_pictures
from scorer.training.pipeline import Recipe, load_network

MOST_MEGABYTES = 15
MOST_DIFFERENCE = 1e-3  # between torch and cv2.dnn, of any probability


def publish(
    *,
    data: Path,
    extra: tuple[Path, ...],
    keep: Path,
    folds: list[int],
    fold_count: int,
    out: Path | None,
    oof: Path | None,
    painted: Path | None,
    recipe: Recipe,
) -> None:
    """Write the ONNX file and card into `out` and the out-of-fold predictions to `oof`."""
    pictures = load_pictures(data, extra)
    predictions: dict[str, NDArray[np.generic]] | None = None
    if oof is not None:
        side = fold_of_names(pictures, fold_count)
        house = {picture.group: side[picture.name] for picture in pictures}
        views = load_painted(painted) if painted is not None else []
        predictions = {}
        with tempfile.TemporaryDirectory() as folder:
            for fold in folds:
                model = Path(folder) / f"fold_{fold}.onnx"
                to_onnx(load_network(keep / f"fold_{fold}.pt"), model)
                held_out = [p for p in pictures if side[p.name] == fold]
                held_out += [view for view in views if house[view.group] == fold]
                predictions |= read_pictures(model, held_out, fold)
        write_predictions(predictions, oof)
    if out is not None:
        network = load_network(keep / "all.pt")
        recipe = replace(recipe, mean_of=averaged(keep / "all.pt"))
        model = out / "rooms.onnx"
        to_onnx(network, model)
        tried = [p.pixels() for p in pictures[::40]]
        difference = largest_difference(network, model, tried)
        size = model.stat().st_size / 1e6
        print(f"{model}: {size:.1f} MB, torch and cv2.dnn differ by {difference:.1g}")
        if size > MOST_MEGABYTES or difference > MOST_DIFFERENCE:
            raise InputError(
                f"{model} is {size:.1f} MB (at most {MOST_MEGABYTES}) and differs from torch by "
                f"{difference:.1g} (at most {MOST_DIFFERENCE}); it must not be shipped."
            )
        write_card(
            out / "rooms.md", pictures, predictions, recipe, fold_count, difference, len(tried)
        )


def read_pictures(
    model: Path, pictures: list[Picture], fold: int
) -> dict[str, NDArray[np.generic]]:
    """Predictions of one network, through the same front as in use.

    Keys are ``<name>/surfaces`` (10, h/4, w/4) float16, ``<name>/<head>`` float32 in the order of
    its classes in `TARGETS` and ``<name>/fold``.
    """
    cv2.setNumThreads(1)
    net = RoomNet(model)
    predictions: dict[str, NDArray[np.generic]] = {}
    for picture in pictures:
        pixels = picture.pixels()
        height, width = working_size(*pixels.shape[:2])
        small = np.asarray(
            cv2.resize(pixels, (width, height), interpolation=cv2.INTER_AREA), np.uint8
        )
        maps, answers = net.answers(small)
        predictions[f"{picture.name}/surfaces"] = maps.astype(np.float16)
        answers["tone"] = tone_probability(answers["lightness"])
        for head in TARGETS:
            predictions[f"{picture.name}/{head}"] = np.array(
                list(answers[head].values()), np.float32
            )
        predictions[f"{picture.name}/fold"] = np.array(fold)
    return predictions


def write_predictions(predictions: dict[str, NDArray[np.generic]], path: Path) -> None:
    """Write an .npz file in one step, so that a reader never sees half of it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    with part.open("wb") as stream:
        np.savez(stream, **predictions)  # type: ignore[arg-type]
    os.replace(part, path)
