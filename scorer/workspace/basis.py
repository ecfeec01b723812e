"""What all homes of a store share: limits, prices, wages, comparable rents, and lessons."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple
from uuid import uuid4

from scorer.money.comps import Comp, parse_comps
from scorer.money.lettings import Letting, RentCorrection, learn_rent
from scorer.settings import Settings
from scorer.store import Store, StoredHome
from scorer.upgrades.learning import Corrections, FinishedJob, learn
from scorer.upgrades.price_rows import PriceRow, Wage
from scorer.upgrades.pricebook import PriceBook, load_price_book
from scorer.workspace.own_rents import OwnRent

LEARNING_OFF = "learning switched off"
RENT_LEARNING_OFF = "learning from rents switched off"
COMPS = "comparable rents"
OWN_RENTS = "comparable rents typed"
WAGES = "own wages"


class Basis(NamedTuple):
    """What all homes are screened with; ``key`` stands for all of it."""

    settings: Settings
    price_book: PriceBook
    comps: tuple[Comp, ...]
    corrections: Corrections | None
    rent_correction: RentCorrection | None
    key: str


class SharedBasis:
    """What all homes of one store share.

    Parameters
    ----------
    store
        Where it is kept.
    """

    def __init__(self, store: Store) -> None:
        self.store = store

    def price_book(self) -> PriceBook:
        """The package's price book with the user's rows and wages in it."""
        own = [Wage.model_validate_json(text) for text in self.own_wages().values()]
        return _with_own_rows(tuple(self.store.price_rows().values())).with_wages(own)

    def own_wages(self) -> dict[str, str]:
        """The user's own wages as JSON by trade."""
        return dict(self.store.value(WAGES) or {})

    def save_wages(self, wages: Iterable[Wage]) -> dict[str, str | None]:
        """Keep wages beside those kept before; returns what :meth:`put_wages_back` takes."""
        own = {wage.trade: wage.model_dump_json() for wage in wages}
        return self.store.change_value(WAGES, own)

    def put_wages_back(self, own: Mapping[str, str | None]) -> None:
        """Put wages back as JSON by trade; None is the package's."""
        self.store.change_value(WAGES, own)

    def drop_wages(self) -> None:
        """Go back to the package's wages."""
        self.store.save_value(WAGES, {})

    def comps(self) -> tuple[Comp, ...]:
        """The user's comparable rents that count: those of the file, then those typed."""
        typed = [rent.comp for rent in self.own_rents().values() if rent.in_use]
        return (*self.comps_of_file(), *typed)

    def comp_words(self) -> tuple[tuple[str, str], ...]:
        """Name and note of each of :meth:`comps`; empty where it has none."""
        typed = [(rent.label, rent.note) for rent in self.own_rents().values() if rent.in_use]
        return (*((comp.address, comp.note) for comp in self.comps_of_file()), *typed)

    def comps_of_file(self) -> tuple[Comp, ...]:
        """Comparable rents of the file that was brought in last."""
        text = self.comps_text()
        return parse_comps(text)[0] if text else ()

    def own_rents(self) -> dict[str, OwnRent]:
        """Comparable rents that were typed, by id, the oldest first."""
        kept: dict[str, str] = self.store.value(OWN_RENTS) or {}
        return {i: OwnRent.model_validate_json(text) for i, text in kept.items()}

    def add_own_rent(self, rent: OwnRent) -> dict[str, str | None]:
        """Keep a typed rent; returns what :meth:`put_own_rents_back` takes."""
        return self.store.change_value(OWN_RENTS, {uuid4().hex: rent.model_dump_json()})

    def change_own_rents(self, rents: Mapping[str, OwnRent]) -> dict[str, str | None]:
        """Keep typed rents by id in place of those kept; returns what puts these back."""
        own = {i: rent.model_dump_json() for i, rent in rents.items()}
        return self.store.change_value(OWN_RENTS, own)

    def put_own_rents_back(self, own: Mapping[str, str | None]) -> None:
        """Put typed rents back as JSON by id; None takes one out."""
        self.store.change_value(OWN_RENTS, own)

    def comps_text(self) -> str | None:
        """The file of comparable rents as it was brought in; None if there is none."""
        text: str | None = self.store.value(COMPS)
        return text

    def put_comps_back(self, text: str | None) -> None:
        """Put the rents back as :meth:`comps_text` had them."""
        self.store.save_value(COMPS, text)

    def save_comps(self, text: str, name: str) -> tuple[int, tuple[str, ...]]:
        """Keep comparable rents from CSV text; how many there are, and what could not be used.

        Raises
        ------
        InputError
            If the column of rents is missing.
        """
        comps, problems = parse_comps(text, name)
        self.store.save_value(COMPS, text)
        return len(comps), problems

    def jobs(self) -> tuple[FinishedJob, ...]:
        """Finished work of all homes."""
        return tuple(job for home in self.store.homes() for job in home.jobs)

    def lettings(self) -> tuple[Letting, ...]:
        """What homes were let for after the work."""
        return tuple(letting for home in self.store.homes() for letting in home.lettings)

    def basis(self, homes: Sequence[StoredHome]) -> Basis:
        """What any home is screened with.

        Parameters
        ----------
        homes
            All there are: the work and the rents of each teach something about the others.
        """
        jobs = [job for home in homes for job in home.jobs]
        lettings = [letting for home in homes for letting in home.lettings]
        settings, off = self.store.settings(), self.store.flag(LEARNING_OFF)
        rent_off = self.store.flag(RENT_LEARNING_OFF)
        parts = [
            _program_key(),
            settings.model_dump_json(),
            self.store.price_rows(),
            self.store.value(COMPS),
            self.store.value(OWN_RENTS),
            self.own_wages(),
            [] if off else [job.model_dump_json() for job in jobs],
            [] if rent_off else [letting.model_dump_json() for letting in lettings],
        ]
        key = hashlib.sha256(json.dumps(parts).encode()).hexdigest()
        corrections = learn(jobs) if jobs and not off else None
        rents = learn_rent(lettings) if lettings and not rent_off else None
        return Basis(settings, self.price_book(), self.comps(), corrections, rents, key)


@cache
def _with_own_rows(rows: tuple[str, ...]) -> PriceBook:
    return load_price_book().with_rows([PriceRow.model_validate_json(text) for text in rows])


@cache
def _program_key() -> str:
    """Stands for this program and its data: kept results of another one are made anew."""
    root = Path(__file__).resolve().parents[1]
    kinds = {".py", ".csv", ".toml", ".json", ".onnx"}
    states = [
        (str(path.relative_to(root)), path.stat().st_mtime_ns, path.stat().st_size)
        for path in sorted(root.rglob("*"))
        if path.suffix in kinds and "training" not in path.parts and "demo_homes" not in path.parts
    ]
    return hashlib.sha256(json.dumps(states).encode()).hexdigest()
