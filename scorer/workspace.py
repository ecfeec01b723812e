"""The user's homes, kept and screened: what the page shows and changes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing import demo_folder, read_homes
from scorer.listing.listing import Listing, PhotoFile
from scorer.money.draws import chance_better, draw_scope
from scorer.money.looking import Look, look_next
from scorer.money.rent_evidence import rent_evidence
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.rooms import Room
from scorer.scope.planning import BudgetView, view_budgets
from scorer.screening import rank_homes, read_tags, screen_home
from scorer.screening.folder import home_folder
from scorer.screening.pool import Job, read_photos
from scorer.settings import Settings
from scorer.sheet import Conflict, SheetAnswers, merge_answers
from scorer.shortlist.result import HomeResult
from scorer.store import Store, StoredHome
from scorer.upgrades.learning import FinishedJob, learn
from scorer.upgrades.pricebook import PriceBook, PriceRow, load_price_book

DEMO_FLAG = "demo homes imported"
LEARNING_OFF = "learning switched off"

OnPhoto = Callable[[int, int], None]
"""Called with photos done and photos in all."""


class Screened(NamedTuple):
    """A home as it is kept, and what the program says of it."""

    home: StoredHome
    result: HomeResult


class Imported(Record):
    """How many homes an import brought, and sentences about what could not be used."""

    homes: int
    problems: tuple[str, ...]


class Workspace:
    """Reads photos once, screens a home anew only where something about it changed.

    Parameters
    ----------
    store
        Where everything is kept.
    executor
        What reads photos; None is this process for few, else a pool of processes.
    """

    def __init__(self, store: Store, executor: Executor | None = None) -> None:
        self.store = store
        self._executor = executor
        self._hashes: dict[tuple[str, int, int], str] = {}
        self._results: dict[int, tuple[str, HomeResult]] = {}

    # Bringing homes in -------------------------------------------------------------------------

    def import_folder(self, folder: Path) -> Imported:
        """Add the homes of a folder, or bring those that are there up to date.

        Raises
        ------
        InputError
            If the folder holds no home.
        """
        listings, problems = read_homes(folder)
        sentences = [problem.sentence for problem in problems]
        for listing in listings:
            tags, wrong = read_tags(home_folder(folder, listing.home), listing.home)
            sentences += wrong
            self.store.add_home(listing, tags)
        return Imported(homes=len(listings), problems=tuple(sentences))

    def import_demo_once(self) -> None:
        """Add the demo homes the first time that the page is opened."""
        if not self.store.flag(DEMO_FLAG):
            self.import_folder(demo_folder())
            self.store.save_flag(DEMO_FLAG)

    def import_answers(self, home: StoredHome, answers: SheetAnswers) -> tuple[Conflict, ...]:
        """Merge what a viewing sheet brought back; the newer answer holds.

        Raises
        ------
        InputError
            If the sheet belongs to another home.
        """
        if answers.home != home.listing.home:
            raise InputError(
                f"This sheet is of {answers.home}, not of {home.listing.home}; open that home and "
                "import it there."
            )
        merged = merge_answers(home.tags, answers)
        version = home.version
        if merged.tags:
            self.store.add_tags(home.id, version, merged.tags)
            version += 1
        known = {room.name: room for room in self.result(home).rooms}
        for size in answers.rooms:
            room = known.get(size.name)
            sizes = size.model_dump(exclude={"name"}, exclude_none=True)
            if room is not None and sizes:
                self.store.save_room(home.id, version, room.model_copy(update=sizes))
                version += 1
        if answers.note:
            note = "\n".join(part for part in (home.note, answers.note) if part)
            if answers.note not in home.note:
                self.store.save_note(home.id, version, note)
        return merged.conflicts

    # What the program says ---------------------------------------------------------------------

    def screen_all(self, on_photo: OnPhoto | None = None) -> tuple[Screened, ...]:
        """All homes, ranked; photos that were read before are not read again."""
        homes = {home.listing.home: home for home in self.store.homes()}
        self._read_missing(homes.values(), on_photo)
        results = rank_homes((self.result(h) for h in homes.values()), self.store.settings().aim)
        return tuple(Screened(homes[result.home], result) for result in results)

    def result(self, home: StoredHome) -> HomeResult:
        """One home screened; the same home, settings and prices give the result at once."""
        key = self._key(home)
        kept = self._results.get(home.id)
        if kept is not None and kept[0] == key:
            return kept[1]
        result = self._screen(home, self.store.settings(), home.must, home.must_not)
        self._results[home.id] = (key, result)
        return result

    def what_if(self, home: StoredHome, settings: Settings) -> HomeResult:
        """One home under other settings, nothing kept."""
        return self._screen(home, settings, home.must, home.must_not)

    def price_book(self) -> PriceBook:
        """The package's price book with the user's rows in it."""
        own = [PriceRow.model_validate_json(text) for text in self.store.price_rows().values()]
        return load_price_book().with_rows(own)

    def jobs(self) -> tuple[FinishedJob, ...]:
        """Finished work of all homes."""
        return tuple(job for home in self.store.homes() for job in home.jobs)

    def _screen(
        self,
        home: StoredHome,
        settings: Settings,
        must: Sequence[str],
        must_not: Sequence[str],
    ) -> HomeResult:
        listing = with_sizes(home.listing, home.rooms)
        readings = self._readings(listing.photos)
        corrections = None if self.store.flag(LEARNING_OFF) else learn(self.jobs())
        return screen_home(
            listing,
            readings,
            home.tags,
            settings,
            price_book=self.price_book(),
            must=must,
            must_not=must_not,
            corrections=corrections,
        )

    def _key(self, home: StoredHome) -> str:
        parts = [
            home.version,
            self.store.settings().model_dump_json(),
            self.store.price_rows(),
            [job.model_dump_json() for job in self.jobs()],
            self.store.flag(LEARNING_OFF),
        ]
        return hashlib.sha256(json.dumps(parts).encode()).hexdigest()

    # Photos ------------------------------------------------------------------------------------

    def _read_missing(self, homes: Iterable[StoredHome], on_photo: OnPhoto | None) -> None:
        missing: dict[tuple[str, str], PhotoFile] = {}
        for home in homes:
            for photo in home.listing.photos:
                key = self._photo_key(photo)
                if key is not None and self.store.reading(*key) is None:
                    missing.setdefault(key, photo)
        jobs = [Job(photo.path, photo.name, photo.room_kind) for photo in missing.values()]
        stream = read_photos(jobs, len(jobs), self._executor)
        for done, (key, reading) in enumerate(zip(missing, stream, strict=True), start=1):
            self.store.save_reading(*key, reading)
            if on_photo is not None:
                on_photo(done, len(jobs))

    def _readings(self, photos: Sequence[PhotoFile]) -> tuple[Reading, ...]:
        found = []
        for photo in photos:
            key = self._photo_key(photo)
            reading = None if key is None else self.store.reading(*key)
            if reading is None:
                (reading,) = read_photos([Job(photo.path, photo.name, photo.room_kind)], 1)
                if key is not None:
                    self.store.save_reading(*key, reading)
            found.append(reading.model_copy(update={"file": photo.name}))
        return tuple(found)

    def _photo_key(self, photo: PhotoFile) -> tuple[str, str] | None:
        """Content hash and algorithm of a photo; None if the file can't be read."""
        from scorer.photos import ALGORITHM_VERSION

        try:
            state = Path(photo.path).stat()
            place = (photo.path, state.st_size, state.st_mtime_ns)
            if place not in self._hashes:
                with Path(photo.path).open("rb") as file:
                    self._hashes[place] = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            return None
        return self._hashes[place], f"{ALGORITHM_VERSION} {photo.room_kind or 'any'}"


