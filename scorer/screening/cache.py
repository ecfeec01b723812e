"""Readings and results made before, found again by all that they were made from."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import stat
import time
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import platformdirs
from pydantic import ValidationError

from scorer.photos.decode import MAX_BYTES
from scorer.photos.reading import Reading
from scorer.screening.cache_file import CacheFile
from scorer.screening.methods import reading_method, weighing_method

if TYPE_CHECKING:
    from scorer.screening.packed import Packed

__all__ = ["Key", "ReadingCache", "Stale", "cache_folder", "cache_sentences", "reading_method"]

CACHE_VARIABLE = "VALUE_ADD_CACHE"
FILE_NAME = "readings-2.sqlite"
"""The number changes with the tables: what is in a cache can be made again, so none is migrated."""

SETTLED_NS = 2_000_000_000
"""A file that was changed this shortly ago may change again under the same time of change: the
coarsest clock in use, that of FAT, ticks every two seconds."""

RESULTS_A_HOME = 2
"""Results kept of one home: going back from a change costs nothing, and they don't pile up."""

_TABLES = """
create table if not exists file (
    path text primary key,
    state text not null,
    content_hash text not null
) strict, without rowid;
create table if not exists reading (
    content_hash text not null,
    method text not null,
    reading text not null,
    primary key (content_hash, method)
) strict;
create table if not exists result (
    key text primary key,
    method text not null,
    folder text not null,
    home text not null,
    head text not null,
    shown blob not null,
    rest blob not null,
    seal text not null
) strict;
create index if not exists result_of_home on result (folder, home);
"""


class Key(NamedTuple):
    """What a reading depends on: the bytes of the file and the method, room that was told included.

    ``path`` and ``state`` say which file had those bytes, and until when.
    """

    content_hash: str
    method: str
    path: str
    state: str


class Stale(NamedTuple):
    """Rows that no run will use again."""

    readings: int
    files: int
    results: int = 0


def cache_folder() -> Path:
    """The user's cache folder; the variable ``VALUE_ADD_CACHE`` names another."""
    named = os.environ.get(CACHE_VARIABLE)
    if named:
        return Path(named).expanduser()
    return Path(platformdirs.user_cache_dir("value-add-scorer", False))


