"""Everything the user typed, in one SQLite file; each change is one transaction."""

from __future__ import annotations

import json
import os
import sqlite3
import threading
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import platformdirs

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.rooms import Room
from scorer.settings import Settings
from scorer.store.schema import migrate
from scorer.upgrades.learning import FinishedJob

DATA_VARIABLE = "VALUE_ADD_DATA"
FILE_NAME = "homes.sqlite"
BUSY_MS = 10_000

Mark = Literal["", "keep", "aside"]
Choice = Literal["must", "must_not"]


class StoredHome(Record):
    """One home as it is kept.

    Attributes
    ----------
    version
        Goes up by one with every change; a change must name the version that it was made on.
    mark
        ``keep`` or ``aside`` if the user said so.
    tags
        Every tag that was not undone, oldest first.
    rooms
        Sizes that the user typed.
    """

    id: int
    version: int
    mark: Mark
    note: str
    listing: Listing
    tags: tuple[Tag, ...]
    rooms: tuple[Room, ...]
    must: tuple[str, ...]
    must_not: tuple[str, ...]
    jobs: tuple[FinishedJob, ...]


class StaleError(InputError):
    """The home was changed elsewhere (another tab, an import) since it was opened here."""


def data_folder() -> Path:
    """The user's data folder; the variable ``VALUE_ADD_DATA`` names another."""
    named = os.environ.get(DATA_VARIABLE)
    return Path(named) if named else Path(platformdirs.user_data_dir("value-add-scorer", False))


