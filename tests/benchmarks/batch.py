"""How fast a folder of homes is screened, again after a first time, and how memory grows.

Each run is the command line itself, start-up included, in processes of its own, on a folder made of
cropped and newly encoded demo photos (``tests.benchmarks.made_homes``).

    python -m tests.benchmarks.batch growth [--homes 10 30 …] [--shared 5] [--out FILE]
    python -m tests.benchmarks.batch run [--homes 300] [--distinct 6000] [--kill 0.5] [--out FILE]
    python -m tests.benchmarks.batch one-process [--photos 200 1000 2000] [--out FILE]
    python -m tests.benchmarks.batch rates [--count 200]

``growth``: seconds of a first run and of a rerun, and peak memory, against the number of homes;
every photo is in ``--shared`` homes, and is read once. ``run``: one folder; with ``--kill``, a
first run is killed (SIGKILL) after that share of its homes and taken up again. ``one-process``:
memory of one process that reads distinct photos. ``rates``: two worker processes over one, and what
the cache saves. ``--out`` names a ``.csv`` (columns series, x, y, unit) or a ``.json`` file.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from tests.benchmarks.growth import COLUMNS, Point
from tests.benchmarks.made_homes import PHOTOS_A_HOME, make_homes, make_photos

WORKERS = 2
LIMIT_MB = 1500
PROGRAM = [sys.executable, "-c", "from scorer.commands import main; main()"]


class Ran(NamedTuple):
    """One run: its time [s], memory at its peak [MB], what it said, and its exit code.

    ``cpu_seconds`` is what all its processes worked, so that a busy machine tells in it less.
    ``memory_mb`` is of all processes, ``main_mb`` and ``worker_mb`` of the largest one; pages that
    processes share are counted in each. ``told`` are its lines of progress.
    """

    seconds: float
    cpu_seconds: float
    memory_mb: float
    main_mb: float
    worker_mb: float
    told: tuple[str, ...]
    code: int


class Memory(threading.Thread):
    """Watches the memory of a process and all that it started [MB]."""

    def __init__(self, pid: int) -> None:
        super().__init__(daemon=True)
        self.pid = pid
        self.peak = self.main_peak = self.worker_peak = 0.0
        self.ended = threading.Event()

    def run(self) -> None:
        while not self.ended.wait(0.1):
            main = resident(self.pid)
            workers = [resident(pid) for pid in started_by(self.pid)]
            self.main_peak = max(self.main_peak, main)
            self.worker_peak = max(self.worker_peak, *workers, 0.0)
            self.peak = max(self.peak, main + sum(workers))


def resident(pid: int) -> float:
    """Resident memory of a process [MB]; none if it has ended."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="utf-8").split()[1])
    except (OSError, IndexError):
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def started_by(pid: int) -> list[int]:
    """Ids of all processes that a process, or one of those, started."""
    found: list[int] = []
    try:
        tasks = list(Path(f"/proc/{pid}/task").iterdir())
    except OSError:
        return found
    for task in tasks:
        try:
            children = [int(child) for child in (task / "children").read_text().split()]
        except OSError:
            continue
        for child in children:
            found += [child, *started_by(child)]
    return found


def screen(folder: Path, cache: Path, *options: str, kill_at: int | None = None) -> Ran:
    """Run ``value-add screen`` with two workers; kill it after so many photos, if asked."""
    command = [*PROGRAM, "screen", str(folder), "--workers", str(WORKERS), *options]
    environment = {**os.environ, "VALUE_ADD_CACHE": str(cache)}
    started = time.perf_counter()
    told: list[str] = []
    with subprocess.Popen(
        command,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        start_new_session=True,
    ) as process:
        memory = Memory(process.pid)
        memory.start()
        assert process.stderr is not None
        for line in process.stderr:
            told.append(line.rstrip())
            done = re.match(r"(\d+) of \d+ photos", line)
            if kill_at is not None and done and int(done[1]) >= kill_at:
                os.kill(process.pid, signal.SIGKILL)
                break
        _, status, used = os.wait4(process.pid, 0)  # its workers' time is in there
        code = process.returncode = os.waitstatus_to_exitcode(status)
    seconds = time.perf_counter() - started
    memory.ended.set()
    memory.join()
    peaks = memory.peak, memory.main_peak, memory.worker_peak
    return Ran(seconds, used.ru_utime + used.ru_stime, *peaks, tuple(told), code)


