"""What viewing sheets brought back: kept all at once, and taken back without what came later."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from typing import TypeVar

from pydantic import ValidationError

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.records import Record
from scorer.rooms import Room
from scorer.store.file import now
from scorer.store.notes import NotesStore, note_below
from scorer.store.taken import TakenPhoto

Key = TypeVar("Key", int, str)

SAVE_ROOM = (
    "insert into room (home_id, name, room) values (?, ?, ?) "
    "on conflict (home_id, name) do update set room = excluded.room"
)


class BroughtAnswers(Record):
    """What one import changed, as it has to be known to take it back.

    Attributes
    ----------
    brought_at
        ISO 8601 time.
    tags
        Ids of the tags that it added.
    rooms, photos
        By room and by photo, the row before (None: there was none) and after, as JSON.
    note
        The words that it wrote below the note.
    """

    brought_at: str
    tags: tuple[int, ...] = ()
    rooms: dict[str, tuple[str | None, str]] = {}
    photos: dict[int, tuple[str | None, str]] = {}
    note: str = ""


class AnswersStore(NotesStore):
    """The last sheet of each home can be taken back, also after the program was closed."""

    def save_answers(
        self,
        home_id: int,
        version: int,
        tags: Iterable[Tag],
        rooms: Iterable[Room],
        note: str = "",
        photos: Iterable[TakenPhoto] = (),
    ) -> tuple[int, ...]:
        """Keep what a viewing sheet brought back, all of it or nothing.

        Parameters
        ----------
        tags
            Added to those that are there.
        rooms
            Take the place of the sizes of the rooms of the same names.
        note
            Added below the home's note, unless it is in it already.
        photos
            Added as :meth:`add_photos` does; the ids of the new ones are returned.
        """
        with self._change(home_id, version) as connection:
            sizes, pictures = self._rooms(home_id), self._pictures(home_id)
            added = self._add_tags(connection, home_id, tags)
            for room in rooms:
                connection.execute(SAVE_ROOM, (home_id, room.name, room.model_dump_json()))
            before = self._note(home_id)
            after = note_below(before, note)
            if after != before:
                connection.execute("update home set note = ? where id = ?", (after, home_id))
            new = self._add_photos(home_id, photos)
            brought = BroughtAnswers(
                brought_at=now(),
                tags=added,
                rooms=_changed(sizes, self._rooms(home_id)),
                photos=_changed(pictures, self._pictures(home_id)),
                note=note if after != before else "",
            )
            if brought != BroughtAnswers(brought_at=brought.brought_at):  # else the one before
                self._put(_name(home_id), brought.model_dump())
            return new

    def last_answers(self, home_id: int) -> BroughtAnswers | None:
        """What the last import of a sheet changed, if it was not taken back."""
        try:
            return BroughtAnswers.model_validate(self.value(_name(home_id)))
        except ValidationError:  # none, or another version of the program wrote it
            return None

    def take_answers_back(self, home_id: int) -> str:
        """Undo what the last sheet brought, and only that.

        Whatever was changed since stays as it is, in this window or another, so no version has to
        be named.

        Returns
        -------
        str
            One sentence about what stays because it was changed since; empty if nothing does.

        Raises
        ------
        InputError
            If there is no import to take back.
        """
        with self._transaction() as connection:
            brought = self.last_answers(home_id)
            if brought is None:
                raise InputError("No answers of a sheet are left here that could be taken back.")
            stays = []
            connection.executemany(
                "update tag set undone_at = ? where home_id = ? and id = ? and undone_at is null",
                [(now(), home_id, tag) for tag in brought.tags],
            )
            there = self._rooms(home_id)
            for name, (before, after) in brought.rooms.items():
                if there.get(name) != after:
                    stays.append(f"the size of the {name}")
                elif before is None:
                    connection.execute(
                        "delete from room where home_id = ? and name = ?", (home_id, name)
                    )
                else:
                    connection.execute(SAVE_ROOM, (home_id, name, before))
            note = self._note(home_id)
            rest = _without(note, brought.note)
            if rest is None:
                stays.append("the words in the note")
            elif rest != note:
                connection.execute("update home set note = ? where id = ?", (rest, home_id))
            stays += self._take_pictures_back(connection, home_id, brought)
            connection.execute("update home set version = version + 1 where id = ?", (home_id,))
            self._put(_name(home_id), None)
        if not stays:
            return ""
        words = ", ".join(dict.fromkeys(stays))
        return f"What was changed since stays: {words}."

    def _take_pictures_back(
        self, connection: sqlite3.Connection, home_id: int, brought: BroughtAnswers
    ) -> list[str]:
        stays = []
        there = self._pictures(home_id)
        for photo, (before, after) in brought.photos.items():
            if photo not in there:  # taken off since
                continue
            if there[photo] != after:
                stays.append(f"viewing photo {photo}")
            elif before is None:
                self._remove_photos(home_id, [photo])
            else:
                connection.execute("update taken_photo set taken = ? where id = ?", (before, photo))
        return stays

    def _add_tags(
        self, connection: sqlite3.Connection, home_id: int, tags: Iterable[Tag]
    ) -> tuple[int, ...]:
        """Inside a change: keep tags; returns their ids."""
        insert = "insert into tag (home_id, tag) values (?, ?)"
        rows = [connection.execute(insert, (home_id, tag.model_dump_json())) for tag in tags]
        return tuple(int(row.lastrowid or 0) for row in rows)

    def _rooms(self, home_id: int) -> dict[str, str]:
        ask = "select name, room from room where home_id = ?"
        return dict(self._connection.execute(ask, (home_id,)).fetchall())

    def _pictures(self, home_id: int) -> dict[int, str]:
        ask = "select id, taken from taken_photo where home_id = ? and removed_at is null"
        return dict(self._connection.execute(ask, (home_id,)).fetchall())


def _name(home_id: int) -> str:
    return f"answers brought to home {home_id}"


def _changed(
    before: Mapping[Key, str], after: Mapping[Key, str]
) -> dict[Key, tuple[str | None, str]]:
    return {key: (before.get(key), row) for key, row in after.items() if before.get(key) != row}


def _without(note: str, words: str) -> str | None:
    """A note without the lines that were added below it; None if they are not there any more."""
    if not words:
        return note
    found = f"\n{note}\n".rpartition(f"\n{words}\n")
    if not found[1]:
        return None
    return "\n".join(part for part in (found[0][1:], found[2][:-1]) if part)
