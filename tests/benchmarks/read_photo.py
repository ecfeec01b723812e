"""How long a reading takes, as ratios within one run on one thread.

``python -m tests.benchmarks.read_photo [--photos FOLDER]`` draws its own photos (or takes the JPEGs
of a folder) and prints: reading a 12-megapixel JPEG over decoding it at full size with Pillow;
reading a 1024 × 683 photo over the network alone; two processes over one; memory over many photos.
"""

from __future__ import annotations

import argparse
import io
import resource
import statistics
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from scorer.photos import read_photo
from scorer.photos.surfaces import room_net, working_size


def drawn_photo(width: int, height: int, seed: int = 0) -> bytes:
    """A JPEG with the detail of a photo: blocks, edges, lettering-sized texture, sensor noise."""
    rng = np.random.default_rng(seed)
    small = rng.integers(40, 220, (12, 16, 3), dtype=np.uint8)
    rgb = cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)
    for _ in range(60):
        x, y = int(rng.integers(0, width)), int(rng.integers(0, height))
        colour = tuple(int(v) for v in rng.integers(0, 255, 3))
        cv2.rectangle(rgb, (x, y), (x + width // 12, y + height // 9), colour, -1)
    noise = cv2.resize(
        rng.normal(0, 6, (height // 2, width // 2, 3)).astype(np.float32), (width, height)
    )
    out = io.BytesIO()
    Image.fromarray(np.clip(rgb + noise, 0, 255).astype(np.uint8)).save(out, "JPEG", quality=90)
    return out.getvalue()


def seconds(run: Callable[[], object], repeats: int = 9) -> float:
    """Median time of a few runs [s], after one that warms up."""
    run()
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        run()
        times.append(time.perf_counter() - started)
    return statistics.median(times)


def ratio_of(first: Callable[[], object], second: Callable[[], object], rounds: int = 9) -> float:
    """Median of first over second, run in turn so that a busy machine slows both."""
    first()
    second()
    ratios = []
    for _ in range(rounds):
        a = time.perf_counter()
        first()
        b = time.perf_counter()
        second()
        ratios.append((b - a) / (time.perf_counter() - b))
    return statistics.median(ratios)


def full_decode(data: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(data)) as image:
        return np.asarray(image.convert("RGB"))


def plain_pipeline(data: bytes) -> None:
    """What a user would write: full size, superpixels, and the colours of the clusters [1]_.

    References
    ----------
    .. [1] S. van der Walt et al., "scikit-image: image processing in Python", PeerJ 2:e453, 2014.
    """
    from scipy.cluster.vq import kmeans2
    from skimage.color import rgb2lab
    from skimage.segmentation import slic

    rgb = full_decode(data)
    labels = slic(rgb, n_segments=250, compactness=10, start_label=0)
    lab = rgb2lab(rgb).reshape(-1, 3)
    counts = np.bincount(labels.ravel())
    means = np.stack([np.bincount(labels.ravel(), lab[:, c]) / counts for c in range(3)], axis=1)
    kmeans2(means, 6, seed=0, minit="++")


def single_thread() -> None:
    """OpenCV on one thread, so that ratios mean work and not cores."""
    cv2.setNumThreads(1)


def _read(data: bytes) -> bool:
    return read_photo(data).error is None


def photos_per_second(workers: int, photos: list[bytes]) -> float:
    """Rate of a pool of processes that has warmed up."""
    context = get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=single_thread) as pool:
        list(pool.map(_read, photos[: 4 * workers]))
        started = time.perf_counter()
        count = sum(pool.map(_read, photos, chunksize=4))
        return count / (time.perf_counter() - started)


def main() -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--photos", type=Path, help="a folder of JPEGs for rate and memory")
    parser.add_argument("--count", type=int, default=200, help="photos read for the memory figure")
    given = parser.parse_args()
    single_thread()
    large, middle = drawn_photo(4000, 3000), drawn_photo(1024, 683)
    ratio = ratio_of(lambda: read_photo(large), lambda: full_decode(large))
    print(f"12-megapixel JPEG, whole reading over full decode with Pillow: {ratio:.2f} (limit 1.2)")
    network = room_net()
    rows, columns = working_size(683, 1024)
    pixels = np.zeros((rows, columns, 3), np.uint8)
    ratio = ratio_of(lambda: read_photo(middle), lambda: network.answers(pixels))
    print(f"1024 x 683 photo, whole reading over the network alone: {ratio:.2f} (limit 2)")
    photos = (
        [path.read_bytes() for path in sorted(given.photos.glob("*.jpg"))[:120]]
        if given.photos
        else [drawn_photo(1024, 683, seed) for seed in range(40)]
    )
    one, two = photos_per_second(1, photos), photos_per_second(2, photos)
    print(f"two processes over one: {two / one:.2f} ({one:.1f} and {two:.1f} photos/s, wanted 1.8)")
    for photo in photos[:20]:
        read_photo(photo)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for number in range(given.count):
        read_photo(photos[number % len(photos)])
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    print(f"peak memory grew by {grown:.1f} MB over {given.count} photos")


if __name__ == "__main__":
    main()