def what_to_ask(result: HomeResult, settings: Settings) -> tuple[Look, ...]:
    """What to look at next in a home, what would change the decision most first."""
    return look_next(
        result.scope,
        result.listing,
        result.findings,
        {room.name: room.kind for room in result.rooms},
        settings,
        rent_evidence(result.listing, ()).present_rent_usd,
        unseen=[unseen.room for unseen in result.unseen],
    )


def budgets_of(item: Screened, settings: Settings) -> BudgetView:
    """What other budgets would buy in a home."""
    result = item.result
    rent = rent_evidence(result.listing, ())
    return view_budgets(
        result.options,
        result.findings,
        result.rooms,
        result.listing,
        settings,
        must=item.home.must,
        must_not=item.home.must_not,
        rent_ceiling=rent.ceiling_usd,
        monthly_rent=rent.present_rent_usd,
    )


def chance_first_beats_second(first: HomeResult, second: HomeResult, settings: Settings) -> float:
    """Chance that the first home's net gain is the larger one [0–1]."""
    draws = [
        draw_scope(
            result.scope,
            result.home,
            settings,
            rent_evidence(result.listing, ()).present_rent_usd,
        )
        for result in (first, second)
    ]
    return chance_better(*draws)


def with_sizes(listing: Listing, rooms: Iterable[Room]) -> Listing:
    """The listing with the sizes that the user typed in place of its own."""
    sizes = {room.name: room for room in listing.rooms} | {room.name: room for room in rooms}
    return listing.model_copy(update={"rooms": tuple(sizes.values())})


def tag_now(room: str, condition: str, *, present: bool, severity: int, note: str = "") -> Tag:
    """A tag of this moment."""
    return Tag(
        room=room,
        condition=condition,
        present=present,
        severity=severity,
        note=note,
        tagged_at=datetime.now(UTC).isoformat(timespec="milliseconds"),
    )
