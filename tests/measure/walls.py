"""Measure wall tone, reflectance, light and boldness on labelled photos and rendered rooms.

``python -m tests.measure.walls DATA --predictions OOF.npz [--rendered FOLDER] [--painted FOLDER]``
prints a table, each figure with a 90 % bootstrap interval over houses or scenes. Every photo is
judged by models fitted without its house, every rendered picture by models fitted without its
scene.

DATA is the evaluation folder: photos of the Houses Dataset (H. Ahmed and M. Moustafa, "House Price
Estimation from Visual and Textual Features", IJCCI 2016), labelled by eye by two passes, and
rendered rooms with known paint. It is not part of the project.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from sklearn.metrics import average_precision_score, precision_recall_curve, roc_auc_score

from scorer.photos.calibration import LinearModel
from scorer.photos.walls import (
    lightness_distribution,
    lrv_range,
    most_likely_tone,
    tone_chances,
)
from scorer.records import Range
from scorer.training.fit_walls import cross_validated, share
from scorer.training.measured import Row, collect, read_predictions

Floats = NDArray[np.float64]
TONES = ("dark", "mid", "light")
REPEATS = 3


def judged(
    rows: Sequence[Row], models: Sequence[dict[str, LinearModel]]
) -> list[dict[str, float | str | Range]]:
    """What the program would say of each row, with the models chosen for it."""
    answers: list[dict[str, float | str | Range]] = []
    for row, chosen in zip(rows, models, strict=True):
        values = row.features
        said: dict[str, float | str | Range] = {
            name: chosen[name].probability(values)
            for name in ("photo_dark", "room_dim", "wall_bold")
        }
        dark, light = (chosen[name].probability(values) for name in ("wall_dark", "wall_light"))
        chances = tone_chances(dark, light)
        said["wall_dark"] = dark
        said["tone"] = most_likely_tone(chances)
        said["lrv"] = lrv_range(*lightness_distribution(chosen["wall_lightness"], values), chances)
        answers.append(said)
    return answers


def best_f1(truth: Floats, score: Floats) -> float:
    """Best F1 over all thresholds."""
    precision, recall, _ = precision_recall_curve(truth, score)
    return float(np.max(2 * precision * recall / np.maximum(precision + recall, 1e-9)))


def interval(
    groups: Sequence[str], figure: Callable[[NDArray[np.int64]], float], draws: int = 400
) -> tuple[float, float, float]:
    """The figure, and its 5th and 95th percentile when whole groups are drawn again."""
    names, where = np.unique(groups, return_inverse=True)
    members = [np.flatnonzero(where == k) for k in range(len(names))]
    rng = np.random.default_rng(0)
    values = []
    for _ in range(draws):
        drawn = np.concatenate([members[k] for k in rng.integers(0, len(names), len(names))])
        try:
            value = figure(drawn)
        except ValueError:  # a draw without any case of one kind
            continue
        if np.isfinite(value):
            values.append(value)
    low, high = np.quantile(values, (0.05, 0.95)) if values else (np.nan, np.nan)
    return figure(np.arange(len(groups))), float(low), float(high)


def line(title: str, groups: Sequence[str], figure: Callable[[NDArray[np.int64]], float]) -> None:
    value, low, high = interval(groups, figure)
    print(f"{title:<58} {value:6.3f}  ({low:.3f} to {high:.3f})")


def report_photos(rows: Sequence[Row], answers: Sequence[dict[str, float | str | Range]]) -> None:
    """Figures on labelled photos."""

    def table(
        question: str, answer: str, name: str, score: Callable[..., float], title: str
    ) -> None:
        told = share(rows, question, answer)
        for word, keep in (("both agree", (told == 0) | (told == 1)), ("majority", told >= 0)):
            index = np.flatnonzero(keep)
            truth = (told[index] >= 0.5).astype(float)
            said = np.array([float(answers[i][name]) for i in index])  # type: ignore[arg-type]
            line(
                f"{title}, {word} ({int(truth.sum())} of {len(index)})",
                [rows[i].group for i in index],
                lambda drawn, t=truth, s=said: score(t[drawn], s[drawn]),
            )

    table("wall_tone", "dark", "wall_dark", average_precision_score, "dark wall, AP")
    table("wall_tone", "dark", "wall_dark", best_f1, "dark wall, best F1")
    table("wall_bold", "y", "wall_bold", roc_auc_score, "bold wall, AUC")
    table("exposure", "dark", "photo_dark", roc_auc_score, "dark photo, AUC")
    table("room_light", "dim", "room_dim", roc_auc_score, "dim room, AUC")
    agreed = [
        i
        for i, row in enumerate(rows)
        if len({a["wall_tone"] for a in row.labels}) == 1 and row.labels[0]["wall_tone"] in TONES
    ]
    right = np.array([answers[i]["tone"] == rows[i].labels[0]["wall_tone"] for i in agreed])
    groups = [rows[i].group for i in agreed]
    line(f"tone, 3 classes, accuracy, both agree ({len(agreed)})", groups,
         lambda drawn: float(right[drawn].mean()))  # fmt: skip
    for sure in ("1", "2", "3"):
        at = [k for k, i in enumerate(agreed) if min(a["sure"] for a in rows[i].labels) == sure]
        if at:
            print(f"  where the less sure labeller was {sure}: {right[at].mean():.3f} of {len(at)}")
    print("  said (columns dark, mid, light) by label (rows):")
    for tone in TONES:
        counts = [
            sum(
                answers[i]["tone"] == said for i in agreed if rows[i].labels[0]["wall_tone"] == tone
            )
            for said in TONES
        ]
        print(f"    {tone:<6}", *(f"{count:5d}" for count in counts))


def report_rendered(
    folder: str, rows: Sequence[Row], answers: Sequence[dict[str, float | str | Range]]
) -> None:
    """Figures on rendered rooms, whose paint is known."""
    truth = np.array([float(row.truth["wall_lrv"]) for row in rows])
    ranges = [answer["lrv"] for answer in answers]
    low, middle, high = (
        np.array([getattr(r, part) for r in ranges]) for part in ("low", "typical", "high")
    )
    # The range is cut off at the blackest and whitest paints on sale.
    inside = (np.clip(truth, 3, 94) >= low) & (np.clip(truth, 3, 94) <= high)
    right = np.array([a["tone"] == row.truth["tone"] for a, row in zip(answers, rows, strict=True)])
    groups = [row.group for row in rows]
    count = f"{len(rows)} pictures, {len(set(groups))} scenes"
    line(f"{folder}: median LRV error ({count})", groups,
         lambda drawn: float(np.median(np.abs(middle - truth)[drawn])))  # fmt: skip
    line(f"{folder}: truths inside the 90 % interval", groups,
         lambda drawn: float(inside[drawn].mean()))  # fmt: skip
    line(f"{folder}: median width of the interval", groups,
         lambda drawn: float(np.median((high - low)[drawn])))  # fmt: skip
    line(f"{folder}: tone accuracy", groups, lambda drawn: float(right[drawn].mean()))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--predictions", type=Path, required=True)
    parser.add_argument("--rendered", type=Path, action="append", default=[])
    parser.add_argument("--painted", type=Path, action="append", default=[])
    given = parser.parse_args()
    report(given.data, given.predictions, given.rendered, given.painted)


def report(
    data: Path,
    predictions: Path,
    rendered: Sequence[Path] = (),
    painted: Sequence[Path] = (),
) -> None:
    """Print the table of walls, light and boldness for a few random splits.

    Photos in `painted` are learned from with the others of their house, never judged.
    """
    rows = collect(data, read_predictions(predictions), rendered, painted)
    for repeat in range(REPEATS):
        models = cross_validated(rows, folds=10, seed=repeat)
        print(f"10-fold by house and scene, split {repeat + 1} of {REPEATS}")
        photos = [i for i, row in enumerate(rows) if len(row.labels) == 2]
        chosen = [rows[i] for i in photos]
        report_photos(chosen, judged(chosen, [models[i] for i in photos]))
        for folder in ("rendered", *(source.name for source in rendered)):
            at = [i for i, row in enumerate(rows) if row.group.startswith(f"scene {folder} ")]
            at = [i for i in at if rows[i].wall]
            chosen = [rows[i] for i in at]
            report_rendered(folder, chosen, judged(chosen, [models[i] for i in at]))


if __name__ == "__main__":
    main()
