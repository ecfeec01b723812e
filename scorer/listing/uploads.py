"""Unpack what was dropped on the page: zips of homes, or the photos of one home."""

from __future__ import annotations

import io
import json
import re
import shutil
import struct
import unicodedata
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from scorer.errors import InputError
from scorer.listing.fields import Cells
from scorer.listing.home_table import (
    beside_homes,
    is_table,
    looks_like_table,
    misnamed,
    no_row,
    rows_by_home,
)
from scorer.listing.layout import (
    ENDINGS,
    FACTS,
    PACKED,
    TABLES,
    homes_inside,
    is_facts_workbook,
)
from scorer.listing.listing import Problem
from scorer.listing.media import DEEPEST_FOLDER
from scorer.listing.room_words import from_name
from scorer.listing.tables import Row, rows_of
from scorer.listing.values import as_text

MOST_FILES = 5_000
MOST_ENTRIES = 20_000
MOST_BYTES = 2_000_000_000
MOST_FILE_BYTES = 80_000_000
MOST_RATIO = 200.0
"""A photo hardly shrinks in a zip; what grows more than this is a trap."""

KEPT = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", *ENDINGS})
MOST_NAME_BYTES = 180
# Names that Windows keeps for devices, whatever ending follows.
_DEVICES = re.compile(r"(?i)(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)")
_GENERIC = {"photos", "photo", "pictures", "pics", "images", "media", "originals"}


class Unpacked(NamedTuple):
    """Where the homes lie, and a sentence for everything given that could not be used."""

    folder: Path
    problems: tuple[str, ...]


def unpack_homes(
    files: Sequence[tuple[str, bytes]], home: str, target: Path, scratch: Path
) -> Unpacked:
    """Write uploaded files into ``target``, one folder a home; all of them or none.

    Names from outside never become paths: each part is reduced to letters, digits, spaces, dots,
    dashes and underscores, and nothing is written outside ``target``. Two different photos never
    take each other's place, also not those of an earlier upload; a listing file takes the place of
    an earlier one.

    Parameters
    ----------
    files
        (name, content): zips with one folder a home, or the photos of one home at their top, which
        is then named as the zip; and single photos and listing files, which become one home. A
        ``listings.csv`` (``.json``, ``.toml``) beside a zip's folders is shared out: each home gets
        its own row.
    home
        Name of the home that single files belong to.
    target
        Where the homes stay.
    scratch
        An empty folder, for unpacking before anything is kept.

    Returns
    -------
    Unpacked
        ``target``, and a sentence for each row of a table, and each table, that was not used.

    Raises
    ------
    InputError
        For a zip that is broken, too large, holds too many files, names that lead elsewhere or
        links, or nothing that can be used; and where two homes or photos of one name differ.
    """
    total = count = 0
    written: dict[str, tuple[str, Path]] = {}
    homes: dict[str, tuple[str, str]] = {}
    problems: list[str] = []
    for name, content in files:
        for parts, inner in _contents(name, content, home, problems):
            total += len(inner)
            count += 1
            if count > MOST_FILES or total > MOST_BYTES:
                raise InputError(
                    f"{name}: more than {MOST_FILES:,} files or {MOST_BYTES / 1e9:.0f} GB came "
                    "at once; bring the homes in a few at a time."
                )
            _check_home(homes, parts[0], name)
            _write(scratch, parts, inner, name, written)
    if all(place.suffix.lower() in ENDINGS for _, place in written.values()):
        raise InputError("These files hold no photo that can be used (JPEG, PNG, WebP, HEIC).")
    _check_single_homes(written, scratch)
    _check_target(written, scratch, target)
    target.mkdir(parents=True, exist_ok=True)
    shutil.copytree(scratch, target, dirs_exist_ok=True)
    return Unpacked(target, tuple(problems))


def clean_name(name: str) -> str:
    """A name that is safe as one part of a path on every usual system."""
    last = unicodedata.normalize("NFC", name.replace("\\", "/")).rsplit("/", 1)[-1]
    kept = re.sub(r"[^\w .\-]", "_", last).strip(" .")
    while len(kept.encode("utf-8", "replace")) > MOST_NAME_BYTES:  # the ending must stay
        kept = kept[1:].strip(" .")
    return f"_{kept}" if _DEVICES.match(kept) else kept or "home"


