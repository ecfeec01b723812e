"""How fast a folder of homes is read, as ratios within one run, and how memory grows.

``python -m tests.benchmarks.batch [--photos FOLDER] [--homes 300]`` prints: a whole reading over
decoding at reduced scale alone, and over a plain pipeline (decoding at full size, SLIC and k-means)
[1]_; two processes over one; a second run over the first; memory of a folder of homes whose photos
are links to a few files, read by two worker processes.

References
----------
.. [1] S. van der Walt et al., "scikit-image: image processing in Python", PeerJ 2:e453, 2014.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import statistics
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np
from PIL import Image

from scorer.photos import read_photo
from scorer.photos.decode import decode
from scorer.photos.scene import ANALYSIS_PX
from scorer.screening import Progress, screen_folder
from scorer.screening.cache import ReadingCache
from scorer.screening.pool import Job, read_photos
from tests.benchmarks.read_photo import drawn_photo

ROOMS = ("front", "kitchen", "bathroom", "bedroom", "living room")
PHOTOS_A_HOME = 20
LIMIT_MB = 1500


def plain_pipeline(path: Path) -> None:
    """What a user would write: full size, superpixels, and the colours of the clusters."""
    from scipy.cluster.vq import kmeans2
    from skimage.color import rgb2lab
    from skimage.segmentation import slic

    with Image.open(path) as image:
        rgb = np.asarray(image.convert("RGB"))
    labels = slic(rgb, n_segments=250, compactness=10, start_label=0)
    lab = rgb2lab(rgb).reshape(-1, 3)
    counts = np.bincount(labels.ravel())
    means = np.stack([np.bincount(labels.ravel(), lab[:, c]) / counts for c in range(3)], axis=1)
    kmeans2(means, 6, seed=0, minit="++")


def in_turn(runs: dict[str, Callable[[Path], object]], photos: Sequence[Path]) -> dict[str, float]:
    """Median seconds a photo of several ways, taken in turn so that a busy machine slows all."""
    times: dict[str, list[float]] = {name: [] for name in runs}
    for number, photo in enumerate([photos[0], *photos]):
        for name, run in runs.items():
            started = time.perf_counter()
            run(photo)
            if number:  # the first round warms up
                times[name].append(time.perf_counter() - started)
    return {name: statistics.median(values) for name, values in times.items()}


def rate(photos: Sequence[Path], workers: int) -> float:
    """Photos a second of the own pool, its start left out."""
    warm_up = 4 * workers
    jobs = [Job(str(path), path.name) for path in (*photos[:warm_up], *photos)]
    stream = read_photos(jobs, len(jobs), workers=workers, isolate=True)
    for _ in range(warm_up):
        next(stream)
    started = time.perf_counter()
    count = sum(reading.error is None for reading in stream)
    return count / (time.perf_counter() - started)


def cached_seconds(photos: Sequence[Path], file: Path) -> tuple[float, float, float]:
    """Seconds of a first run, of a second, and of one whose files were touched meanwhile."""
    jobs = [Job(str(path), path.name) for path in photos]
    times = []
    for touched in (False, False, True):
        if touched:
            for path in photos:
                os.utime(path, (time.time() - 100, time.time() - 100))
        started = time.perf_counter()
        with ReadingCache(file) as cache:
            readings = list(read_photos(jobs, len(jobs), workers=1, cache=cache))
        times.append(time.perf_counter() - started)
        assert all(reading.error is None for reading in readings)
    return times[0], times[1], times[2]


class Memory(threading.Thread):
    """Watches the memory of this process and its children [MB], shared pages counted in each."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.peak = self.own_peak = 0.0
        self.ended = threading.Event()

    def run(self) -> None:
        while not self.ended.wait(0.1):
            own = resident(os.getpid())
            self.own_peak = max(self.own_peak, own)
            self.peak = max(self.peak, own + sum(resident(pid) for pid in children()))


