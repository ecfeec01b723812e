"""Which rooms a home has, and which photo shows which of them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count
from math import dist

from scorer.conditions.finding import Tag
from scorer.listing.listing import Listing, PhotoFile
from scorer.listing.media import natural_key
from scorer.listing.room_words import first_words, from_name, is_bare
from scorer.photos.likeness import group_duplicates
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.rooms import WHOLE_HOME, Room, RoomKind
from scorer.screening.doubts import SURE_OF_KIND, as_taken, doubts_of, sentence_of
from scorer.screening.tags import match_rooms
from scorer.screening.unseen import rooms_not_seen, what_is_unseen
from scorer.shortlist.result import Unseen

SAME_WALL_DELTA_E = 12.0
"""Where the facts don't say how many rooms there are, photos whose walls differ by less (CIE 1976
colour difference) are taken to show one room (common practice, no source)."""

NOT_KNOWN_DELTA_E = 60.0
"""Walls that were not measured count as this different."""

NUMBERED = (RoomKind.BEDROOM, RoomKind.BATHROOM)

Group = tuple[int | None, list[PhotoFile]]
"""Photos of one room, with the number that their names give it."""


class RoomPlan(Record):
    """The rooms of one home and what the photos show of them.

    Attributes
    ----------
    rooms
        Rooms that the facts promise, that a photo shows or that a person tagged; last the whole
        home.
    photo_rooms
        Room by photo name; a photo whose room nobody can tell is absent.
    unseen
        Rooms that neither a readable photo nor a person's tag tells of, photos of no known room,
        photos that are too poor to judge by, and photos that contradict their names.
    unseen_rooms
        The first of these by name.
    in_doubt
        The last of these: photos whose picture shows another kind of room than their name says.
    """

    rooms: tuple[Room, ...]
    photo_rooms: dict[str, str]
    unseen: tuple[Unseen, ...]
    unseen_rooms: tuple[str, ...] = ()
    in_doubt: tuple[str, ...] = ()


def rooms_of(listing: Listing, readings: Sequence[Reading], tags: Sequence[Tag] = ()) -> RoomPlan:
    """Name the rooms of a home and put each photo into one.

    A photo's kind of room is what a person or the listing says, else what the file's name says
    unless a clear picture more likely shows another kind (:mod:`scorer.screening.doubts`), else
    what the picture shows if that is sure enough. Photos of one kind are split into rooms by the
    number in their name and by near-duplicates, then rooms with the most alike walls are joined
    until there are no more than the facts promise. A photo that a person took in a room
    (``PhotoFile.room``) belongs to that room and has no say in how the others are split.

    Parameters
    ----------
    listing
        Facts and photos of the home.
    readings
        One for each photo, with ``Reading.file`` equal to ``PhotoFile.name``.
    tags
        Rooms that a person named are kept, whatever the facts promise.
    """
    by_name = {reading.file: reading for reading in readings}
    taken = [photo for photo in listing.photos if photo.room]
    own = _as_their_twins([photo for photo in listing.photos if not photo.room], by_name)
    doubts = doubts_of(own, by_name)
    others = [as_taken(photo, doubts) for photo in own]
    words = {photo.name: _word(photo, by_name.get(photo.name)) for photo in others}
    photo_rooms: dict[str, str] = {}
    rooms: dict[str, Room] = {room.name: room for room in listing.rooms}
    promised = _promised(listing)
    shown = dict.fromkeys(word for word in words.values() if word is not None)
    for kind, name in shown:
        photos = [p for p in others if words[p.name] == (kind, name)]
        limit = _limit(listing, kind, name)
        groups = _groups(photos, by_name, limit)
        many = max(promised.get((kind, name)) or 1, len(groups)) > 1
        for number, group in _numbered(groups, limit):
            label = _label(kind, name, number, many)
            rooms.setdefault(label, Room(name=label, kind=kind))
            photo_rooms |= {photo.name: label for photo in group}
    for (kind, name), known in promised.items():
        if known is None and (kind, name) in shown:
            continue
        for number in range(1, (known or 1) + 1):
            label = _label(kind, name, number, (known or 1) > 1)
            rooms.setdefault(label, Room(name=label, kind=kind))
    for tag in tags:
        name = tag.room.strip().lower()[:80]
        word = from_name(name)
        if word is None or name in rooms or name == WHOLE_HOME:
            continue
        if not is_bare(name) or all(first_words(known) != word.name for known in rooms):
            label = _label(word.kind, word.name, 1, False) if is_bare(name) else name
            rooms.setdefault(label, Room(name=label, kind=word.kind))
    for photo in taken:
        if photo.room not in rooms and photo.room_kind is not None:
            rooms[photo.room] = Room(name=photo.room, kind=photo.room_kind)
        if photo.room in rooms:
            photo_rooms[photo.name] = photo.room
    visited = {tag.room for tag in match_rooms(tags, list(rooms.values()))[0]}
    unseen_rooms = rooms_not_seen(rooms, photo_rooms, by_name, visited)
    ordered = sorted(
        rooms.values(), key=lambda r: (list(RoomKind).index(r.kind), natural_key(r.name))
    )
    whole = Room(name=WHOLE_HOME, kind=RoomKind.WHOLE_HOME, floor_area_sqft=_area(listing))
    return RoomPlan(
        rooms=(*ordered, whole),
        photo_rooms=photo_rooms,
        unseen=(
            *what_is_unseen(listing, unseen_rooms, photo_rooms, by_name),
            *(sentence_of(doubt, photo_rooms) for doubt in doubts.values()),
        ),
        unseen_rooms=unseen_rooms,
        in_doubt=tuple(doubts),
    )


def _area(listing: Listing) -> float | None:
    area = listing.living_area_sqft
    return area if area is not None and area <= 20_000 else None


def _as_their_twins(photos: Sequence[PhotoFile], readings: dict[str, Reading]) -> list[PhotoFile]:
    """Photos with the room of a near-duplicate, where more is known of that.

    A person's or the listing's word goes before the file's name, and that before none. Two that
    are named alike well and differ keep their names: then one of them is wrong.
    """
    of_name = {photo.name: photo for photo in photos}
    for twins in group_duplicates([readings[p.name] for p in photos if p.name in readings]):
        best = max((of_name[name] for name in twins), key=_known_from)
        for name in twins:
            if _known_from(of_name[name]) < _known_from(best):
                fields = ("room_kind", "kind_from", "room_name", "room_number")
                told = {field: getattr(best, field) for field in fields}
                of_name[name] = of_name[name].model_copy(update=told)
    return list(of_name.values())


def _known_from(photo: PhotoFile) -> int:
    """2 where a person or the listing says what a photo shows, 1 where its name does, else 0."""
    if photo.room_kind is None:
        return 0
    return 1 if photo.kind_from == "name" else 2


def _word(photo: PhotoFile, reading: Reading | None) -> tuple[RoomKind, str] | None:
    if photo.room_kind is not None:
        return photo.room_kind, photo.room_name or photo.room_kind.words
    guess = reading.room if reading else None
    if guess is None or guess.probability < SURE_OF_KIND or guess.kind not in set(RoomKind):
        return None
    kind = RoomKind(guess.kind)
    return kind, kind.words


def _promised(listing: Listing) -> dict[tuple[RoomKind, str], int | None]:
    """Rooms that the facts promise; every home has a kitchen, a bathroom, a living room, a front.

    None where the facts don't say how many there are.
    """
    units = listing.units or 1
    promised: dict[tuple[RoomKind, str], int | None] = {
        (RoomKind.KITCHEN, "kitchen"): units,
        (RoomKind.BATHROOM, "bathroom"): listing.bathrooms,
        (RoomKind.LIVING_ROOM, "living room"): units,
        (RoomKind.FRONT, "front"): 1,
    }
    if listing.bedrooms != 0:  # a studio sleeps in its living room
        promised[RoomKind.BEDROOM, "bedroom"] = listing.bedrooms
    return promised


def _limit(listing: Listing, kind: RoomKind, name: str) -> int | None:
    """The most rooms of one name that photos may be split into; None where it is not known."""
    sized = sum(room.kind is kind and room.name.startswith(name) for room in listing.rooms)
    promised = _promised(listing)
    if (kind, name) in promised:
        known = promised[kind, name]
        return max(known, sized, 1) if known is not None else (sized or None)
    return max(1, sized)


def _label(kind: RoomKind, name: str, number: int, many: bool) -> str:
    """``bedroom 1``: bedrooms and bathrooms are always numbered, others where there are more."""
    return f"{name} {number}" if many or kind in NUMBERED else name


def _numbered(groups: Sequence[Group], limit: int | None) -> list[tuple[int, list[PhotoFile]]]:
    """Groups with their room's number: that of the photos' names where it fits, else a free one."""
    taken: dict[int, list[PhotoFile]] = {}
    rest = []
    for number, photos in groups:
        if number is not None and number not in taken and (limit is None or number <= limit):
            taken[number] = photos
        else:
            rest.append(photos)
    for photos in rest:
        taken[next(n for n in count(1) if n not in taken)] = photos
    return sorted(taken.items())


def _groups(
    photos: Sequence[PhotoFile], readings: dict[str, Reading], limit: int | None
) -> list[Group]:
    """Split photos of one kind into rooms, in the order of their numbers and of the photos."""
    groups: list[Group] = []
    for photo in photos:
        known = [g for number, g in groups if number is not None and number == photo.room_number]
        if known:
            known[0].append(photo)
        else:
            groups.append((photo.room_number, [photo]))
    for twins in group_duplicates([readings[p.name] for p in photos if p.name in readings]):
        places = [i for i, (_, group) in enumerate(groups) if any(p.name in twins for p in group)]
        for place in reversed(places[1:]):
            _join(groups, places[0], place)
    while len(groups) > 1:
        pairs = [
            (_unlike(groups[i], groups[j], readings), i, j)
            for j in range(1, len(groups))
            for i in range(j)
        ]
        distance, first, second = min(pairs)
        too_many = limit is not None and len(groups) > limit
        if not too_many and (limit is not None or distance >= SAME_WALL_DELTA_E):
            break
        _join(groups, first, second)
    return sorted(groups, key=lambda group: (group[0] is None, group[0] or 0))


def _join(groups: list[Group], first: int, second: int) -> None:
    number, photos = groups[first]
    other, more = groups.pop(second)
    numbers = [n for n in (number, other) if n is not None]
    groups[first] = (min(numbers) if numbers else None, photos + more)


def _unlike(first: Group, second: Group, readings: dict[str, Reading]) -> float:
    """Least difference between the walls of two groups of photos; far apart where not known.

    Photos with two different numbers in their names are joined last of all.
    """
    walls = [[_wall(readings.get(p.name)) for p in group] for _, group in (first, second)]
    found = [dist(a, b) for a in walls[0] for b in walls[1] if a is not None and b is not None]
    distance = min(found, default=NOT_KNOWN_DELTA_E)
    return distance + (1_000.0 if None not in (first[0], second[0]) else 0.0)


def _wall(reading: Reading | None) -> tuple[float, float, float] | None:
    if reading is None or reading.wall is None or reading.wall.colour is None:
        return None
    return reading.wall.colour.lab
