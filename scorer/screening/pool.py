"""Read many photos with a standard executor: in order, bounded, and no photo stops the rest."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Protocol

from scorer.photos.reading import Reading
from scorer.screening.cache import Key, ReadingCache
from scorer.screening.worker import (
    PHOTO_SECONDS,
    Job,
    ReadOne,
    read_job,
    read_marked,
    start_worker,
)

__all__ = ["PHOTO_SECONDS", "Job", "ReadOne", "process_pool", "read_job", "read_photos"]

FEW_PHOTOS = 16
"""Up to so many photos are read in this process: starting others takes longer than that."""

WINDOW_PER_WORKER = 4
"""Photos handed out ahead of the one that is waited for, so that memory stays bounded."""

PHOTOS_PER_WORKER = 8
"""A worker is worth its start from so many photos on."""


@contextmanager
def workers_deaf_to_ctrl_c() -> Iterator[None]:
    """Processes started inside inherit a blocked SIGINT, so that they don't die noisily.

    The parent gets its own at the end of the block, and ends its workers.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


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
    *,
    cache: ReadingCache | None = None,
    isolate: bool = False,
    seconds: float = PHOTO_SECONDS,
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
        Size of that pool; None takes one for each core, 1 reads in this process. Of a given
        executor: how many photos it reads at a time, so that none of its workers waits.
    read_one
        What reads a photo; must be importable by the workers.
    cache
        Readings made before; only what is missing there is read, and put there.
    isolate
        Never read in this process, so that a photo that breaks or stops the decoder costs only
        itself.
    seconds
        Longest time for one photo in a worker process of the own pool [s].
    """
    if executor is not None:
        lent = _Lent(executor, read_one)
        yield from _in_order(jobs, lent, 2 * WINDOW_PER_WORKER * (workers or _cores()), cache)
    elif not isolate and (workers == 1 or total <= FEW_PHOTOS):
        for job in jobs:
            entry = _entry(job, cache)
            yield entry.known or _kept(entry, read_one(job), cache)
    else:
        size = workers or min(_cores(), -(-max(1, total) // PHOTOS_PER_WORKER))
        own = _Own(size, read_one, seconds)
        try:
            yield from _in_order(jobs, own, WINDOW_PER_WORKER * size, cache)
        finally:
            own.close()


@dataclass
class _Entry:
    """One photo on its way; ``future`` is None where its reading is known, or read when due."""

    job: Job
    key: Key | None = None
    known: Reading | None = None
    future: Future[Reading] | None = None
    number: int = 0


class _Hands(Protocol):
    """Who reads."""

    def take(self, entry: _Entry) -> None:
        """Begin to read."""

    def finish(self, entry: _Entry, waiting: Iterable[_Entry]) -> Reading:
        """The reading; never raises for what a photo, or a worker, does."""


def _entry(job: Job, cache: ReadingCache | None) -> _Entry:
    if cache is None:
        return _Entry(job)
    key = cache.key(job.path, job.room_kind)
    # A surface map that is asked for has to be made anew.
    known = None if key is None or job.surfaces else cache.find(key, job.name)
    return _Entry(job, key, known)


def _kept(entry: _Entry, reading: Reading, cache: ReadingCache | None) -> Reading:
    if cache is not None and entry.key is not None:
        cache.put(entry.key, reading)
    return reading


def _in_order(
    jobs: Iterable[Job], hands: _Hands, window: int, cache: ReadingCache | None
) -> Iterator[Reading]:
    source = iter(jobs)
    waiting: deque[_Entry] = deque()
    while True:
        while len(waiting) < 4 * window and _busy(waiting) < window:
            job = next(source, None)
            if job is None:
                break
            entry = _entry(job, cache)
            if entry.known is None:
                hands.take(entry)
            waiting.append(entry)
        if not waiting:
            return
        entry = waiting.popleft()
        yield entry.known or _kept(entry, hands.finish(entry, waiting), cache)


def _busy(waiting: Iterable[_Entry]) -> int:
    """Photos that somebody must still work on; known ones hold up nobody."""
    return sum(entry.known is None and not _well(entry.future) for entry in waiting)


def _well(future: Future[Reading] | None) -> bool:
    """Whether a future ended with a reading."""
    if future is None or not future.done() or future.cancelled():
        return False
    return future.exception() is None


class _Lent:
    """Somebody else's executor: a photo that it loses is handed out once more.

    Paths become absolute, since workers elsewhere have another working folder.
    """

    def __init__(self, executor: Executor, read_one: ReadOne) -> None:
        self._executor = executor
        self._read_one = read_one

    def take(self, entry: _Entry) -> None:
        job = entry.job
        surfaces = job.surfaces and os.path.abspath(job.surfaces)
        job = job._replace(path=os.path.abspath(job.path), surfaces=surfaces)
        try:
            entry.future = self._executor.submit(self._read_one, job)
        except Exception as error:  # a broken executor, or one that was shut down
            entry.future = Future()
            entry.future.set_exception(error)

    def finish(self, entry: _Entry, waiting: Iterable[_Entry]) -> Reading:
        del waiting
        for again in (True, False):
            assert entry.future is not None
            try:
                return entry.future.result()
            except Exception as error:  # each executor has errors of its own
                reason = type(error).__name__
                if again:
                    self.take(entry)
        name = entry.job.name
        return Reading(
            file=name,
            error=f"{name}: the worker that read it was lost ({reason}); run it again.",
        )


class _Own:
    """Own worker processes; where one dies or is late, the photo it was at pays, and nobody else.

    Parameters
    ----------
    size
        How many processes.
    read_one
        What they run.
    seconds
        Longest time for one photo [s].
    """

    def __init__(self, size: int, read_one: ReadOne, seconds: float) -> None:
        self._size = size
        self._read_one = read_one
        self._seconds = seconds
        self._count = 0
        self._proven = False  # a worker has given a reading
        self._here = False  # workers don't start: read in this process
        self._open()

    def _open(self) -> None:
        self._marks = TemporaryDirectory(prefix="value-add-", ignore_cleanup_errors=True)
        self._pool = process_pool(self._size)

    def close(self, wait: bool = False) -> None:
        """End the processes; one that is at a photo may finish it, within its time."""
        self._pool.shutdown(wait=wait, cancel_futures=True)
        self._marks.cleanup()

    def take(self, entry: _Entry) -> None:
        self._count += 1
        entry.number = self._count
        if self._here:
            entry.future = None
            return
        mark = str(Path(self._marks.name) / str(entry.number))
        try:
            with workers_deaf_to_ctrl_c():  # a pool starts its processes when it gets work
                entry.future = self._pool.submit(
                    read_marked, self._read_one, entry.job, mark, self._seconds
                )
        except BrokenExecutor as error:
            entry.future = Future()
            entry.future.set_exception(error)

    def finish(self, entry: _Entry, waiting: Iterable[_Entry]) -> Reading:
        while entry.future is not None:
            try:
                reading = entry.future.result()
                self._proven = True
                return reading
            except BrokenExecutor:
                self._mend([entry, *waiting])
        return self._read_one(entry.job)

    def _mend(self, entries: list[_Entry]) -> None:
        """New processes for those that died; the photos that they were at don't go to them."""
        self._pool.shutdown(wait=True, cancel_futures=True)
        marks = {int(path.name): path.stat().st_size for path in Path(self._marks.name).iterdir()}
        self._marks.cleanup()
        lost = [e for e in entries if e.known is None and not _well(e.future)]
        if not marks and not self._proven and not _workers_start():
            self._here = True
        suspects = marks or {lost[0].number: 0}
        late = any(suspects.values())
        if not self._here:
            self._open()
        for entry in lost:  # the head comes first, so that what it shows holds for the others
            size = suspects.get(entry.number)
            if size:
                entry.future = _done(_late(entry.job, self._seconds))
            elif size == 0 and not late and not self._here:
                entry.future = _done(self._alone(entry.job))
            else:
                self.take(entry)

    def _alone(self, job: Job) -> Reading:
        """Read one suspect in a process of its own."""
        with TemporaryDirectory(prefix="value-add-", ignore_cleanup_errors=True) as folder:
            mark = Path(folder) / "mark"
            try:
                with process_pool(1) as pool:
                    return pool.submit(
                        read_marked, self._read_one, job, str(mark), self._seconds
                    ).result()
            except BrokenExecutor:
                if not mark.exists():  # it never came to the photo: workers can't load the reader
                    self._here = True
                    return self._read_one(job)
                if mark.stat().st_size:
                    return _late(job, self._seconds)
        return Reading(
            file=job.name,
            error=f"{job.name}: the photo broke the program that decodes it; open it and save it "
            "again as JPEG.",
        )


def _late(job: Job, seconds: float) -> Reading:
    return Reading(
        file=job.name,
        error=f"{job.name}: reading it took longer than {seconds:g} seconds and was given up; open "
        "it and save it again as a smaller JPEG.",
    )


def _done(reading: Reading) -> Future[Reading]:
    future: Future[Reading] = Future()
    future.set_result(reading)
    return future


def _workers_start() -> bool:
    """Whether worker processes work at all here (a script without a main guard has none)."""
    with process_pool(1) as pool:
        try:
            return pool.submit(os.getpid).result() > 0
        except BrokenExecutor:
            return False
