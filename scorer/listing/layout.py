"""How a folder of homes is laid out: folders that hold homes, and what lies where it isn't read."""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePath

from scorer.errors import InputError
from scorer.listing.media import DEEPEST_FOLDER, PHOTO_ENDINGS, is_visible, natural_key

ENDINGS = (".json", ".toml", ".csv")
TABLES = tuple(f"listings{ending}" for ending in ENDINGS)
FACTS = tuple(f"listing{ending}" for ending in ENDINGS)
WORKBOOKS = {".xlsx", ".xls", ".xlsm", ".ods", ".numbers"}
PACKED = {".zip", ".rar", ".7z"}
_UNIT = re.compile(r"(?i)(unit|apt|apartment|flat)[^a-z]")
_READ_AS_CSV = {"listing", "listings", "media", "rooms", "tags"}


def entries_of(folder: Path) -> list[Path]:
    """What is in a folder, by natural order; nothing where it cannot be opened."""
    try:
        return sorted(filter(is_visible, folder.iterdir()), key=lambda p: natural_key(p.name))
    except OSError:
        return []


def homes_inside(folder: Path, depth: int = DEEPEST_FOLDER) -> tuple[Path, list[Path]] | None:
    """The folder that holds several homes, be it ``folder`` or one inside it, and those homes.

    Two or more sub-folders with a listing file of their own make a folder of homes, or a table of
    all homes beside two or more sub-folders. None where ``folder`` may well be one home.
    """
    inner = _folders(folder)
    if len(inner) > 1:
        if any((folder / name).is_file() for name in TABLES):
            return folder, inner
        homes = [path for path in inner if not _UNIT.match(path.name) and _has_facts(path)]
        if len(homes) > 1:
            return folder, homes
    if depth > 1:
        for path in inner:
            if found := homes_inside(path, depth - 1):
                return found
    return None


def _folders(folder: Path) -> list[Path]:
    """Sub-folders by natural order, no links."""
    try:
        with os.scandir(folder) as entries:
            names = [entry.name for entry in entries if entry.is_dir(follow_symlinks=False)]
    except OSError:
        return []
    return [folder / name for name in sorted(names, key=natural_key) if is_visible(folder / name)]


def _has_facts(folder: Path) -> bool:
    return any((folder / name).is_file() for name in FACTS)


def facts_file(entries: Iterable[Path]) -> Path | None:
    """The listing file of one home."""
    names = {path.name.lower(): path for path in entries}
    return next((names[n] for n in FACTS if n in names and names[n].is_file()), None)


def check_one_home(folder: Path) -> None:
    """Refuse a folder of homes where one home is asked for.

    Raises
    ------
    InputError
        Naming the homes' folder and how to give it.
    """
    if found := homes_inside(folder):
        raise InputError(several_homes(*found))


def several_homes(place: Path, homes: Sequence[Path]) -> str:
    """The sentence about a folder of homes that was taken for one home."""
    shown = shlex.quote(str(place))
    return (
        f"{place}: this folder holds {len(homes)} homes ({homes[0].name}, {homes[1].name} …), it "
        f"is not one home; rank them with value-add screen {shown}, or give the folders of single "
        f"homes, like {shlex.quote(str(homes[0]))}."
    )


def is_facts_workbook(path: PurePath) -> bool:
    """A workbook named as one of the tables that are read as CSV."""
    return path.suffix.lower() in WORKBOOKS and path.stem.strip().lower() in _READ_AS_CSV


def not_read(
    entries: Iterable[Path], shown: str, *, home: bool, any_workbook: bool = False
) -> list[str]:
    """A sentence for each packed file, workbook or misnamed table that is passed over.

    Parameters
    ----------
    entries
        What lies in the folder.
    shown
        The folder in sentences; empty for the one given.
    home
        It is a home's folder, not the folder of all homes; a workbook beside its listing file
        needs no word.
    any_workbook
        Tell of workbooks of any name.
    """
    sentences = []
    entries = list(entries)
    told = facts_file(entries) is not None
    where = "this home's folder" if home else "a sub-folder for each home"
    stem = "listing" if home else "listings"
    for path in entries:
        if path.suffix.lower() in PHOTO_ENDINGS or not path.is_file():
            continue
        name = f"{shown}/{path.name}" if shown else path.name
        ending = path.suffix.lower()
        kind = path.stem.strip().lower()
        if ending in PACKED:
            sentences.append(f"{name}: a packed file is not opened here; unpack it into {where}.")
        elif is_facts_workbook(path) or (ending in WORKBOOKS and any_workbook):
            if home and told and kind.startswith("listing"):
                continue  # what the listing file was saved from
            to = kind if kind in {"media", "rooms", "tags"} else stem
            sentences.append(
                f"{name}: a workbook is not read; open it and save its sheet as CSV, as {to}.csv."
            )
        elif home and path.name.lower() in TABLES:
            sentences.append(
                f"{name}: a table of all homes belongs beside the homes' folders, so it was not "
                f"used; if it holds this home only, name it {stem}{ending}."
            )
    return sentences


_SHORT = {
    "rd": "road", "st": "street", "str": "street", "ave": "avenue", "av": "avenue", "ln": "lane",
    "dr": "drive", "ct": "court", "pl": "place", "blvd": "boulevard", "hwy": "highway",
    "pkwy": "parkway", "ter": "terrace", "cir": "circle", "sq": "square", "trl": "trail",
    "n": "north", "s": "south", "e": "east", "w": "west", "apt": "apartment",
}  # fmt: skip
"""Street suffixes and directions as in USPS Publication 28, appendices B and C1, from memory."""


def address_key(name: str) -> str:
    """The words of an address in order, none shortened: the same for ``Maple Rd 14`` and
    ``14 maple road``."""
    words = re.findall(r"[^\W\d_]+|\d+", name.casefold())
    return " ".join(sorted(_SHORT.get(word, word) for word in words))


def look_alike(names: Iterable[str]) -> list[str]:
    """A sentence for homes whose names are one address in two spellings."""
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(address_key(name), []).append(name)
    return [
        f"{' and '.join(f'“{name}”' for name in group)} look like the same home but are kept "
        "apart; if they are one, put all photos and facts under one name."
        for key, group in groups.items()
        if key and len(group) > 1
    ]