class ReadingCache(CacheFile):
    """Readings of photos and results of homes.

    Photos that could not be read are not kept: the next run tries them again.

    Parameters
    ----------
    path
        The file; None is :func:`cache_folder` / ``readings-2.sqlite``.
    """

    def __init__(self, path: Path | None = None) -> None:
        super().__init__(path or cache_folder() / FILE_NAME, _TABLES)

    # Readings -----------------------------------------------------------------------------------

    def key(self, path: str, room_kind: str | None = None) -> Key | None:
        """Key of a photo's file; None where it cannot be opened, or there is no cache."""
        if not self.usable:
            return None
        place = os.path.abspath(path)
        try:
            found = os.stat(place)
        except (OSError, ValueError):
            return None
        if not stat.S_ISREG(found.st_mode) or found.st_size > MAX_BYTES:
            return None  # a pipe has no end to wait for
        content = self._known_hash(place, found)
        if content is None:
            return None
        return Key(content, f"{reading_method()} {room_kind or 'any'}", place, _state(found))

    def _known_hash(self, place: str, found: os.stat_result) -> str | None:
        state = _state(found)
        row = self._ask(
            lambda c: c.execute(
                "select content_hash from file where path = ? and state = ?", (place, state)
            ).fetchone()
        )
        if row is not None:
            return str(row[0])
        content = _content_hash(place)
        if content is not None and time.time_ns() - found.st_mtime_ns > SETTLED_NS:
            self._ask(
                lambda c: c.execute(
                    "insert or replace into file values (?, ?, ?)", (place, state, content)
                )
            )
        return content

    def find(self, key: Key, name: str) -> Reading | None:
        """The reading of these bytes by this method under another name, if there is one."""
        row = self._ask(
            lambda c: c.execute(
                "select reading from reading where content_hash = ? and method = ?", key[:2]
            ).fetchone()
        )
        if row is None:
            return None
        try:
            return Reading.model_validate_json(row[0]).model_copy(update={"file": name})
        except ValidationError:  # whoever wrote it, it is not a reading: it is made anew
            return None

    def put(self, key: Key, reading: Reading) -> bool:
        """Keep a reading, unless the file was changed while it was read; whether it was not."""
        same = unchanged(key)
        if reading.error is None and same:
            text = reading.model_copy(update={"file": ""}).model_dump_json()  # any file's name
            self._ask(
                lambda c: c.execute(
                    "insert or replace into reading values (?, ?, ?)", (*key[:2], text)
                )
            )
        return same

    # Results of homes ---------------------------------------------------------------------------

    def find_home(self, key: str) -> Packed | None:
        """The result that was made from all that ``key`` stands for; None if it isn't whole."""
        row = self._ask(
            lambda c: c.execute(
                "select head, shown, rest, seal from result where key = ?", (key,)
            ).fetchone()
        )
        if row is None or row[3] != _seal(key, *row[:3]):
            return None
        from scorer.screening.packed import Packed  # here, since reading photos needs none of it

        try:
            return Packed.of(json.loads(row[0]), row[1], row[2])
        except (ValueError, TypeError, KeyError):
            return None

    def put_home(self, key: str, folder: str, home: str, packed: Packed) -> None:
        """Keep a home's result, and no more than a few of the same home."""
        head = json.dumps(packed.head)
        seal = _seal(key, head, packed.shown, packed.rest)
        row = (key, weighing_method(), folder, home, head, packed.shown, packed.rest, seal)

        def keep(connection: sqlite3.Connection) -> None:
            connection.execute(f"insert or replace into result values ({'?, ' * 7}?)", row)
            connection.execute(
                "delete from result where folder = ?1 and home = ?2 and rowid not in (select rowid "
                "from result where folder = ?1 and home = ?2 order by rowid desc limit ?3)",
                (folder, home, RESULTS_A_HOME),
            )

        self._ask(keep)

    # Care ---------------------------------------------------------------------------------------

    def stale(self) -> Stale:
        """Rows that no run will use again: by another version, or of files that are gone."""
        return Stale(len(self._other_methods()), len(self._gone()), len(self._old_results()))

    def tidy(self) -> Stale:
        """Take out what :meth:`stale` counts."""
        methods, gone, results = self._other_methods(), self._gone(), self._old_results()
        for statement, rows in (
            ("delete from reading where content_hash = ? and method = ?", methods),
            ("delete from file where path = ?", gone),
            ("delete from result where key = ?", results),
        ):
            self._ask(lambda c, s=statement, r=rows: c.executemany(s, r))  # type: ignore[misc]
        self._ask(lambda c: c.execute("vacuum"))
        for old in self.path.parent.glob("readings-1.sqlite*"):  # of an earlier version
            if self.path.name == FILE_NAME:
                old.unlink(missing_ok=True)
        return Stale(len(methods), len(gone), len(results))

    def count(self) -> int:
        """How many readings there are."""
        row = self._ask(lambda c: c.execute("select count(*) from reading").fetchone())
        return 0 if row is None else int(row[0])

    def count_homes(self) -> int:
        """How many results of homes there are."""
        row = self._ask(lambda c: c.execute("select count(*) from result").fetchone())
        return 0 if row is None else int(row[0])

    def _other_methods(self) -> list[tuple[str, str]]:
        rows = self._ask(lambda c: c.execute("select content_hash, method from reading").fetchall())
        present = f"{reading_method()} "
        return [row for row in rows or () if not row[1].startswith(present)]

    def _gone(self) -> list[tuple[str]]:
        rows = self._ask(lambda c: c.execute("select path from file").fetchall())
        return [row for row in rows or () if not os.path.exists(row[0])]

    def _old_results(self) -> list[tuple[str]]:
        rows = self._ask(lambda c: c.execute("select key, method, folder from result").fetchall())
        present = weighing_method()
        return [
            (key,)
            for key, method, folder in rows or ()
            if method != present or not os.path.isdir(folder)
        ]


def cache_sentences(path: Path | None = None, *, tidy: bool = False) -> tuple[str, ...]:
    """What to know about the cache, in sentences; ``tidy`` takes out what nothing uses again."""
    path = path or cache_folder() / FILE_NAME
    if not path.exists():
        return (f"{path}: there is no cache of readings yet.",)
    with ReadingCache(path) as cache:
        stale = cache.tidy() if tidy else cache.stale()
        sentences = [
            *cache.problems,
            f"{path}: readings of photos kept: {cache.count()}; results of homes: "
            f"{cache.count_homes()}.",
        ]
    if any(stale):
        done = "taken out" if tidy else "`value-add doctor --tidy` takes them out"
        sentences.append(
            f"{path}: by another version of the program, or of what is gone: readings "
            f"{stale.readings}, photo files {stale.files}, homes {stale.results}; {done}."
        )
    return tuple(sentences)


def unchanged(key: Key) -> bool:
    """Whether the file is still the one that the key was made of."""
    try:
        return _state(os.stat(key.path)) == key.state
    except OSError:
        return False


def _state(found: os.stat_result) -> str:
    """What changes whenever a file's bytes do: size, time of change, and which file it is.

    The time of the last change of the entry itself (ctime) can't be set back by a program, and a
    file that was put in another's place has another number.
    """
    return f"{found.st_size} {found.st_mtime_ns} {found.st_ino} {found.st_ctime_ns}"


def _seal(key: str, head: str, shown: bytes, rest: bytes) -> str:
    """Hash over a kept result and what it was made from."""
    digest = hashlib.sha256(f"{key} {len(shown)} {len(rest)} {head}\n".encode())
    digest.update(shown)
    digest.update(rest)
    return digest.hexdigest()


def _content_hash(path: str) -> str | None:
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
