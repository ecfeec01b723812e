"""Unpack what was dropped on the page: zips of homes, or the photos of one home."""

from __future__ import annotations

import io
import re
import shutil
import zipfile
from collections.abc import Sequence
from pathlib import Path, PurePosixPath

from scorer.errors import InputError

MOST_FILES = 5_000
MOST_BYTES = 2_000_000_000
MOST_FILE_BYTES = 80_000_000
MOST_RATIO = 200.0
"""A photo hardly shrinks in a zip; what grows more than this is a trap."""

KEPT = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".json", ".csv", ".toml"})


def unpack_homes(
    files: Sequence[tuple[str, bytes]], home: str, target: Path, scratch: Path
) -> Path:
    """Write uploaded files into ``target``, one folder a home.

    Names from outside never become paths: each part is reduced to letters, digits, spaces, dots,
    dashes and underscores, and nothing is written outside ``target``.

    Parameters
    ----------
    files
        (name, content): zips with one folder a home (or the photos of one home at their top), and
        single photos and listing files, which become one home.
    home
        Name of the home that single files, and a zip without folders, belong to.
    target
        Where the homes stay.
    scratch
        An empty folder, for unpacking before anything is kept.

    Returns
    -------
    Path
        ``target``.

    Raises
    ------
    InputError
        For a zip that is broken, too large, too many files, or holds nothing that can be used.
    """
    count = 0
    total = 0
    for name, content in files:
        if not name.lower().endswith(".zip"):
            count += _write(scratch, (home, name), content)
            continue
        try:
            with zipfile.ZipFile(io.BytesIO(content)) as archive:
                for entry, parts in _entries(archive, name):
                    total += entry.file_size
                    if count >= MOST_FILES or total > MOST_BYTES:
                        raise InputError(
                            f"{name} holds more than {MOST_FILES:,} files or 2 GB; split it."
                        )
                    inside = parts if len(parts) > 1 else (home, *parts)
                    count += _write(scratch, inside[-2:], _read(archive, entry, name))
        except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError) as error:
            raise InputError(f"{name} can't be unpacked ({error}); pack it again.") from error
    if count == 0:
        raise InputError("These files hold no photo that can be used (JPEG, PNG, WebP, HEIC).")
    target.mkdir(parents=True, exist_ok=True)
    shutil.copytree(scratch, target, dirs_exist_ok=True)
    return target


def _entries(archive: zipfile.ZipFile, name: str) -> list[tuple[zipfile.ZipInfo, tuple[str, ...]]]:
    """Entries worth unpacking with their clean path parts; links, folders and others left out."""
    found = []
    entries = archive.infolist()
    if len(entries) > 20 * MOST_FILES:
        raise InputError(f"{name} holds more than {20 * MOST_FILES:,} entries; split it.")
    for entry in entries:
        raw = PurePosixPath(entry.filename.replace("\\", "/"))
        is_link = (entry.external_attr >> 16) & 0o170000 == 0o120000
        if entry.is_dir() or is_link or raw.is_absolute() or ".." in raw.parts:
            continue
        hidden = any(part.startswith((".", "__MACOSX")) for part in raw.parts)
        if hidden or raw.suffix.lower() not in KEPT:
            continue
        if entry.file_size > MOST_FILE_BYTES:
            raise InputError(f"{name}: {raw.name} is larger than 80 MB; take it out.")
        if entry.file_size > MOST_RATIO * max(entry.compress_size, 1) and entry.file_size > 100_000:
            raise InputError(f"{name}: {raw.name} grows too much on unpacking; take it out.")
        found.append((entry, tuple(raw.parts)))
    return found


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str) -> bytes:
    """No more than the size that the entry claims."""
    with archive.open(entry) as stream:
        content = stream.read(entry.file_size + 1)
    if len(content) > entry.file_size:
        raise InputError(f"{name}: {entry.filename} is larger than it claims; pack it again.")
    return content


def _write(folder: Path, parts: tuple[str, ...], content: bytes) -> int:
    if len(content) > MOST_FILE_BYTES:
        raise InputError(f"{parts[-1]} is larger than 80 MB; take it out.")
    if PurePosixPath(parts[-1]).suffix.lower() not in KEPT:
        return 0
    place = folder.joinpath(*(clean_name(part) for part in parts))
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(content)
    return 1


def clean_name(name: str) -> str:
    """A name that is safe as one part of a path."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    kept = re.sub(r"[^\w .\-]", "_", last, flags=re.ASCII).strip(" .")
    return kept[-120:].strip(" .") or "home"
