"""Homes brought in, screened and ranked; each is screened anew only where something changed."""

from __future__ import annotations

import hashlib
import json
from concurrent.futures import Executor
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing import demo_folder, read_homes
from scorer.listing.listing import Listing
from scorer.listing.room_words import from_name
from scorer.money.draws import chance_better, draw_scope
from scorer.money.learned_rent import evidence_with_catalogue
from scorer.money.looking import Look, look_next
from scorer.money.rent_evidence import RentEvidence
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.rooms import RoomKind
from scorer.scope.plan import Scope
from scorer.scope.planning import BudgetView, ScopeInput, view_budgets
from scorer.screening import RoomPlan, rank_homes, read_tags, rooms_of, screen_home
from scorer.screening.folder import home_folder
from scorer.sheet import Conflict, SheetAnswers, merge_answers
from scorer.shortlist.result import HomeResult
from scorer.store import Brought, Source, Store, StoredHome
from scorer.store.taken import what_is_new
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.option import Option
from scorer.workspace.basis import Basis, SharedBasis
from scorer.workspace.photo_shelf import PhotoShelf
from scorer.workspace.reader import Reader
from scorer.workspace.taking import photos_of_sheet

DEMO_FLAG = "demo homes imported"


class Screened(NamedTuple):
    """A home as it is kept, and what the program says of it."""

    home: StoredHome
    result: HomeResult


class Imported(Record):
    """How many homes an import brought, their ids, and what could not be used, in sentences."""

    homes: int
    ids: tuple[int, ...]
    problems: tuple[str, ...]


class Answered(NamedTuple):
    """What a viewing sheet brought: answers that disagree, and sentences about unusable photos."""

    conflicts: tuple[Conflict, ...]
    problems: tuple[str, ...]


