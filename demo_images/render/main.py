"""Render the demo homes, the training scenes or the repaint pairs.

    python -m demo_images.render.main homes [--out demo_images/homes] [--only NAME]
    python -m demo_images.render.main train --out FOLDER --count 160
    python -m demo_images.render.main pairs --out FOLDER --count 20

`--shard 0/4` does every fourth picture from the first, so that several processes share the work;
`python -m demo_images.render.main join --out FOLDER` then joins their truth tables.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
import traceback
from pathlib import Path

from .homes import load_homes, render_picture, write_listing
from .scenes import pair_scene, train_scene, write_truth


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=("homes", "listings", "train", "pairs", "join"))
    parser.add_argument("--out", type=Path, default=Path("demo_images/homes"))
    parser.add_argument("--only", default="", help="part of home/file names to render")
    parser.add_argument("--count", type=int, default=160)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--spp", type=int, default=0, help="samples a pixel")
    parser.add_argument("--scale", type=float, default=1.0, help="size of the home pictures")
    parser.add_argument("--shard", default="0/1")
    args = parser.parse_args()
    part, parts = (int(v) for v in args.shard.split("/"))
    args.out.mkdir(parents=True, exist_ok=True)
    if args.what == "join":
        rows = []
        for path in sorted(args.out.glob("part*.csv")):
            with path.open(newline="") as handle:
                rows += list(csv.DictReader(handle))
            path.unlink()
        write_truth(rows, args.out)
        return 0
    if args.what in ("homes", "listings"):
        jobs = [
            (home, picture)
            for home in load_homes()
            for picture in home.pictures
            if args.only in f"{home.name}/{picture.file}"
        ]
        for home in load_homes():
            write_listing(home, args.out)
        for home, picture in jobs[part::parts] if args.what == "homes" else []:
            began = time.time()
            try:
                render_picture(home, picture, args.out, args.spp or 128, args.scale)
            except Exception:  # the rest of the batch goes on
                traceback.print_exc()
            print(f"{home.name}/{picture.file} {time.time() - began:.1f} s", flush=True)
        return 0
    rows = []
    wanted = range(args.first, args.first + args.count)[part::parts]
    if parts == 1 and (args.out / "truth.csv").exists():  # add to what is there
        with (args.out / "truth.csv").open(newline="") as handle:
            rows = [row for row in csv.DictReader(handle) if int(row["scene"]) not in wanted]
    for number in wanted:
        began = time.time()
        try:
            if args.what == "train":
                rows += train_scene(number, args.count, args.out, args.spp or 128)
            else:
                rows += pair_scene(number, args.out, args.spp or 256)
        except Exception:  # the rest of the batch goes on
            traceback.print_exc()
        print(f"{args.what} {number} {time.time() - began:.1f} s", flush=True)
        if rows:
            write_truth(
                rows, args.out, "truth.csv" if parts == 1 else f"part{args.first}_{part}.csv"
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
