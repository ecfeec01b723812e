"""What is measured: each function measures a few series, in a process of its own.

All work runs on one thread, so that a ratio compares work and not cores. A figure is the median of
as many runs as fit into a second, at least two.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.growth import RATIO, Point

MEGAPIXELS = (0.3, 0.75, 1.5, 3.0, 6.0, 12.0, 24.0)
MOST_PLAIN_MEGAPIXELS = 3.0  # beyond, the plain pipeline takes half a minute a photo
OPTIONS = (10, 20, 40, 80, 160, 320)
DRAWS = (1_250, 2_500, 5_000, 10_000, 20_000, 40_000, 80_000)
CACHED = (30, 100, 300, 1_000, 3_000)
PAGE_HOMES = (8, 16, 32, 64)
LONG_ENOUGH_SECONDS = 1.0


def middle(run: Callable[[], object], least: int = 2) -> float:
    """Median time of a run [s], after one that warms up if it is short."""
    started = time.perf_counter()
    run()
    first = time.perf_counter() - started
    times = [first] if first > LONG_ENOUGH_SECONDS else []
    while len(times) < least or sum(times) < LONG_ENOUGH_SECONDS:
        started = time.perf_counter()
        run()
        times.append(time.perf_counter() - started)
        if first > 2 * LONG_ENOUGH_SECONDS:
            break
    return statistics.median(times)


def photo_of(megapixels: float) -> bytes:
    """A drawn photo of three to two."""
    from tests.benchmarks.read_photo import drawn_photo

    height = round((megapixels * 1e6 / 1.5) ** 0.5)
    return drawn_photo(round(1.5 * height), height)


def photos() -> list[Point]:
    """Reading, decoding and the plain pipeline against the size of a photo."""
    from scorer.photos import read_photo
    from scorer.photos.decode import decode
    from scorer.photos.scene import ANALYSIS_PX
    from tests.benchmarks.read_photo import full_decode, plain_pipeline, single_thread

    single_thread()
    found = []
    for megapixels in MEGAPIXELS:
        data = photo_of(megapixels)
        ways: dict[str, Callable[[], object]] = {
            "read a photo": lambda data=data: read_photo(data),
            "decode it at full size": lambda data=data: full_decode(data),
            "decode it at reduced scale": lambda data=data: decode(data, longest_px=ANALYSIS_PX),
        }
        if megapixels <= MOST_PLAIN_MEGAPIXELS:
            ways["plain pipeline"] = lambda data=data: plain_pipeline(data)
        for what, run in ways.items():
            found.append(Point(f"{what} by megapixels", megapixels, middle(run), "s"))
    return found


def ratios() -> list[Point]:
    """Figures of the demo photos and of two sizes, each ratio from runs in turn."""
    import numpy as np

    from scorer.listing import demo_folder
    from scorer.photos import read_photo
    from scorer.photos.decode import decode
    from scorer.photos.scene import ANALYSIS_PX
    from scorer.photos.surfaces import room_net, working_size
    from tests.benchmarks.read_photo import (
        drawn_photo,
        full_decode,
        photos_per_second,
        plain_pipeline,
        ratio_of,
        single_thread,
    )

    single_thread()
    demo = [path.read_bytes() for path in sorted(demo_folder().rglob("*.jpg"))]
    few = demo[::6]
    large, middling = drawn_photo(4000, 3000), drawn_photo(1024, 683)
    pixels = np.zeros((*working_size(683, 1024), 3), np.uint8)
    floor: list[float] = []
    plain: list[float] = []
    for data in few:
        floor.append(
            ratio_of(
                lambda d=data: read_photo(d), lambda d=data: decode(d, longest_px=ANALYSIS_PX), 3
            )
        )
        plain.append(ratio_of(lambda d=data: plain_pipeline(d), lambda d=data: read_photo(d), 3))
    reduced = statistics.median(
        middle(lambda d=data: decode(d, longest_px=ANALYSIS_PX)) for data in few[:4]
    )
    network = room_net()
    one, two = photos_per_second(1, demo), photos_per_second(2, demo)
    figures = {
        "whole reading over decoding at reduced scale alone": statistics.median(floor),
        "plain pipeline over whole reading": statistics.median(plain),
        "12-megapixel reading over its full decode": ratio_of(
            lambda: read_photo(large), lambda: full_decode(large)
        ),
        "1024 x 683 reading over the network alone": ratio_of(
            lambda: read_photo(middling), lambda: network.answers(pixels)
        ),
        "two processes over one": two / one,
    }
    found = [Point(what, 1, value, RATIO) for what, value in figures.items()]
    rates = {
        "photos a second, one process": one,
        "photos a second, two processes": two,
        "photos a second, decoding at reduced scale alone": 1 / reduced,
    }
    return [*found, *(Point(what, 1, value, "photos/s") for what, value in rates.items())]


def cache() -> list[Point]:
    """Readings found again, against the number of photos; and over reading them."""
    from scorer.photos import read_photo
    from scorer.screening.cache import ReadingCache
    from scorer.screening.pool import Job, read_photos
    from tests.benchmarks.read_photo import drawn_photo, single_thread

    single_thread()
    data = drawn_photo(960, 640)
    seconds = middle(lambda: read_photo(data))
    reading = read_photo(data)
    found, share = [], 0.0
    with tempfile.TemporaryDirectory() as name:
        paths = [Path(name) / f"{at}.jpg" for at in range(max(CACHED))]
        old = time.time() - 3_600  # a file that was changed just now is looked into again
        with ReadingCache(Path(name) / "cache.sqlite") as kept:
            for at, path in enumerate(paths):
                path.write_bytes(data + at.to_bytes(4, "big"))
                os.utime(path, (old, old))
                key = kept.key(str(path))
                assert key is not None
                kept.put(key, reading)
        for count in CACHED:
            jobs = [Job(str(path), path.name) for path in paths[:count]]

            def again(jobs: list[Job] = jobs) -> None:
                with ReadingCache(Path(name) / "cache.sqlite") as kept:
                    readings = list(read_photos(jobs, len(jobs), workers=1, cache=kept))
                assert all(reading.error is None for reading in readings)

            took = middle(again)
            found.append(Point("find readings again by photos", count, took, "s"))
            share = seconds * count / took
    return [*found, Point("reading 3,000 photos over finding them again", 1, share, RATIO)]


def options() -> list[Point]:
    """Choosing and drawing, against the number of options."""
    from scorer.listing.listing import Listing
    from scorer.money import outcome_of
    from scorer.records import Range
    from scorer.scope.choose import choose
    from scorer.scope.worth import Present
    from scorer.settings import Settings
    from tests.benchmarks.choose_scope import home
    from tests.money.test_uncertainty import scope

    rent, now = Range(low=850, typical=900, high=950), Present(900, None, 90_000)
    found = []
    for count in OPTIONS:
        homes = [home(seed, count) for seed in range(3)]
        chosen = statistics.median(
            middle(lambda o=o, h=h: choose(o, h, Settings(), present=now)) for o, h in homes
        )
        work, holds = homes[0]
        whole = scope(work, tuple(holds))
        drawn = middle(lambda w=whole: outcome_of(w, Listing(home="x"), Settings(), rent))
        found.append(Point("choose the best work by options", count, chosen, "s"))
        found.append(Point("20,000 draws of all of them by options", count, drawn, "s"))
    return found


def draws() -> list[Point]:
    """Draws of a home of eighty options."""
    from scorer.listing.listing import Listing
    from scorer.money import outcome_of
    from scorer.records import Range
    from scorer.settings import Settings
    from tests.benchmarks.choose_scope import home
    from tests.money.test_uncertainty import scope

    work, holds = home(0)
    whole, rent = scope(work, tuple(holds)), Range(low=850, typical=900, high=950)
    return [
        Point(
            "draws of 80 options by draws",
            count,
            middle(lambda n=count: outcome_of(whole, Listing(home="x"), Settings(), rent, draws=n)),
            "s",
        )
        for count in DRAWS
    ]


def page() -> list[Point]:
    """The page run again, against the number of homes."""
    from tests.benchmarks.page_rerun import reruns

    found = []
    for count, (listed, tagged) in reruns(list(PAGE_HOMES)).items():
        found.append(Point("list of homes shown again by homes", count, listed / 1_000, "s"))
        found.append(Point("walk-through after a tag by homes", count, tagged / 1_000, "s"))
    return found


def memory() -> list[Point]:
    """Most memory of a process that does one thing."""
    found = []
    for megapixels in MEGAPIXELS:
        peak = _peak_mb(f"read_one({megapixels})")
        found.append(Point("read a photo by megapixels", megapixels, peak, "MB"))
    for count in OPTIONS:
        found.append(Point("20,000 draws by options", count, _peak_mb(f"draw_one({count})"), "MB"))
    return found


def _peak_mb(call: str) -> float:
    code = (
        f"from tests.benchmarks.series import draw_one, peak_mb, read_one\n{call}\nprint(peak_mb())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return float(done.stdout)


def peak_mb() -> float:
    """The most memory that this process has held [MB]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (2**20 if sys.platform == "darwin" else 2**10)


def read_one(megapixels: float) -> None:
    """Read one photo, which another process drew so that drawing it costs nothing here."""
    code = (
        "import sys\nfrom tests.benchmarks.series import photo_of\n"
        f"sys.stdout.buffer.write(photo_of({megapixels}))"
    )
    data = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout
    from scorer.photos import read_photo

    assert read_photo(data).error is None


def draw_one(options_: int) -> None:
    """Draw the outcome of one home."""
    from scorer.listing.listing import Listing
    from scorer.money import outcome_of
    from scorer.records import Range
    from scorer.settings import Settings
    from tests.benchmarks.choose_scope import home
    from tests.money.test_uncertainty import scope

    work, holds = home(0, options_)
    rent = Range(low=850, typical=900, high=950)
    outcome_of(scope(work, tuple(holds)), Listing(home="x"), Settings(), rent)


GROUPS: dict[str, Callable[[], list[Point]]] = {
    "photos": photos,
    "ratios": ratios,
    "cache": cache,
    "options": options,
    "draws": draws,
    "page": page,
    "memory": memory,
}
