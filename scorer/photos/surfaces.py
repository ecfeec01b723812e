"""Where the surfaces are and what room it is: the front of the room network.

The network is one ONNX file beside this module (`models/rooms.onnx`, described in
`models/rooms.md`), run by `cv2.dnn`. It answers only where things are and what kind of place it is;
colour and light are measured elsewhere on the pixels that it points at.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

SURFACES = (
    "unknown", "wall", "ceiling", "floor", "window", "lamp", "cabinet", "other", "trim", "mirror",
)  # fmt: skip
"""Surface names; the index is the code in surface maps (0 unknown, 1 wall … 9 mirror)."""

# Answers of the network about the whole picture, in the order of its second output.
HEADS: dict[str, tuple[str, ...]] = {
    "kind": ("kitchen", "bathroom", "bedroom", "front", "other"),
    "era": ("dated", "average", "updated"),
    "floor": ("carpet", "wood", "tile", "other"),
    "cabinets": ("none", "white", "lightwood", "midwood", "darkwood", "other"),
    "lightness": ("L27", "L40", "L52", "L61", "L69", "L77", "L85", "L92"),
    "bold": ("neutral", "bold"),
    "exposure": ("dark", "ok", "bright"),
    "light": ("dim", "ok", "bright"),
}
# L* between one class of wall lightness and the next; 57.1 and 81.8 are LRV 25 and 60.
LIGHTNESS_CUTS = (35.0, 46.0, 57.08, 65.0, 73.0, 81.84, 88.5)
LIGHTNESS_MIDDLES = (27.0, 40.5, 51.5, 61.0, 69.0, 77.5, 85.0, 92.0)
TONE_CLASSES = {"dark": (0, 3), "mid": (3, 6), "light": (6, 8)}
"""Of each wall tone, the first of its lightness classes and the first that is no more of it."""

_AREA_PX = 544 * 384  # working area of the network: more costs time, less costs precision
_STEP_PX = 32  # sides are multiples of this
_LEAST_SIDE_PX = 96
_LEAST_CONFIDENCE = 0.3  # below this, no surface is named
_KIND_DOUBT = (0.3, 0.675)  # likeliest kind trusted not at all, and fully; fitted out of fold


@dataclass(frozen=True)
class RoomPrediction:
    """What the network makes of one picture.

    Attributes
    ----------
    surfaces : (10, height, width) float32, probability of each of `SURFACES`, summing to 1;
        ``unknown`` is 0 here, see `surface_codes`
    kind : probability of ``kitchen``, ``bathroom``, ``bedroom``, ``front`` and ``unsure``
    era, floor, cabinets : probability of each class of finish (dated, average, updated), floor
        covering and cabinet tone, given that one is in the picture
    lightness, bold, exposure, light : the network's own view of the wall's L*, bold walls,
        exposure of the photo and light of the room; evidence beside the measured colours, not a
        finding
    """

    surfaces: NDArray[np.float32]
    kind: dict[str, float]
    era: dict[str, float]
    floor: dict[str, float]
    cabinets: dict[str, float]
    lightness: dict[str, float]
    bold: dict[str, float]
    exposure: dict[str, float]
    light: dict[str, float]


def working_size(height: int, width: int) -> tuple[int, int]:
    """Height and width [px] at which the network reads a picture of the given size.

    The area is near 544 x 384 px, the sides are multiples of 32 px, the shape is kept within their
    rounding.
    """
    scale = math.sqrt(_AREA_PX / (height * width))
    rows = round(height * scale / _STEP_PX) * _STEP_PX
    columns = round(width * scale / _STEP_PX) * _STEP_PX
    longest = 4 * 512
    return (
        min(longest, max(_LEAST_SIDE_PX, rows)),
        min(longest, max(_LEAST_SIDE_PX, columns)),
    )


class RoomNet:
    """The network, ready to read pictures; safe to share between threads.

    Parameters
    ----------
    model : ONNX file; default the one in the package

    Notes
    -----
    `cv2.dnn` nets hold state between input and output, so a lock lets one thread in at a time.
    """

    def __init__(self, model: Path | None = None) -> None:
        self._lock = threading.Lock()
        if model is not None:
            self._net = cv2.dnn.readNetFromONNX(str(model))
        else:
            with as_file(files("scorer.photos") / "models" / "rooms.onnx") as path:
                self._net = cv2.dnn.readNetFromONNX(str(path))

    def answers(
        self, rgb: NDArray[np.uint8]
    ) -> tuple[NDArray[np.float32], dict[str, dict[str, float]]]:
        """Probability maps (10, h/4, w/4) and, per head, the probability of each class.

        Parameters
        ----------
        rgb : (h, w, 3) at the working size
        """
        pixels = np.ascontiguousarray(rgb.transpose(2, 0, 1)[None], dtype=np.float32)
        with self._lock:
            self._net.setInput(pixels)
            maps, answers = self._net.forward(["surfaces", "answers"])
            maps, answers = maps.copy(), answers.copy()
        values = iter(answers.ravel().tolist())
        return maps.reshape(maps.shape[-3:]), {
            head: {name: next(values) for name in classes} for head, classes in HEADS.items()
        }

    def predict(
        self, rgb: NDArray[np.uint8], size: tuple[int, int] | None = None
    ) -> RoomPrediction:
        """Read one picture.

        Parameters
        ----------
        rgb : (h, w, 3) uint8, sRGB, upright
        size : height and width [px] of the surface maps; default the working size

        Raises
        ------
        ValueError
            when `rgb` is not such an array.
        """
        if rgb.dtype != np.uint8 or rgb.ndim != 3 or rgb.shape[2] != 3 or 0 in rgb.shape:
            raise ValueError(f"rgb must be (h, w, 3) uint8, got {rgb.shape} {rgb.dtype}")
        height, width = working_size(*rgb.shape[:2])
        small = _shrink(rgb, height, width)
        coarse, answers = self.answers(small)
        rows, columns = size or (height, width)
        guide = small if (rows, columns) == (height, width) else _shrink(rgb, rows, columns)
        return RoomPrediction(
            surfaces=upsample(
                coarse, np.asarray(cv2.cvtColor(guide, cv2.COLOR_RGB2GRAY), np.uint8)
            ),
            kind=kind_probability(answers["kind"]),
            era=answers["era"],
            floor=answers["floor"],
            cabinets=answers["cabinets"],
            lightness=answers["lightness"],
            bold=answers["bold"],
            exposure=answers["exposure"],
            light=answers["light"],
        )


def _shrink(rgb: NDArray[np.uint8], rows: int, columns: int) -> NDArray[np.uint8]:
    return np.asarray(cv2.resize(rgb, (columns, rows), interpolation=cv2.INTER_AREA), np.uint8)


@cache
def room_net() -> RoomNet:
    """The network of the package, loaded once a process."""
    return RoomNet()


def kind_probability(kind: dict[str, float]) -> dict[str, float]:
    """Probability of each kind of room and of ``unsure``, from the network's answer.

    ``unsure`` takes what the network gives to pictures of anything else, and more of the rest the
    weaker the likeliest kind is, so that it becomes the likeliest answer where no kind has about
    0.55. On houses not seen in training that leaves 1 in 100 photos unsure; of those named, 1 in
    300 is wrong.
    """
    rooms = {name: value for name, value in kind.items() if name != "other"}
    low, high = _KIND_DOUBT
    trust = float(np.clip((max(rooms.values()) - low) / (high - low), 0, 1))
    answer = {name: trust * value for name, value in rooms.items()}
    answer["unsure"] = max(0.0, 1.0 - sum(answer.values()))
    return answer


def answer_kind(kind: dict[str, float]) -> str:
    """The likeliest of the kinds and ``unsure``."""
    return max(kind, key=lambda name: kind[name])


def tone_probability(lightness: dict[str, float]) -> dict[str, float]:
    """Probability of a dark, mid and light wall, from those of the classes of its lightness."""
    shares = list(lightness.values())
    return {tone: sum(shares[first:end]) for tone, (first, end) in TONE_CLASSES.items()}


def expected_lightness(lightness: dict[str, float]) -> float:
    """Mean L* of the classes of wall lightness."""
    shares = lightness.values()
    return sum(p * middle for p, middle in zip(shares, LIGHTNESS_MIDDLES, strict=True))


def surface_codes(prediction: RoomPrediction) -> NDArray[np.uint8]:
    """Code of the likeliest surface at each pixel (h, w), 0 where none is likely enough.

    Codes are the indices of `SURFACES`: 1 wall, 2 ceiling, 3 floor, 4 window, 5 lamp, 6 cabinet or
    counter, 7 other, 8 trim or door, 9 mirror.
    """
    codes: NDArray[np.uint8] = prediction.surfaces.argmax(axis=0).astype(np.uint8)
    codes[prediction.surfaces.max(axis=0) < _LEAST_CONFIDENCE] = 0
    return codes


def upsample(
    coarse: NDArray[np.float32],
    guide: NDArray[np.uint8],
    radius: int = 1,
    epsilon: float = 0.001,
) -> NDArray[np.float32]:
    """Enlarge probability maps so that their edges follow the picture's (fast guided filter [1]_).

    Parameters
    ----------
    coarse : (n, h, w) probabilities that sum to 1 at each pixel
    guide : (H, W) grey picture
    radius : of the window in which the guide explains the map [px of `coarse`]
    epsilon : how much variance of the guide (of 0 to 1) counts as flat

    Returns
    -------
    (n, H, W) float32, each pixel summing to 1.

    References
    ----------
    .. [1] K. He and J. Sun, "Fast Guided Filter", arXiv:1505.00996, 2015.
    """
    count, rows, columns = coarse.shape
    fine = guide.astype(np.float32) / 255
    small = np.asarray(cv2.resize(fine, (columns, rows), interpolation=cv2.INTER_AREA), np.float32)
    window = (2 * radius + 1, 2 * radius + 1)

    def box(values: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.asarray(cv2.blur(values, window, borderType=cv2.BORDER_REFLECT), np.float32)

    mean = box(small)
    variance = np.maximum(box(small * small) - mean * mean, 0)
    out = np.empty((count, *fine.shape), np.float32)
    for index in range(count):
        values = coarse[index]
        if not values.any():
            out[index] = 0
            continue
        average = box(values)
        slope = np.asarray(
            (box(small * values) - mean * average) / (variance + epsilon), np.float32
        )
        offset = np.asarray(average - slope * mean, np.float32)
        big = [
            cv2.resize(box(part), fine.shape[::-1], interpolation=cv2.INTER_LINEAR)
            for part in (slope, offset)
        ]
        out[index] = big[0] * fine + big[1]
    np.clip(out, 0, 1, out=out)
    return np.asarray(out / np.maximum(out.sum(axis=0), 1e-6), np.float32)
