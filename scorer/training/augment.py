"""Random views of the training pictures: crop, turn, flip, paint, exposure, white balance, noise.

Geometry is one affine map per picture, so that points, masks and soft maps follow the pixels.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor
from torch.nn import functional

from scorer.training.labels import SURFACE_LETTERS, TARGETS, Picture
from scorer.training.repainting import choose_paints

LONG_SIDE = 704  # pictures are held at this length [px]
STRIDE = 4  # of the surface map
LEAST_ACCENT = 0.3  # share of the walls in view from which an accent wall gives the room its tone


@dataclass
class Held:
    """Pictures on the device with their labels; every one lies in the corner of a square.

    Attributes
    ----------
    pictures : what they are
    shapes : (n, 2) height and width of each [px]
    pixels : (n, 3, side, side) 0 to 255, the last row and column repeated to fill the square
    masks : (n, side, side) surface codes, 0 where none
    soft_surfaces : (n, letters, side/4, side/4) a teacher's probabilities, or None
    heads : per name in `TARGETS` (n, classes) target, rows of 0 where unknown
    walls : (n, side, side) share of each pixel that is wall, 0 to 255, of pictures to be painted
    paintable : (n,) which those are
    """

    pictures: list[Picture]
    shapes: NDArray[np.int64]
    pixels: Tensor
    masks: Tensor
    heads: dict[str, Tensor]
    walls: Tensor | None = None
    paintable: NDArray[np.bool_] | None = None
    soft_surfaces: Tensor | None = None

    def whole(self, index: int) -> Tensor:
        """Pixels (1, 3, h, w) of one picture."""
        height, width = self.shapes[index]
        return self.pixels[index : index + 1, :, :height, :width].float()


@dataclass
class Batch:
    """Pixels (n, 3, h, w) and targets; maps are at stride 4 and 0 where nothing is known."""

    pixels: Tensor
    letters: Tensor  # (n, letters, h/4, w/4) one-hot at labelled points
    codes: Tensor  # (n, 10, h/4, w/4) one-hot of rendered masks
    soft: Tensor | None  # (n, letters, h/4, w/4) teacher probabilities
    heads: dict[str, Tensor]  # (n, classes); rows of 0 where unlabelled


def fit_long_side(pixels: NDArray[np.uint8], long_side: int = LONG_SIDE) -> NDArray[np.uint8]:
    """Shrink (never enlarge) so that the longer side is `long_side`."""
    scale = long_side / max(pixels.shape[:2])
    if scale >= 1:
        return pixels
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def hold(pictures: list[Picture], device: torch.device, walls: Path | None = None) -> Held:
    """Decode pictures and masks onto the device, and walls that can be painted (a folder)."""
    count = len(pictures)
    pixels = np.empty((count, LONG_SIDE, LONG_SIDE, 3), np.uint8)
    masks = np.zeros((count, LONG_SIDE, LONG_SIDE), np.uint8)
    painted = np.zeros((count, LONG_SIDE, LONG_SIDE), np.uint8)
    shapes = np.empty((count, 2), np.int64)
    heads = {name: np.zeros((count, len(c)), np.float32) for name, c in TARGETS.items()}
    for i, picture in enumerate(pictures):
        small = fit_long_side(picture.pixels())
        height, width = shapes[i] = small.shape[:2]
        pixels[i] = np.pad(
            small, ((0, LONG_SIDE - height), (0, LONG_SIDE - width), (0, 0)), mode="edge"
        )
        if picture.mask is not None:
            code = np.asarray(cv2.imread(str(picture.mask), cv2.IMREAD_GRAYSCALE), np.uint8)
            masks[i, :height, :width] = cv2.resize(
                code, (int(width), int(height)), interpolation=cv2.INTER_NEAREST
            )
        wall = walls / f"{picture.name}.png" if walls is not None else None
        if wall is not None and picture.house and wall.is_file():
            matte = np.asarray(cv2.imread(str(wall), cv2.IMREAD_GRAYSCALE), np.uint8)
            painted[i, :height, :width] = cv2.resize(
                matte, (int(width), int(height)), interpolation=cv2.INTER_AREA
            )
        for name, target in picture.targets.items():
            heads[name][i] = target
    return Held(
        pictures,
        shapes,
        torch.from_numpy(pixels).to(device).permute(0, 3, 1, 2).contiguous().half(),
        torch.from_numpy(masks).to(device).half(),
        {name: torch.from_numpy(values).to(device) for name, values in heads.items()},
        torch.from_numpy(painted).to(device) if painted.any() else None,
        np.asarray(painted.any(axis=(1, 2)), np.bool_),
    )


def _affine(
    shape: tuple[int, int], canvas: tuple[int, int], rng: np.random.Generator
) -> NDArray[np.float64]:
    """Map (2, 3) from canvas to picture, both in -1 to 1: a random crop, turn and flip."""
    height, width = shape
    aspect = canvas[1] / canvas[0] * np.exp(rng.uniform(-0.2, 0.2))
    largest = min(width, height * aspect)
    side = largest * (1 - 0.5 * rng.random() ** 1.7)
    half = np.array([side / 2, side / aspect / 2])
    centre = half + rng.random(2) * (np.array([width, height]) - 2 * half)
    angle = np.deg2rad(rng.normal(0, 2.0))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    linear = turn * half
    if rng.random() < 0.5:
        linear[:, 0] *= -1
    size = np.array([width, height])
    return np.column_stack([2 * linear / size[:, None], 2 * centre / size - 1])


def _photometric(pixels: Tensor, rng: np.random.Generator) -> tuple[Tensor, NDArray[np.bool_]]:
    """Change exposure, white balance, contrast, saturation and noise; tells whose light changed."""
    n = len(pixels)
    on = rng.random(n) < 0.6
    stops = np.where(on, rng.uniform(-1.4, 1.1, n), 0.0)
    cast = np.where(on[:, None], rng.normal(0, 0.13, (n, 3)), 0.0)
    gain = 2.0 ** stops[:, None] * np.exp(cast - cast.mean(1, keepdims=True))
    contrast = np.where(on, np.exp(rng.normal(0, 0.12, n)), 1.0)
    saturation = np.exp(rng.normal(0, 0.15, n))
    noise = np.where(rng.random(n) < 0.3, rng.uniform(0, 0.04, n), 0.0)
    table = _send(np.column_stack([gain, contrast / 2.2, saturation, noise]), pixels.device)
    table = table[:, :, None, None]
    x = (pixels / 255).clamp(0, 1) ** 2.2
    x = (x * table[:, :3]).clamp(0, 1) ** table[:, 3:4]
    grey = x.mean(dim=1, keepdim=True)
    x = grey + (x - grey) * table[:, 4:5]
    x = x + torch.randn_like(x) * table[:, 5:6]
    return x.clamp(0, 1) * 255, on


def _paint(
    pixels: Tensor,
    share: Tensor,
    heads: dict[str, Tensor],
    possible: NDArray[np.bool_],
    rng: np.random.Generator,
) -> tuple[Tensor, dict[str, Tensor]]:
    """Paint the walls of some views anew, and tell so in their targets.

    A room with an accent wall is named after that wall; where little of it is in the view, nothing
    is said of the walls.
    """
    paints = choose_paints(possible, rng)
    device = pixels.device
    ratios = _send(paints.ratios, device)[:, :, None, None]
    span = _send(paints.span, device)[:, :, None, None]
    across = torch.linspace(0, 1, pixels.shape[3], device=device).view(1, 1, 1, -1)
    covered = share * ((across >= span[:, :1]) & (across <= span[:, 1:]))
    linear = (pixels / 255).clamp(0, 1) ** 2.2
    new = linear * (1 + covered * (ratios - 1))
    loss = linear.mean((1, 2, 3), keepdim=True) / new.mean((1, 2, 3), keepdim=True).clamp(min=1e-4)
    new = new * loss ** _send(paints.taken_back, device)[:, None, None, None]
    all_walls = share.sum((1, 2, 3)).clamp(min=1.0)
    seen = (covered.sum((1, 2, 3)) >= LEAST_ACCENT * all_walls).float()[:, None]
    painted = _send(paints.painted.astype(np.float32)[:, None], device)
    told = {"tone": _send(paints.tone, device) * seen, "bold": _send(paints.bold, device) * seen}
    told["lightness"] = torch.zeros_like(heads["lightness"])
    mixed = {name: torch.lerp(heads[name], target, painted) for name, target in told.items()}
    return new.clamp(0, 1) ** (1 / 2.2) * 255, heads | mixed


def _send(values: NDArray[np.generic], device: torch.device) -> Tensor:
    """Copy to the device without waiting for it."""
    tensor = torch.from_numpy(np.ascontiguousarray(values))
    if values.dtype == np.float64:
        tensor = tensor.float()
    return tensor.pin_memory().to(device, non_blocking=True) if device.type == "cuda" else tensor


def batch(
    held: Held, picks: NDArray[np.int64], canvas: tuple[int, int], rng: np.random.Generator
) -> Batch:
    """One batch of random views of the pictures `picks` on a canvas of (height, width) pixels."""
    device = held.pixels.device
    small = (canvas[0] // STRIDE, canvas[1] // STRIDE)
    n, letters = len(picks), len(SURFACE_LETTERS)
    affines = np.empty((n, 2, 3))
    spots = []
    for i, pick in enumerate(picks):
        height, width = (int(v) for v in held.shapes[pick])
        affine = _affine((height, width), canvas, rng)
        spots.append(_seen(held.pictures[pick].points, affine, small, i))
        share = np.array([[width], [height]]) / LONG_SIDE  # from the picture to its square
        affine *= share
        affine[:, 2:] += share - 1
        affines[i] = affine
    theta = _send(affines, device)
    index = _send(picks, device)
    square = functional.affine_grid(theta, [n, 3, *canvas], align_corners=False)
    pixels = functional.grid_sample(
        held.pixels[index].float(), square, padding_mode="border", align_corners=False
    )
    grid = functional.affine_grid(theta, [n, 3, *small], align_corners=False)
    codes = functional.grid_sample(
        held.masks[index][:, None].float(), grid, mode="nearest", align_corners=False
    )
    values = torch.arange(10, device=device).view(1, 10, 1, 1)
    code_map = ((codes == values) & (values > 0)).float()
    soft = None
    if held.soft_surfaces is not None:
        soft = functional.grid_sample(
            held.soft_surfaces[index].float(), grid, padding_mode="border", align_corners=False
        )
    point_map = torch.zeros(n * letters * small[0] * small[1], device=device)
    flat = np.concatenate(spots) if spots else np.zeros(0, np.int64)
    point_map[_send(flat, device)] = 1.0
    heads = {name: target[index] for name, target in held.heads.items()}
    if held.walls is not None and held.paintable is not None:
        share = functional.grid_sample(
            held.walls[index][:, None].float() / 255, square, align_corners=False
        )
        pixels, heads = _paint(pixels, share, heads, held.paintable[picks], rng)
    pixels, changed = _photometric(pixels, rng)
    keep = _send((~changed).astype(np.float32)[:, None], device)
    for name in ("exposure", "light"):
        heads[name] = heads[name] * keep
    return Batch(pixels, point_map.view(n, letters, *small), code_map, soft, heads)


def _seen(
    points: NDArray[np.float32], affine: NDArray[np.float64], small: tuple[int, int], place: int
) -> NDArray[np.int64]:
    """Flat index in (n, letters, h, w) of each labelled point that view `place` shows."""
    points = points[points[:, 2] >= 0] if len(points) else points
    if not len(points):
        return np.zeros(0, np.int64)
    seen = np.linalg.solve(affine[:, :2], (2 * points[:, :2] - 1).T - affine[:, 2:]).T
    height, width = small
    column = np.floor((seen[:, 0] + 1) / 2 * width).astype(np.int64)
    row = np.floor((seen[:, 1] + 1) / 2 * height).astype(np.int64)
    inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    letter = points[:, 2].astype(np.int64)
    flat = ((place * len(SURFACE_LETTERS) + letter) * height + row) * width + column
    return flat[inside]
