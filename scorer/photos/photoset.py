"""The photos of one home taken together: what they repeat, what they leave out, what to look at."""

from __future__ import annotations

from collections.abc import Sequence

from scorer.listing.listing import Listing
from scorer.photos.likeness import group_duplicates
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.rooms import RoomKind

_SURE_ENOUGH = 0.5  # a room kind less likely than this does not count as shown


class UnseenRooms(Record):
    """Rooms of one kind that no photo shows.

    Attributes
    ----------
    promised
        How many the listing's facts speak of [count].
    shown
        The most that the photos can show: different photos of that kind [count].
    """

    kind: RoomKind
    promised: int
    shown: int

    @property
    def missing(self) -> int:
        return self.promised - self.shown


class DoubtfulPhoto(Record):
    """A photo that should be trusted less, and why, in plain words."""

    file: str
    reasons: tuple[str, ...]


class PhotoSet(Record):
    """What a home's photos say as a set.

    Attributes
    ----------
    duplicates
        Groups of files that show nearly the same picture (mirrored copies too).
    unseen
        Rooms that the facts promise and no photo shows. Unknown is not good.
    doubtful
        Photos that are unreadable, small, blurred, tilted or marked.
    look_at
        What to look at in the viewing because of it, most important first.
    """

    duplicates: tuple[tuple[str, ...], ...] = ()
    unseen: tuple[UnseenRooms, ...] = ()
    doubtful: tuple[DoubtfulPhoto, ...] = ()
    look_at: tuple[str, ...] = ()


def look_over(listing: Listing, readings: Sequence[Reading]) -> PhotoSet:
    """Judge a home's photos as a set.

    Parameters
    ----------
    listing
        The home's facts; bedrooms and bathrooms that are not known are counted as one each.
    readings
        One for each photo, in any order.
    """
    duplicates = group_duplicates(readings)
    repeated = {file for group in duplicates for file in group[1:]}
    different = [r for r in readings if r.file not in repeated]
    unseen = _unseen(listing, different)
    doubtful = _doubtful(readings)
    return PhotoSet(
        duplicates=duplicates,
        unseen=unseen,
        doubtful=doubtful,
        look_at=_look_at(unseen, doubtful, different, has_photos=bool(readings)),
    )


def _kinds(readings: Sequence[Reading]) -> list[str]:
    return [
        r.room.kind
        for r in readings
        if r.error is None and r.room is not None and r.room.probability >= _SURE_ENOUGH
    ]


def _unseen(listing: Listing, different: Sequence[Reading]) -> tuple[UnseenRooms, ...]:
    units = listing.units or 1
    promised = {
        RoomKind.KITCHEN: units,
        RoomKind.BATHROOM: units if listing.bathrooms is None else listing.bathrooms,
        RoomKind.BEDROOM: units if listing.bedrooms is None else listing.bedrooms,
        RoomKind.FRONT: 1,
    }
    kinds = _kinds(different)
    rows = [
        UnseenRooms(kind=kind, promised=count, shown=min(count, kinds.count(kind.value)))
        for kind, count in promised.items()
    ]
    return tuple(row for row in rows if row.missing > 0)


def _doubtful(readings: Sequence[Reading]) -> tuple[DoubtfulPhoto, ...]:
    rows = []
    for reading in readings:
        if reading.error is not None:
            rows.append(DoubtfulPhoto(file=reading.file, reasons=("could not be read",)))
        elif reading.trust is not None and reading.trust.reasons:
            rows.append(DoubtfulPhoto(file=reading.file, reasons=reading.trust.reasons))
    return tuple(rows)


def _look_at(
    unseen: Sequence[UnseenRooms],
    doubtful: Sequence[DoubtfulPhoto],
    different: Sequence[Reading],
    *,
    has_photos: bool,
) -> tuple[str, ...]:
    if not has_photos:
        return ("There are no photos: look at every room.",)
    lines = []
    for row in unseen:
        name = row.kind.label.lower()
        if row.kind is RoomKind.FRONT:
            lines.append("No photo shows the front: look at the outside, the roof and the street.")
        elif row.promised == 1 or row.shown == 0:
            every = f"the {name}" if row.promised == 1 else f"all {row.promised} {name}s"
            lines.append(f"No photo shows a {name}: look at {every}.")
        else:
            lines.append(
                f"The photos show {row.shown} of {row.promised} {name}s at most: look at the rest."
            )
    hard = [d.file for d in doubtful if set(d.reasons) & {"blurred", "could not be read"}]
    hard += [d.file for d in doubtful if any(r.startswith("small") for r in d.reasons)]
    if hard:
        lines.append(f"Hard to judge from the photo, look again on site: {_list(hard)}.")
    dark = [r.file for r in different if r.exposure is not None and r.exposure.kind == "dark"]
    if dark:
        lines.append(f"Photographed dark, so dirt and damage may be hidden: {_list(dark)}.")
    dim = [r.file for r in different if r.light is not None and r.light.kind == "dim"]
    dim = [file for file in dim if file not in dark]
    if dim:
        lines.append(f"Seem dim rooms: see them by day and with the lamps on: {_list(dim)}.")
    no_wall = [
        r.file
        for r in different
        if r.wall is not None and r.wall.tone is None and r.light is not None
    ]
    if no_wall:
        lines.append(f"Hardly any wall is in view, look at the walls on site: {_list(no_wall)}.")
    return tuple(lines)


def _list(files: Sequence[str], most: int = 4) -> str:
    unique = list(dict.fromkeys(files))
    shown = ", ".join(unique[:most])
    return shown if len(unique) <= most else f"{shown} and {len(unique) - most} more"
