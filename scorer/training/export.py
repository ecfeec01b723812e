"""Writes a fitted network to ONNX and checks what cv2.dnn makes of it."""

from __future__ import annotations

import io
from pathlib import Path

import cv2
import numpy as np
import onnx
import torch
from numpy.typing import NDArray

from scorer.photos.surfaces import working_size
from scorer.training.network import Deployed, RoomNetwork

OPSET = 17


def to_onnx(network: RoomNetwork, path: Path, size: tuple[int, int] = (384, 512)) -> None:
    """Write `network` with free height and width.

    Weights stay in single precision: stored in half precision, the surface probabilities of real
    photos moved by up to 0.02, because folding the batch statistics into the weights comes first.
    """
    buffer = io.BytesIO()
    torch.onnx.export(
        Deployed(network).eval(),
        (torch.zeros(1, 3, *size),),
        buffer,
        input_names=["pixels"],
        output_names=["surfaces", "answers"],
        dynamic_axes={"pixels": {2: "height", 3: "width"}, "surfaces": {2: "rows", 3: "columns"}},
        opset_version=OPSET,
        dynamo=False,
    )
    model = onnx.load_model_from_string(buffer.getvalue())
    onnx.checker.check_model(model)
    path.parent.mkdir(parents=True, exist_ok=True)
    onnx.save(model, str(path))


def run_cv2(
    path: Path, pixels: NDArray[np.float32]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Outputs of cv2.dnn for pixels (1, 3, h, w)."""
    net = cv2.dnn.readNetFromONNX(str(path))
    net.setInput(pixels)
    surfaces, answers = net.forward(["surfaces", "answers"])
    return np.asarray(surfaces, np.float32), np.asarray(answers, np.float32)


def largest_difference(
    network: RoomNetwork, path: Path, pictures: list[NDArray[np.uint8]]
) -> float:
    """Largest difference of any probability between torch and cv2.dnn over RGB pictures."""
    worst = 0.0
    for picture in pictures:
        height, width = working_size(*picture.shape[:2])
        small = cv2.resize(picture, (width, height), interpolation=cv2.INTER_AREA)
        pixels = np.ascontiguousarray(small.transpose(2, 0, 1)[None], dtype=np.float32)
        with torch.no_grad():
            expected = Deployed(network)(torch.from_numpy(pixels.copy()))
        found = run_cv2(path, pixels)
        for a, b in zip(expected, found, strict=True):
            worst = max(worst, float(np.abs(a.numpy() - b).max()))
    return worst
