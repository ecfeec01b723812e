"""Screen a folder of homes, photo by photo and home by home."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from scorer.errors import InputError
from scorer.listing.folder import read_home, read_homes
from scorer.listing.listing import Listing, Problem
from scorer.money.comps import Comp
from scorer.photos.reading import Reading
from scorer.screening.cache import ReadingCache
from scorer.screening.home import screen_home
from scorer.screening.packed import Packer
from scorer.screening.pool import Job, read_photos
from scorer.screening.tags import read_tags
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from scorer.upgrades.pricebook import PriceBook
from scorer.upgrades.upgrade import Upgrade


class Progress(NamedTuple):
    """How far a batch has come; ``home`` is the home whose photo was read last."""

    home: str
    photos_done: int
    photos_total: int
    homes_done: int
    homes_total: int
    seconds: float

    @property
    def photos_per_second(self) -> float:
        """Rate since the start [1/s]."""
        return self.photos_done / self.seconds if self.seconds > 0 else 0.0

    @property
    def seconds_left(self) -> float | None:
        """Time left at that rate [s]; None before the first photo."""
        rate = self.photos_per_second
        return (self.photos_total - self.photos_done) / rate if rate > 0 else None


@dataclass(frozen=True)
class Screened:
    """A batch: ranked homes, and sentences about what could not be used.

    ``homes`` are packed, so that thousands fit: keep a tuple of those you look at often.

    ``problems`` holds every sentence, those of a home (also in its ``errors``) included.
    """

    homes: Sequence[HomeResult]
    problems: tuple[Problem, ...]


OnProgress = Callable[[Progress], None]


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
) -> Screened:
    """Read, screen and rank every home of a folder.

    A photo that cannot be read costs that photo, a home that cannot be screened costs that home;
    each leaves a sentence. The result doesn't depend on the executor.

    Parameters
    ----------
    folder
        As for :func:`scorer.listing.read_homes`; each home may also hold ``tags.csv``.
    settings
        The user's limits and assumptions; usual ones if None.
    executor
        Any standard executor for the photos. None: this process for few, else a process pool; a
        script that calls this needs the usual ``if __name__ == "__main__":``.
    on_progress
        Called after each photo.
    workers
        Size of the process pool; 1 reads in this process.
    catalogue, price_book, comps
        As for :func:`scorer.screening.screen_home`.
    cache, isolate
        As for :func:`scorer.screening.pool.read_photos`.

    Raises
    ------
    InputError
        If the folder holds no home, or a data file is broken.
    """
    listings, problems = read_homes(folder)
    folders = {listing.home: home_folder(Path(folder), listing.home) for listing in listings}
    results = Packer((settings or Settings()).aim)
    found = list(problems)
    for listing, readings in readings_of(
        listings, executor, on_progress, workers, cache=cache, isolate=isolate
    ):
        errors = [p.sentence for p in problems if p.home == listing.home]
        tags, wrong = read_tags(folders[listing.home], listing.home)
        errors += wrong
        try:
            result = screen_home(
                listing, readings, tags, settings, catalogue, price_book, comps, errors=errors
            )
        except InputError as error:
            found.append(Problem(home=listing.home, sentence=f"{listing.home}: {error}"))
        except Exception as error:  # one home must not stop the others
            sentence = (
                f"{listing.home}: this home could not be screened "
                f"({type(error).__name__}: {error}); the others were."
            )
            found.append(Problem(home=listing.home, sentence=sentence))
        else:
            results.add(result)
            known = {p.sentence for p in problems}
            found += [
                Problem(home=listing.home, sentence=sentence)
                for sentence in result.errors
                if sentence not in known
            ]
    return Screened(homes=results.ranked(), problems=tuple(found))


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

    Raises
    ------
    InputError
        If it is no folder.
    """
    if not folder.is_dir():
        raise InputError(f"{folder}: there is no such folder; give the folder of one home.")
    name = folder.resolve().name
    listing, problems = read_home(folder, name=name)
    ((_, readings),) = readings_of([listing], cache=cache, isolate=isolate)
    tags, wrong = read_tags(folder, name)
    errors = [*(p.sentence for p in problems), *wrong]
    return screen_home(
        listing, readings, tags, settings, catalogue, price_book, comps, errors=errors
    )


def home_folder(folder: Path, home: str) -> Path:
    """Folder of one home of a batch; the batch's own where it is a single home."""
    inner = folder / home
    return inner if inner.is_dir() else folder


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
    started, done = time.monotonic(), 0
    for number, listing in enumerate(listings):
        readings = []
        for _ in listing.photos:
            readings.append(next(stream))
            done += 1
            if on_progress is not None:
                whole = number + (len(readings) == len(listing.photos))
                seconds = time.monotonic() - started
                on_progress(Progress(listing.home, done, total, whole, len(listings), seconds))
        yield listing, tuple(readings)
