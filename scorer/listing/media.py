"""The photos of one home's folder, in order, with what the listing's ``Media`` rows say of them."""

from __future__ import annotations

import re
from pathlib import Path, PurePosixPath
from typing import Any, Literal
from urllib.parse import unquote, urlsplit

from scorer.listing.fields import Cells
from scorer.listing.listing import PhotoFile
from scorer.listing.room_words import NOT_A_ROOM, RoomWord, from_lookup, from_name
from scorer.listing.tables import Row
from scorer.listing.values import as_number, plain

PHOTO_ENDINGS = {
    ".jpg",
    ".jpeg",
    ".jpe",
    ".png",
    ".webp",
    ".heic",
    ".heif",
    ".avif",
    ".tif",
    ".tiff",
    ".bmp",
    ".gif",
}
OTHER_PICTURES = {".raw", ".dng", ".cr2", ".cr3", ".nef", ".arw", ".svg", ".psd"}
MOST_PHOTOS = 500
DEEPEST_FOLDER = 3
NOT_AS_IT_IS = {
    "virtualrenovation": "was renovated on the computer",
    "virtualrepresentationtobebuilt": "shows a drawing of what may be built",
    "virtualrepresentationunderconstruction": "shows a drawing of what is being built",
    "modelhome": "shows a model home",
}
"""``MediaAlteration`` lookups whose pictures do not show this home as it is."""


def is_visible(path: Path) -> bool:
    """Neither hidden nor left behind by an unpacking program."""
    return not path.name.startswith((".", "__MACOSX", "~$"))


def natural_key(name: str) -> list[tuple[int, int, str]]:
    """Sort key under which ``photo 10`` comes after ``photo 2``."""
    parts = re.findall(r"[0-9]+|[^0-9]+", name.casefold())
    return [(0, int(p), "") if p.isdecimal() and p.isascii() else (1, 0, p) for p in parts]


def picture_files(folder: Path, depth: int = DEEPEST_FOLDER) -> tuple[list[Path], list[Path]]:
    """Photos under a folder, and pictures of kinds that cannot be read, in natural order."""
    photos: list[Path] = []
    others: list[Path] = []
    try:
        entries = sorted(folder.iterdir(), key=lambda p: natural_key(p.name))
    except OSError:
        return [], []
    for path in filter(is_visible, entries):
        ending = path.suffix.lower()
        if path.is_dir():
            if depth > 1 and not path.is_symlink():
                inner = picture_files(path, depth - 1)
                photos += inner[0]
                others += inner[1]
        elif ending in PHOTO_ENDINGS:
            photos.append(path)
        elif ending in OTHER_PICTURES:
            others.append(path)
    return photos, others


def inside(folder: Path, name: str) -> Path | None:
    """The file that a name inside ``folder`` stands for; None if the name leads out of it."""
    cleaned = name.replace("\\", "/")
    parts = PurePosixPath(cleaned).parts
    if not parts or cleaned.startswith("/") or "\0" in cleaned or re.match(r"[A-Za-z]:", cleaned):
        return None
    if any(part in {"..", "/"} for part in parts):
        return None
    return folder.joinpath(*parts)