def _contents(
    name: str, content: bytes, home: str, problems: list[str]
) -> Iterator[tuple[tuple[str, ...], bytes]]:
    """Home, path inside it and bytes of every file worth keeping."""
    if not name.lower().endswith(".zip"):
        if PurePosixPath(name).suffix.lower() in KEPT:
            if len(content) > MOST_FILE_BYTES:
                raise InputError(f"{name} is larger than {MOST_FILE_BYTES // 10**6} MB; shrink it.")
            yield (home, name), content
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = _entries(archive, name)
            table, entries = _table(entries, archive, name, problems)
            placed = _placed([parts for _, parts in entries], PurePosixPath(name).stem)
            for (entry, _), parts in zip(entries, placed, strict=True):
                yield parts, _read(archive, entry, name)
            yield from _shared_out(table, placed, problems)
    except InputError:
        raise
    except MemoryError as error:
        raise InputError(f"{name}: there is not enough memory to unpack it; split it.") from error
    except (zipfile.BadZipFile, zlib.error, OSError, RuntimeError, ValueError) as error:
        # what the reader of a damaged zip raises besides BadZipFile
        raise InputError(f"{name} can't be unpacked ({error}); pack it again.") from error
    except (EOFError, LookupError, ArithmeticError, struct.error) as error:
        raise InputError(f"{name} can't be unpacked; pack it again as a plain zip.") from error


def _entries(archive: zipfile.ZipFile, name: str) -> list[tuple[zipfile.ZipInfo, tuple[str, ...]]]:
    """Entries worth unpacking with their path parts; folders, hidden and other files left out."""
    entries = archive.infolist()
    if len(entries) > MOST_ENTRIES:
        raise InputError(f"{name} holds more than {MOST_ENTRIES:,} entries; split it.")
    found = []
    _check_unread([entry.filename for entry in entries], name)
    for entry in entries:
        written = entry.filename.replace("\\", "/")
        raw = PurePosixPath(written)
        if ".." in raw.parts or raw.is_absolute() or re.match(r"[A-Za-z]:", written):
            raise InputError(
                f"{name}: the entry {entry.filename[:200]} leads out of the zip's own folder, so "
                "nothing of the zip was used; pack the homes' folders again."
            )
        if (entry.external_attr >> 16) & 0o170000 == 0o120000:
            raise InputError(
                f"{name}: the entry {entry.filename[:200]} is a link, so nothing of the zip was "
                "used; pack the photos themselves."
            )
        hidden = any(part.startswith((".", "__MACOSX")) for part in raw.parts)
        if not raw.name or written.endswith("/") or hidden or raw.suffix.lower() not in KEPT:
            continue
        _check_entry(entry, raw.name, name)
        found.append((entry, raw.parts))
    return found


def _check_unread(entries: Sequence[str], name: str) -> None:
    """Facts and photos in files that are not opened must not be lost without a word."""
    places = {PurePosixPath(entry.replace("\\", "/")) for entry in entries}
    seen = [place for place in sorted(places) if not set(place.parts) & {"__MACOSX"}]
    for place in seen:
        shown = place.as_posix()[-200:]
        if place.suffix.lower() in PACKED and not place.name.startswith("."):
            raise InputError(f"{name}: {shown} is a packed file inside it; unpack that one first.")
        if is_facts_workbook(place) and not places & {place.with_suffix(e) for e in ENDINGS}:
            raise InputError(
                f"{name}: {shown} is a workbook, which is not read; save its sheet as "
                f"{place.stem}.csv in its place, or take it out, and pack the homes again."
            )


