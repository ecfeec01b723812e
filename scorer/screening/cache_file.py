"""A small SQLite file of things that can be made again; whatever is wrong with it costs time."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Self, TypeVar

BUSY_MS = 10_000
Answer = TypeVar("Answer")


class CacheFile:
    """A file that is mended where it is broken and done without where it can't be used.

    Only the process that opened it uses it. Each row is kept as soon as it is put, so that a run
    that was killed leaves all that it had done.

    Parameters
    ----------
    path
        The SQLite file; made, with its folder, where it is missing.
    tables
        SQL that makes them where they are missing.

    Attributes
    ----------
    problems
        Sentences about the file itself; no result depends on them.
    """

    def __init__(self, path: Path, tables: str) -> None:
        self.path = path
        self.problems: list[str] = []
        self._tables = tables
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

    @property
    def usable(self) -> bool:
        """Whether anything can be found or kept."""
        return self._connection is not None

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
        connection.executescript(self._tables)

    def _ask(self, question: Callable[[sqlite3.Connection], Answer]) -> Answer | None:
        """The answer of the file; None, and a file that is mended or off, where it has none."""
        if self._connection is None:
            return None
        try:
            return question(self._connection)
        except UnicodeEncodeError:  # a file name that is no text
            return None
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
