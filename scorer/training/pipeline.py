# mypy: disable-error-code="misc, untyped-decorator, no-any-return"
"""Teachers, then the one network that learns from the labels and from them."""

from __future__ import annotations

import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

import torch
from torch.nn import functional

from scorer.training.augment import LONG_SIDE, STRIDE, Held, hold
from scorer.training.fit import Settings, fit, go_on_from, predict
from scorer.training.labels import SURFACE_LETTERS, folds, load_pictures
from scorer.training.network import RoomNetwork

SOFT_HEAD_SHARE = 0.4  # how much a teacher's answer counts beside the labellers'


@dataclass(frozen=True)
class Recipe:
    """What is fitted for one final network.

    Attributes
    ----------
    teachers : settings of the networks whose mean answers the final one also learns; may be empty
    student : settings of the final network
    goes_on : whether it goes on from an earlier round
    mean_of : how many networks of this recipe, alike but for the seed, were averaged
    """

    teachers: tuple[Settings, ...] = ()
    student: Settings = field(default_factory=Settings)
    goes_on: bool = False
    mean_of: int = 1


def default_recipe(
    variants: tuple[str, ...], steps: int, seed: int = 0, seconds: float | None = None
) -> Recipe:
    """Teachers of the trunks in `variants`, each fitted for `steps`, and a student fitted as long.

    With `seconds`, these are shared out by the cost of each fit instead.
    """
    cost = {"lite0": 1.0, "lite1": 1.2, "lite2": 1.5}
    parts = [*(cost[variant] for variant in variants), 2.0]
    shares = [None if seconds is None else seconds * part / sum(parts) for part in parts]
    teachers = tuple(
        Settings(variant=variant, steps=steps, seed=seed + 1 + index, seconds=shares[index])
        for index, variant in enumerate(variants)
    )
    return Recipe(teachers, Settings(steps=steps, seed=seed, dropout=0.3, seconds=shares[-1]))


def next_round(steps: int, seed: int = 0, seconds: float | None = None) -> Recipe:
    """A student that goes on from an earlier round, at half the pace."""
    student = Settings(steps=steps, seed=seed + 1, dropout=0.3, seconds=seconds)
    student = replace(student, trunk_rate=student.trunk_rate / 2, rate=student.rate / 2)
    return Recipe((), student, goes_on=True)


@dataclass(frozen=True)
class Job:
    """One network to fit: on all pictures but those of `fold`, or on all when `fold` is None.

    With `start`, the folder of an earlier round, it goes on from the network of that round which
    saw the same pictures, and learns that one's answers in place of its teachers'.
    """

    data: Path
    extra: tuple[Path, ...]
    walls: Path | None
    start: Path | None
    weights: dict[str, Path]
    recipe: Recipe
    fold: int | None
    fold_count: int
    device: str
    out: Path


def teach(held: Held, teachers: list[RoomNetwork]) -> None:
    """Put the teachers' mean answers about photos beside the labels of `held`."""
    side = LONG_SIDE // STRIDE
    soft = torch.zeros(
        (len(held.pictures), len(SURFACE_LETTERS), side, side),
        dtype=torch.float16,
        device=held.pixels.device,
    )
    for index, picture in enumerate(held.pictures):
        if not picture.house:  # rendered pictures have exact masks
            continue
        surfaces, heads = predict(teachers, held.whole(index))
        height, width = (max(1, round(int(v) / STRIDE)) for v in held.shapes[index])
        soft[index, :, :height, :width] = functional.interpolate(
            surfaces[None], (height, width), mode="bilinear", align_corners=False
        )[0].half()
        for name, target in held.heads.items():
            if name == "kind" or (name == "era" and not picture.has_finishes):
                continue
            target[index] = (1 - SOFT_HEAD_SHARE) * target[index] + SOFT_HEAD_SHARE * heads[name]
    held.soft_surfaces = soft


def run_job(job: Job) -> Path:
    """Fit the recipe of a job and keep the final weights, half precision, in `job.out`."""
    torch.set_num_threads(1 if job.device.startswith("cuda") else torch.get_num_threads())
    pictures = load_pictures(job.data, job.extra, more_labels=True)
    if job.fold is not None:
        side = folds(pictures, job.fold_count)
        pictures = [p for p, f in zip(pictures, side, strict=True) if f != job.fold]
    held = hold(pictures, torch.device(job.device), job.walls)
    name = "all" if job.fold is None else f"fold {job.fold}"
    teachers = [
        fit(held, s, job.weights[s.variant], f"{name}, teacher {i} ({s.variant})")
        for i, s in enumerate(job.recipe.teachers if job.start is None else ())
    ]
    student = job.recipe.student
    start = None
    if job.start is not None:
        earlier = load_network(job.start / job.out.name, earlier=True)
        start = earlier.state_dict()
        teachers = [earlier.to(job.device)]
    if teachers:
        teach(held, teachers)
    else:
        student = replace(student, soft_weight=0.0)
    network = fit(held, student, job.weights[student.variant], f"{name}, student", start)
    state = {
        key: value.half().cpu() if value.is_floating_point() else value.cpu()
        for key, value in network.state_dict().items()
    }
    torch.save({"variant": student.variant, "state": state}, job.out)
    return job.out


def run_jobs(jobs: list[Job], at_once: int) -> list[Path]:
    """Run jobs in processes of their own, `at_once` together."""
    if at_once <= 1:
        return [run_job(job) for job in jobs]
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(at_once, mp_context=context) as pool:
        return list(pool.map(run_job, jobs))


def devices() -> list[str]:
    """Accelerators to fit on, or the processor."""
    count = torch.cuda.device_count()
    return [f"cuda:{i}" for i in range(count)] or ["cpu"]


def load_network(path: Path, *, earlier: bool = False) -> RoomNetwork:
    """A network kept by `run_job`, ready to predict; an `earlier` one may lack some layers."""
    kept = torch.load(path, map_location="cpu", weights_only=True)
    network = RoomNetwork(kept["variant"])
    state = {k: v.float() if v.is_floating_point() else v for k, v in kept["state"].items()}
    if earlier:
        go_on_from(network, state)
    else:
        network.load_state_dict(state)
    return network.eval().requires_grad_(False)
