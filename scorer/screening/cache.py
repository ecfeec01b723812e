"""Readings made before, found again by what is in the photo's file and how it was read."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import stat
import time
from collections.abc import Callable
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple, Self, TypeVar

import platformdirs
from pydantic import ValidationError

from scorer.photos.decode import MAX_BYTES
from scorer.photos.reading import Reading

CACHE_VARIABLE = "VALUE_ADD_CACHE"
FILE_NAME = "readings-1.sqlite"
"""The number changes with the tables: what is in a cache can be made again, so none is migrated."""

BUSY_MS = 10_000
SETTLED_NS = 2_000_000_000
"""A file that was changed this shortly ago may change again under the same time of change: the
coarsest clock in use, that of FAT, ticks every two seconds."""

_TABLES = """
create table if not exists file (
    path text primary key,
    size_bytes integer not null,
    modified_ns integer not null,
    content_hash text not null
) strict, without rowid;
create table if not exists reading (
    content_hash text not null,
    method text not null,
    reading text not null,
    primary key (content_hash, method)
) strict;
"""

Answer = TypeVar("Answer")


class Key(NamedTuple):
    """What a reading depends on: the bytes of the file and the method, room that was told included.

    ``path``, ``size_bytes`` and ``modified_ns`` say which file had those bytes, and until when.
    """

    content_hash: str
    method: str
    path: str
    size_bytes: int
    modified_ns: int


class Stale(NamedTuple):
    """Rows that no run will use again."""

    readings: int
    files: int


def cache_folder() -> Path:
    """The user's cache folder; the variable ``VALUE_ADD_CACHE`` names another."""
    named = os.environ.get(CACHE_VARIABLE)
    if named:
        return Path(named).expanduser()
    return Path(platformdirs.user_cache_dir("value-add-scorer", False))


@lru_cache(maxsize=1)
def reading_method() -> str:
    """Version of everything that a reading is made with, the data files included."""
    from scorer.photos import ALGORITHM_VERSION

    parts = files("scorer.photos")
    digest = hashlib.sha256()
    for name in (("data", "calibration.json"), ("models", "rooms.onnx")):
        part = parts.joinpath(*name)
        if part.is_file():
            digest.update(part.read_bytes())
    return f"{ALGORITHM_VERSION}.{digest.hexdigest()[:12]}"


