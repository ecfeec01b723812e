"""One home as a piece of a batch's work: what it is made from, and its packed result."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import NamedTuple

from pydantic_core import PydanticSerializationError

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.money.comps import Comp
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.screening.cache import Key
from scorer.screening.hands import Lost, Work
from scorer.screening.home import screen_home
from scorer.screening.methods import weighing_method
from scorer.screening.packed import Packed, pack
from scorer.settings import Settings
from scorer.upgrades.pricebook import PriceBook
from scorer.upgrades.upgrade import Upgrade

HOME_SECONDS = 300.0
"""Longest time for one home, once its photos were read [s]; common practice, no source: usually it
takes less than a tenth of a second."""


class Basis(NamedTuple):
    """What all homes of a batch are weighed by; None is what the package has."""

    settings: Settings
    catalogue: tuple[Upgrade, ...] | None = None
    price_book: PriceBook | None = None
    comps: tuple[Comp, ...] | None = None

    def fingerprint(self) -> str:
        """Hash over all of it, and over the program that weighs; empty if that can't be told."""
        method = weighing_method()
        if not method:
            return ""
        digest = hashlib.sha256(method.encode())
        for part in self:
            text = "" if part is None else f" {_text(part)}"
            digest.update(f"\n{len(text)}{text}".encode(errors="surrogatepass"))
        return digest.hexdigest()


class HomeInput(NamedTuple):
    """What one home's result is made from."""

    listing: Listing
    readings: tuple[Reading, ...]
    tags: tuple[Tag, ...]
    errors: tuple[str, ...]
    basis: Basis


class Weighed(NamedTuple):
    """One home's packed result, or one sentence why there is none."""

    packed: Packed | None
    problem: str = ""


def weigh(home: HomeInput) -> Weighed:
    """Screen one home; whatever goes wrong becomes one sentence."""
    name = home.listing.home
    basis = home.basis
    try:
        result = screen_home(
            home.listing,
            home.readings,
            home.tags,
            basis.settings,
            basis.catalogue,
            basis.price_book,
            basis.comps,
            errors=home.errors,
        )
        return Weighed(pack(result, basis.settings.aim))
    except InputError as error:
        return Weighed(None, f"{name}: {error}")
    except Exception as error:  # one home must not stop the others
        return Weighed(
            None,
            f"{name}: this home could not be screened ({type(error).__name__}: {error}); the "
            "others were.",
        )


def weighing(home: HomeInput) -> Work:
    """Weighing a home as a piece of work."""
    return Work(weigh, home, home_lost, HOME_SECONDS)


def home_lost(home: HomeInput, lost: Lost) -> Weighed:
    """A sentence in place of the result of a home that no worker came back with."""
    name = home.listing.home
    if lost.how == "late":
        why = f"it took longer than {lost.detail} seconds"
    elif lost.how == "broke":
        why = "it broke the program that weighs it"
    else:
        why = f"its worker was lost: {lost.detail}"
    return Weighed(None, f"{name}: this home could not be screened ({why}); the others were.")


def home_key(
    fingerprint: str,
    listing: Listing,
    tags: Sequence[Tag],
    errors: Sequence[str],
    photos: Sequence[str],
) -> str | None:
    """What a home's result is kept under: a hash of all that it is made from.

    None where JSON can't say it (a file name that is no text): such a result isn't kept.

    Parameters
    ----------
    fingerprint
        Of the batch's :class:`Basis`.
    photos
        What each photo's reading depends on, in the listing's order: :func:`photo_mark`.
    """
    digest = hashlib.sha256(fingerprint.encode())
    try:
        records = (listing.model_dump_json(), _text(tuple(tags)))
    except PydanticSerializationError:
        return None
    for part in (*records, repr(tuple(errors)), repr(tuple(photos))):
        digest.update(f"\n{len(part)} {part}".encode(errors="surrogatepass"))
    return digest.hexdigest()


def photo_mark(key: Key | None, reading: Reading | None = None) -> str | None:
    """What a reading depends on, as text; None where nobody can tell.

    Of a photo that couldn't be read, that is the sentence that it left.
    """
    if reading is not None and reading.error is not None:
        return f"error {reading.error}"
    return None if key is None else f"{key.content_hash} {key.method}"


def _text(part: Record | tuple[Record, ...]) -> str:
    """A record, or several, as JSON."""
    if isinstance(part, Record):
        return part.model_dump_json()
    return "\n".join(record.model_dump_json() for record in part)