def kept(cache: Path) -> tuple[int, int]:
    """Readings and results of homes in a cache."""
    from scorer.screening.cache import FILE_NAME, ReadingCache

    with ReadingCache(cache / FILE_NAME) as opened:
        return opened.count(), opened.count_homes()


def show(name: str, ran: Ran, homes: int) -> None:
    """Print one run."""
    print(
        f"{name}: {ran.seconds:.1f} s, {ran.seconds / homes * 1000:.1f} ms a home, "
        f"{ran.cpu_seconds:.1f} s of work; peak "
        f"{ran.memory_mb:.0f} MB of all processes (limit {LIMIT_MB}), {ran.main_mb:.0f} MB of the "
        f"main one, {ran.worker_mb:.0f} MB of the largest worker; exit code {ran.code}; load "
        f"{os.getloadavg()[0]:.1f}",
        flush=True,
    )
    if ran.told:
        middle = [line for line in ran.told if "left" in line]
        for line in (middle[:1] + middle[len(middle) // 2 :][:1] + list(ran.told[-1:]))[:3]:
            print(f"    {line}")


def over(first: Ran, again: Ran) -> str:
    """How much longer a first run takes, by the clock and by work done."""
    return (
        f"first run over rerun: {first.seconds / again.seconds:.0f} by the clock, "
        f"{first.cpu_seconds / again.cpu_seconds:.0f} by work of all processes"
    )


def growth(sizes: Sequence[int], shared: int, folder: Path, out: Path | None) -> list[Point]:
    """Seconds and memory against homes; written after each size."""
    points: list[Point] = []
    for homes in sizes:
        at = folder / f"{homes}"
        distinct = homes * PHOTOS_A_HOME // shared
        make_homes(at / "homes", homes, make_photos(at / "photos", distinct, seed=homes))
        print(f"{homes} homes, {distinct} distinct photos, each in {shared} homes", flush=True)
        first = screen(at / "homes", at / "cache")
        show("first run", first, homes)
        again = screen(at / "homes", at / "cache")
        show("rerun", again, homes)
        print(over(first, again))
        points += [
            Point("first run by homes", homes, first.seconds, "s"),
            Point("rerun by homes", homes, again.seconds, "s"),
            Point("work of all processes in a first run by homes", homes, first.cpu_seconds, "s"),
            Point("work of all processes in a rerun by homes", homes, again.cpu_seconds, "s"),
            Point("peak memory of all processes by homes", homes, first.memory_mb, "MB"),
            Point("peak memory of the main process by homes", homes, first.main_mb, "MB"),
        ]
        if out is not None:
            write(points, out)
    return points


def run(homes: int, distinct: int, kill: float | None, folder: Path) -> list[Point]:
    """One folder: a first run, perhaps killed on the way, and a rerun."""
    started = time.perf_counter()
    make_homes(folder / "homes", homes, make_photos(folder / "photos", distinct))
    print(
        f"{homes} homes x {PHOTOS_A_HOME} photos, {distinct} of them distinct, made in "
        f"{time.perf_counter() - started:.0f} s",
        flush=True,
    )
    cache = folder / "cache"
    points = []
    if kill is not None:
        killed = screen(folder / "homes", cache, kill_at=round(kill * homes * PHOTOS_A_HOME))
        show("killed", killed, homes)
        before = kept(cache)
        print(f"    kept at that moment: {before[0]} readings, {before[1]} homes")
    first = screen(folder / "homes", cache)
    show("first run" if kill is None else "taken up", first, homes)
    readings, results = kept(cache)
    print(f"    kept: {readings} readings, {results} homes")
    again = screen(folder / "homes", cache)
    show("rerun", again, homes)
    print(f"{over(first, again)} (wanted 50)")
    points += [
        Point("first run over rerun", homes, first.seconds / again.seconds, "ratio"),
        Point("peak memory of all processes", homes, first.memory_mb, "MB"),
    ]
    files = sum(path.stat().st_size for path in cache.iterdir())
    print(f"cache: {files / 1e6:.0f} MB, {files / homes / 1000:.0f} kB a home")
    return points


def one_process(counts: Sequence[int], folder: Path) -> list[Point]:
    """Resident memory of this process after so many distinct photos."""
    import cv2

    from scorer.photos import read_photo

    cv2.setNumThreads(1)
    made = make_photos(folder, max(counts))
    photos = [path for paths in zip(*made.values(), strict=False) for path in paths]
    points = []
    started = time.perf_counter()
    for number, path in enumerate(photos, start=1):
        read_photo(path)
        if number in counts:
            memory = resident(os.getpid())
            rate = number / (time.perf_counter() - started)
            print(f"{number} distinct photos: {memory:.0f} MB, {rate:.1f} photos/s", flush=True)
            points.append(Point("memory of one process by photos", number, memory, "MB"))
    return points


def rates(count: int, folder: Path) -> list[Point]:
    """Two processes over one, and a first run over a second: photos only."""
    from scorer.screening.cache import ReadingCache
    from scorer.screening.pool import Job, read_photos

    photos = [path for paths in make_photos(folder / "photos", count).values() for path in paths]

    def rate(workers: int) -> float:
        warm_up = 4 * workers
        jobs = [Job(str(path), path.name) for path in (*photos[:warm_up], *photos)]
        stream = read_photos(jobs, len(jobs), workers=workers, isolate=True)
        for _ in range(warm_up):
            next(stream)
        started = time.perf_counter()
        return sum(reading.error is None for reading in stream) / (time.perf_counter() - started)

    def cached(seconds_old: float) -> float:
        for path in photos:
            os.utime(path, (time.time() - seconds_old, time.time() - seconds_old))
        jobs = [Job(str(path), path.name) for path in photos]
        return timed(jobs)

    def timed(jobs: Sequence[Job]) -> float:
        started = time.perf_counter()
        with ReadingCache(folder / "readings.sqlite") as cache:
            readings = list(read_photos(jobs, len(jobs), workers=1, cache=cache))
        assert all(reading.error is None for reading in readings)
        return time.perf_counter() - started

    one, two = rate(1), rate(2)
    print(f"two processes over one: {two / one:.2f} ({one:.1f} and {two:.1f} photos/s)")
    first = cached(1000)
    second = timed([Job(str(path), path.name) for path in photos])
    touched = cached(100)
    print(
        f"photos only, first run over second: {first / second:.0f}; over one of touched files, "
        f"hashed again: {first / touched:.0f}"
    )
    return [
        Point("two processes over one", count, two / one, "ratio"),
        Point("first run over second, photos only", count, first / second, "ratio"),
        Point("first run over one of touched files", count, first / touched, "ratio"),
    ]


def write(points: Sequence[Point], file: Path) -> None:
    """Write points as CSV, or as JSON where the file's name says so."""
    if file.suffix == ".json":
        text = json.dumps([point._asdict() for point in points], indent=1)
    else:
        rows = [f"{p.series},{p.x:g},{p.y:.4g},{p.unit}" for p in points]
        text = "\n".join([",".join(COLUMNS), *rows])
    file.write_text(f"{text}\n", encoding="utf-8")


def main() -> None:
    """Measure, print, and write what was asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", choices=["growth", "run", "one-process", "rates"])
    parser.add_argument("--homes", type=int, nargs="+", help="how many; several for growth")
    parser.add_argument("--shared", type=int, default=5, help="homes that each photo is in")
    parser.add_argument("--distinct", type=int, help="distinct photos; all differ by default")
    parser.add_argument("--kill", type=float, metavar="SHARE", help="kill a first run there")
    parser.add_argument("--photos", type=int, nargs="+", default=[200, 1000, 2000])
    parser.add_argument("--count", type=int, default=200, help="photos read for the rates")
    parser.add_argument("--out", type=Path, help="write the points here (.csv or .json)")
    given = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}", flush=True)
    with TemporaryDirectory(prefix="batch-") as name:
        folder = Path(name)
        if given.what == "growth":
            points = growth(
                given.homes or [10, 30, 100, 300, 1000], given.shared, folder, given.out
            )
        elif given.what == "run":
            (homes,) = given.homes or [300]
            distinct = given.distinct or homes * PHOTOS_A_HOME
            points = run(homes, distinct, given.kill, folder)
        elif given.what == "one-process":
            points = one_process(given.photos, folder)
        else:
            points = rates(given.count, folder)
    if given.out:
        write(points, given.out)


if __name__ == "__main__":
    main()
