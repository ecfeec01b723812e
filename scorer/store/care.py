"""Look after the store: is it whole, is all there that it speaks of; a copy away, and back."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from scorer.errors import InputError
from scorer.screening.methods import reading_method
from scorer.store.file import BUSY_MS, FILE_NAME, data_folder
from scorer.store.photo_files import is_whole, loose_files
from scorer.store.schema import MIGRATIONS
from scorer.store.store import Store
from scorer.store.taken import PHOTO_FOLDER

MOST_NAMES = 3
_ENDINGS = ("-wal", "-shm", "-journal")


class Health(NamedTuple):
    """What :func:`look_over_store` found, in sentences.

    Attributes
    ----------
    broken
        The file itself is damaged: restore a backup.
    problems
        Something that it speaks of is missing.
    notes
        What is worth knowing; nothing has to be done.
    """

    broken: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def store_path() -> Path:
    """The file of the store in the user's data folder."""
    return data_folder() / FILE_NAME


def look_over_store(path: Path, *, tidy: bool = False) -> Health:
    """Check the file, its rows, and the photos that it speaks of.

    Parameters
    ----------
    path
        The store; need not exist.
    tidy
        Take out readings that were made by an earlier method, and the files of photos that were
        taken off, which nothing will use again.
    """
    if not path.exists():
        return Health(notes=(f"{path}: nothing was saved yet.",))
    try:
        store = Store(path)
    except InputError as error:
        return Health(broken=(str(error),))
    with store:
        try:
            broken = [f"{path}: {found}; restore a backup." for found in store.problems()]
            problems, homes = _homes(store)
            gone, taken = _taken_files(store)
            stale = store.stale_readings(reading_method(), remove=tidy)
            unused = _unused_photos(store, remove=tidy)
        except sqlite3.DatabaseError as error:
            return Health(broken=(f"{path} is damaged ({error}); restore a backup.",))
    notes = [f"{path}: {_count(homes, 'home')}."]
    if stale:
        done = (
            "taken out" if tidy else "not used any more; `value-add doctor --tidy` takes them out"
        )
        notes.append(f"{path}: readings by an earlier version of the program, {done}: {stale}.")
    if taken:
        notes.append(f"{store.photo_folder}: {_count(taken, 'photo')} that you took.")
    if unused:
        what = f"{store.photo_folder}: {_count(unused, 'photo')} that you took off"
        notes.append(
            f"{what}, deleted."
            if tidy
            else f"{what}; `value-add doctor --tidy` deletes them, and then they can't come back."
        )
    return Health(tuple(broken), (*problems, *gone), tuple(notes))


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'s'[: number != 1]}"


def _some(names: Sequence[str]) -> str:
    """The first few names, and how many more there are."""
    shown = ", ".join(names[:MOST_NAMES])
    return f"{shown} and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else shown


def _taken_files(store: Store) -> tuple[list[str], int]:
    """Sentences about taken photos whose files are gone or changed, and how many files are there.

    A file's name is the hash of its content, so that a damaged one is found out.
    """
    problems, there = [], set()
    for home_id, name in store.home_ids():
        missing, damaged = [], []
        try:
            taken = store.taken_photos(home_id)
        except ValidationError:
            continue  # told with the home
        for photo in taken:
            path = Path(photo.path)
            if not path.is_file():
                missing.append(photo.name)
            elif not is_whole(path):
                damaged.append(photo.name)
            else:
                there.add(photo.file)
        for names, what in ((missing, "are gone from"), (damaged, "are damaged in")):
            if names:
                problems.append(
                    f"{name}: photos that you took {what} {store.photo_folder}: {_some(names)}; "
                    "put your copy of that folder back, or take them off in the walk-through."
                )
    return problems, len(there)


def _unused_photos(store: Store, *, remove: bool) -> int:
    """How many files belong to photos that were taken off, or to no row at all."""
    removed = store.removed_photo_files(forget=remove)
    used = store.photo_files_in_use()
    loose = loose_files(store.photo_folder, used.union(removed))
    paths = [*(store.photo_folder / file for file in removed), *loose]
    found = [path for path in paths if path.is_file()]
    if remove:
        for path in found:
            path.unlink(missing_ok=True)
    return len(found)


def photos_beside(path: Path) -> tuple[int, Path]:
    """How many photos that the user took lie beside a store, and where; a backup has none."""
    folder = path.parent / PHOTO_FOLDER
    with Store(path) as store:
        return len(store.photo_files_in_use()), folder


def _homes(store: Store) -> tuple[list[str], int]:
    """Sentences about homes whose rows or photos are amiss, and how many homes there are."""
    problems = []
    ids = store.home_ids()
    for home_id, name in ids:
        try:
            home = store.home(home_id)
        except (ValidationError, ValueError) as error:
            problems.append(
                f"{name}: what was saved of this home can't be read ({type(error).__name__}); "
                "restore a backup, or remove the home."
            )
            continue
        gone = [photo for photo in home.listing.photos if not os.path.exists(photo.path)]
        if not gone:
            continue
        folder = Path(gone[0].path).parent
        if not folder.is_dir():
            problems.append(
                f"{name}: the folder {folder} with its photos is gone; put it back, or import the "
                "home again from where it is now."
            )
        else:
            problems.append(
                f"{name}: photos are gone from {folder}: {_some([photo.name for photo in gone])}; "
                "put them back, or import the home again."
            )
    return problems, len(ids)


