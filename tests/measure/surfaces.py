"""Rows of the table about surfaces, room kind, finishes and floors."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from sklearn.metrics import average_precision_score, roc_auc_score

from scorer.photos.surfaces import HEADS, answer_kind, kind_probability, upsample, working_size
from scorer.training.labels import LETTER_CODE, SURFACE_LETTERS, Picture
from tests.measure.walls import interval

Answers = Mapping[str, NDArray[np.generic]]
SURFACE_ROWS = (
    ("wall", 1), ("floor", 3), ("ceiling", 2), ("cabinet or counter", 6), ("window", 4),
    ("mirror", 9), ("trim or door", 8), ("lamp", 5), ("other", 7),
)  # fmt: skip
_EVERY = 97  # pixels of a rendered mask between two that count


@dataclass(frozen=True)
class Points:
    """Labelled points of many pictures: probabilities (n, 10), true codes and groups."""

    probability: NDArray[np.float32]
    code: NDArray[np.int64]
    group: NDArray[np.str_]


def line(
    title: str,
    groups: Sequence[str],
    figure: Callable[[NDArray[np.int64]], float],
    draws: int = 400,
) -> None:
    """Print a figure with its 90 % interval over houses or scenes."""
    value, low, high = interval(groups, figure, draws)
    print(f"{title:<62} {value:6.3f}  ({low:.3f} to {high:.3f})", flush=True)


def fine_maps(picture: Picture, answers: Answers) -> NDArray[np.float32]:
    """Surface probabilities at the network's working size, as in use."""
    pixels = picture.pixels()
    height, width = working_size(*pixels.shape[:2])
    small = cv2.resize(pixels, (width, height), interpolation=cv2.INTER_AREA)
    coarse = answers[f"{picture.name}/surfaces"].astype(np.float32)
    return upsample(coarse, cv2.cvtColor(small, cv2.COLOR_RGB2GRAY))


def photo_points(pictures: Sequence[Picture], answers: Answers) -> Points:
    """The points that the labeller could tell."""
    probability, code, group = [], [], []
    for picture in pictures:
        if not len(picture.points):
            continue
        maps = fine_maps(picture, answers)
        for x, y, letter in picture.points:
            if letter >= 0:
                row, column = int(y * maps.shape[1]), int(x * maps.shape[2])
                probability.append(maps[:, row, column])
                code.append(LETTER_CODE[SURFACE_LETTERS[int(letter)]])
                group.append(picture.group)
    return Points(np.array(probability), np.array(code), np.array(group))


def rendered_points(pictures: Sequence[Picture], answers: Answers) -> Points:
    """Every so many pixels of the rendered pictures' masks."""
    probability, code, group = [], [], []
    for picture in pictures:
        if picture.mask is None:
            continue
        maps = fine_maps(picture, answers)
        mask = np.asarray(cv2.imread(str(picture.mask), cv2.IMREAD_GRAYSCALE))
        mask = cv2.resize(mask, maps.shape[:0:-1], interpolation=cv2.INTER_NEAREST).ravel()
        at = np.flatnonzero(mask)[::_EVERY]
        probability.append(maps.reshape(10, -1)[:, at].T)
        code.append(mask[at].astype(np.int64))
        group += [picture.group] * len(at)
    return Points(np.concatenate(probability), np.concatenate(code), np.array(group))


def report_points(title: str, points: Points, draws: int) -> None:
    """Average precision of each surface against the rest, and the share named right."""
    for name, code in SURFACE_ROWS:
        truth, score = points.code == code, points.probability[:, code]
        if truth.any():
            line(
                f"{title}: {name}, AP ({int(truth.sum())} of {len(truth)})",
                points.group,
                lambda drawn, t=truth, s=score: float(average_precision_score(t[drawn], s[drawn])),
                draws,
            )
    right = points.probability.argmax(axis=1) == points.code
    line(f"{title}: named right, 9 surfaces", points.group,
         lambda drawn: float(right[drawn].mean()), draws)  # fmt: skip


