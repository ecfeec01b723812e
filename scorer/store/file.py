"""The file itself: connections, transactions, and what belongs to no home."""

from __future__ import annotations

import json
import os
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

import platformdirs
from pydantic import ValidationError

from scorer.errors import InputError
from scorer.photos.reading import Reading
from scorer.settings import Settings
from scorer.store.schema import migrate

DATA_VARIABLE = "VALUE_ADD_DATA"
FILE_NAME = "homes.sqlite"
BUSY_MS = 10_000


def data_folder() -> Path:
    """The user's data folder; the variable ``VALUE_ADD_DATA`` names another."""
    named = os.environ.get(DATA_VARIABLE)
    return (
        Path(named).expanduser()
        if named
        else Path(platformdirs.user_data_dir("value-add-scorer", False))
    )


class StoreFile:
    """An open store; may be used from several threads, each with a connection of its own.

    Parameters
    ----------
    path
        The SQLite file; made, with its folder, where it is missing. None is
        :func:`data_folder` / ``homes.sqlite``.

    Raises
    ------
    InputError
        If the file is not a store, or a later version wrote it.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or data_folder() / FILE_NAME
        self._local = threading.local()
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            migrate(self._connection, str(self.path))
        except sqlite3.DatabaseError as error:
            raise InputError(
                f"{self.path} can't be opened as a store ({error}); move it away, or restore a "
                "backup."
            ) from error
        except OSError as error:
            raise InputError(f"{self.path} can't be written ({error.strerror}).") from error

    @property
    def _connection(self) -> sqlite3.Connection:
        connection: sqlite3.Connection | None = getattr(self._local, "connection", None)
        if connection is None:
            connection = sqlite3.connect(self.path, isolation_level=None)
            connection.execute(f"pragma busy_timeout = {BUSY_MS}")
            connection.execute("pragma journal_mode = wal")
            connection.execute("pragma synchronous = full")  # an acknowledged save is on the disk
            connection.execute("pragma foreign_keys = on")
            self._local.connection = connection
        return connection

    def close(self) -> None:
        """Close this thread's connection."""
        connection: sqlite3.Connection | None = getattr(self._local, "connection", None)
        if connection is not None:
            connection.close()
            self._local.connection = None

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        """One change: all of it is kept, or none.

        Raises
        ------
        InputError
            If another program holds the file too long, or the disk is full or can't be written.
        """
        connection = self._connection
        try:
            connection.execute("begin immediate")
            yield connection
            connection.execute("commit")
        except BaseException as error:
            if connection.in_transaction:
                connection.execute("rollback")
            if isinstance(error, sqlite3.OperationalError):
                raise InputError(
                    f"{self.path} can't be written ({error}); nothing was changed. Try again."
                ) from error
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # Readings, settings, prices ----------------------------------------------------------------

    def reading(self, content_hash: str, algorithm: str) -> Reading | None:
        """A reading made earlier of the same bytes by the same algorithm."""
        row = self._connection.execute(
            "select reading from reading where content_hash = ? and algorithm = ?",
            (content_hash, algorithm),
        ).fetchone()
        return None if row is None else Reading.model_validate_json(row[0])

    def save_reading(self, content_hash: str, algorithm: str, reading: Reading) -> None:
        """Keep a reading for the next time."""
        with self._transaction() as connection:
            connection.execute(
                "insert or replace into reading (content_hash, algorithm, reading) "
                "values (?, ?, ?)",
                (content_hash, algorithm, reading.model_dump_json()),
            )

    def only_failed(self, content_hash: str, algorithm: str) -> bool:
        """Whether these bytes were read by a version of the algorithm, and never with success."""
        row = self._connection.execute(
            "select min(reading ->> 'error' is not null) from reading "
            "where content_hash = ?1 and substr(algorithm, 1, length(?2) + 1) = ?2 || ' '",
            (content_hash, algorithm),
        ).fetchone()
        return bool(row[0])

    def stale_readings(self, algorithm: str, *, remove: bool = False) -> int:
        """How many readings another version of the algorithm made; ``remove`` takes them out."""
        other = "algorithm <> ?1 and substr(algorithm, 1, length(?1) + 1) <> ?1 || ' '"
        with self._transaction() as connection:
            row = connection.execute(
                f"select count(*) from reading where {other}", (algorithm,)
            ).fetchone()
            if remove:
                connection.execute(f"delete from reading where {other}", (algorithm,))
        return int(row[0])

    def settings(self) -> Settings:
        """The user's settings; usual ones for what was never saved or can't be used any more."""
        saved = self.value("settings") or {}
        try:
            return Settings.model_validate(saved)
        except ValidationError:
            usable = {name: value for name, value in saved.items() if _usable(name, value)}
            return Settings.model_validate(usable)

    def change_settings(self, entries: Mapping[str, object]) -> None:
        """Change some of the settings; the others stay as another tab may have left them.

        Raises
        ------
        pydantic.ValidationError
            If one is out of its range; nothing was changed then.
        """
        changed = Settings.model_validate(self.settings().model_dump() | dict(entries))
        kept = changed.model_dump(mode="json")
        self.change_value("settings", {name: kept[name] for name in entries})

    def flag(self, name: str) -> bool:
        """Whether something was done once, such as the first import of the demo homes."""
        return bool(self.value(name))

    def save_flag(self, name: str, done: bool = True) -> None:
        """Remember that something was done."""
        self.save_value(name, done)

    def value(self, name: str) -> Any:
        """A JSON value that was kept under a name; None if there is none."""
        row = self._connection.execute(
            "select value from setting where name = ?", (name,)
        ).fetchone()
        return None if row is None else json.loads(row[0])

    def save_value(self, name: str, value: object) -> None:
        """Keep a JSON value under a name."""
        with self._transaction():
            self._put(name, value)

    def _put(self, name: str, value: object) -> None:
        self._connection.execute(
            "insert into setting (name, value) values (?, ?) "
            "on conflict (name) do update set value = excluded.value",
            (name, json.dumps(value)),
        )

    def change_value(self, name: str, entries: Mapping[str, object | None]) -> dict[str, Any]:
        """Write some entries of a JSON object that was kept under a name; None takes one out.

        The other entries stay as they are in the file, also where another tab wrote them since.
        Returns what stood in the place of those written: given here again, it puts them back.
        """
        with self._transaction():
            kept = dict(self.value(name) or {})
            new = kept | dict(entries)
            self._put(name, {key: value for key, value in new.items() if value is not None})
        return {key: kept.get(key) for key in entries}

    def kept_result(self, home_id: int, key: str) -> str | None:
        """A home's result as JSON, if it was made from the input that ``key`` stands for."""
        row = self._connection.execute(
            "select result from result where home_id = ? and key = ?", (home_id, key)
        ).fetchone()
        return None if row is None else str(row[0])

    def keep_result(self, home_id: int, key: str, result: str) -> None:
        """Keep a home's latest result, so that the next start is quick."""
        with self._transaction() as connection:
            connection.execute(
                "insert or replace into result (home_id, key, result) select ?1, ?2, ?3 "
                "where exists (select 1 from home where id = ?1)",
                (home_id, key, result),
            )

    def price_rows(self) -> dict[str, str]:
        """The user's own price book rows as JSON by id."""
        return dict(self._connection.execute("select id, price_row from price_row order by id"))

    def save_price_rows(self, rows: Mapping[str, str | None]) -> dict[str, str | None]:
        """Keep own price rows (JSON by id), or go back to the package's where None; all or none.

        Returns what stood in their place: given here again, it puts them back.
        """
        with self._transaction() as connection:
            kept = self.price_rows()
            for item, row in rows.items():
                connection.execute("delete from price_row where id = ?", (item,))
                if row is not None:
                    connection.execute(
                        "insert into price_row (id, price_row) values (?, ?)", (item, row)
                    )
        return {item: kept.get(item) for item in rows}

    # Safety -------------------------------------------------------------------------------------

    def backup(self, path: Path) -> None:
        """Write a copy that can be put in the store's place, also while the store is in use."""
        with closing(sqlite3.connect(path)) as target:
            self._connection.backup(target)

    def home_ids(self) -> tuple[tuple[int, str], ...]:
        """Id and name of all homes that were not removed."""
        rows = self._connection.execute(
            "select id, name from home where removed_at is null order by id"
        )
        return tuple((int(home_id), str(name)) for home_id, name in rows)

    def problems(self) -> tuple[str, ...]:
        """Sentences about what is broken in the file; none if all is well."""
        rows = self._connection.execute("pragma integrity_check").fetchall()
        found = [str(row[0]) for row in rows if row[0] != "ok"]
        found += [
            f"a row of {table} belongs to no home"
            for table, *_ in self._connection.execute("pragma foreign_key_check")
        ]
        return tuple(found)


def now() -> str:
    """The present time as ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def _usable(name: str, value: object) -> bool:
    try:
        Settings.model_validate({name: value})
    except ValidationError:
        return False
    return True
