"""A folder of homes turned into listings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from scorer.errors import InputError
from scorer.listing.fields import Cells, nested_rows, read_facts, read_room
from scorer.listing.headings import heading_problems
from scorer.listing.home_table import beside_homes, columns_of, no_row, rows_by_home, table_of_homes
from scorer.listing.layout import (
    TABLES,
    check_one_home,
    entries_of,
    facts_file,
    homes_inside,
    look_alike,
    not_read,
    several_homes,
)
from scorer.listing.listing import Listing, Problem
from scorer.listing.media import is_visible, natural_key, photos_of, picture_files
from scorer.listing.room_words import RoomWord, from_lookup, from_name
from scorer.listing.tables import Row, read_rows
from scorer.rooms import Room, RoomKind

MEDIA, ROOMS = {"media", "photos"}, {"propertyrooms", "rooms"}
SIDE_TABLES = {"media": "media.csv", "room": "rooms.csv"}
MOST_BYTES_BESIDE = 5_000_000
"""A CSV of any other name beside a home is looked into up to this size: 25,000 homes or so."""


def read_homes(folder: Path | str) -> tuple[tuple[Listing, ...], tuple[Problem, ...]]:
    """Read every home of a folder; no photo is opened.

    Each sub-folder is a home: its photos, and optionally ``listing.json``, ``.toml`` or ``.csv``,
    ``media.csv`` and ``rooms.csv``. One table ``listings.csv`` (or ``.json``, ``.toml``, or the one
    CSV that has a ``ListingId`` column) may hold the facts of all homes; its rows belong to the
    sub-folder named as their ``ListingId``. A folder that itself holds photos and no sub-folders,
    or a listing file, is one home. Names inside data files never lead out of a home's folder.

    Parameters
    ----------
    folder
        Where the homes are.

    Returns
    -------
    listings
        By natural order of the homes' names.
    problems
        Sentences that name file, row and field of whatever could not be used.

    Raises
    ------
    InputError
        If the folder is missing or holds no home.
    """
    listings: list[Listing] = []
    problems: list[Problem] = []
    for listing, found in each_home(folder):
        problems += found
        if listing is not None:
            listings.append(listing)
    return tuple(sorted(listings, key=lambda home: natural_key(home.home))), tuple(problems)


def each_home(folder: Path | str) -> Iterator[tuple[Listing | None, list[Problem]]]:
    """As :func:`read_homes`, a home at a time, so that thousands need no memory.

    Yields
    ------
    listing, problems
        Each home with its sentences; None with those of the whole folder. Homes that only a table
        speaks of come last.
    """
    folder = Path(folder)
    if not folder.is_dir():
        what = "is not a folder" if folder.exists() else "does not exist"
        raise InputError(f"{folder}: this {what}; give the folder that holds the homes.")
    try:
        entries = sorted(filter(is_visible, folder.iterdir()), key=lambda p: natural_key(p.name))
    except OSError as error:
        raise InputError(f"{folder}: cannot be opened ({error.strerror}).") from None
    homes = [path for path in entries if path.is_dir()]
    problems: list[Problem] = []
    table = table_of_homes(entries, bool(homes), problems)
    loose, _ = picture_files(folder, depth=1)
    own = facts_file(entries)
    if table is None and ((own and not homes_inside(folder)) or (loose and not homes)):
        yield read_home(folder, name=folder.resolve().name or "home")
        return
    sentences = not_read(entries, "", home=False, any_workbook=table is None)
    if own and table is None:
        sentences.append(beside_homes(own.name, own.suffix))
    if loose and homes:
        sentences.append(
            f"{loose[0].name}: 1 photo lies beside the homes' folders and belongs to no home; "
            "put it into a home's folder."
            if len(loose) == 1
            else f"{loose[0].name}: {len(loose)} photos lie beside the homes' folders "
            "and belong to no home; put them into a home's folder."
        )
    homes, wrong = _single_homes(homes)
    problems += [Problem(home=None, sentence=sentence) for sentence in [*sentences, *wrong]]
    rows = rows_by_home(table, [path.name for path in homes], problems) if table else {}
    if not homes and not rows:
        raise InputError(
            f"{folder}: no home was found; put each home's photos into a sub-folder of its own"
            + (f" ({problems[0].sentence})" if problems else ".")
        )
    names = [*(path.name for path in homes), *(n for n in rows if not (folder / n).is_dir())]
    problems += [Problem(home=None, sentence=sentence) for sentence in look_alike(names)]
    yield None, problems
    for path in homes:
        yield _home(path, row=rows.pop(path.name, None))
    for name, cells in rows.items():
        yield _without_folder(name, cells)


def _single_homes(homes: list[Path]) -> tuple[list[Path], list[str]]:
    """Folders that are one home each, and sentences about those that hold several.

    Raises
    ------
    InputError
        If there is nothing but such a folder.
    """
    several = {path: found for path in homes if (found := homes_inside(path))}
    single = [path for path in homes if path not in several]
    wrong = [several_homes(*found) for found in several.values()]
    if wrong and not any(facts_file(entries_of(p)) or any(picture_files(p)) for p in single):
        raise InputError(" ".join(wrong))
    return single, wrong


def read_home(
    folder: Path, name: str | None = None, row: Cells | None = None
) -> tuple[Listing, list[Problem]]:
    """Read one home's folder; ``row`` is its row of a table for all homes.

    The home's own file outranks the table, fact by fact.

    Raises
    ------
    InputError
        If the folder holds several homes.
    """
    check_one_home(folder)
    return _home(folder, name, row)


def row_beside(folder: Path) -> Cells | None:
    """A home's row of the table of all homes that lies beside its folder; None if there is none.

    What is wrong with the table, or with rows of other homes, is told where all of them are read.
    """
    folder = folder.resolve()
    try:
        entries = [path for path in folder.parent.iterdir() if _may_be_table(path)]
    except OSError:
        return None
    told: list[Problem] = []
    table = table_of_homes(entries, True, told) if entries else None
    return rows_by_home(table, [folder.name], told).get(folder.name) if table else None


def _may_be_table(path: Path) -> bool:
    """Whether to look into a file beside a home: the folder above may be anything."""
    if not is_visible(path) or not path.is_file():
        return False
    by_name = path.name.lower() in TABLES
    return by_name or (path.suffix.lower() == ".csv" and path.stat().st_size <= MOST_BYTES_BESIDE)


def _home(
    folder: Path, name: str | None = None, row: Cells | None = None
) -> tuple[Listing, list[Problem]]:
    home = (name or folder.name)[:200]
    sentences: list[str] = []
    facts: dict[str, Any] = {}
    nested: list[Row] = []
    media: list[Row] = []
    entries = entries_of(folder)
    for cells in [_own_cells(facts_file(entries), home, sentences), row]:
        if cells is None:
            continue
        found = read_facts(cells)
        other = {**found.pop("other"), **facts.get("other", {})}
        facts = {**found, **facts, "other": other}
        media = media or _nested(cells, "media", MEDIA, sentences)
        nested = nested or _nested(cells, "room", ROOMS, sentences)
        sentences += cells.problems
    media += _side_rows(folder, "media", home, sentences)
    nested += _side_rows(folder, "room", home, sentences)
    sentences += not_read(entries, home, home=True)
    photos, found_problems = photos_of(folder, media, home)
    sentences += found_problems
    rooms = _rooms(nested, sentences)
    if not photos:
        sentences.append(f"{home}: no photo was found; everything in this home is unseen.")
    listing = Listing(home=home, rooms=rooms, photos=tuple(photos), **facts)
    return listing, [Problem(home=home, sentence=sentence) for sentence in sentences]


def _own_cells(path: Path | None, home: str, sentences: list[str]) -> Cells | None:
    if path is None:
        return None
    shown = f"{home}/{path.name}"
    try:
        rows, problems = read_rows(path, shown)
    except InputError as error:
        sentences.append(str(error))
        return None
    sentences += problems
    if len(rows) > 1:
        sentences.append(
            f"{shown}: {len(rows)} records, but the file in a home's folder holds that home only; "
            "the first one was used."
        )
    if not rows and not problems:
        sentences.append(no_row(shown))
    sentences += heading_problems("home", columns_of(rows[:1]), shown, all_unknown=True)
    return Cells(rows[0], "home") if rows else None


def _nested(cells: Cells, kind: str, keys: set[str], sentences: list[str]) -> list[Row]:
    rows = nested_rows(cells, keys)
    if rows:
        sentences += heading_problems(kind, columns_of(rows), rows[0].place.rpartition(" ")[0])
    return rows


def _side_rows(folder: Path, kind: str, home: str, sentences: list[str]) -> list[Row]:
    name = SIDE_TABLES[kind]
    path = folder / name
    if not path.is_file():
        return []
    try:
        rows, problems = read_rows(path, f"{home}/{name}")
    except InputError as error:
        sentences.append(str(error))
        return []
    sentences += [*problems, *heading_problems(kind, columns_of(rows), f"{home}/{name}")]
    return rows


def _without_folder(name: str, cells: Cells) -> tuple[Listing, list[Problem]]:
    facts = read_facts(cells)
    sentences: list[str] = []
    nested = _nested(cells, "room", ROOMS, sentences)
    sentences += cells.problems
    rooms = _rooms(nested, sentences)
    sentences.append(
        f"{name}: no folder of this name holds photos; everything in this home is unseen."
    )
    listing = Listing(home=name, rooms=rooms, **facts)
    return listing, [Problem(home=name, sentence=sentence) for sentence in sentences]


def _rooms(rows: list[Row], sentences: list[str]) -> tuple[Room, ...]:
    """Rooms of ``PropertyRooms`` rows, each with a name unique within the home."""
    rooms: dict[str, Room] = {}
    counts: dict[str, int] = {}
    for row in rows:
        cells = Cells(row, "room")
        key = next((k for k in ("roomtype", "room", "roomname") if cells.text(k)), None)
        if key is None:
            sentences.append(f"{cells.place}: RoomType is missing; the room was left out.")
            continue
        word = from_lookup(cells.text(key)) or from_name(cells.text(key))
        if word is None:
            cells.wrong(key, "is no kind of room that is known", "the room was left out")
            sentences += cells.problems
            continue
        name = _room_name(word, counts, rooms)
        size = read_room(cells)
        sentences += cells.problems
        if name in rooms:
            sentences.append(f"{cells.place}: {name} was given before; this row was left out.")
            continue
        rooms[name] = Room(name=name, kind=word.kind, **size)
    return tuple(rooms.values())


def _room_name(word: RoomWord, counts: dict[str, int], taken: dict[str, Room]) -> str:
    """``bedroom 2``; bedrooms and bathrooms are always numbered, other rooms from the second on."""
    if word.number is not None:
        counts[word.name] = max(counts.get(word.name, 0), word.number)
        always = word.kind in {RoomKind.BEDROOM, RoomKind.BATHROOM}
        return word.name if word.number == 1 and not always else f"{word.name} {word.number}"
    counts[word.name] = counts.get(word.name, 0) + 1
    if word.kind in {RoomKind.BEDROOM, RoomKind.BATHROOM} or counts[word.name] > 1:
        return f"{word.name} {counts[word.name]}"
    return word.name