class Workspace(SharedBasis):
    """The homes of one store; may be used from several threads.

    Parameters
    ----------
    store
        Where everything is kept.
    executor
        What reads photos; None is this process for few, else a pool of processes.
    """

    def __init__(self, store: Store, executor: Executor | None = None) -> None:
        super().__init__(store)
        self.shelf = PhotoShelf(store)
        self.reader = Reader(self.shelf, executor)
        self._results: dict[int, tuple[str, HomeResult]] = {}
        self._planned: dict[int, tuple[Scope, tuple[Option, ...]]] = {}
        self._looks: dict[str, tuple[Scope, tuple[Look, ...]]] = {}

    # Bringing homes in -------------------------------------------------------------------------

    def import_folder(self, folder: Path, source: Source = "own") -> Imported:
        """Add the homes of a folder, or bring those that are there up to date.

        A row of a table without photos here leaves the photos that its home has elsewhere.

        Raises
        ------
        InputError
            If the folder holds no home.
        """
        listings, problems = read_homes(folder)
        before = {home.listing.home: home for home in self.store.homes()}
        sentences, homes = [problem.sentence for problem in problems], []
        for listing in listings:
            place = home_folder(folder, listing.home)
            old = before.get(listing.home)
            if old is not None and not listing.photos and _lies_elsewhere(old, folder):
                unseen = f"{listing.home}: no folder of this name"
                sentences = [s for s in sentences if not s.startswith(unseen)]
                told = (p.sentence for p in problems if p.home == listing.home)
                own = [s for s in told if not s.startswith(unseen)]
                kept = listing.model_copy(update={"photos": old.listing.photos})
                homes.append(Brought(kept, (), old.folder, old.source, tuple(own)))
                continue
            tags, wrong = read_tags(place, listing.home)
            sentences += wrong
            own = [p.sentence for p in problems if p.home == listing.home]
            where = str(place.resolve()) if listing.photos else ""
            homes.append(Brought(listing, tuple(tags), where, source, (*own, *wrong)))
        ids = self.store.add_homes(homes)
        return Imported(homes=len(listings), ids=ids, problems=tuple(sentences))

    def import_demo_once(self) -> None:
        """Add the demo homes the first time that the page is opened."""
        if not self.store.flag(DEMO_FLAG):
            self.import_folder(demo_folder(), "demo")
            self.store.save_flag(DEMO_FLAG)

    def import_answers(self, home: StoredHome, answers: SheetAnswers) -> Answered:
        """Merge what a viewing sheet brought back; the newer answer holds, a photo is kept once.

        A photo that can't be used costs a sentence, and the rest is kept.

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
        known = {room.name: room for room in self.result(home).rooms}
        rooms = []
        for size in answers.rooms:
            sizes = size.model_dump(exclude={"name"}, exclude_none=True)
            if size.name in known and sizes:
                rooms.append(known[size.name].model_copy(update=sizes))
        note = "" if answers.note in home.note else answers.note
        taken, problems = photos_of_sheet(self.store, answers)
        photos = what_is_new(home.taken, taken)
        if merged.tags or rooms or note or photos:
            self.store.save_answers(home.id, home.version, merged.tags, rooms, note, photos)
        return Answered(merged.conflicts, problems)

    # What the program says ---------------------------------------------------------------------

    def screen_all(self) -> tuple[Screened, ...]:
        """Homes whose photos have all been read, ranked."""
        homes = {home.listing.home: home for home in self.store.homes()}
        basis = self.basis(tuple(homes.values()))
        results = []
        for home in homes.values():
            result = self._result(home, basis)
            if result is not None:
                results.append(result)
        ranked = rank_homes(results, basis.settings.aim)
        return tuple(Screened(homes[result.home], result) for result in ranked)

    def result(self, home: StoredHome) -> HomeResult:
        """One home screened; photos that have not been read yet are left out."""
        basis = self.basis(self.store.homes())
        result = self._result(home, basis)
        readings = self.shelf.readings_so_far(home)
        return result if result is not None else self._screen(home, readings, basis)

    def read_all(self) -> None:
        """Read every photo that waits, and come back when all are read."""
        self.reader.start(self.store.homes())
        self.reader.wait()

    def read_taken(self, home: StoredHome) -> bool:
        """Start reading photos from the viewing that wait; whether it was started now."""
        reader = self.reader
        busy = reader.running or reader.stopped or reader.failed
        return not busy and reader.start([home])

    def rooms(self, item: Screened) -> RoomPlan:
        """Rooms of a home and which photo shows which."""
        return rooms_of(_listing(item.home), item.result.readings, item.home.tags)

    def evidence(self, result: HomeResult) -> RentEvidence:
        """What is known of a home's rent, as it was screened with."""
        return evidence_with_catalogue(result.listing, self.comps(), load_catalogue())

    def what_to_ask(self, result: HomeResult) -> tuple[Look, ...]:
        """What to look at next in a home, what would change the decision most first."""
        kept = self._looks.get(result.home)
        if kept is None or kept[0] is not result.scope:  # ranking copies a result, not its scope
            looks = look_next(
                result.scope,
                result.listing,
                result.findings,
                {room.name: room.kind for room in result.rooms},
                self.store.settings(),
                self.evidence(result).present_rent_usd,
                unseen=_unseen_kinds(result),
            )
            kept = self._looks[result.home] = (result.scope, looks)
        return kept[1]

    def budgets(self, item: Screened) -> BudgetView:
        """What other budgets would buy in a home."""
        result, rent = item.result, self.evidence(item.result)
        given = ScopeInput(
            result.options,
            result.findings,
            result.rooms,
            result.listing,
            item.home.must,
            item.home.must_not,
            rent_ceiling_usd=rent.ceiling_usd,
            monthly_rent_usd=rent.present_rent_usd,
        )
        return view_budgets(given, self.store.settings())

    def chance_better(self, first: HomeResult, second: HomeResult) -> float:
        """Chance that the first home's net gain is the larger one [0–1]."""
        settings = self.store.settings()
        draws = [
            draw_scope(
                r.scope,
                r.home,
                settings,
                self.evidence(r).present_rent_usd,
                unseen=_unseen_kinds(r),
            )
            for r in (first, second)
        ]
        return chance_better(*draws)

    def planned_options(self, item: Screened) -> tuple[Option, ...]:
        """A home's options as the price book and the catalogue alone have them.

        What work took is held against these: against figures that earlier jobs have corrected,
        the same experience would count less each time.
        """
        basis = self.basis(self.store.homes())
        if basis.corrections is None and basis.rent_correction is None:
            return item.result.options
        kept = self._planned.get(item.home.id)
        if kept is None or kept[0] is not item.result.scope:  # ranking copies a result only
            plain = basis._replace(corrections=None, rent_correction=None)
            result = self._screen(item.home, item.result.readings, plain)
            kept = self._planned[item.home.id] = (item.result.scope, result.options)
        return kept[1]

    def _result(self, home: StoredHome, basis: Basis) -> HomeResult | None:
        """The result from memory, from the store, or made anew; None while photos wait."""
        photos = self.shelf.keys(home)
        text = json.dumps([home.version, basis.key, photos])
        key = hashlib.sha256(text.encode()).hexdigest()
        kept = self._results.get(home.id)
        if kept is not None and kept[0] == key:
            return kept[1]
        result = self._from_store(home.id, key)
        if result is None:
            readings = self.shelf.readings(home)
            if readings is None and self.shelf.awaits_only_taken(home):
                # The home stays in view while a photo from the viewing is read.
                return self._screen(home, self.shelf.readings_so_far(home), basis)
            if readings is None:
                return None
            result = self._screen(home, readings, basis)
            self.store.keep_result(home.id, key, result.model_dump_json())
        self._results[home.id] = (key, result)
        return result

    def _from_store(self, home_id: int, key: str) -> HomeResult | None:
        text = self.store.kept_result(home_id, key)
        if text is None:
            return None
        try:
            return HomeResult.model_validate_json(text)
        except ValidationError:
            return None

    def _screen(self, home: StoredHome, readings: tuple[Reading, ...], basis: Basis) -> HomeResult:
        listing = _listing(home)
        if home.rooms:  # sizes of some rooms must not change how many rooms there are
            sizes = {room.name: room for room in home.rooms}
            plan = rooms_of(listing, readings, home.tags)
            rooms = [sizes.get(r.name, r) for r in plan.rooms if r.kind is not RoomKind.WHOLE_HOME]
            listing = listing.model_copy(update={"rooms": tuple(rooms)})
        return screen_home(
            listing,
            readings,
            home.tags,
            basis.settings,
            price_book=basis.price_book,
            comps=basis.comps,
            must=home.must,
            must_not=home.must_not,
            errors=home.problems,
            corrections=basis.corrections,
            rent_correction=basis.rent_correction,
        )


def _lies_elsewhere(home: StoredHome, folder: Path) -> bool:
    """Whether a home's photos are outside the folder that an import looks into."""
    within = Path(home.folder).is_relative_to(folder.resolve())
    return bool(home.listing.photos and home.folder) and not within


def _unseen_kinds(result: HomeResult) -> dict[str, RoomKind]:
    """Kind of every room that no photo shows."""
    return {room.name: room.kind for room in result.rooms_not_seen}


def _listing(home: StoredHome) -> Listing:
    """The listing, with the rooms that a person gave to photos, and photos from the viewing."""
    photos = []
    for photo in home.photos_to_read():
        word = from_name(home.photo_rooms.get(photo.name, ""))
        if word is not None:
            photo = photo.model_copy(
                update={
                    "room_kind": word.kind,
                    "kind_from": "",
                    "room_name": word.name,
                    "room_number": word.number,
                }
            )
        photos.append(photo)
    return home.listing.model_copy(update={"photos": tuple(photos)})


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