def back_up(path: Path, target: Path) -> None:
    """Write a copy of the store as one file, also while the page is open.

    Raises
    ------
    InputError
        If there is no store, the store is damaged, or the copy can't be written.
    """
    if not path.exists():
        raise InputError(f"{path}: nothing was saved yet, so there is nothing to back up.")
    if target.exists():
        raise InputError(f"{target} is there already; give another name for the backup.")
    part = target.with_name(f"{target.name}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _remove(part)
        with Store(path) as store:
            store.backup(part)
        with closing(sqlite3.connect(part)) as copy:
            copy.execute("pragma journal_mode = delete")  # one file, with nothing beside it
            _check(copy, path)
        os.replace(part, target)
    except OSError as error:
        raise InputError(f"{target} can't be written ({error.strerror or error}).") from None
    except sqlite3.Error as error:
        raise InputError(f"{path} can't be copied to {target} ({error}).") from None
    finally:
        _remove(part)


def restore(backup: Path, path: Path) -> Path | None:
    """Put a backup in the store's place; the store as it was is kept beside it.

    Safe also while the page is open: SQLite itself writes the new content, in one transaction. A
    page that shows a home as it was is told so before it changes that home.

    Returns
    -------
    Path or None
        Where the store as it was is kept; None if there was none.

    Raises
    ------
    InputError
        If the backup is not a whole store; nothing was changed then.
    """
    if backup.resolve() == path.resolve():
        raise InputError(f"{backup} is the store itself; give the file of a backup.")
    part = path.with_name(f"{path.name}.part")
    try:
        with _open_backup(backup) as source:
            path.parent.mkdir(parents=True, exist_ok=True)
            _remove(part)
            with closing(sqlite3.connect(part)) as copy:
                source.backup(copy)
        Store(part).close()  # an older backup is brought up to date
        with closing(sqlite3.connect(part)) as copy:
            copy.execute("update home set version = version + ?", (_highest_version(path),))
            copy.commit()
            kept = _keep_beside(path)
            with closing(sqlite3.connect(path)) as target:
                target.execute(f"pragma busy_timeout = {BUSY_MS}")
                copy.backup(target)
    except (OSError, sqlite3.Error) as error:
        raise InputError(f"{path} can't be written ({error}).") from None
    finally:
        _remove(part)
    return kept


def _remove(path: Path) -> None:
    for ending in ("", *_ENDINGS):
        Path(f"{path}{ending}").unlink(missing_ok=True)


def _highest_version(path: Path) -> int:
    """The highest version of a home that an open page may have seen; 0 if none can be read."""
    if not path.exists():
        return 0
    try:
        with closing(sqlite3.connect(path)) as store:
            return int(store.execute("select ifnull(max(version), 0) from home").fetchone()[0])
    except sqlite3.Error:
        return 0


@contextmanager
def _open_backup(backup: Path) -> Iterator[sqlite3.Connection]:
    if not backup.is_file():
        raise InputError(f"{backup}: there is no such file; give the file of a backup.")
    try:
        with closing(sqlite3.connect(f"{backup.resolve().as_uri()}?mode=ro", uri=True)) as source:
            version = int(source.execute("pragma user_version").fetchone()[0])
            tables = {row[0] for row in source.execute("select name from sqlite_schema")}
            if version < 1 or not {"home", "tag"} <= tables:
                raise InputError(f"{backup} is not a backup of this program's store.")
            if version > len(MIGRATIONS):
                raise InputError(
                    f"{backup} was written by a later version of this program; update the program."
                )
            _check(source, backup)
            yield source
    except sqlite3.Error as error:
        raise InputError(f"{backup} is not a whole backup ({error}).") from None


def _check(connection: sqlite3.Connection, path: Path) -> None:
    found = [str(row[0]) for row in connection.execute("pragma integrity_check")]
    if found != ["ok"]:
        raise InputError(f"{path} is damaged ({found[0]}).")
    if connection.execute("pragma foreign_key_check").fetchone() is not None:
        raise InputError(f"{path} is damaged (a row belongs to no home).")


def _keep_beside(path: Path) -> Path | None:
    if not path.exists():
        return None
    for left in path.parent.glob(f"{path.stem} before *{path.suffix}.part*"):
        left.unlink(missing_ok=True)  # of a restore that was cut short
    moment = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S")  # as the user's clock says
    kept = path.with_name(f"{path.stem} before {moment}{path.suffix}")
    number = 1
    while kept.exists():
        number += 1
        kept = path.with_name(f"{path.stem} before {moment} {number}{path.suffix}")
    part = kept.with_name(f"{kept.name}.part")
    try:
        with closing(sqlite3.connect(path)) as old, closing(sqlite3.connect(part)) as copy:
            old.backup(copy)
            copy.execute("pragma journal_mode = delete")
            copy.execute("select count(*) from sqlite_schema").fetchone()
            whole = copy.execute("pragma integrity_check").fetchone() == ("ok",)
        if whole:
            os.replace(part, kept)
            return kept
    except sqlite3.Error:
        pass
    finally:
        _remove(part)
    # A damaged store can't be copied row by row or written into: it is moved as it is.
    try:
        os.replace(path, kept)
        for ending in _ENDINGS:
            if Path(f"{path}{ending}").exists():
                os.replace(f"{path}{ending}", f"{kept}{ending}")
    except OSError as error:
        raise InputError(f"{path} can't be moved aside ({error.strerror or error}).") from None
    return kept
