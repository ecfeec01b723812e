"""The photos of a home as a set: their order, copies and names must not change what is found."""

from __future__ import annotations

import shutil
from collections import defaultdict
from functools import cache
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from scorer.listing.folder import read_home
from scorer.listing.listing import Listing
from scorer.photos import look_over, read_photo
from scorer.photos.likeness import MIRRORED_BITS, group_duplicates, hamming, mirrored_hash
from scorer.photos.reading import Reading
from scorer.screening.home import screen_home
from scorer.shortlist.result import HomeResult
from tests.photos.changes import HOMES

# Two dwellings; rooms named by the listing alone; a file whose name says another room.
SHOWN = ("412-orchard-street", "31-larkspur-lane", "1150-harrow-road")
homes = pytest.mark.parametrize("home", SHOWN)


@cache
def _reading(file: bytes, kind: str | None) -> Reading:
    return read_photo(file, name="", room_kind_hint=kind).model_copy(update={"seconds": None})


def listing_of(folder: Path) -> Listing:
    listing, _ = read_home(folder, name="home")
    return listing


def readings_of(listing: Listing) -> list[Reading]:
    """As the program reads them: each photo's name and what the listing says that it shows."""
    return [
        _reading(Path(p.path).read_bytes(), p.room_kind).model_copy(update={"file": p.name})
        for p in listing.photos
    ]


def screened(folder: Path) -> HomeResult:
    listing = listing_of(folder)
    return screen_home(listing, readings_of(listing), ())


def found(result: HomeResult) -> dict[str, object]:
    """What a home's result says, in no order, without naming the photos."""
    return {
        "findings": sorted(
            (f.room, f.condition, f.severity, round(f.certainty, 6)) for f in result.findings
        ),
        "options": sorted(option.id for option in result.options),
        "rooms": sorted(room.name for room in result.rooms),
        "unseen": sorted((u.room, u.sentence) for u in result.unseen),
        "reasons": result.reasons,
        "scope": result.scope.model_copy(update={"keeps": ()}),
        "keeps": set(result.scope.keeps),
        "outcome": result.outcome,
        "score": pytest.approx(result.score, abs=1e-6),
    }


def without_numbers(result: HomeResult) -> list[tuple[object, ...]]:
    """Findings by kind of room: which of two bedrooms is the first may be anybody's choice."""
    return sorted(
        (f.room.rstrip(" 0123456789"), f.condition, f.severity, round(f.certainty, 6))
        for f in result.findings
    )


@homes
def test_the_order_of_the_photos_changes_nothing(home):
    listing = listing_of(HOMES / home)
    readings = readings_of(listing)
    was = screen_home(listing, readings, ())
    numbered = home != "31-larkspur-lane"  # there, who is bedroom 1 follows from the order
    rng = np.random.default_rng(4)
    orders = [rng.permutation(len(readings)) for _ in range(3)]
    for order in (*orders, range(len(readings))[::-1]):
        photos = tuple(listing.photos[i] for i in order)
        shuffled = listing.model_copy(update={"photos": photos})
        now = screen_home(shuffled, [readings[i] for i in order], ())
        if numbered:
            assert found(now) == found(was)
        assert without_numbers(now) == without_numbers(was)
        assert now.score == pytest.approx(was.score, abs=1e-6)
        seen, before = look_over(shuffled, now.readings), look_over(listing, readings)
        assert seen.unseen == before.unseen
        assert {d.file for d in seen.doubtful} == {d.file for d in before.doubtful}


COPIES = ("{} copy.jpg", "{} (1).jpg", "copy of {}.jpg", "zz {}.jpg", "IMG_{place}.jpg")


@homes
def test_a_copy_changes_nothing_but_what_is_said_of_copies(home, tmp_path):
    """Seen before: a copy that the listing does not name was taken for another room by its name or
    its looks, and its floor was costed twice.
    """
    was = found(screened(HOMES / home))
    for place, photo in enumerate(listing_of(HOMES / home).photos):
        folder = shutil.copytree(HOMES / home, tmp_path / str(place))
        stem = Path(photo.name).stem
        copy = COPIES[place % len(COPIES)].format(stem, place=place)
        shutil.copy(folder / photo.name, folder / copy)
        now = screened(folder)
        assert copy in {reading.file for reading in now.readings}
        assert found(now) == was, copy
        groups = look_over(now.listing, now.readings).duplicates
        assert [set(group) for group in groups] == [{photo.name, copy}]


def test_a_smaller_copy_changes_nothing(tmp_path):
    """Seen before: the smaller copy counted, since it is sharper pixel for pixel."""
    home = HOMES / SHOWN[0]
    was = screened(home)
    for kind, photo in enumerate(listing_of(home).photos):
        folder = shutil.copytree(home, tmp_path / str(kind))
        with Image.open(folder / photo.name) as image:
            image.reduce(2).save(folder / f"{Path(photo.name).stem}_small.jpg", quality=70)
        now = screened(folder)
        assert found(now) == found(was) | {"unseen": found(now)["unseen"]}
        small = {u.sentence for u in now.unseen} - {u.sentence for u in was.unseen}
        assert all("small" in sentence for sentence in small)


@homes
def test_names_swapped_within_a_kind_of_room_swap_the_findings(home, tmp_path):
    was = screened(HOMES / home)
    by_kind = defaultdict(list)
    for photo in listing_of(HOMES / home).photos:
        by_kind[photo.room_kind].append(photo.name)
    swaps = 0
    for names in by_kind.values():
        for order in list(permutations(names))[1:]:
            folder = shutil.copytree(HOMES / home, tmp_path / str(swaps))
            for name, other in zip(names, order, strict=True):
                shutil.copy(HOMES / home / name, folder / other)
            now = screened(folder)
            assert without_numbers(now) == without_numbers(was)
            assert now.score == pytest.approx(was.score, abs=1e-6)
            assert now.scope.cost_usd.typical == pytest.approx(was.scope.cost_usd.typical)
            swaps += 1
    assert swaps > 0


def test_mirrored_dwellings_are_two_and_mirrored_copies_one():
    """Two bathrooms built as mirror images, one white and one blue, were taken for one picture and
    the second for unseen: 9 bits lie between one and the mirror of the other.
    """
    listing = listing_of(HOMES / "412-orchard-street")
    readings = [r for r in readings_of(listing) if "bathroom" in r.file]
    first, second = (reading.content_hash for reading in readings)
    assert MIRRORED_BITS < hamming(mirrored_hash(first), second) < 12
    assert group_duplicates(readings) == ()
    result = screened(HOMES / "412-orchard-street")
    assert "bathroom 2" not in {room.name for room in result.rooms_not_seen}
    assert any(f.room == "bathroom 2" and f.evidence for f in result.findings)