def _check_entry(entry: zipfile.ZipInfo, shown: str, name: str) -> None:
    # Only deflate is unpacked in bounded steps; other methods could fill the memory at once.
    if entry.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        raise InputError(f"{name}: {shown} is packed in an unusual way; pack it as a plain zip.")
    if entry.file_size > MOST_FILE_BYTES:
        most = MOST_FILE_BYTES // 10**6
        raise InputError(f"{name}: {shown} is larger than {most} MB; take it out.")
    is_photo = PurePosixPath(shown).suffix.lower() not in ENDINGS
    grows = entry.file_size > MOST_RATIO * max(entry.compress_size, 1)
    if grows and entry.file_size > (100_000 if is_photo else 10_000_000):
        raise InputError(f"{name}: {shown} grows too much on unpacking; take it out.")


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str) -> bytes:
    """No more than the size that the entry claims."""
    with archive.open(entry) as stream:
        content = stream.read(entry.file_size + 1)
    if len(content) != entry.file_size:
        raise InputError(
            f"{name}: {entry.filename} has another size than it claims; pack it again."
        )
    return content


def _placed(paths: Sequence[tuple[str, ...]], stem: str) -> list[tuple[str, ...]]:
    """(home, path inside it) for every path of a zip.

    Folders that wrap everything are passed over; a folder ``photos``, or folders named as rooms,
    belong to the home that they lie in.
    """
    wrap = _shared_folders(paths)
    rest = [path[len(wrap) :] for path in paths]
    inner = {path[0] for path in rest if len(path) > 1}
    while wrap and wrap[-1].casefold() in _GENERIC:
        wrap = wrap[:-1]
    if all(_is_part(folder) for folder in inner):
        name = wrap[-1] if wrap else stem
        return [(name, *path[-DEEPEST_FOLDER:]) for path in rest]
    return [
        (path[0], *path[1:][-DEEPEST_FOLDER:]) if len(path) > 1 else (stem, *path) for path in rest
    ]


