"""The mean of several rounds' weights: ``python -m scorer.training.average ROUND… --keep FOLDER``.

Rounds that went on from the same weights lie close enough together that the mean of their weights
is itself a good network, often better on pictures of other places than each of them [1]_, and
no larger or slower than one.

References
----------
.. [1] Wortsman, M. et al. (2022). "Model soups: averaging weights of multiple fine-tuned models
   improves accuracy without increasing inference time." ICML, PMLR 162, 23965-23998.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import torch


def average(rounds: list[Path], keep: Path) -> list[Path]:
    """Write the mean of the networks of the same name in every folder of `rounds` to `keep`.

    Parameters
    ----------
    rounds : list of Path
        Folders kept by ``python -m scorer.training``: ``all.pt``, ``fold_0.pt``...
    keep : Path
        Folder for the means; made where it is missing.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ValueError
        Where the folders hold no network, not the same ones, or networks of different make.
    """
    names = [sorted(file.name for file in folder.glob("*.pt")) for folder in rounds]
    if not names or not names[0]:
        raise ValueError("rounds: no network (*.pt) to average")
    for folder, found in zip(rounds, names, strict=True):
        if found != names[0]:
            raise ValueError(
                f"rounds: {folder} holds {', '.join(found) or 'no network'}, "
                f"{rounds[0]} holds {', '.join(names[0])}"
            )
    keep.mkdir(parents=True, exist_ok=True)
    return [_average_one([folder / name for folder in rounds], keep / name) for name in names[0]]


def _average_one(files: list[Path], out: Path) -> Path:
    kept = [torch.load(file, map_location="cpu", weights_only=True) for file in files]
    states = [each["state"] for each in kept]
    for file, each in zip(files, kept, strict=True):
        if each["variant"] != kept[0]["variant"] or each["state"].keys() != states[0].keys():
            raise ValueError(f"rounds: {file} is another make of network than {files[0]}")
    mean = {
        name: torch.stack([state[name].float() for state in states]).mean(0).half()
        if value.is_floating_point()
        else value
        for name, value in states[0].items()
    }
    torch.save({"variant": kept[0]["variant"], "state": mean, "mean_of": len(files)}, out)
    return out


def averaged(file: Path) -> int:
    """How many networks the weights in `file` are the mean of; 1 for those of one fit."""
    return int(torch.load(file, map_location="cpu", weights_only=True).get("mean_of", 1))


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m scorer.training.average",
        description="Write the mean of the weights kept by several rounds.",
    )
    parser.add_argument("rounds", type=Path, nargs="+", help="folders kept by earlier rounds")
    parser.add_argument("--keep", type=Path, required=True, help="folder for the means")
    given = parser.parse_args()
    for file in average(given.rounds, given.keep):
        print(file)


if __name__ == "__main__":
    main()
