"""Print how well photos are read, each figure with a 90 % bootstrap interval.

``python -m tests.measure DATA_FOLDER --predictions OOF.npz [--rendered FOLDER]
[--painted FOLDER] [--kinds FOLDER]``

The network of the package was fitted to every labelled picture, so figures of it on the same
pictures would flatter. Give the out-of-fold predictions instead, in which no network has seen a
picture of the house or scene that it reads:
``python -m scorer.training DATA_FOLDER --cross-validate --oof OOF.npz``.
Without them the figures are in-sample, and the table says so.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from scorer.training.labels import load_pictures
from tests.measure import surfaces, walls


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.measure", description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--predictions", type=Path, help="out-of-fold predictions (.npz)")
    parser.add_argument(
        "--rendered", type=Path, action="append", default=[], help="more rendered pictures"
    )
    parser.add_argument(
        "--painted", type=Path, action="append", default=[], help="photos with walls painted anew"
    )
    parser.add_argument(
        "--kinds", type=Path, action="append", default=[], help="photos by kind, <kind>/*.jpg"
    )
    given = parser.parse_args()
    pictures = load_pictures(given.data, (*given.rendered, *given.kinds))
    if given.predictions is None:
        print("IN-SAMPLE: the network was fitted to these pictures; give --predictions for figures")
        print("on houses and scenes that it has not seen.")
        answers = surfaces.read_all(pictures)
    else:
        kept = np.load(given.predictions)
        missing = [p.name for p in pictures if f"{p.name}/surfaces" not in kept.files]
        if missing:
            print(f"left out, not in {given.predictions}: {len(missing)}, such as {missing[0]}")
            pictures = [p for p in pictures if p.name not in set(missing)]
        print("Out-of-fold: no network has seen the house or scene that it reads.")
        answers = {name: kept[name] for name in kept.files}
    surfaces.report(pictures, answers)
    if given.predictions is not None:
        walls.report(given.data, given.predictions, given.rendered, given.painted)


if __name__ == "__main__":
    main()
