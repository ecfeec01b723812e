"""Measure the repaint preview against rooms rendered twice, with only the walls' paint changed.

``python -m tests.measure.repaint PAIRS`` prints CIEDE2000 between preview and truth: the
median over wall pixels and over all else, beside that of leaving the photo as it is. PAIRS holds
truth.csv with two rows a scene (version before and after), pictures and masks, as the demo renderer
writes them.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import cv2
import numpy as np

from scorer.errors import InputError
from scorer.photos.colour import bytes_to_lab, ciede2000
from scorer.photos.painting import repaint_scene
from scorer.photos.read import open_scene


def main() -> None:
    """Print a row for each pair and the medians."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("pairs", type=Path)
    parser.add_argument(
        "--save", type=Path, help="folder for before, preview and truth side by side"
    )
    given = parser.parse_args()
    with (given.pairs / "truth.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    scenes: dict[str, dict[str, dict[str, str]]] = {}
    for row in rows:
        scenes.setdefault(row["scene"], {})[row["version"]] = row
    print(f"{'scene':<8}{'old LRV':>8}{'new LRV':>8}{'wall':>8}{'left':>8}{'rest':>8}{'left':>8}")
    figures = []
    for name, pair in sorted(scenes.items()):
        before, after = pair["before"], pair["after"]
        scene = open_scene(given.pairs / before["file"])
        truth = open_scene(given.pairs / after["file"]).photo.rgb
        try:
            made = repaint_scene(scene, after["wall_srgb_hex"], same_exposure=True).after
        except InputError as error:
            print(f"{name:<8}{error}")
            continue
        mask = cv2.imread(str(given.pairs / before["mask"]), cv2.IMREAD_GRAYSCALE)
        size = (truth.shape[1], truth.shape[0])
        mask = np.asarray(cv2.resize(np.asarray(mask), size, interpolation=cv2.INTER_NEAREST))
        wanted = bytes_to_lab(truth)
        ours, unpainted = (ciede2000(bytes_to_lab(rgb), wanted) for rgb in (made, scene.photo.rgb))
        wall, rest = mask == 1, mask > 1
        line = [float(np.median(d[part])) for part in (wall, rest) for d in (ours, unpainted)]
        figures.append(line)
        old, new = float(before["wall_lrv"]), float(after["wall_lrv"])
        print(f"{name:<8}{old:8.0f}{new:8.0f}" + "".join(f"{v:8.1f}" for v in line))
        if given.save:
            given.save.mkdir(parents=True, exist_ok=True)
            sheet = np.hstack([scene.photo.rgb, made, truth])
            cv2.imwrite(str(given.save / f"{name}.jpg"), sheet[..., ::-1])
    wall, left, rest, rest_left = np.median(np.array(figures), axis=0)
    print(
        f"median of {len(figures)} pairs, CIEDE2000: wall {wall:.1f} (unpainted {left:.1f}), "
        f"all else {rest:.1f} (unpainted {rest_left:.1f})"
    )


if __name__ == "__main__":
    main()
