"""Before and after: for each photo of finished work, the photo to put beside it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from scorer.errors import InputError
from scorer.photos.likeness import content_hash, hamming
from scorer.report.viewing import PairPicture
from scorer.store import TakenPhoto
from scorer.workspace.actuals import upgrade_label
from scorer.workspace.workspace import Screened, Workspace

SMALL_PX = 256
ANOTHER_ROOM = 1_000
A_CLOSE_UP = 100
ANOTHER_SHAPE = 32
"""Added to the number of bits in which two photos differ (0 to 64): a photo of the same room comes
before any other, a photo of the room before a close-up in it, and among these one that stands or
lies as the after photo does."""


class Shot(NamedTuple):
    """A photo that may be the one before."""

    name: str
    path: str
    room: str


class Pair(NamedTuple):
    """An after photo, the photos that may stand beside it, best guess first, and the one that does.

    ``before`` is None where the home has no other photo; ``guessed`` says that nobody chose it.
    """

    after: TakenPhoto
    choices: tuple[Shot, ...]
    before: Shot | None
    guessed: bool


def pairs_of(space: Workspace, item: Screened) -> tuple[Pair, ...]:
    """A pair for each after photo of a home, the latest first.

    The best guess is the photo of the same room whose coarse shapes are most alike (perceptual hash
    of :func:`scorer.photos.likeness.content_hash`, which fresh paint changes little).
    """
    home = item.home
    if all(photo.stage != "after" for photo in home.taken):
        return ()
    rooms = space.rooms(item).photo_rooms
    shots = [
        Shot(photo.name, photo.path, rooms.get(photo.name, ""))
        for photo in home.listing.photos
        if not space.shelf.is_broken(photo.path)  # it is never decoded here
    ]
    close_ups = set()
    for taken in home.taken:
        if taken.stage == "viewing":
            shots.append(Shot(taken.name, taken.path, taken.room))
            if taken.condition:
                close_ups.add(taken.name)

    def pair(after: TakenPhoto) -> Pair:
        def unlike(shot: Shot) -> int:
            apart = 0 if shot.room == after.room else ANOTHER_ROOM
            close = A_CLOSE_UP if shot.name in close_ups else 0
            return apart + close + _bits_apart(after.path, shot.path)

        choices = tuple(sorted(shots, key=unlike))
        chosen = next((shot for shot in choices if shot.name == after.before), None)
        best = choices[0] if choices else None
        return Pair(after, choices, chosen or best, chosen is None)

    return tuple(pair(photo) for photo in reversed(home.taken) if photo.stage == "after")


def words_of(after: TakenPhoto) -> str:
    """What a photo of finished work shows."""
    what = upgrade_label(after.upgrade) if after.upgrade else "the whole room"
    return f"{after.room.capitalize()}: {what}"


def printed_pairs(pairs: Sequence[Pair], width: int = 700) -> tuple[PairPicture, ...]:
    """Pairs as the report shows them, the first one first; what can't be read is left out."""
    found = []
    for pair in reversed(pairs):
        after = pair.after
        parts = (words_of(after), after.taken_at[:10], after.note)
        words = " · ".join(part for part in parts if part)
        guess = " (best guess)" if pair.guessed else ""
        for before in dict.fromkeys((pair.before, None)):  # alone, if the other can't be read
            told = "" if before is None else f"Before: {before.name}{guess}"
            try:
                pictures = _pictures(after.path, before, width)
            except (InputError, OSError):
                continue
            found.append(PairPicture(words, told, *pictures))
            break
    return tuple(found)


def _pictures(after: str, before: Shot | None, width: int) -> tuple[bytes | None, bytes]:
    from scorer.photos import thumbnail_jpeg

    if before is None:
        return None, thumbnail_jpeg(after, width)
    return pair_pictures(after, before.path, width)


def pair_pictures(after_path: str, before_path: str, width: int = 900) -> tuple[bytes, bytes]:
    """Both photos as JPEGs of one size without metadata, before and after.

    The photo before is cut to the shape of the one after, about its middle.

    Raises
    ------
    InputError
        If one of them can't be read.
    """
    from PIL import Image, ImageOps

    from scorer.photos import thumbnail_jpeg

    after = thumbnail_jpeg(after_path, width)
    with Image.open(io.BytesIO(after)) as image:
        size = image.size
    with Image.open(io.BytesIO(thumbnail_jpeg(before_path, 2 * width))) as image:
        fitted = ImageOps.fit(image.convert("RGB"), size, Image.Resampling.BILINEAR)
    out = io.BytesIO()
    fitted.save(out, "JPEG", quality=84)
    return out.getvalue(), after


def _bits_apart(first: str, second: str) -> int:
    one, two = _seen(first), _seen(second)
    if one is None or two is None:
        return A_CLOSE_UP - 1
    return hamming(one[0], two[0]) + (0 if one[1] == two[1] else ANOTHER_SHAPE)


def _seen(path: str) -> tuple[str, bool] | None:
    try:
        changed = Path(path).stat().st_mtime_ns
    except (OSError, ValueError):
        return None
    return _hash(path, changed)


@lru_cache(maxsize=5_000)
def _hash(path: str, changed: int) -> tuple[str, bool] | None:
    """Perceptual hash, and whether the photo stands upright; None if it can't be read."""
    from scorer.photos import load_photo

    try:
        rgb = load_photo(path, longest_px=SMALL_PX)
    except (InputError, OSError):
        return None
    return content_hash(rgb), rgb.shape[0] > rgb.shape[1]