def photos_of(folder: Path, media: list[Row], shown: str) -> tuple[list[PhotoFile], list[str]]:
    """Photos of one home.

    Parameters
    ----------
    folder
        The home's folder.
    media
        Rows of the RESO Media resource (``MediaURL``, ``ImageOf``, ``Order``,
        ``ShortDescription``, ``MediaCategory``, ``MediaAlteration``).
    shown
        The folder's name in sentences.

    Returns
    -------
    photos, problems
        Photos that have a row with an ``Order`` come first, the rest by name. Photos of floor
        plans, maps and views are left out; so are pictures that don't show the home as it is, with
        a sentence.
    """
    files, others = picture_files(folder)
    problems = [
        f"{shown}/{path.relative_to(folder).as_posix()}: a {path.suffix.lower()} picture cannot be "
        "read; save it as JPEG, PNG, WebP or HEIC."
        for path in others
    ]
    names = {path.relative_to(folder).as_posix(): path for path in files}
    found: dict[str, PhotoFile | None] = {}
    orders: dict[str, float] = {}
    for row in media:
        cells = Cells(row, "media")
        name = _named_file(cells, names, folder)
        if name is not None:
            order = cells.read("order", lambda v: as_number(v, low=0, high=1e6))
            if order is not None:
                orders[name] = order
            found[name] = _described(cells, name, names[name])
        problems += cells.problems
    photos = []
    for name in sorted(names, key=lambda n: (orders.get(n, float("inf")), natural_key(n))):
        photo = found[name] if name in found else _by_name(name, names[name])
        if photo is not None:
            photos.append(photo)
    if len(photos) > MOST_PHOTOS:
        problems.append(
            f"{shown}: {len(photos)} photos are more than the {MOST_PHOTOS} that a home may have; "
            "those at the end were left out."
        )
    return photos[:MOST_PHOTOS], problems


def _named_file(cells: Cells, names: dict[str, Path], folder: Path) -> str | None:
    """The photo that a Media row speaks of, by its name inside the home's folder."""
    key = next((k for k in ("mediaurl", "file", "filename", "photo") if cells.text(k)), None)
    if key is None:
        cells.problems.append(f"{cells.place}: MediaURL is missing; the row was left out.")
        return None
    written = cells.text(key)
    remote = re.match(r"(?i)https?://", written) is not None
    if remote:
        try:
            written = unquote(PurePosixPath(urlsplit(written).path).name)
        except ValueError:
            written = ""
        if written not in names:
            cells.wrong(
                key, "is on the web, and nothing is fetched (save the photo in the home's folder)"
            )
            return None
    path = inside(folder, written)
    if path is None:
        cells.wrong(key, "leads out of the home's folder")
        return None
    name = path.relative_to(folder).as_posix()
    if name not in names:
        folded = {known.casefold(): known for known in names}
        if name.casefold() not in folded:
            category = plain(cells.text("mediacategory"))
            if category in {"", "photo", "agentphoto"}:
                cells.wrong(key, "is not among the photos in the home's folder")
            return None
        name = folded[name.casefold()]
    return name


def _described(cells: Cells, name: str, path: Path) -> PhotoFile | None:
    if plain(cells.text("mediacategory")) not in {"", "photo", "agentphoto"}:
        return None
    alteration = next(
        (why for key, why in NOT_AS_IT_IS.items() if key in plain(cells.text("mediaalteration"))),
        None,
    )
    if alteration:
        cells.problems.append(
            f"{cells.place}: {name} {alteration} (MediaAlteration), so it was not read."
        )
        return None
    image_of = cells.text("imageof")
    if plain(image_of) in NOT_A_ROOM:
        return None
    room = from_lookup(image_of) if image_of else None
    if image_of and room is None:
        room = from_name(image_of)
    by_name = from_name(name)
    source: Literal["listing", "name"] = "listing"
    if room is None and plain(image_of) in {"", "other"}:
        room, source = by_name, "name"
    elif room is not None and by_name is not None and by_name.name == room.name:
        room = room._replace(number=room.number or by_name.number)
    return _photo(path, name, room, source, cells.text("shortdescription"))


def _by_name(name: str, path: Path) -> PhotoFile | None:
    stem = plain(PurePosixPath(name).stem)
    if "floorplan" in stem or "platmap" in stem:
        return None
    return _photo(path, name, from_name(name), "name")


def _photo(
    path: Path,
    name: str,
    room: RoomWord | None,
    source: Literal["listing", "name"],
    caption: str = "",
) -> PhotoFile:
    known: dict[str, Any] = {}
    if room is not None:
        known = {"room_kind": room.kind, "room_name": room.name, "room_number": room.number}
        known["kind_from"] = source
    return PhotoFile(path=str(path), name=name, caption=caption[:500], **known)
