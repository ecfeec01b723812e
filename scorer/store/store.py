"""Everything the user typed of a home; each change is one transaction."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from typing import Literal, NamedTuple

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.listing import Listing, PhotoFile
from scorer.money.lettings import Letting
from scorer.records import Record
from scorer.rooms import Room
from scorer.store.answers import SAVE_ROOM, AnswersStore
from scorer.store.facts import with_facts
from scorer.store.file import now
from scorer.store.taken import TakenPhoto
from scorer.upgrades.learning import FinishedJob

Mark = Literal["", "keep", "aside"]
Choice = Literal["must", "must_not"]
Source = Literal["demo", "own"]


_COLUMNS = "id, version, mark, note, listing, folder, source, problems, facts"


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
    listing
        Facts that the user typed stand in place of those that were brought in.
    rooms
        Sizes that the user typed.
    folder, source
        Where the photos lie; ``demo`` for the invented homes.
    problems
        Sentences from the import about what could not be used.
    photo_rooms
        Room by photo, where a person said which it shows.
    taken
        Photos that the user took at the viewing and after the work, oldest first.
    lettings
        What it was let for after the work, oldest first.
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
    folder: str = ""
    source: Source = "own"
    problems: tuple[str, ...] = ()
    photo_rooms: dict[str, str] = {}
    taken: tuple[TakenPhoto, ...] = ()
    lettings: tuple[Letting, ...] = ()

    def photos_to_read(self) -> tuple[PhotoFile, ...]:
        """Photos of the listing, and those taken at the viewing that show a whole room."""
        taken = (photo.as_photo_file() for photo in self.taken if photo.is_read)
        return (*self.listing.photos, *taken)


class Brought(NamedTuple):
    """A home as an import brings it; see :meth:`Store.add_home`."""

    listing: Listing
    tags: tuple[Tag, ...] = ()
    folder: str = ""
    source: Source = "own"
    problems: tuple[str, ...] = ()


class Store(AnswersStore):
    """Homes and what was said of them; the classes below it have the rest.

    Changes of a home name the version that the caller saw; where the home was changed since,
    nothing is written and :class:`~scorer.store.changing.StaleError` says so.
    """

    # Homes ------------------------------------------------------------------------------------

    def homes(self) -> tuple[StoredHome, ...]:
        """All homes that were not removed, in the order they were added."""
        rows = self._connection.execute(
            f"select {_COLUMNS} from home where removed_at is null order by id"
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
            f"select {_COLUMNS} from home where id = ?", (home_id,)
        ).fetchone()
        if row is None:
            raise InputError("This home is not in the store any more; go back to the list.")
        return self._home(row)

    def _home(self, row: tuple[int, int, Mark, str, str, str, Source, str, str]) -> StoredHome:
        home_id, version, mark, note, listing, folder, source, problems, facts = row
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
            listing=with_facts(Listing.model_validate_json(listing), json.loads(facts)),
            tags=tuple(Tag.model_validate_json(text) for (text,) in tags),
            rooms=tuple(Room.model_validate_json(text) for (text,) in rooms),
            must=tuple(option for option, choice in choices if choice == "must"),
            must_not=tuple(option for option, choice in choices if choice == "must_not"),
            jobs=tuple(FinishedJob.model_validate_json(text) for (text,) in jobs),
            folder=folder,
            source=source,
            problems=tuple(json.loads(problems)),
            photo_rooms=dict(
                ask("select photo, room from photo_room where home_id = ?", (home_id,)).fetchall()
            ),
            taken=self.taken_photos(home_id),
            lettings=tuple(letting for _, letting in self.lettings(home_id)),
        )

    def add_home(
        self,
        listing: Listing,
        tags: Iterable[Tag] = (),
        *,
        folder: str = "",
        source: Source = "own",
        problems: Iterable[str] = (),
    ) -> int:
        """Add a home, or bring its listing up to date if it is there; returns its id.

        Nothing the user typed is touched; tags that are there already are not added twice. A home
        of the same name from another folder gets a number behind its name. One that was removed
        comes back.
        """
        brought = Brought(listing, tuple(tags), folder, source, tuple(problems))
        return self.add_homes([brought])[0]

    def add_homes(self, homes: Iterable[Brought]) -> tuple[int, ...]:
        """As :meth:`add_home` for several at once: all are kept, or none; returns their ids."""
        with self._transaction() as connection:
            return tuple(self._add(connection, home) for home in homes)

    def _add(self, connection: sqlite3.Connection, home: Brought) -> int:
        name, row = self._place(home.listing.home, home.folder)
        text = home.listing.model_copy(update={"home": name}).model_dump_json()
        found = json.dumps(home.problems)
        changed = False
        if row is None:
            added = connection.execute(
                "insert into home (name, listing, folder, source, problems) values (?, ?, ?, ?, ?)",
                (name, text, home.folder, home.source, found),
            )
            home_id = int(added.lastrowid or 0)
        else:
            home_id = row[0]
            changed = row[1:] != (text, home.folder, found, None)
            connection.execute(
                "update home set listing = ?, folder = ?, problems = ?, removed_at = null "
                "where id = ?",
                (text, home.folder, found, home_id),
            )
        for tag in home.tags:
            done = connection.execute(
                "insert into tag (home_id, tag) select ?1, ?2 where not exists "
                "(select 1 from tag where home_id = ?1 and tag = ?2)",
                (home_id, tag.model_dump_json()),
            )
            changed |= row is not None and done.rowcount == 1
        if changed:  # whoever has the home open is told before they write over it
            connection.execute("update home set version = version + 1 where id = ?", (home_id,))
        return home_id

    def _place(
        self, wanted: str, folder: str
    ) -> tuple[str, tuple[int, str, str, str, str | None] | None]:
        """The name that a home gets, and its row if it is there already."""
        columns = "id, listing, folder, problems, removed_at, name"
        ask = self._connection.execute
        if folder:
            row = ask(f"select {columns} from home where folder = ?", (folder,)).fetchone()
            if row is not None:
                return row[5], row[:5]
        name, number = wanted, 1
        while True:
            row = ask(f"select {columns} from home where name = ?", (name,)).fetchone()
            if row is None:
                return name, None
            if not folder or not row[2]:
                return name, row[:5]
            number += 1
            name = f"{wanted[:190]} ({number})"

    def remove_home(self, home_id: int, version: int) -> None:
        """Take a home off the list; :meth:`restore_home` brings it back."""
        with self._change(home_id, version) as connection:
            connection.execute("update home set removed_at = ? where id = ?", (now(), home_id))

    def restore_home(self, home_id: int) -> None:
        """Undo :meth:`remove_home`."""
        with self._transaction() as connection:
            connection.execute(
                "update home set removed_at = null, version = version + 1 where id = ?", (home_id,)
            )

    def remove_demo(self) -> tuple[int, ...]:
        """Take all demo homes off the list; returns their ids for :meth:`restore_home`."""
        with self._transaction() as connection:
            rows = connection.execute(
                "update home set removed_at = ?, version = version + 1 "
                "where source = 'demo' and removed_at is null returning id",
                (now(),),
            ).fetchall()
        return tuple(int(row[0]) for row in rows)

    def photo_files(self, home_id: int) -> dict[str, tuple[str, int, int]]:
        """Content hash, size [bytes] and time of change [ns] of a home's photos by name."""
        rows = self._connection.execute(
            "select name, content_hash, size_bytes, modified_ns from photo where home_id = ?",
            (home_id,),
        )
        return {name: (content, size, modified) for name, content, size, modified in rows}

    def save_photo_files(self, home_id: int, files: Mapping[str, tuple[str, int, int]]) -> None:
        """Replace what is known of a home's photo files."""
        if self.photo_files(home_id) == dict(files):
            return
        with self._transaction() as connection:
            connection.execute("delete from photo where home_id = ?", (home_id,))
            connection.executemany(
                "insert into photo values (?, ?, ?, ?, ?)",
                [(home_id, name, *values) for name, values in files.items()],
            )

    def removed_homes(self) -> tuple[tuple[int, str], ...]:
        """Homes taken off the list: (id, name), the last one first."""
        rows = self._connection.execute(
            "select id, name from home where removed_at is not null order by removed_at desc"
        )
        return tuple((int(i), str(n)) for i, n in rows)

    # What the user says of a home --------------------------------------------------------------

    def add_tags(
        self,
        home_id: int,
        version: int,
        tags: Iterable[Tag],
        photos: Iterable[TakenPhoto] = (),
    ) -> tuple[int, ...]:
        """Keep tags, and photos with them as :meth:`add_photos` does, whose new ids are returned.

        Older tags of the same condition stay beside them.
        """
        with self._change(home_id, version) as connection:
            self._add_tags(connection, home_id, tags)
            return self._add_photos(home_id, photos)

    def undo_last_tag(self, home_id: int, version: int, photos: Iterable[int] = ()) -> Tag | None:
        """Undo the newest tag, and the photos that came with it; None if there is none."""
        with self._change(home_id, version) as connection:
            row = connection.execute(
                "select id, tag from tag where home_id = ? and undone_at is null "
                "order by id desc limit 1",
                (home_id,),
            ).fetchone()
            if row is None:
                return None
            connection.execute("update tag set undone_at = ? where id = ?", (now(), row[0]))
            self._remove_photos(home_id, photos)
        return Tag.model_validate_json(row[1])

    def undo_tags(self, home_id: int, version: int, room: str, condition: str) -> None:
        """Undo every tag of one condition of one room; what the photo suggests holds again."""
        with self._change(home_id, version) as connection:
            connection.execute(
                "update tag set undone_at = ? where home_id = ? and undone_at is null "
                "and tag ->> 'room' = ? and tag ->> 'condition' = ?",
                (now(), home_id, room, condition),
            )

    def save_photo_room(self, home_id: int, version: int, photo: str, room: str | None) -> None:
        """Say which room a photo shows, or leave it to the listing and the photo (None)."""
        with self._change(home_id, version) as connection:
            connection.execute(
                "delete from photo_room where home_id = ? and photo = ?", (home_id, photo)
            )
            if room is not None:
                connection.execute(
                    "insert into photo_room values (?, ?, ?)", (home_id, photo, room)
                )

    def save_room(self, home_id: int, version: int, room: Room) -> None:
        """Keep the size of a room."""
        with self._change(home_id, version) as connection:
            connection.execute(SAVE_ROOM, (home_id, room.name, room.model_dump_json()))

    def save_choices(
        self, home_id: int, version: int, choices: Mapping[str, Choice | None]
    ) -> None:
        """Force options in or out of the scope by id, or leave them to the program (None)."""
        with self._change(home_id, version) as connection:
            for option_id, choice in choices.items():
                connection.execute(
                    "delete from choice where home_id = ? and option_id = ?", (home_id, option_id)
                )
                if choice is not None:
                    connection.execute(
                        "insert into choice (home_id, option_id, choice) values (?, ?, ?)",
                        (home_id, option_id, choice),
                    )

    def save_mark(self, home_id: int, version: int, mark: Mark) -> None:
        """Keep a home, set it aside, or neither; goes into the decision log."""
        words = {"keep": "Kept", "aside": "Set aside", "": "Back to undecided"}[mark]
        with self._change(home_id, version) as connection:
            connection.execute("update home set mark = ? where id = ?", (mark, home_id))
            connection.execute(
                "insert into decision (home_id, decided_at, sentence) values (?, ?, ?)",
                (home_id, now(), words),
            )

    def add_job(self, home_id: int, version: int, job: FinishedJob) -> None:
        """Keep what a piece of work really cost."""
        with self._change(home_id, version) as connection:
            connection.execute(
                "insert into job (home_id, job) values (?, ?)", (home_id, job.model_dump_json())
            )

    def jobs_of(self, home_id: int) -> tuple[tuple[int, FinishedJob], ...]:
        """(id, finished job) of a home, oldest first; those taken out are left out."""
        rows = self._connection.execute(
            "select id, job from job where home_id = ? and undone_at is null order by id",
            (home_id,),
        )
        return tuple((int(i), FinishedJob.model_validate_json(text)) for i, text in rows)

    def undo_last_job(self, home_id: int, version: int) -> None:
        """Undo the job that was logged last."""
        with self._change(home_id, version) as connection:
            connection.execute(
                "update job set undone_at = ? where id = (select max(id) from job "
                "where home_id = ? and undone_at is null)",
                (now(), home_id),
            )
