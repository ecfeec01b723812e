"""Teachers, then the one network that learns from the labels and from them."""

from __future__ import annotations

import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

import torch

from scorer.training.augment import Item, hold
from scorer.training.fit import Settings, fit, predict
from scorer.training.labels import HEADS, folds, load_pictures
from scorer.training.network import RoomNetwork

SOFT_HEAD_SHARE = 0.4  # how much a teacher's answer counts beside the labellers'


@dataclass(frozen=True)
class Recipe:
    """What is fitted for one final network.

    Attributes
    ----------
    teachers : settings of the networks whose mean answers the final one also learns; may be empty
    student : settings of the final network
    """

    teachers: tuple[Settings, ...] = ()
    student: Settings = field(default_factory=Settings)


def default_recipe(variants: tuple[str, ...], steps: int, seed: int = 0) -> Recipe:
    """Teachers of the trunks in `variants`, each fitted for `steps`, and a student fitted as long."""
    teachers = tuple(
        Settings(variant=variant, steps=steps, seed=seed + 1 + index)
        for index, variant in enumerate(variants)
    )
    return Recipe(teachers, Settings(steps=steps, seed=seed, dropout=0.3))


@dataclass(frozen=True)
class Job:
    """One network to fit: on all pictures but those of `fold`, or on all when `fold` is None."""

    data: Path
    extra: tuple[Path, ...]
    weights: dict[str, Path]
    recipe: Recipe
    fold: int | None
    fold_count: int
    device: str
    out: Path


def teach(items: list[Item], teachers: list[RoomNetwork]) -> None:
    """Attach the teachers' mean answers to `items`."""
    for item in items:
        surfaces, heads, _ = predict(teachers, item)
        item.soft_surfaces = surfaces.half()
        for name in HEADS:
            labelled = item.picture.targets.get(name)
            if name == "kind":
                continue  # known for every photo
            soft = heads[name]
            if labelled is not None:
                given = torch.from_numpy(labelled).to(soft.device)
                soft = SOFT_HEAD_SHARE * soft + (1 - SOFT_HEAD_SHARE) * given
            elif item.picture.rendered or (name == "era" and "era" not in item.picture.targets):
                if item.picture.rendered or item.picture.name.endswith("bedroom"):
                    continue
                soft = SOFT_HEAD_SHARE * soft
            else:
                soft = SOFT_HEAD_SHARE * soft
            item.soft_heads[name] = soft


def run_job(job: Job) -> Path:
    """Fit the recipe of a job and keep the final weights, half precision, in `job.out`."""
    torch.set_num_threads(1 if job.device.startswith("cuda") else torch.get_num_threads())
    pictures = load_pictures(job.data, job.extra)
    if job.fold is not None:
        side = folds(pictures, job.fold_count)
        pictures = [p for p, f in zip(pictures, side, strict=True) if f != job.fold]
    items = hold(pictures, torch.device(job.device))
    name = "all" if job.fold is None else f"fold {job.fold}"
    teachers = [
        fit(items, s, job.weights[s.variant], f"{name}, teacher {i} ({s.variant})")
        for i, s in enumerate(job.recipe.teachers)
    ]
    student = job.recipe.student
    if teachers:
        teach(items, teachers)
    else:
        student = replace(student, soft_weight=0.0)
    network = fit(items, student, job.weights[student.variant], f"{name}, student")
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


def load_network(path: Path) -> RoomNetwork:
    """A network kept by `run_job`, ready to predict."""
    kept = torch.load(path, map_location="cpu", weights_only=True)
    network = RoomNetwork(kept["variant"])
    network.load_state_dict(
        {k: v.float() if v.is_floating_point() else v for k, v in kept["state"].items()}
    )
    return network.eval().requires_grad_(False)
