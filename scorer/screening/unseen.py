"""What the photos of a home do not show, or do not show well."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from scorer.listing.listing import Listing
from scorer.listing.media import natural_key
from scorer.photos.likeness import group_duplicates
from scorer.photos.reading import Reading
from scorer.rooms import WHOLE_HOME
from scorer.shortlist.result import Unseen


def rooms_not_seen(
    rooms: Iterable[str],
    photo_rooms: Mapping[str, str],
    readings: Mapping[str, Reading],
    visited: Collection[str],
) -> tuple[str, ...]:
    """Rooms that no readable photo shows and no person tagged, in natural order."""
    seen = {
        room
        for photo, room in photo_rooms.items()
        if photo in readings and readings[photo].error is None
    }
    return tuple(sorted(set(rooms) - seen - set(visited), key=natural_key))


def what_is_unseen(
    listing: Listing,
    unseen_rooms: Sequence[str],
    photo_rooms: Mapping[str, str],
    readings: Mapping[str, Reading],
) -> tuple[Unseen, ...]:
    """A sentence for each room that nobody saw and each photo that leaves its room in doubt."""
    found = [
        Unseen(
            room=name,
            sentence=f"No photo shows {_the(name)}: what it needs is not known, so the cost ranges "
            "wider; look at it at the viewing.",
        )
        for name in unseen_rooms
    ]
    if listing.bedrooms is None and listing.photos:
        found.append(
            Unseen(
                room=WHOLE_HOME,
                sentence="The number of bedrooms is not known, so others may be unseen.",
            )
        )
    found += _same_picture_twice(photo_rooms, readings)
    found += [
        Unseen(
            room=photo_rooms.get(name, WHOLE_HOME),
            photographed=True,
            sentence=f"{name} is {' and '.join(poor)}: judge by the room itself at the viewing.",
        )
        for name, reading in readings.items()
        if (poor := _too_poor(reading))
    ]
    lost = [
        photo.name
        for photo in listing.photos
        if photo.name not in photo_rooms
        and photo.name in readings
        and readings[photo.name].error is None
    ]
    if lost:
        shown = ", ".join(lost[:3]) + (" …" if len(lost) > 3 else "")
        found.append(
            Unseen(
                room=WHOLE_HOME,
                sentence=f"Which room {_photos_show(len(lost))} could not be told ({shown}): put "
                "the room into the file's name, as in “bedroom 2.jpg”.",
            )
        )
    return tuple(found)


def _the(name: str) -> str:
    return name if name[-1].isdigit() else f"the {name}"


def _too_poor(reading: Reading) -> list[str]:
    """Reasons that leave little to judge by; a watermark or a slight tilt is not one of them."""
    reasons = reading.trust.reasons if reading.trust else ()
    return [reason for reason in reasons if reason.startswith(("blurred", "small"))]


def _same_picture_twice(
    photo_rooms: Mapping[str, str], readings: Mapping[str, Reading]
) -> list[Unseen]:
    """One picture under the names of two rooms shows only one of them."""
    found = []
    for twins in group_duplicates(list(readings.values())):
        rooms = list(dict.fromkeys(photo_rooms[name] for name in twins if name in photo_rooms))
        if len(rooms) > 1:
            found.append(
                Unseen(
                    room=rooms[0],
                    photographed=True,
                    sentence=f"{' and '.join(twins[:3])} are one picture under the names of "
                    f"{' and '.join(rooms)}: only one of these rooms is seen.",
                )
            )
    return found


def _photos_show(count: int) -> str:
    return "1 photo shows" if count == 1 else f"{count} photos show"
