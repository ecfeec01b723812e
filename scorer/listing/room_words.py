"""Which room a photo or a room row speaks of, by the listing's lookups or by a file's name.

``ImageOf`` and ``RoomType`` lookups are those of the RESO Data Dictionary 2.0, in both spellings
("LivingRoom", "Living Room").
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import NamedTuple

from scorer.listing.values import plain
from scorer.rooms import RoomKind as K

LARGEST_ROOM_NUMBER = 30


class RoomWord(NamedTuple):
    """A kind of room, the name of that room where the kind alone is too wide, and its number."""

    kind: K
    name: str
    number: int | None = None


_LOOKUPS: dict[str, RoomWord] = {
    plain(lookup): RoomWord(kind, name)
    for kind, name, lookups in (
        (K.KITCHEN, "kitchen", "Kitchen BreakfastArea"),
        (K.BATHROOM, "bathroom", "Bathroom MasterBathroom Sauna"),
        (K.BEDROOM, "bedroom", "Bedroom MasterBedroom Nursery GuestQuarters"),
        (K.LIVING_ROOM, "living room", "LivingRoom GreatRoom SittingRoom Fireplace Studio"),
        (K.LIVING_ROOM, "dining room", "DiningRoom DiningArea"),
        (K.LIVING_ROOM, "family room", "FamilyRoom Den RecreationRoom GameRoom MediaRoom"),
        (K.LIVING_ROOM, "office", "Office Study Library HobbyRoom"),
        (K.LIVING_ROOM, "bonus room", "BonusRoom Loft ExerciseRoom Gym"),
        (K.LIVING_ROOM, "sun room", "SunRoom Atrium"),
        (K.HALL, "hall", "Hallway Entry EntranceFoyer Stairs MudRoom"),
        (K.HALL, "closet", "Closet WalkInClosets Pantry Storage"),
        (K.LAUNDRY, "laundry", "Laundry UtilityRoom"),
        (K.BASEMENT, "basement", "Basement"),
        (K.FRONT, "front", "FrontOfStructure SideOfStructure"),
        (K.FRONT, "back", "BackOfStructure Yard Garden Courtyard Fence"),
        (K.FRONT, "garage", "Garage Parking OutBuildings"),
        (K.DECK, "deck", "Deck Patio Balcony"),
    )
    for lookup in lookups.split()
}

NOT_A_ROOM = {"floorplan", "map", "platmap", "aerialview", "community", "view", "lot"}
"""``ImageOf`` lookups whose pictures show no room and are not read."""

# The first row that matches wins: a closet in a bedroom is a closet, a bathroom in the basement is
# a bathroom, and a bedroom at the front is a bedroom.
_WORDS: tuple[tuple[K, str, str], ...] = (
    (K.HALL, "closet", "closet closets wardrobe"),
    (K.BATHROOM, "bathroom", "bathroom bathrooms bath baths shower toilet powder wc ensuite"),
    (K.KITCHEN, "kitchen", "kitchen kitchens kit kitchenette breakfast"),
    (K.LAUNDRY, "laundry", "laundry utility washer"),
    (K.BEDROOM, "bedroom", "bedroom bedrooms bed bdrm bedrm nursery"),
    (K.LIVING_ROOM, "dining room", "dining diningroom"),
    (K.LIVING_ROOM, "family room", "family familyroom den"),
    (K.LIVING_ROOM, "office", "office study"),
    (K.LIVING_ROOM, "living room", "living livingroom lounge sitting greatroom parlor"),
    (K.HALL, "hall", "hall halls hallway entry entryway foyer stairs stairway staircase mudroom"),
    (K.HALL, "closet", "pantry storage"),
    (K.BASEMENT, "basement", "basement cellar"),
    (K.DECK, "deck", "deck porch patio balcony veranda stoop"),
    (K.FRONT, "back", "back backyard rear yard garden"),
    (K.FRONT, "garage", "garage driveway carport"),
    (K.FRONT, "front", "front frontal facade exterior outside curb frontyard"),
)


def from_lookup(lookup: str) -> RoomWord | None:
    """The room of an ``ImageOf`` or ``RoomType`` lookup; None if it names no room of ours.

    ``RoomType`` may carry a number ("Bedroom2").
    """
    match = re.fullmatch(r"([a-z]+)([0-9]{0,2})", plain(lookup))
    if not match or match[1] not in _LOOKUPS:
        return None
    word = _LOOKUPS[match[1]]
    return word._replace(number=_room_number(match[2]))


def from_name(name: str) -> RoomWord | None:
    """The room that a file's name (or a room name that a person typed) speaks of.

    Examples
    --------
    >>> from_name("12_kitchen.jpg")
    RoomWord(kind=<RoomKind.KITCHEN: 'kitchen'>, name='kitchen', number=None)
    >>> from_name("Bedroom2.JPG").number
    2
    >>> from_name("IMG_2034.jpg") is None
    True
    """
    for part in reversed(re.split(r"[\\/]", name)):
        found = _from_words(part)
        if found:
            return found
    return None


def _from_words(part: str) -> RoomWord | None:
    stem = re.sub(r"\.[A-Za-z]{2,5}$", "", part)
    stem = re.sub(r"([a-z])([A-Z])", r"\1 \2", stem).lower()
    words = re.findall(r"[a-z]+|[0-9]+", stem)
    for kind, label, spellings in _WORDS:
        known = set(spellings.split())
        for place, word in enumerate(words):
            if word in known:
                after = words[place + 1 : place + 3]
                if after[:1] == ["room"]:
                    after = after[1:]
                own = _room_number(after[0] if after else "")
                return RoomWord(kind, label, _with_unit(_unit_number(words), own))
    return None


def _unit_number(words: list[str]) -> int | None:
    """Number after "unit" or "apt", in the photos of a home with several dwellings."""
    for word, after in pairwise(words):
        if word in {"unit", "apt", "apartment"}:
            return _room_number(after) if after != "0" and len(after) == 1 else None
    return None


def _with_unit(unit: int | None, own: int | None) -> int | None:
    """One number for bedroom 1 of unit 2; it only has to differ from those of other rooms."""
    if unit is None or own is None or own > 9:
        return own if unit is None else unit
    return 10 * (unit - 1) + own


def _room_number(digits: str) -> int | None:
    if not digits.isdigit() or len(digits) > 2 or not 1 <= int(digits) <= LARGEST_ROOM_NUMBER:
        return None
    return int(digits)


def is_bare(name: str) -> bool:
    """Whether a room's name is its kind alone ("bath", "living room"), which of several is open."""
    word = from_name(name)
    known = {spelling for _, label, words in _WORDS for spelling in (*words.split(), label)}
    return word is not None and name.strip().lower().removesuffix(" room") in {
        *known,
        word.name.removesuffix(" room"),
    }


def first_words(name: str) -> str:
    """A room's name without its number: ``bedroom`` of ``bedroom 2``."""
    return name.rstrip("0123456789").rstrip()