class Store:
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
        connection = self._connection
        connection.execute("begin immediate")
        try:
            yield connection
        except BaseException:
            connection.execute("rollback")
            raise
        connection.execute("commit")

    @contextmanager
    def _change(self, home_id: int, version: int) -> Iterator[sqlite3.Connection]:
        """A change to one home that was made on ``version`` of it."""
        with self._transaction() as connection:
            done = connection.execute(
                "update home set version = version + 1 where id = ? and version = ?",
                (home_id, version),
            )
            if done.rowcount != 1:
                raise StaleError(
                    "This home was changed in another tab or by an import; it is shown anew here. "
                    "Make your change again."
                )
            yield connection

    # Homes ------------------------------------------------------------------------------------

    def homes(self) -> tuple[StoredHome, ...]:
        """All homes that were not removed, in the order they were added."""
        rows = self._connection.execute(
            "select id, version, mark, note, listing from home where removed_at is null order by id"
        ).fetchall()
        return tuple(self._home(row) for row in rows)

    def home(self, home_id: int) -> StoredHome:
        """One home.

        Raises
        ------
        InputError
            If there is none of that id.
        """
        row = self._connection.execute(
            "select id, version, mark, note, listing from home where id = ?", (home_id,)
        ).fetchone()
        if row is None:
            raise InputError("This home is not in the store any more; go back to the list.")
        return self._home(row)

    def _home(self, row: tuple[int, int, Mark, str, str]) -> StoredHome:
        home_id, version, mark, note, listing = row
        ask = self._connection.execute
        tags = ask(
            "select tag from tag where home_id = ? and undone_at is null order by id", (home_id,)
        )
        rooms = ask("select room from room where home_id = ? order by name", (home_id,))
        jobs = ask(
            "select job from job where home_id = ? and undone_at is null order by id", (home_id,)
        )
        choices = ask(
            "select option_id, choice from choice where home_id = ? order by 1", (home_id,)
        ).fetchall()
        return StoredHome(
            id=home_id,
            version=version,
            mark=mark,
            note=note,
            listing=Listing.model_validate_json(listing),
            tags=tuple(Tag.model_validate_json(text) for (text,) in tags),
            rooms=tuple(Room.model_validate_json(text) for (text,) in rooms),
            must=tuple(option for option, choice in choices if choice == "must"),
            must_not=tuple(option for option, choice in choices if choice == "must_not"),
            jobs=tuple(FinishedJob.model_validate_json(text) for (text,) in jobs),
        )

    def add_home(self, listing: Listing, tags: Iterable[Tag] = ()) -> int:
        """Add a home, or bring its listing up to date if one of that name is there.

        Nothing the user typed is touched; tags that are there already are not added twice.
        """
        text = listing.model_dump_json()
        with self._transaction() as connection:
            row = connection.execute(
                "select id, listing from home where name = ?", (listing.home,)
            ).fetchone()
            if row is None:
                added = connection.execute(
                    "insert into home (name, listing) values (?, ?)", (listing.home, text)
                )
                home_id = int(added.lastrowid or 0)
            else:
                home_id = int(row[0])
                if row[1] != text:
                    connection.execute(
                        "update home set listing = ?, version = version + 1 where id = ?",
                        (text, home_id),
                    )
            for tag in tags:
                content = tag.model_dump_json()
                connection.execute(
                    "insert into tag (home_id, tag) select ?1, ?2 where not exists "
                    "(select 1 from tag where home_id = ?1 and tag = ?2)",
                    (home_id, content),
                )
        return home_id

    def remove_home(self, home_id: int, version: int) -> None:
        """Take a home off the list; :meth:`restore_home` brings it back."""
        with self._change(home_id, version) as connection:
            connection.execute("update home set removed_at = ? where id = ?", (_now(), home_id))

    def restore_home(self, home_id: int) -> None:
        """Undo :meth:`remove_home`."""
        with self._transaction() as connection:
            connection.execute(
                "update home set removed_at = null, version = version + 1 where id = ?", (home_id,)
            )

    def removed_homes(self) -> tuple[tuple[int, str], ...]:
        """Homes taken off the list: (id, name), the last one first."""
        rows = self._connection.execute(
            "select id, name from home where removed_at is not null order by removed_at desc"
        )
        return tuple((int(i), str(n)) for i, n in rows)

    # What the user says of a home --------------------------------------------------------------

    def add_tags(self, home_id: int, version: int, tags: Iterable[Tag]) -> None:
        """Keep tags; older ones of the same condition stay beside them."""
        with self._change(home_id, version) as connection:
            connection.executemany(
                "insert into tag (home_id, tag) values (?, ?)",
                [(home_id, tag.model_dump_json()) for tag in tags],
            )

    def undo_last_tag(self, home_id: int, version: int) -> Tag | None:
        """Undo the newest tag; None if there is none."""
        with self._change(home_id, version) as connection:
            row = connection.execute(
                "select id, tag from tag where home_id = ? and undone_at is null "
                "order by id desc limit 1",
                (home_id,),
            ).fetchone()
            if row is None:
                return None
            connection.execute("update tag set undone_at = ? where id = ?", (_now(), row[0]))
        return Tag.model_validate_json(row[1])

    def save_room(self, home_id: int, version: int, room: Room) -> None:
        """Keep the size of a room."""
        with self._change(home_id, version) as connection:
            connection.execute(
                "insert into room (home_id, name, room) values (?, ?, ?) "
                "on conflict (home_id, name) do update set room = excluded.room",
                (home_id, room.name, room.model_dump_json()),
            )

    def save_choice(
        self, home_id: int, version: int, option_id: str, choice: Choice | None
    ) -> None:
        """Force an option in or out of the scope, or leave it to the program (None)."""
        with self._change(home_id, version) as connection:
            if choice is None:
                connection.execute(
                    "delete from choice where home_id = ? and option_id = ?", (home_id, option_id)
                )
            else:
                connection.execute(
                    "insert into choice (home_id, option_id, choice) values (?, ?, ?) "
                    "on conflict (home_id, option_id) do update set choice = excluded.choice",
                    (home_id, option_id, choice),
                )

    def save_mark(self, home_id: int, version: int, mark: Mark) -> None:
        """Keep a home, set it aside, or neither; goes into the decision log."""
        words = {"keep": "Kept", "aside": "Set aside", "": "Back to undecided"}[mark]
        with self._change(home_id, version) as connection:
            connection.execute("update home set mark = ? where id = ?", (mark, home_id))
            connection.execute(
                "insert into decision (home_id, decided_at, sentence) values (?, ?, ?)",
                (home_id, _now(), words),
            )

    def save_note(self, home_id: int, version: int, note: str) -> None:
        """Keep the user's note on a home."""
        with self._change(home_id, version) as connection:
            connection.execute("update home set note = ? where id = ?", (note, home_id))

    def add_job(self, home_id: int, version: int, job: FinishedJob) -> None:
        """Keep what a piece of work really cost."""
        with self._change(home_id, version) as connection:
            connection.execute(
                "insert into job (home_id, job) values (?, ?)", (home_id, job.model_dump_json())
            )

    def decisions(self, home_id: int) -> tuple[tuple[str, str], ...]:
        """Decision log of a home: (time, sentence), oldest first."""
        rows = self._connection.execute(
            "select decided_at, sentence from decision where home_id = ? order by id", (home_id,)
        )
        return tuple((str(time), str(sentence)) for time, sentence in rows)

    # What belongs to no home -------------------------------------------------------------------

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

    def settings(self) -> Settings:
        """The user's settings; usual ones before anything was saved."""
        row = self._connection.execute(
            "select value from setting where name = 'settings'"
        ).fetchone()
        return Settings() if row is None else Settings.model_validate_json(row[0])

    def save_settings(self, settings: Settings) -> None:
        """Keep the settings."""
        self._save_value("settings", settings.model_dump_json())

    def flag(self, name: str) -> bool:
        """Whether something was done once, such as the first import of the demo homes."""
        row = self._connection.execute(
            "select value from setting where name = ?", (name,)
        ).fetchone()
        return row is not None and bool(json.loads(row[0]))

    def save_flag(self, name: str) -> None:
        """Remember that something was done."""
        self._save_value(name, "true")

    def _save_value(self, name: str, value: str) -> None:
        with self._transaction() as connection:
            connection.execute(
                "insert into setting (name, value) values (?, ?) "
                "on conflict (name) do update set value = excluded.value",
                (name, value),
            )

    def price_rows(self) -> dict[str, str]:
        """The user's own price book rows as JSON by id."""
        return dict(self._connection.execute("select id, price_row from price_row order by id"))

    def save_price_row(self, item: str, row: str | None) -> None:
        """Keep one of the user's own price rows (JSON), or go back to the package's (None)."""
        with self._transaction() as connection:
            if row is None:
                connection.execute("delete from price_row where id = ?", (item,))
            else:
                connection.execute(
                    "insert into price_row (id, price_row) values (?, ?) "
                    "on conflict (id) do update set price_row = excluded.price_row",
                    (item, row),
                )

    # Safety ------------------------------------------------------------------------------------

    def backup(self, path: Path) -> None:
        """Write a copy that can be put in the store's place, also while the store is in use."""
        with closing(sqlite3.connect(path)) as target:
            self._connection.backup(target)

    def problems(self) -> tuple[str, ...]:
        """Sentences about what is broken in the file; none if all is well."""
        rows = self._connection.execute("pragma integrity_check").fetchall()
        found = [str(row[0]) for row in rows if row[0] != "ok"]
        found += [
            f"a row of {table} belongs to no home"
            for table, *_ in self._connection.execute("pragma foreign_key_check")
        ]
        return tuple(found)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
