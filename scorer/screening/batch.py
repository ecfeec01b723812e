"""The homes of a folder on their way: found in the cache, or read and weighed, in order."""

from __future__ import annotations

import pickle
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from scorer.conditions.finding import Tag
from scorer.listing.folder import each_home
from scorer.listing.listing import Listing, Problem
from scorer.listing.media import natural_key
from scorer.photos.reading import Reading
from scorer.screening.cache import Key, ReadingCache
from scorer.screening.hands import Hands, Step, in_order
from scorer.screening.pool import Job, photo_step
from scorer.screening.progress import Meter, OnProgress
from scorer.screening.tags import read_tags
from scorer.screening.weighing import (
    Basis,
    HomeInput,
    Weighed,
    home_key,
    photo_mark,
    weighing,
)


class FoundHome(NamedTuple):
    """A home that waits for its turn: its packed listing, and sentences about it so far."""

    listing: bytes
    photos: int
    sentences: tuple[str, ...]


class Survey(NamedTuple):
    """All homes of a folder in their order, and all that was wrong with their facts."""

    homes: tuple[FoundHome, ...]
    problems: tuple[Problem, ...]
    photos: int


def survey(folder: Path) -> Survey:
    """Look through a folder; no photo is opened, and little is kept of each home.

    Raises
    ------
    InputError
        If the folder is missing or holds no home.
    """
    problems: list[Problem] = []
    of_home: dict[str, list[str]] = {}
    homes = []
    for listing, found in each_home(folder):
        problems += found
        for problem in found:
            if problem.home is not None:
                of_home.setdefault(problem.home, []).append(problem.sentence)
        if listing is not None:
            packed = zlib.compress(pickle.dumps(listing, protocol=5), 1)
            homes.append((natural_key(listing.home), listing.home, len(listing.photos), packed))
    homes.sort(key=lambda home: home[0])
    return Survey(
        tuple(
            FoundHome(packed, photos, tuple(of_home.get(name, ())))
            for _, name, photos, packed in homes
        ),
        tuple(problems),
        sum(photos for _, _, photos, _ in homes),
    )


@dataclass
class Home:
    """One home on its way."""

    listing: Listing
    folder: Path
    known_sentences: tuple[str, ...]
    errors: tuple[str, ...]
    tags: tuple[Tag, ...]
    photo_keys: list[Key | None]
    key: str | None = None
    weighed: Weighed | None = None
    readings: list[Reading] = field(default_factory=list)
    steady: bool = True
    """No photo was changed while it was read."""


_About = tuple[Home, Key | None, bool]
"""Of one photo: its home, the key to keep its reading under, and whether it was read before."""


class Batch:
    """Weighs homes in their order; what an earlier run has done isn't done again.

    Parameters
    ----------
    folder
        Where the homes are.
    basis
        What they are weighed by.
    hands
        Who works.
    cache
        What is known already, and where the rest is put as soon as it is there; None for nothing.
    far
        Workers have another working folder than this process.
    """

    def __init__(
        self,
        folder: Path,
        basis: Basis,
        hands: Hands,
        cache: ReadingCache | None = None,
        *,
        far: bool = False,
    ) -> None:
        self._folder = folder
        self._basis = basis
        self._hands = hands
        self._cache = cache
        self._far = far
        self._fingerprint = "" if cache is None else basis.fingerprint()

    def weighed(
        self, found: Survey, on_progress: OnProgress | None = None
    ) -> Iterator[tuple[Home, Weighed]]:
        """Each home with its packed result, or with the reason why there is none."""
        read = self._read(found, on_progress)
        window = max(1, self._hands.window // 2)
        for home, weighed in in_order(map(self._weighing, read), self._hands, window):
            if home.weighed is None:
                self._keep(home, weighed)
            yield home, weighed

    # Photos -------------------------------------------------------------------------------------

    def _read(self, found: Survey, on_progress: OnProgress | None) -> Iterator[Home]:
        """Each home as soon as its photos are read, or found not to be needed."""
        meter = Meter(found.photos, len(found.homes))
        steps = self._reading_steps(found.homes)
        for (home, key, read_before), reading in in_order(steps, self._hands):
            if reading is not None:
                home.readings.append(reading)
                if key is not None and self._cache is not None:
                    home.steady &= self._cache.put(key, reading)
            photos = len(home.listing.photos)
            whole = reading is None or len(home.readings) == photos
            count = photos if reading is None else 1
            progress = meter.count(home.listing.home, count, known=read_before, whole=whole)
            if on_progress is not None and photos:
                on_progress(progress)
            if whole:
                yield home

    def _reading_steps(self, found: Iterable[FoundHome]) -> Iterator[Step[_About]]:
        for waiting in found:
            home = self._opened(waiting)
            if home.weighed is not None or not home.listing.photos:
                yield Step((home, None, True))
                continue
            for photo, key in zip(home.listing.photos, home.photo_keys, strict=True):
                job = Job(photo.path, photo.name, photo.room_kind)
                step = photo_step(job, self._cache, key=key, far=self._far)
                yield Step((home, step.about, step.work is None), step.known, step.work)

    def _opened(self, waiting: FoundHome) -> Home:
        """A home with its tags, and with its result where that is known."""
        listing: Listing = pickle.loads(zlib.decompress(waiting.listing))
        folder = home_folder(self._folder, listing.home)
        tags, wrong = read_tags(folder, listing.home)
        cache = self._cache
        home = Home(
            listing=listing,
            folder=folder,
            known_sentences=waiting.sentences,
            errors=(*waiting.sentences, *wrong),
            tags=tags,
            photo_keys=[
                None if cache is None else cache.key(photo.path, photo.room_kind)
                for photo in listing.photos
            ],
        )
        self._look_up(home, [photo_mark(key) for key in home.photo_keys])
        return home

    # Homes --------------------------------------------------------------------------------------

    def _look_up(self, home: Home, photos: list[str | None]) -> None:
        """Find what the home's result is kept under, and the result if it is there."""
        marks = [mark for mark in photos if mark is not None]
        home.key = None
        if self._cache is None or not self._fingerprint or len(marks) < len(photos):
            return
        home.key = home_key(self._fingerprint, home.listing, home.tags, home.errors, marks)
        packed = None if home.key is None else self._cache.find_home(home.key)
        if packed is not None:
            home.weighed = Weighed(packed)

    def _weighing(self, home: Home) -> Step[Home]:
        if home.weighed is None and any(r.error is not None for r in home.readings):
            # Under which sentences a result without these photos is kept is known only now.
            marks = map(photo_mark, home.photo_keys, home.readings)
            self._look_up(home, list(marks))
        if home.weighed is not None:
            return Step(home, known=home.weighed)
        readings = tuple(home.readings)
        given = HomeInput(home.listing, readings, home.tags, home.errors, self._basis)
        return Step(home, work=weighing(given))

    def _keep(self, home: Home, weighed: Weighed) -> None:
        packed = weighed.packed
        if self._cache is None or home.key is None or packed is None:
            return
        if packed.exact and home.steady:
            self._cache.put_home(home.key, str(home.folder.absolute()), home.listing.home, packed)


def home_folder(folder: Path, home: str) -> Path:
    """Folder of one home of a batch; the batch's own where it is a single home."""
    inner = folder / home
    return inner if inner.is_dir() else folder
