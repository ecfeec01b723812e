# mypy: disable-error-code="misc, untyped-decorator, no-any-return"
"""Fitting one room network; the same settings, seed and machine give the same weights."""

from __future__ import annotations

import copy
import math
import os
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor
from torch.nn import functional

from scorer.photos.surfaces import TONE_CLASSES, working_size
from scorer.training.augment import Batch, Held, batch
from scorer.training.network import RoomNetwork

HEAD_WEIGHT = {
    "kind": 0.3, "era": 0.4, "floor": 0.2, "cabinets": 0.2,
    "tone": 0.5, "lightness": 0.3, "bold": 0.4, "exposure": 0.3, "light": 0.3,
}  # fmt: skip


@dataclass(frozen=True)
class Settings:
    """How one network is fitted.

    Attributes
    ----------
    variant : trunk, a key of `network.VARIANTS`
    steps, batch_size : length of the fit
    seconds : when given, the fit ends after this time if it comes before the last step; the
        learning rate then falls with the time, and the fit is not repeatable to the bit
    trunk_rate, rate : highest learning rates of the pretrained trunk and of the rest
    decay : weight decay
    soft_weight : weight of a teacher's surface map against the labelled points
    average : decay of the running mean of the weights
    """

    variant: str = "lite0"
    steps: int = 1200
    batch_size: int = 24
    seconds: float | None = None
    trunk_rate: float = 3e-4
    rate: float = 2e-3
    decay: float = 0.02
    head_decay: float = 0.2
    soft_weight: float = 1.0
    rendered_weight: float = 0.3
    average: float = 0.997
    drop: float = 0.1
    dropout: float = 0.4
    smoothing: float = 0.05
    canvas: tuple[int, int] = (384, 512)
    seed: int = 0


def make_deterministic(seed: int) -> None:
    """Seed everything and ask torch for repeatable kernels."""
    os.environ.setdefault("CUBLAS_WORKSPACE_CONFIG", ":4096:8")
    torch.manual_seed(seed)
    torch.use_deterministic_algorithms(True, warn_only=True)
    torch.backends.cudnn.benchmark = False


def _soft_cross_entropy(logits: Tensor, target: Tensor, smoothing: float = 0.0) -> Tensor:
    """Cross-entropy per row against probabilities; rows of 0 count 0."""
    known = target.sum(dim=1, keepdim=True)
    target = target * (1 - smoothing) + known * smoothing / target.shape[1]
    return -(target * functional.log_softmax(logits, dim=1)).sum(dim=1)


def tone_logits(lightness: Tensor) -> Tensor:
    """Logits (n, 3) of dark, mid and light from those of the classes of wall lightness."""
    parts = [lightness[:, first:end].float() for first, end in TONE_CLASSES.values()]
    return torch.stack([part.logsumexp(dim=1) for part in parts], dim=1)


def _mean(values: Tensor, weights: Tensor) -> Tensor:
    return (values * weights).sum() / weights.sum().clamp(min=1.0)


def loss(network: RoomNetwork, views: Batch, settings: Settings) -> Tensor:
    """Weighted sum of the losses of a batch."""
    amp = views.pixels.is_cuda
    with torch.autocast(views.pixels.device.type, torch.bfloat16, enabled=amp):
        logits, heads = network(views.pixels, settings.drop, settings.dropout)
    logits = logits.float()
    log_share = functional.log_softmax(logits, dim=1)
    total = -(views.letters * log_share).sum() / views.letters.sum().clamp(min=1.0)
    if settings.soft_weight > 0 and views.soft is not None:
        known = views.soft.sum(dim=1)
        cross = -(views.soft * log_share).sum(dim=1)
        total = total + settings.soft_weight * _mean(cross, known)
    if settings.rendered_weight > 0:
        known = views.codes.sum(dim=1)
        log_code = torch.log(network.code_probability(logits).clamp(min=1e-6))
        cross = -(views.codes * log_code).sum(dim=1)
        total = total + settings.rendered_weight * _mean(cross, known)
    for name, weight in HEAD_WEIGHT.items():
        target = views.heads[name]
        answer = tone_logits(heads["lightness"]) if name == "tone" else heads[name]
        cross = _soft_cross_entropy(answer.float(), target, settings.smoothing)
        total = total + weight * _mean(cross, target.sum(dim=1))
    return total


def _sampling_weights(held: Held) -> NDArray[np.float64]:
    """Draw labelled pictures more often; rendered ones together about a quarter of the time."""
    rendered = np.array([picture.rendered for picture in held.pictures])
    labelled = np.array(
        [1.0 + len(p.points) / 48 + ("exposure" in p.targets) for p in held.pictures]
    )
    weights = np.where(rendered, 0.0, labelled)
    if rendered.any():
        weights[rendered] = weights.sum() / 3 / rendered.sum()
    return weights / weights.sum()