def _shared_folders(paths: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """The folders that all paths begin with."""
    first, last = min(paths, default=()), max(paths, default=())
    least = min((len(path) for path in paths), default=1) - 1
    same = next((at for at in range(least) if first[at] != last[at]), least)
    return first[:same]


def _is_part(folder: str) -> bool:
    """Whether a folder is a part of a home: ``photos``, ``kitchen``, ``Bedroom 2``."""
    if folder.casefold() in _GENERIC:
        return True
    words = re.fullmatch(r"[A-Za-z]+([ _-]?[A-Za-z]+)?[ _-]?[0-9]{0,2}", folder)
    return words is not None and from_name(folder) is not None


def _table(
    entries: list[tuple[zipfile.ZipInfo, tuple[str, ...]]],
    archive: zipfile.ZipFile,
    name: str,
    problems: list[str],
) -> tuple[list[Row] | None, list[tuple[zipfile.ZipInfo, tuple[str, ...]]]]:
    """Rows of the table of all homes, if the zip has one above the homes, and the other entries.

    Other tables above the homes (rents that were collected) are left out, and said.
    """
    depth = len(_shared_folders([parts for _, parts in entries]))
    top = [entry for entry in entries if len(entry[1]) == depth + 1]
    facts = {e[1][-1]: e for e in top if PurePosixPath(e[1][-1]).suffix.lower() in ENDINGS}
    inner = [entry for entry in entries if entry not in top]
    # Photos at the top, or folders named as rooms, make the zip one home, and the facts its own.
    several = len(facts) == len(top) and not all(_is_part(e[1][depth]) for e in inner)
    rows: list[Row] | None = None
    for file, entry in facts.items():
        if file.lower() in TABLES:
            rows, sentences = rows_of(_read(archive, entry[0], name), f"{name}/{file}")
            problems += sentences or ([] if rows else [no_row(f"{name}/{file}")])
            problems += [_aside(name, other) for other in facts if several and other != file]
            return rows, inner if several else [e for e in entries if e is not entry]
    if not several:
        return None, entries
    for file, entry in facts.items():
        found: list[Row] = []
        sentences = []
        with suppress(InputError):
            found, sentences = rows_of(_read(archive, entry[0], name), f"{name}/{file}")
        if rows is None and file.lower().endswith(".csv") and is_table(file, found):
            rows = found
            problems += sentences
        elif file.lower() in FACTS:
            raise InputError(beside_homes(f"{name}: {file}", PurePosixPath(file).suffix))
        elif file.lower().endswith(".csv") and looks_like_table(found):
            raise InputError(misnamed(f"{name}: {file}"))
        else:
            problems.append(_aside(name, file))
    return rows, inner


def _aside(name: str, file: str) -> str:
    return (
        f"{name}: {file} lies beside the homes' folders and was not used; if it holds comparable "
        "rents, bring it in on the page Shortlist."
    )


def _shared_out(
    table: list[Row] | None, placed: Sequence[tuple[str, ...]], problems: list[str]
) -> Iterator[tuple[tuple[str, ...], bytes]]:
    """A ``listing.json`` for every row of the table; a home's own listing file outranks it."""
    if table is None:
        return
    names = dict.fromkeys(parts[0] for parts in placed)
    done = {parts[0] for parts in placed if parts[1].lower() in FACTS}
    if len(table) == len(names) == 1:
        found = {next(iter(names)): Cells(table[0], "home")}
    else:
        told: list[Problem] = []
        found = rows_by_home(table, names, told)
        problems += [problem.sentence for problem in told]
    for home, cells in found.items():
        if home not in done:
            values = {str(key): as_text(value) for key, value in cells.row.values.items()}
            yield (home, "listing.json"), json.dumps(values).encode("utf-8", "replace")


def _check_home(homes: dict[str, tuple[str, str]], home: str, name: str) -> None:
    """Two homes must not become one silently, be they in one zip or in two."""
    source = name if name.lower().endswith(".zip") else ""
    before, other = homes.setdefault(clean_name(home).casefold(), (home, source))
    if other != source:
        raise InputError(
            f"{name}: the home {home} is in {other or 'the single files'} as well; if it is one "
            "home, pack it into one zip, else rename one of the two folders."
        )
    if before != home:
        raise InputError(
            f"{name}: the homes {before} and {home} would get the same name; rename one folder."
        )


def _check_single_homes(written: dict[str, tuple[str, Path]], scratch: Path) -> None:
    """A folder that holds homes must not become one home."""
    tops = {place.relative_to(scratch).parts[0]: name for name, place in written.values()}
    for top, name in tops.items():
        if found := homes_inside(scratch / top):
            where = found[0].relative_to(scratch).as_posix()
            raise InputError(
                f"{name}: its folder {where} holds {len(found[1])} homes, not one; pack that "
                "folder alone."
            )


def _write(
    scratch: Path,
    parts: tuple[str, ...],
    content: bytes,
    name: str,
    written: dict[str, tuple[str, Path]],
) -> None:
    """Write one file; a second one of the same name in the same home is numbered."""
    clean = [clean_name(part) for part in parts]
    place = scratch.joinpath(*clean)
    key, number = "/".join(clean).casefold(), 1
    while key in written:
        if written[key][1].read_bytes() == content:
            return
        if place.suffix.lower() in ENDINGS:
            raise InputError(
                f"{name}: {parts[0]} holds two different files {parts[-1]}; take one out."
            )
        number += 1
        place = scratch.joinpath(*clean)
        place = place.with_name(f"{place.stem} ({number}){place.suffix}")
        key = place.relative_to(scratch).as_posix().casefold()
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(content)
    except OSError as error:
        raise InputError(
            f"{name}: {'/'.join(parts)[-200:]} can't be written ({error.strerror}); rename it, or "
            "make room on the disk."
        ) from error
    written[key] = (name, place)


def _check_target(written: dict[str, tuple[str, Path]], scratch: Path, target: Path) -> None:
    """A photo that is there already under this name must be the same one."""
    for name, place in written.values():
        inside = place.relative_to(scratch)
        there = target / inside
        if place.suffix.lower() in ENDINGS or not there.is_file():
            continue
        if there.stat().st_size != place.stat().st_size or there.read_bytes() != place.read_bytes():
            raise InputError(
                f"{name}: {inside.parts[0]} holds another {'/'.join(inside.parts[1:])} from an "
                "earlier upload; rename this home's folder (or the photo, if it is the same home)."
            )
