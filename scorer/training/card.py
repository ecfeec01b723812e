"""The model card beside the network."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from sklearn.metrics import average_precision_score, roc_auc_score

from scorer.photos.surfaces import HEADS, answer_kind, kind_probability
from scorer.training.labels import CODE_NAMES, LETTER_CODE, SURFACE_LETTERS, Picture
from scorer.training.pipeline import Recipe

Answers = Mapping[str, NDArray[np.generic]]

_TEMPLATE = files("scorer.training") / "card_template.md"


def write_card(
    path: Path,
    pictures: list[Picture],
    answers: Answers | None,
    recipe: Recipe,
    fold_count: int,
    difference: float,
    checked: int,
) -> None:
    """Write the card.

    Parameters
    ----------
    answers : out-of-fold predictions; without them the card gives no scores
    difference : largest difference between torch and cv2.dnn over `checked` pictures
    """
    if answers is None:
        path.write_text("# Room network\n\nNot cross-validated: no scores are known.\n")
        return
    houses = [p for p in pictures if p.house]
    rendered = [p for p in pictures if p.rendered]
    others = [p for p in pictures if not p.house and not p.rendered]
    pointed = [p for p in houses if len(p.points)]
    kinds = Counter(HEADS["kind"][int(p.targets["kind"].argmax())] for p in pictures)
    photo, render = _point_scores(pointed, answers), _mask_scores(rendered, answers)
    rows = [
        f"| {CODE_NAMES[code]} | {photo[0][code]:.3f} | {render[0].get(code, np.nan):.3f} |"
        for code in range(1, 10)
    ]
    right, unsure, wrong = _kind_scores(houses, answers)
    far_right, far_unsure, far_wrong = _kind_scores(others, answers)
    dated = {
        word: _dated(houses, answers, word)
        for word in ("kitchen", "bathroom", "kitchen or bathroom")
    }
    missed, stolen = _wall_errors(pointed, answers)
    agreed = {head: _agreed(houses, answers, head) for head in ("floor", "cabinets", "tone")}
    lines = [
        f"| room kind of photos: right · unsure | {right:.3f} · {unsure:.3f} |",
        f"| other places and things: right · unsure | {far_right:.3f} · {far_unsure:.3f} |",
        f"| dated finish, AUC where both passes agree | {dated['kitchen or bathroom']:.3f} |",
        f"| floor covering · cabinet tone, right where both agree | {agreed['floor']:.3f} · "
        f"{agreed['cabinets']:.3f} |",
    ]
    timed = recipe.student.seconds is not None
    path.write_text(
        _TEMPLATE.read_text(encoding="utf-8").format(
            megabytes=(path.parent / "rooms.onnx").stat().st_size / 1e6,
            checked=checked,
            difference=difference,
            teaching=_teaching(recipe),
            folds=fold_count,
            repeat=(
                "The fits ended after a set time on an accelerator, so another run gives close but "
                "not equal weights; with `--steps` the same machine repeats them."
                if timed
                else f"{recipe.student.steps} steps of {recipe.student.batch_size} pictures, seed "
                f"{recipe.student.seed}: the same machine repeats the weights."
            ),
            photos=len(houses),
            houses=len({p.group for p in houses}),
            points=sum(int((p.points[:, 2] >= 0).sum()) for p in pointed),
            pointed=len(pointed),
            toned=sum("exposure" in p.targets for p in houses),
            rendered=len(rendered),
            scenes=len({p.group for p in rendered}),
            others=len(others),
            kinds=", ".join(f"{name} {kinds[name]}" for name in HEADS["kind"]),
            surfaces="\n".join(rows),
            right_photo=photo[1],
            right_rendered=render[1],
            answers="\n".join(lines),
            failures="Room kinds taken for another: " + (", ".join([*wrong, *far_wrong]) or "none")
            + ".",
            missed=missed,
            stolen=stolen,
            bath=dated["bathroom"],
            kitchen=dated["kitchen"],
            fronts=sum(int(p.targets["kind"].argmax() == 3) for p in pictures),
            tone=agreed["tone"],
        ),
        encoding="utf-8",
    )  # fmt: skip


def _teaching(recipe: Recipe) -> str:
    """In words: what the final network learned beside the labels."""
    if recipe.goes_on:
        rounds = (
            "In the first, teachers of two sizes (lite0, lite2) learn the labels, and\n"
            "  the network learns the labels and the teachers' mean answers about every photo.\n"
            "  In the second (`--start`) it goes on at half the pace, taught by its first round."
        )
        if recipe.mean_of == 1:
            return f"Two rounds. {rounds}"
        return (
            f"Three rounds. {rounds}\n"
            f"  A third goes on likewise, {recipe.mean_of} times, each with another seed; the\n"
            "  network is the mean of their weights (`scorer.training.average`)."
        )
    names = ", ".join(s.variant for s in recipe.teachers)
    return (
        f"Teachers: {names or 'none'}. The final network learns the labels and the teachers'\n"
        "  mean answers about every photo, labelled or not."
    )


def _point_scores(pictures: list[Picture], answers: Answers) -> tuple[dict[int, float], float]:
    score, truth = [], []
    for picture in pictures:
        maps = answers[f"{picture.name}/surfaces"]
        for x, y, letter in picture.points:
            if letter >= 0:
                score.append(maps[:, int(y * maps.shape[1]), int(x * maps.shape[2])])
                truth.append(LETTER_CODE[SURFACE_LETTERS[int(letter)]])
    return _scores(np.array(score, np.float32), np.array(truth))


def _wall_errors(pictures: list[Picture], answers: Answers) -> tuple[str, str]:
    """In words: wall points missed by kind of room, and points of other surfaces taken for wall."""
    walls, missed, others, stolen = Counter[str](), Counter[str](), Counter[int](), Counter[int]()
    for picture in pictures:
        maps = answers[f"{picture.name}/surfaces"]
        kind = HEADS["kind"][int(picture.targets["kind"].argmax())]
        for x, y, letter in picture.points:
            if letter < 0:
                continue
            code = LETTER_CODE[SURFACE_LETTERS[int(letter)]]
            said = int(maps[:, int(y * maps.shape[1]), int(x * maps.shape[2])].argmax())
            if code == 1:
                walls[kind] += 1
                missed[kind] += said != 1
            else:
                others[code] += 1
                stolen[code] += said == 1
    return (
        ", ".join(f"{missed[kind] / walls[kind]:.2f} of {kind}s" for kind in sorted(walls)),
        ", ".join(
            f"{stolen[code] / others[code]:.2f} of {CODE_NAMES[code]}"
            for code in sorted(others, key=lambda c: -stolen[c] / others[c])[:4]
        ),
    )


def _mask_scores(pictures: list[Picture], answers: Answers) -> tuple[dict[int, float], float]:
    import cv2

    score, truth = [], []
    for picture in pictures:
        maps = answers[f"{picture.name}/surfaces"].astype(np.float32)
        mask = np.asarray(cv2.imread(str(picture.mask), cv2.IMREAD_GRAYSCALE))
        mask = cv2.resize(mask, maps.shape[:0:-1], interpolation=cv2.INTER_NEAREST).ravel()
        at = np.flatnonzero(mask)[::11]
        score.append(maps.reshape(10, -1)[:, at].T)
        truth.append(mask[at])
    if not score:
        return {}, float("nan")
    return _scores(np.concatenate(score), np.concatenate(truth))


def _scores(
    score: NDArray[np.float32], truth: NDArray[np.integer]
) -> tuple[dict[int, float], float]:
    precision = {
        code: float(average_precision_score(truth == code, score[:, code]))
        for code in range(1, 10)
        if (truth == code).any()
    }
    return precision, float((score.argmax(axis=1) == truth).mean())


def _kind_scores(pictures: list[Picture], answers: Answers) -> tuple[float, float, list[str]]:
    """Share named right, share unsure, and what was taken for what."""
    right, unsure, wrong = 0, 0, []
    for picture in pictures:
        truth = HEADS["kind"][int(picture.targets["kind"].argmax())]
        values = answers[f"{picture.name}/kind"].tolist()
        said = answer_kind(kind_probability(dict(zip(HEADS["kind"], values, strict=True))))
        right += said == truth
        unsure += said == "unsure"
        if said not in (truth, "unsure"):
            wrong.append(f"{picture.name} → {said}")
    count = max(1, len(pictures))
    return right / count, unsure / count, wrong


def _dated(pictures: list[Picture], answers: Answers, word: str) -> float:
    known = [
        p
        for p in pictures
        if "era" in p.targets and p.targets["era"][0] in (0, 1) and p.name.split("_")[-1] in word
    ]
    truth = [p.targets["era"][0] == 1 for p in known]
    shares = np.array([answers[f"{p.name}/era"] for p in known])
    return float(roc_auc_score(truth, shares[:, 0] - shares[:, 2]))  # as scorer.photos.finish


def _agreed(pictures: list[Picture], answers: Answers, head: str) -> float:
    known = [p for p in pictures if head in p.targets and p.targets[head].max() == 1]
    right = [answers[f"{p.name}/{head}"].argmax() == p.targets[head].argmax() for p in known]
    return float(np.mean(right))