class ReadingCache:
    """A small file of readings; whatever is wrong with it costs time and one sentence.

    Only the process that opened it uses it. Each reading is kept as soon as it is put, so that a
    run that was killed leaves all that it had done. Photos that could not be read are not kept:
    the next run tries them again.

    Parameters
    ----------
    path
        The SQLite file; made, with its folder, where it is missing. None is
        :func:`cache_folder` / ``readings-1.sqlite``.

    Attributes
    ----------
    problems
        Sentences about the cache itself; the results don't depend on them.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or cache_folder() / FILE_NAME
        self.problems: list[str] = []
        self._connection: sqlite3.Connection | None = None
        self._open()

    def close(self) -> None:
        """Close the file."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # Readings -----------------------------------------------------------------------------------

    def key(self, path: str, room_kind: str | None = None) -> Key | None:
        """Key of a photo's file; None where it cannot be opened, or there is no cache."""
        if self._connection is None:
            return None
        place = os.path.abspath(path)
        try:
            state = os.stat(place)
        except (OSError, ValueError):
            return None
        size, modified = state.st_size, state.st_mtime_ns
        if not stat.S_ISREG(state.st_mode) or size > MAX_BYTES:  # a pipe has no end to wait for
            return None
        content = self._known_hash(place, size, modified)
        if content is None:
            return None
        return Key(content, f"{reading_method()} {room_kind or 'any'}", place, size, modified)

    def _known_hash(self, place: str, size: int, modified: int) -> str | None:
        row = self._ask(
            lambda c: c.execute(
                "select content_hash from file where path = ? and size_bytes = ? "
                "and modified_ns = ?",
                (place, size, modified),
            ).fetchone()
        )
        if row is not None:
            return str(row[0])
        content = _content_hash(place)
        if content is not None and time.time_ns() - modified > SETTLED_NS:
            self._ask(
                lambda c: c.execute(
                    "insert or replace into file values (?, ?, ?, ?)",
                    (place, size, modified, content),
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

    def put(self, key: Key, reading: Reading) -> None:
        """Keep a reading, unless the file was changed while it was read."""
        if reading.error is not None or not _unchanged(key):
            return
        text = reading.model_dump_json()
        self._ask(
            lambda c: c.execute("insert or replace into reading values (?, ?, ?)", (*key[:2], text))
        )

    # Care ---------------------------------------------------------------------------------------

    def stale(self) -> Stale:
        """Rows that no run will use again: other methods' readings, files that are gone."""
        return Stale(len(self._other_methods()), len(self._gone()))

    def tidy(self) -> Stale:
        """Take out what :meth:`stale` counts."""
        methods, gone = self._other_methods(), self._gone()
        self._ask(
            lambda c: c.executemany(
                "delete from reading where content_hash = ? and method = ?", methods
            )
        )
        self._ask(lambda c: c.executemany("delete from file where path = ?", gone))
        self._ask(lambda c: c.execute("vacuum"))
        return Stale(len(methods), len(gone))

    def count(self) -> int:
        """How many readings there are."""
        row = self._ask(lambda c: c.execute("select count(*) from reading").fetchone())
        return 0 if row is None else int(row[0])

    def _other_methods(self) -> list[tuple[str, str]]:
        rows = self._ask(lambda c: c.execute("select content_hash, method from reading").fetchall())
        present = f"{reading_method()} "
        return [row for row in rows or () if not row[1].startswith(present)]

    def _gone(self) -> list[tuple[str]]:
        rows = self._ask(lambda c: c.execute("select path from file").fetchall())
        return [row for row in rows or () if not os.path.exists(row[0])]

    # The file -----------------------------------------------------------------------------------

    def _open(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._connect()
        except OSError as error:
            self._without(error.strerror or str(error))
        except sqlite3.Error as error:
            self._mend(error)

    def _connect(self) -> None:
        connection = sqlite3.connect(self.path, isolation_level=None)
        self._connection = connection
        connection.execute(f"pragma busy_timeout = {BUSY_MS}")
        connection.execute("pragma journal_mode = wal")
        connection.execute("pragma synchronous = normal")  # safe in WAL; a power cut costs the tail
        connection.executescript(_TABLES)

    def _ask(self, question: Callable[[sqlite3.Connection], Answer]) -> Answer | None:
        """The answer of the cache; None, and a cache that is mended or off, where it has none."""
        if self._connection is None:
            return None
        try:
            return question(self._connection)
        except sqlite3.Error as error:
            self._mend(error)
            return None

    def _mend(self, error: sqlite3.Error) -> None:
        """Set a broken file aside and begin a new one; do without where it is only unusable."""
        self.close()
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
        broken = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR}
        if code not in broken or self.problems:
            self._without(str(error))
            return
        aside = self.path.with_name(f"{self.path.name}.broken")
        try:
            os.replace(self.path, aside)
            for ending in ("-wal", "-shm"):
                Path(f"{self.path}{ending}").unlink(missing_ok=True)
            self._connect()
        except (OSError, sqlite3.Error) as second:
            self.close()
            self._without(str(second))
        else:
            self.problems.append(
                f"{self.path}: the cache of readings was broken ({error}); it was set aside as "
                f"{aside.name} and a new one begun, so this run takes longer."
            )

    def _without(self, reason: str) -> None:
        self.problems.append(
            f"{self.path}: the cache of readings can't be used ({reason}); photos are read without "
            "it."
        )


def cache_sentences(path: Path | None = None, *, tidy: bool = False) -> tuple[str, ...]:
    """What to know about the cache, in sentences; ``tidy`` takes out what nothing uses again."""
    path = path or cache_folder() / FILE_NAME
    if not path.exists():
        return (f"{path}: there is no cache of readings yet.",)
    with ReadingCache(path) as cache:
        stale = cache.tidy() if tidy else cache.stale()
        sentences = [*cache.problems, f"{path}: readings of photos kept: {cache.count()}."]
    if any(stale):
        done = "taken out" if tidy else "`value-add doctor --tidy` takes them out"
        sentences.append(
            f"{path}: readings by another version of the program: {stale.readings}; photo files "
            f"that are gone: {stale.files}; {done}."
        )
    return tuple(sentences)


def _unchanged(key: Key) -> bool:
    try:
        state = os.stat(key.path)
    except OSError:
        return False
    return (state.st_size, state.st_mtime_ns) == (key.size_bytes, key.modified_ns)


def _content_hash(path: str) -> str | None:
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
