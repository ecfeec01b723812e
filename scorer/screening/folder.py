"""Screen a folder of homes, photo by photo and home by home."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

from scorer.errors import InputError
from scorer.listing.folder import read_home, row_beside
from scorer.listing.listing import Listing, Problem
from scorer.money.comps import Comp
from scorer.photos.reading import Reading
from scorer.screening.batch import Batch, home_folder, survey
from scorer.screening.cache import ReadingCache
from scorer.screening.hands import hands_for
from scorer.screening.home import screen_home
from scorer.screening.packed import PackedHomes, Packer
from scorer.screening.pool import Job, how_many, read_photos
from scorer.screening.progress import Meter, OnProgress, Progress
from scorer.screening.tags import read_tags
from scorer.screening.weighing import Basis
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from scorer.upgrades.pricebook import PriceBook
from scorer.upgrades.upgrade import Upgrade

__all__ = [
    "Progress",
    "ScreenedFolder",
    "home_folder",
    "readings_of",
    "screen_folder",
    "screen_one",
]


@dataclass(frozen=True)
class ScreenedFolder:
    """A batch: ranked homes, and sentences about what could not be used.

    ``homes`` are packed, so that thousands fit: keep a tuple of those you look at often.

    ``problems`` holds every sentence, those of a home (also in its ``errors``) included.
    ``photos_read`` counts the photos that could be read.
    """

    homes: PackedHomes
    problems: tuple[Problem, ...]
    photos_read: int


def screen_folder(
    folder: Path | str,
    settings: Settings | None = None,
    executor: Executor | None = None,
    on_progress: OnProgress | None = None,
    *,
    workers: int | None = None,
    catalogue: Sequence[Upgrade] | None = None,
    price_book: PriceBook | None = None,
    comps: Sequence[Comp] | None = None,
    cache: ReadingCache | None = None,
    isolate: bool = False,
) -> ScreenedFolder:
    """Read, screen and rank every home of a folder.

    A photo that cannot be read costs that photo, a home that cannot be screened costs that home;
    each leaves a sentence. The result doesn't depend on the executor, nor on what the cache knows.

    Parameters
    ----------
    folder
        As for :func:`scorer.listing.read_homes`; each home may also hold ``tags.csv``.
    settings
        The user's limits and assumptions; usual ones if None.
    executor
        Any standard executor for the photos and the homes. None: this process for few photos, else
        a process pool; a script that calls this needs the usual ``if __name__ == "__main__":``.
    on_progress
        Called after each photo.
    workers
        Size of the process pool; 1 works in this process.
    catalogue, price_book, comps
        As for :func:`scorer.screening.screen_home`.
    cache
        Readings and results made before: only what is missing, or what anything that it was made
        from has changed since, is made again.
    isolate
        As for :func:`scorer.screening.pool.read_photos`, and the same of weighing homes.

    Raises
    ------
    InputError
        If the folder holds no home, or a data file is broken.
    """
    found = survey(Path(folder))
    problems = list(found.problems)
    results = Packer()
    photos_read = 0
    basis = Basis(
        settings or Settings(),
        None if catalogue is None else tuple(catalogue),
        price_book,
        None if comps is None else tuple(comps),
    )
    size, here = how_many(found.photos + len(found.homes), executor, workers, isolate)
    with hands_for(executor, size, here) as hands:
        batch = Batch(Path(folder), basis, hands, cache, far=executor is not None)
        for home, weighed in batch.weighed(found, on_progress):
            sentences: tuple[str, ...] = (weighed.problem,)
            if weighed.packed is not None:
                results.add(weighed.packed)
                photos_read += weighed.packed.photos_read
                known = set(home.known_sentences)
                sentences = tuple(s for s in weighed.packed.errors if s not in known)
            problems += [Problem(home=home.listing.home, sentence=s) for s in sentences]
    return ScreenedFolder(results.ranked(), tuple(problems), photos_read)


def screen_one(
    folder: Path,
    settings: Settings | None = None,
    catalogue: Sequence[Upgrade] | None = None,
    price_book: PriceBook | None = None,
    comps: Sequence[Comp] | None = None,
    cache: ReadingCache | None = None,
    isolate: bool = False,
) -> HomeResult:
    """Screen the folder of one home; arguments as for :func:`screen_folder`.

    A table of all homes that lies beside the folder counts as it does for the whole folder.

    Raises
    ------
    InputError
        If it is no folder.
    """
    if not folder.is_dir():
        raise InputError(f"{folder}: there is no such folder; give the folder of one home.")
    name = folder.resolve().name
    listing, problems = read_home(folder, name=name, row=row_beside(folder))
    ((_, readings),) = readings_of([listing], cache=cache, isolate=isolate)
    tags, wrong = read_tags(folder, name)
    errors = [*(p.sentence for p in problems), *wrong]
    return screen_home(
        listing, readings, tags, settings, catalogue, price_book, comps, errors=errors
    )


def readings_of(
    listings: Sequence[Listing],
    executor: Executor | None = None,
    on_progress: OnProgress | None = None,
    workers: int | None = None,
    *,
    cache: ReadingCache | None = None,
    isolate: bool = False,
) -> Iterator[tuple[Listing, tuple[Reading, ...]]]:
    """Each home with the readings of its photos, as soon as they are there."""
    total = sum(len(listing.photos) for listing in listings)
    jobs = (
        Job(photo.path, photo.name, photo.room_kind) for home in listings for photo in home.photos
    )
    stream = read_photos(jobs, total, executor, workers, cache=cache, isolate=isolate)
    meter = Meter(total, len(listings))
    for listing in listings:
        readings: list[Reading] = []
        for _ in listing.photos:
            readings.append(next(stream))
            whole = len(readings) == len(listing.photos)
            progress = meter.count(listing.home, whole=whole)
            if on_progress is not None:
                on_progress(progress)
        yield listing, tuple(readings)