def resident(pid: int) -> float:
    """Resident memory of a process [MB]; none if it has ended."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    except (OSError, IndexError):
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def children() -> list[int]:
    """Ids of the child processes of every thread of this one."""
    found: list[int] = []
    for task in Path("/proc/self/task").iterdir():
        try:
            found += [int(pid) for pid in (task / "children").read_text().split()]
        except OSError:
            continue
    return found


def make_folder(folder: Path, photos: Sequence[Path], homes: int) -> None:
    """Homes whose photos are hard links to the same few files."""
    draw = random.Random(1)
    for number in range(homes):
        home = folder / f"{number} example street"
        home.mkdir(parents=True)
        for shot in range(PHOTOS_A_HOME):
            room = ROOMS[shot % len(ROOMS)]
            os.link(draw.choice(photos), home / f"{room} {shot // len(ROOMS) + 1}.jpg")


def folder_of_homes(folder: Path, photos: Sequence[Path], homes: int) -> None:
    """Screen it twice with two workers; print time, peak and growth."""
    make_folder(folder / "homes", photos, homes)
    for run in ("first", "second"):
        memory, marks = Memory(), {}

        def progress(at: Progress, marks: dict[int, float] = marks) -> None:
            marks[at.homes_done] = resident(os.getpid())

        memory.start()
        started = time.perf_counter()
        with ReadingCache(folder / "cache.sqlite") as cache:
            screened = screen_folder(
                folder / "homes", on_progress=progress, workers=2, cache=cache, isolate=True
            )
        seconds = time.perf_counter() - started
        memory.ended.set()
        memory.join()
        half = homes // 2
        growth = (marks[homes] - marks[half]) / (homes - half)
        print(
            f"{run} run, {homes} homes x {PHOTOS_A_HOME} photos, two workers: {seconds:.0f} s, "
            f"{seconds / homes * 1000:.0f} ms a home; peak {memory.peak:.0f} MB of all processes "
            f"(limit {LIMIT_MB}), {memory.own_peak:.0f} MB of the main one: {marks[0]:.0f} "
            f"MB at its first home, grown by {growth * 1000:.0f} kB a home (so "
            f"{marks[homes] + growth * (5000 - homes):.0f} MB for 5000); "
            f"{len(screened.problems)} problems"
        )


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--photos", type=Path, help="a folder of JPEGs, searched with sub-folders")
    parser.add_argument("--count", type=int, default=24, help="photos read for the rates")
    parser.add_argument("--homes", type=int, default=300, help="homes of the memory figure")
    given = parser.parse_args()
    cv2.setNumThreads(1)
    with TemporaryDirectory() as name:
        folder = Path(name)
        photos = []
        found = sorted(given.photos.rglob("*.jpg")) if given.photos else []
        for number in range(given.count):
            path = folder / f"{number}.jpg"
            if found:
                shutil.copy(found[number % len(found)], path)
            else:
                path.write_bytes(drawn_photo(1600, 1067, number))
            photos.append(path)
        with Image.open(photos[0]) as image:
            print(f"{len(photos)} photos, the first {image.width} x {image.height}; ", end="")
        print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
        ways: dict[str, Callable[[Path], object]] = {
            "reading": read_photo,
            "decoding": lambda path: decode(path, longest_px=ANALYSIS_PX),
            "plain": plain_pipeline,
        }
        took = in_turn(ways, photos[:12])
        for way, value in took.items():
            print(f"{way}: {value * 1000:.0f} ms a photo, {1 / value:.1f} photos/s")
        print(f"whole reading over reduced decode: {took['reading'] / took['decoding']:.1f}")
        print(f"plain pipeline over whole reading: {took['plain'] / took['reading']:.2f}")
        one, two = rate(photos, 1), rate(photos, 2)
        print(f"two processes over one: {two / one:.2f} ({one:.1f} and {two:.1f} photos/s)")
        first, second, touched = cached_seconds(photos, folder / "readings.sqlite")
        print(
            f"first run over second: {first / second:.0f} (wanted 50); over one of touched files, "
            f"hashed again: {first / touched:.0f}"
        )
        folder_of_homes(folder / "batch", photos, given.homes)


if __name__ == "__main__":
    main()
