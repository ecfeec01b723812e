"""Photos whose file's name says one kind of room and whose picture another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from scorer.listing.listing import PhotoFile
from scorer.photos.reading import Reading
from scorer.photos.room_kind import kind_chances, likeliest
from scorer.rooms import WHOLE_HOME, RoomKind
from scorer.shortlist.result import Unseen

SURE_OF_KIND = 0.6
"""What kind of room a picture shows counts from this probability on [0–1]: no photo of a house that
the network had not seen was named wrongly from there on (338 photos)."""

OVERRULES = 0.5
"""A clear photo overrules its file's name where another kind has more than this chance [0–1]."""

CONTRADICTS = 0.2
"""A clear photo contradicts its file's name where another kind has this chance [0–1]; common
practice, no source."""


class Doubt(NamedTuple):
    """A photo, the kind of room that it seems to show, and the chance of that [0–1]."""

    photo: PhotoFile
    kind: RoomKind
    chance: float

    @property
    def overruled(self) -> bool:
        """Whether the picture, and not the name, is gone by."""
        return self.chance > OVERRULES


def doubts_of(photos: Sequence[PhotoFile], readings: Mapping[str, Reading]) -> dict[str, Doubt]:
    """Photos that contradict their names, by name.

    The name counts as evidence too (:func:`scorer.photos.room_kind.kind_chances`). What a person or
    the listing's ``ImageOf`` said is not doubted, nor the name of a photo too poor to tell.
    """
    found = {}
    for photo in photos:
        reading = readings.get(photo.name)
        named = photo.room_kind
        if photo.kind_from != "name" or named is None or reading is None or not _is_clear(reading):
            continue
        seen = reading.room.seen if reading.room is not None else {}
        if photo.room_name not in {"", named.words}:  # a garage is no façade
            continue
        chances = kind_chances(named.value, seen)
        chances.pop(named.value, None)
        if not chances:  # a kind that the network does not know
            continue
        other = likeliest(chances)
        sure = seen.get(other.kind, 0.0) >= SURE_OF_KIND
        if sure and other.probability >= CONTRADICTS:
            found[photo.name] = Doubt(photo, RoomKind(other.kind), other.probability)
    return found


def as_taken(photo: PhotoFile, doubts: Mapping[str, Doubt]) -> PhotoFile:
    """The photo with the kind of room that is gone by; the listing keeps what was given."""
    doubt = doubts.get(photo.name)
    if doubt is None or not doubt.overruled:
        return photo
    return photo.model_copy(update={"room_kind": doubt.kind, "room_name": "", "room_number": None})


def sentence_of(doubt: Doubt, photo_rooms: Mapping[str, str]) -> Unseen:
    """What the picture seems to show, and what was taken."""
    name = doubt.photo.name
    room = photo_rooms.get(name, WHOLE_HOME)
    name_holds = "against its name" if doubt.overruled else "as its name says"
    return Unseen(
        room=room,
        photographed=True,
        sentence=f"{name} looks like {_a(doubt.kind)} ({doubt.chance:.0%} likely) and was taken as "
        f"{room}, {name_holds}; its room, given on the "
        "walk-through or as ImageOf in the listing, settles it.",
    )


def _is_clear(reading: Reading) -> bool:
    if reading.error is not None:
        return False
    reasons = reading.trust.reasons if reading.trust is not None else ()
    dark = reading.exposure is not None and reading.exposure.kind == "dark"
    return not dark and not any(reason.startswith(("blurred", "small")) for reason in reasons)


def _a(kind: RoomKind) -> str:
    return "the front" if kind is RoomKind.FRONT else f"a {kind.words}"