def fit(
    held: Held,
    settings: Settings,
    weights: Path,
    log: str = "",
    start: Mapping[str, Tensor] | None = None,
) -> RoomNetwork:
    """Fit one network to `held` and return the running mean of its weights.

    Parameters
    ----------
    held : pictures on the device that is to fit
    weights : file of the pretrained trunk
    log : word that starts each line of progress; nothing is printed when empty
    start : weights of an earlier fit to go on from
    """
    make_deterministic(settings.seed)
    device = held.pixels.device
    rng = np.random.default_rng(settings.seed)
    network = RoomNetwork(settings.variant)
    if start is None:
        network.trunk.load(weights)
    else:
        go_on_from(network, start)
    network.to(device)
    mean = copy.deepcopy(network).eval().requires_grad_(False)
    trunk = [p for n, p in network.named_parameters() if n.startswith("trunk")]
    heads = [p for n, p in network.named_parameters() if n.startswith("heads")]
    rest = [p for n, p in network.named_parameters() if not n.startswith(("trunk", "heads"))]
    optimiser = torch.optim.AdamW(
        [
            {"params": trunk, "lr": settings.trunk_rate, "weight_decay": settings.decay},
            {"params": rest, "lr": settings.rate, "weight_decay": settings.decay},
            {"params": heads, "lr": settings.rate / 2, "weight_decay": settings.head_decay},
        ]
    )
    highest = [group["lr"] for group in optimiser.param_groups]
    chance = _sampling_weights(held)
    upright = held.shapes[:, 0] > held.shapes[:, 1]
    started = time.perf_counter()
    step = 0
    for step in range(settings.steps):
        progress = step / settings.steps
        if settings.seconds is not None:
            progress = max(progress, (time.perf_counter() - started) / settings.seconds)
            if progress >= 1:
                break
        pace = min((step + 1) / 60, 0.5 * (1 + math.cos(math.pi * progress)) + 1e-3)
        for group, rate in zip(optimiser.param_groups, highest, strict=True):
            group["lr"] = rate * pace
        turned = rng.random() < 0.12 and upright.any()
        draw = chance * np.where(upright, 6.0, 1.0) if turned else chance
        picks = rng.choice(len(held.pictures), settings.batch_size, p=draw / draw.sum())
        canvas = settings.canvas[::-1] if turned else settings.canvas
        views = batch(held, picks, canvas, rng)
        network.train()
        for module in network.trunk.modules():  # few pictures: keep ImageNet's statistics
            if isinstance(module, torch.nn.BatchNorm2d):
                module.eval()
        value = loss(network, views, settings)
        optimiser.zero_grad(set_to_none=True)
        value.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 5.0)
        optimiser.step()
        _average(mean, network, min(settings.average, (1 + step) / (10 + step)))
        if log and step % 200 == 199:
            spent = time.perf_counter() - started
            print(f"{log} step {step + 1}, {spent:.0f} s: loss {value.item():.3f}", flush=True)
    if log:
        print(f"{log}: ended at step {step + 1}", flush=True)
    return mean


@torch.no_grad()
def go_on_from(network: RoomNetwork, start: Mapping[str, Tensor]) -> None:
    """Take over weights of an earlier fit; inputs that a layer has more now begin with 0."""
    for name, value in network.state_dict().items():
        earlier = start.get(name)
        if earlier is None:
            continue
        if value.shape != earlier.shape:
            value.zero_()
            value = value[:, : earlier.shape[1]]
        value.copy_(earlier)


@torch.no_grad()
def _average(mean: RoomNetwork, network: RoomNetwork, keep: float) -> None:
    pairs = [
        (m, n.detach())
        for m, n in zip(mean.state_dict().values(), network.state_dict().values(), strict=True)
        if m.is_floating_point()
    ]
    torch._foreach_lerp_([m for m, _ in pairs], [n for _, n in pairs], 1 - keep)


@torch.no_grad()
def predict(
    networks: Sequence[RoomNetwork], pixels: Tensor, *, flip: bool = True
) -> tuple[Tensor, dict[str, Tensor]]:
    """Mean of letter probabilities (letters, h/4, w/4) and heads of networks for one picture.

    `pixels` are (1, 3, h, w), 0 to 255.
    """
    size = working_size(*pixels.shape[2:])
    pixels = functional.interpolate(
        pixels, size, mode="bilinear", antialias=True, align_corners=False
    )
    maps, heads = [], []
    for network in networks:
        for turned in (False, True) if flip else (False,):
            logits, head = network(pixels.flip(3) if turned else pixels)
            share = logits.float().softmax(1)
            maps.append(share.flip(3) if turned else share)
            head["tone"] = tone_logits(head["lightness"])
            heads.append({name: value.float().softmax(1)[0] for name, value in head.items()})
    mean_heads = {name: torch.stack([h[name] for h in heads]).mean(0) for name in heads[0]}
    return torch.cat(maps).mean(0), mean_heads
