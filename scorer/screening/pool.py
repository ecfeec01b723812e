"""Read many photos with a standard executor: in order, bounded, and no photo stops the rest."""

from __future__ import annotations

import multiprocessing
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from typing import NamedTuple

from scorer.errors import InputError
from scorer.photos.reading import Reading

FEW_PHOTOS = 16
"""Up to so many photos are read in this process: starting others takes longer than that."""

WINDOW_PER_WORKER = 4
"""Photos handed out ahead of the one that is waited for, so that memory stays bounded."""


class Job(NamedTuple):
    """One photo to read.

    ``room_kind`` is what the listing says that it shows; ``surfaces`` is the file that its surface
    map goes to.
    """

    path: str
    name: str
    room_kind: str | None = None
    surfaces: str | None = None


ReadOne = Callable[[Job], Reading]


def read_job(job: Job) -> Reading:
    """Read one photo; whatever goes wrong becomes one sentence in the reading."""
    try:
        from scorer.photos import read_photo, read_photo_and_surfaces

        if job.surfaces is None:
            return read_photo(job.path, name=job.name, room_kind_hint=job.room_kind)
        reading, codes = read_photo_and_surfaces(
            job.path, name=job.name, room_kind_hint=job.room_kind
        )
        if codes is not None:
            from PIL import Image

            Image.fromarray(codes).save(job.surfaces, format="PNG")
        return reading
    except InputError as error:
        return Reading(file=job.name, error=str(error))
    except MemoryError:
        return Reading(file=job.name, error=f"{job.name}: too large for this machine's memory.")
    except Exception as error:  # a photo that breaks the reader must not stop the others
        return Reading(
            file=job.name,
            error=f"{job.name}: could not be read ({type(error).__name__}); open it and save it "
            "again as JPEG.",
        )


def start_worker() -> None:
    """Prepare a worker process: one thread, since there is one process for each core."""
    import cv2

    cv2.setNumThreads(1)


def process_pool(workers: int | None = None) -> ProcessPoolExecutor:
    """The default executor: fresh processes (spawn), one for each core."""
    return ProcessPoolExecutor(
        max_workers=workers or _cores(),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=start_worker,
    )


def _cores() -> int:
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:  # not on every system
        return max(1, os.cpu_count() or 1)


def read_photos(
    jobs: Iterable[Job],
    total: int,
    executor: Executor | None = None,
    workers: int | None = None,
    read_one: ReadOne = read_job,
) -> Iterator[Reading]:
    """Readings in the order of the jobs.

    Parameters
    ----------
    jobs
        Photos; drawn from as they are needed.
    total
        How many there are, to choose whether worker processes are worth their start.
    executor
        Any standard executor; the caller closes it. None: this process for few photos, else a pool
        of processes that is closed at the end.
    workers
        Size of that pool; None takes one for each core, 1 reads in this process.
    read_one
        What reads a photo; must be importable by the workers.
    """
    if executor is not None:
        yield from _in_order(executor, jobs, read_one, window=2 * WINDOW_PER_WORKER * _cores())
    elif workers == 1 or total <= FEW_PHOTOS:
        yield from map(read_one, jobs)
    else:
        yield from _in_own_pool(jobs, read_one, workers or _cores())


def _in_order(
    executor: Executor, jobs: Iterable[Job], read_one: ReadOne, window: int
) -> Iterator[Reading]:
    waiting: deque[Future[Reading]] = deque()
    for job in jobs:
        waiting.append(executor.submit(read_one, job))
        if len(waiting) >= window:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()


def _in_own_pool(jobs: Iterable[Job], read_one: ReadOne, workers: int) -> Iterator[Reading]:
    """As :func:`_in_order`, and a photo that kills its worker costs that photo only."""
    source = iter(jobs)
    waiting: deque[tuple[Job, Future[Reading]]] = deque()
    pool = process_pool(workers)
    try:
        while True:
            while len(waiting) < workers * WINDOW_PER_WORKER:
                job = next(source, None)
                if job is None:
                    break
                try:
                    waiting.append((job, pool.submit(read_one, job)))
                except BrokenExecutor:
                    pool.shutdown(wait=False, cancel_futures=True)
                    pool = process_pool(workers)
                    waiting.append((job, pool.submit(read_one, job)))
            if not waiting:
                return
            job, future = waiting.popleft()
            try:
                yield future.result()
            except BrokenExecutor:
                pool.shutdown(wait=False, cancel_futures=True)
                if not _workers_start():
                    yield from map(read_one, [job, *(j for j, _ in waiting), *source])
                    return
                yield _alone(job, read_one)
                pool = process_pool(workers)
                waiting = deque((j, _again(pool, read_one, j, f)) for j, f in waiting)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _again(pool: Executor, read_one: ReadOne, job: Job, future: Future[Reading]) -> Future[Reading]:
    """The same future if it ended well before the pool broke, else the job once more."""
    if future.done() and not future.cancelled() and future.exception() is None:
        return future
    return pool.submit(read_one, job)


def _alone(job: Job, read_one: ReadOne) -> Reading:
    """Read one suspect in a process of its own."""
    with process_pool(1) as pool:
        try:
            return pool.submit(read_one, job).result()
        except BrokenExecutor:
            return Reading(
                file=job.name,
                error=f"{job.name}: the photo broke the program that decodes it; open it and save "
                "it again as JPEG.",
            )


def _workers_start() -> bool:
    """Whether worker processes work at all here (a script without a main guard has none)."""
    with process_pool(1) as pool:
        try:
            return pool.submit(os.getpid).result() > 0
        except BrokenExecutor:
            return False
