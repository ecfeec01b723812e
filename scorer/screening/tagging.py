"""Add a row to a home's ``tags.csv``, after a look whether the room and the condition fit."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from scorer.conditions.data_file import guarded_text
from scorer.conditions.finding import Tag
from scorer.conditions.findings import belongs_elsewhere
from scorer.errors import InputError
from scorer.listing.folder import read_home, row_beside
from scorer.listing.listing import Listing
from scorer.listing.room_words import first_words, from_name, is_bare
from scorer.listing.values import plain
from scorer.photos.reading import Reading
from scorer.rooms import Room, RoomKind
from scorer.screening.folder import readings_of
from scorer.screening.rooms import rooms_of
from scorer.screening.tags import (
    FIELDS,
    FILE,
    NEAR_ROOM,
    find_condition,
    match_rooms,
    nearest,
    read_tags,
    room_name,
)

if TYPE_CHECKING:
    from scorer.screening.cache import ReadingCache

WORDS_FOR_ROOMS = ("dining room", "family room", "office", "closet", "back", "garage", "porch")
"""Rooms that a kind of room stands for, beside the kinds themselves."""


def append_tag(
    folder: Path, tag: Tag, *, new_room: bool = False, cache: ReadingCache | None = None
) -> Tag:
    """Add one row to a home's ``tags.csv``; what stands there is left as it is.

    Parameters
    ----------
    new_room
        The home may lack the room so far: it has one more than facts, photos and tags say.
    cache
        Readings made before. Photos are looked at only where a room is not known without them.

    Returns
    -------
    Tag
        As it was written: with the room's full name, the condition's id and the time.

    Raises
    ------
    InputError
        If the home has no such room, the condition is not known or does not belong to the kind of
        room, or the file cannot be written.
    """
    if not folder.is_dir():
        raise InputError(f"{folder}: there is no such folder; give the folder of one home.")
    condition = find_condition(tag.condition)
    room, others = _room_of(folder, tag, new_room, cache)
    if room.kind not in condition.room_kinds:
        fitting = [other.name for other in others if other.kind in condition.room_kinds]
        there = "no such room is known here" if not fitting else "tag it there"
        if 0 < len(fitting) <= 3:
            there = f"tag it in {' or '.join(fitting)}"
        raise InputError(f"{belongs_elsewhere(condition, room.name)}; {there}.")
    tag = tag.model_copy(
        update={
            "room": room.name,
            "condition": condition.id,
            "tagged_at": tag.tagged_at or datetime.now(UTC).isoformat(timespec="seconds"),
        }
    )
    path = folder / FILE
    values = {
        "room": tag.room,
        "condition": tag.condition,
        "severity": str(tag.severity),
        "note": guarded_text(tag.note),
        "present": "yes" if tag.present else "no",
        "tagged_at": tag.tagged_at,
    }
    try:
        header, delimiter, needs_break = _header(path)
        text = io.StringIO(newline="")
        writer = csv.writer(text, delimiter=delimiter, lineterminator="\n")
        if not header:
            header = list(FIELDS)
            writer.writerow(header)
        elif needs_break:
            text.write("\n")
        known = {plain(name): name for name in FIELDS}
        writer.writerow([values.get(known.get(plain(name), ""), "") for name in header])
        with path.open("a", encoding="utf-8", newline="") as file:
            file.write(text.getvalue())
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror or error}).") from None
    return tag


def _room_of(
    folder: Path, tag: Tag, new_room: bool, cache: ReadingCache | None
) -> tuple[Room, tuple[Room, ...]]:
    """The room that a tag means, and all rooms of the home."""
    wanted = room_name(tag.room)
    tag = tag.model_copy(update={"room": wanted})
    earlier, _ = read_tags(folder)
    word = from_name(wanted)
    # Another kind of room than those known may be there, and is not a slip of the pen.
    may_be_new = word is not None and (new_room or is_bare(wanted))
    rooms: tuple[Room, ...] = ()
    for listing, with_photos in _listings(folder):
        readings: tuple[Reading, ...] = ()
        if with_photos:
            ((_, readings),) = readings_of([listing], cache=cache, isolate=True)
        rooms = rooms_of(listing, readings, earlier).rooms
        every = rooms_of(listing, readings, [*earlier, tag]).rooms if may_be_new else rooms
        matched, _ = match_rooms([tag], every)
        if matched:
            return next(room for room in every if room.name == matched[0].room), rooms
    names = [room.name for room in rooms]
    hint = "" if word is not None else _did_you_mean(wanted, names)
    more = "; if it has one room more, add --new-room." if word is not None else "."
    raise InputError(
        f"{folder.resolve().name} has no room “{tag.room[:60]}”; {hint}"
        f"{'I' if hint else 'i'}ts rooms are {', '.join(names)}{more}"
    )


def _listings(folder: Path) -> Iterator[tuple[Listing, bool]]:
    """What is known of the home, and whether to look at its photos: first what costs little."""
    listing, _ = read_home(folder, row=row_beside(folder))
    yield listing, False
    if listing.photos:
        yield listing, True


def _did_you_mean(wanted: str, names: Sequence[str]) -> str:
    """The rooms of the home, and other words for a room, that a mistyped one comes near to."""
    known = {first_words(name) for name in names}
    others = (*(kind.words for kind in RoomKind), *WORDS_FOR_ROOMS)
    candidates = (*names, *(word for word in others if word not in known))
    near = nearest(wanted, candidates, NEAR_ROOM)[:2]
    return f"did you mean {' or '.join(near)}? " if near else ""


def _header(path: Path) -> tuple[list[str], str, bool]:
    """Field names of the file, its delimiter, and whether its last line lacks an end."""
    if not path.is_file() or path.stat().st_size == 0:
        return [], ",", False
    raw = path.read_bytes()
    first = raw.decode("utf-8-sig", errors="replace").splitlines()[0]
    delimiter = max((",", ";", "\t"), key=first.count)
    header = next(csv.reader([first], delimiter=delimiter), [])
    if not {"room", "condition"} <= {plain(name) for name in header}:
        raise InputError(f"{path}: the first row must name the fields {', '.join(FIELDS)}.")
    return header, delimiter, not raw.endswith((b"\n", b"\r"))
