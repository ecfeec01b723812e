"""Read many photos with a standard executor: in order, bounded, and no photo stops the rest."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from typing import NamedTuple

from scorer.errors import InputError
from scorer.photos.reading import Reading
from scorer.screening.cache import Key, ReadingCache
from scorer.screening.hands import (
    WINDOW_PER_WORKER,
    Lost,
    Step,
    Work,
    cores,
    hands_for,
    in_order,
    process_pool,
)

__all__ = [
    "PHOTO_SECONDS",
    "WINDOW_PER_WORKER",
    "Job",
    "ReadOne",
    "process_pool",
    "read_job",
    "read_photos",
]

PHOTO_SECONDS = 60.0
"""Longest time for one photo [s]; common practice, no source: the slowest photo that may be opened
(120 megapixels, PNG) takes a few seconds."""

FEW_PHOTOS = 16
"""Up to so many photos are read in this process: starting others takes longer than that."""

PHOTOS_PER_WORKER = 8
"""A worker is worth its start from so many photos on."""


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


def photo_lost(job: Job, lost: Lost) -> Reading:
    """A sentence in place of the reading of a photo that no worker came back with."""
    if lost.how == "late":
        sentence = (
            f"reading it took longer than {lost.detail} seconds and was given up; open it and save "
            "it again as a smaller JPEG."
        )
    elif lost.how == "broke":
        sentence = "the photo broke the program that decodes it; open it and save it again as JPEG."
    else:
        sentence = f"the worker that read it was lost ({lost.detail}); run it again."
    return Reading(file=job.name, error=f"{job.name}: {sentence}")


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
    size, here = how_many(total, executor, workers, isolate)
    with hands_for(executor, size, here) as hands:
        far = executor is not None
        steps = (photo_step(job, cache, read_one, seconds, far=far) for job in jobs)
        for key, reading in in_order(steps, hands):
            if cache is not None and key is not None:
                cache.put(key, reading)
            yield reading


def how_many(
    total: int, executor: Executor | None, workers: int | None, isolate: bool
) -> tuple[int | None, bool]:
    """How many processes for so many photos, and whether this one reads them itself."""
    if executor is not None:
        return workers, False
    here = not isolate and (workers == 1 or total <= FEW_PHOTOS)
    return workers or min(cores(), -(-max(1, total) // PHOTOS_PER_WORKER)), here


def photo_step(
    job: Job,
    cache: ReadingCache | None,
    read_one: ReadOne = read_job,
    seconds: float = PHOTO_SECONDS,
    *,
    key: Key | None = None,
    far: bool = False,
) -> Step[Key | None]:
    """A photo whose reading is known, or the work of reading it and the key to keep it under.

    ``far`` makes paths absolute, since workers elsewhere have another working folder.
    """
    if cache is not None:
        key = key or cache.key(job.path, job.room_kind)
        # A surface map that is asked for has to be made anew.
        known = None if key is None or job.surfaces else cache.find(key, job.name)
        if known is not None:
            return Step(None, known=known)
    if far:
        surfaces = job.surfaces and os.path.abspath(job.surfaces)
        job = job._replace(path=os.path.abspath(job.path), surfaces=surfaces)
    return Step(key, work=Work(read_one, job, photo_lost, seconds))