def report_kind(title: str, pictures: Sequence[Picture], answers: Answers) -> None:
    """Room kind: right among the sure ones, share that is unsure."""
    told = [HEADS["kind"][int(p.targets["kind"].argmax())] for p in pictures]
    said = []
    for picture in pictures:
        values = answers[f"{picture.name}/kind"].tolist()
        said.append(answer_kind(kind_probability(dict(zip(HEADS["kind"], values, strict=True)))))
    groups = [p.group for p in pictures]
    sure = np.array([word != "unsure" for word in said])
    right = np.array([a == b for a, b in zip(said, told, strict=True)])
    if sure.any():
        at = np.flatnonzero(sure)
        line(f"{title}: room kind where sure, right ({len(at)} of {len(sure)})",
             [groups[i] for i in at], lambda drawn: float(right[at][drawn].mean()))  # fmt: skip
    line(f"{title}: room kind unsure", groups, lambda drawn: float(1 - sure[drawn].mean()))
    for picture, word, truth in zip(pictures, said, told, strict=True):
        if word not in (truth, "unsure"):
            print(f"    {picture.name}: said {word}")


def report_answers(pictures: Sequence[Picture], answers: Answers) -> None:
    """Dated finish, floor and cabinet tone, where both labellers agree."""
    shown = [p for p in pictures if "era" in p.targets]
    dated = np.array([p.targets["era"][0] for p in shown])
    leaning = np.array([answers[f"{p.name}/era"] for p in shown])
    score = leaning[:, 0] - leaning[:, 2]  # as scorer.photos.finish reads it
    for word, keep in (("both agree", (dated == 0) | (dated == 1)), ("majority", dated >= 0)):
        at = np.flatnonzero(keep)
        truth = dated[at] >= 0.5
        line(
            f"dated finish, AUC, {word} ({int(truth.sum())} of {len(at)})",
            [shown[i].group for i in at],
            lambda drawn, t=truth, s=score[at]: float(roc_auc_score(t[drawn], s[drawn])),
        )
    for head in ("floor", "cabinets"):
        agreed = [p for p in pictures if head in p.targets and p.targets[head].max() == 1]
        right = np.array(
            [answers[f"{p.name}/{head}"].argmax() == p.targets[head].argmax() for p in agreed]
        )
        line(
            f"{head}, accuracy, both agree ({len(agreed)})",
            [p.group for p in agreed],
            lambda drawn, r=right: float(r[drawn].mean()),
        )


def report(pictures: Sequence[Picture], answers: Answers) -> None:
    """All rows of this module."""
    houses = [p for p in pictures if p.house]
    rendered = [p for p in pictures if p.rendered]
    report_points("points", photo_points(houses, answers), 200)
    report_kind("photos", [p for p in houses if "kind" in p.targets], answers)
    report_answers(houses, answers)
    if rendered:
        report_points("rendered", rendered_points(rendered, answers), 30)
        report_kind("rendered", rendered, answers)
    others = [p for p in pictures if not p.house and not p.rendered]
    if others:
        report_kind("fronts and pictures that are no room", others, answers)


def read_all(pictures: Sequence[Picture], model: Path | None = None) -> Answers:
    """Answers of one network for every picture (in-sample, for the network of the package)."""
    from scorer.photos.surfaces import RoomNet

    net = RoomNet(model)
    answers: dict[str, NDArray[np.generic]] = {}
    for picture in pictures:
        pixels = picture.pixels()
        height, width = working_size(*pixels.shape[:2])
        maps, heads = net.answers(cv2.resize(pixels, (width, height), interpolation=cv2.INTER_AREA))
        answers[f"{picture.name}/surfaces"] = maps
        for head in HEADS:
            answers[f"{picture.name}/{head}"] = np.array(list(heads[head].values()))
    return answers
