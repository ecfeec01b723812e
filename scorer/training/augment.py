"""Random views of the training pictures: crop, turn, flip, exposure, white balance and noise.

Geometry is one affine map per picture, so that points, masks and soft maps follow the pixels.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor
from torch.nn import functional

from scorer.training.labels import HEADS, SURFACE_LETTERS, Picture

LONG_SIDE = 704  # pictures are held at this length [px]
STRIDE = 4  # of the surface map


@dataclass
class Item:
    """A picture on the device with its labels, and the soft labels of a teacher where there are any."""

    picture: Picture
    pixels: Tensor  # (3, h, w), 0 to 255
    mask: Tensor | None
    soft_surfaces: Tensor | None = None  # (letters, h, w) probabilities
    soft_heads: dict[str, Tensor] = field(default_factory=dict)


@dataclass
class Batch:
    """Pixels (n, 3, h, w) and targets; maps are at stride 4 and 0 where nothing is known."""

    pixels: Tensor
    letters: Tensor  # (n, letters, h/4, w/4) one-hot at labelled points
    codes: Tensor  # (n, 10, h/4, w/4) one-hot of rendered masks
    soft: Tensor  # (n, letters, h/4, w/4) teacher probabilities
    heads: dict[str, Tensor]  # (n, classes); rows of 0 where unlabelled


def fit_long_side(pixels: NDArray[np.uint8], long_side: int = LONG_SIDE) -> NDArray[np.uint8]:
    """Shrink (never enlarge) so that the longer side is `long_side`."""
    scale = long_side / max(pixels.shape[:2])
    if scale >= 1:
        return pixels
    return cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)


def hold(pictures: list[Picture], device: torch.device) -> list[Item]:
    """Decode pictures and masks onto the device."""
    items = []
    for picture in pictures:
        pixels = torch.from_numpy(fit_long_side(picture.pixels()).copy()).permute(2, 0, 1)
        mask = None
        if picture.mask is not None:
            code = cv2.imread(str(picture.mask), cv2.IMREAD_GRAYSCALE)
            mask = torch.from_numpy(code)[None].to(device, torch.float16)
        items.append(Item(picture, pixels.contiguous().to(device, torch.float16), mask))
    return items


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


def whole(_: tuple[int, int]) -> NDArray[np.float64]:
    """The map that takes the whole picture."""
    return np.array([[1.0, 0, 0], [0, 1.0, 0]])


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

    def column(values: NDArray[np.float64]) -> Tensor:
        return torch.tensor(values, dtype=torch.float32, device=pixels.device)

    x = (pixels.float() / 255).clamp(0, 1) ** 2.2
    x = (x * column(gain)[:, :, None, None]).clamp(0, 1) ** (
        column(contrast)[:, None, None, None] / 2.2
    )
    grey = x.mean(dim=1, keepdim=True)
    x = grey + (x - grey) * column(saturation)[:, None, None, None]
    seed = int(rng.integers(2**31))
    generator = torch.Generator(device=pixels.device).manual_seed(seed)
    random = torch.randn(x.shape, generator=generator, device=x.device)
    x = x + random * column(noise)[:, None, None, None]
    return x.clamp(0, 1) * 255, on


def batch(
    items: list[Item], canvas: tuple[int, int], rng: np.random.Generator, *, augment: bool = True
) -> Batch:
    """One batch of views of `items` on a canvas of (height, width) pixels."""
    device = items[0].pixels.device
    small = (canvas[0] // STRIDE, canvas[1] // STRIDE)
    n, letters = len(items), len(SURFACE_LETTERS)
    pixels = torch.empty((n, 3, *canvas), device=device)
    point_map = torch.zeros((n, letters, *small), device=device)
    code_map = torch.zeros((n, 10, *small), device=device)
    soft_map = torch.zeros((n, letters, *small), device=device)
    heads = {name: torch.zeros((n, len(c)), device=device) for name, c in HEADS.items()}
    for i, item in enumerate(items):
        shape = (item.pixels.shape[1], item.pixels.shape[2])
        affine = _affine(shape, canvas, rng) if augment else whole(shape)
        theta = torch.tensor(affine[None], dtype=torch.float32, device=device)
        grid = functional.affine_grid(theta, [1, 3, *canvas], align_corners=False)
        pixels[i] = functional.grid_sample(
            item.pixels[None].float(), grid, padding_mode="reflection", align_corners=False
        )[0]
        grid = functional.affine_grid(theta, [1, 3, *small], align_corners=False)
        if item.soft_surfaces is not None:
            soft_map[i] = functional.grid_sample(
                item.soft_surfaces[None].float(), grid, align_corners=False
            )[0]
        if item.mask is not None:
            code = functional.grid_sample(
                item.mask[None].float(), grid, mode="nearest", align_corners=False
            )[0, 0]
            for value in range(1, 10):
                code_map[i, value] = code == value
        _splat(point_map[i], item.picture.points, affine)
        for name, target in item.picture.targets.items():
            heads[name][i] = torch.from_numpy(target).to(device)
        for name, target in item.soft_heads.items():
            heads[name][i] = target
    if augment:
        pixels, changed = _photometric(pixels, rng)
        for name in ("exposure", "light"):
            heads[name][torch.from_numpy(changed).to(device)] = 0
    return Batch(pixels, point_map, code_map, soft_map, heads)


def _splat(target: Tensor, points: NDArray[np.float32], affine: NDArray[np.float64]) -> None:
    """Mark each labelled point that the view shows in `target` (letters, h, w)."""
    points = points[points[:, 2] >= 0] if len(points) else points
    if not len(points):
        return
    seen = np.linalg.solve(affine[:, :2], (2 * points[:, :2] - 1).T - affine[:, 2:]).T
    height, width = target.shape[1:]
    column = np.floor((seen[:, 0] + 1) / 2 * width).astype(np.int64)
    row = np.floor((seen[:, 1] + 1) / 2 * height).astype(np.int64)
    inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    index = np.stack([points[:, 2].astype(np.int64), row, column])[:, inside]
    letter, row, column = torch.from_numpy(index).to(target.device)
    target[letter, row, column] = 1.0
