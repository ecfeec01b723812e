"""Photos that the user took of a home: at the viewing as evidence, after the work as proof."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Literal

from pydantic import Field

from scorer.errors import InputError
from scorer.listing.listing import PhotoFile
from scorer.listing.room_words import from_name
from scorer.money.lettings import Letting
from scorer.records import Record
from scorer.store.facts import FactsStore
from scorer.store.file import now

Stage = Literal["viewing", "after"]
PHOTO_FOLDER = "taken photos"
MOST_PHOTOS = 1_000
LONGEST_NOTE = 2_000


class TakenPhoto(Record):
    """One photo of one room that the user took.

    Attributes
    ----------
    id
        Of the row; 0 before it is kept.
    file, path
        Name of the file in the store's photo folder (SHA-256 of its bytes), and its full path.
    stage
        ``viewing`` (before the work) or ``after`` (the work is done).
    room, condition
        What it shows; ``condition`` is empty where it shows the room.
    note, taken_at
        The user's words; ISO 8601 time.
    read
        Whether it is read like a photo of the listing. A close-up says nothing of a room's walls,
        so a photo of a condition is evidence only unless the user says otherwise, and a photo of
        finished work is never read: it must not change what is said of the home as it was.
    upgrade
        Of an after photo: catalogue id of the work that it shows; empty for the whole room.
    before
        Of an after photo: the name of the photo that the user put beside it; empty for the best
        guess.
    """

    id: int = 0
    file: str = Field(pattern=r"^[0-9a-f]{64}\.[a-z]{3,4}$")
    path: str = ""
    stage: Stage = "viewing"
    room: str = Field(min_length=1, max_length=80)
    condition: str = Field(default="", max_length=80)
    note: str = Field(default="", max_length=LONGEST_NOTE)
    taken_at: str = ""
    read: bool = False
    upgrade: str = Field(default="", max_length=80)
    before: str = ""

    @property
    def name(self) -> str:
        """The name shown to a person, unique within the home and never that of a listing photo."""
        return f"{self.stage} photo {self.id}"

    @property
    def is_read(self) -> bool:
        """Whether the program reads it."""
        return self.read and self.stage == "viewing"

    def as_photo_file(self) -> PhotoFile:
        """The same as a photo of the listing whose room a person said."""
        word = from_name(self.room)
        return PhotoFile(
            path=self.path,
            name=self.name,
            room_kind=word.kind if word else None,
            room_name=word.name if word else "",
            room=self.room,
            caption=self.note,
        )


class TakenStore(FactsStore):
    """Photos that were taken, and what homes were let for after the work."""

    @property
    def photo_folder(self) -> Path:
        """Where the files lie: beside the store, each named by its content."""
        return self.path.parent / PHOTO_FOLDER

    def taken_photos(self, home_id: int) -> tuple[TakenPhoto, ...]:
        """Photos of a home that were not taken off, oldest first."""
        rows = self._connection.execute(
            "select id, taken from taken_photo where home_id = ? and removed_at is null "
            "order by id",
            (home_id,),
        )
        found = []
        for photo_id, text in rows:
            photo = TakenPhoto.model_validate_json(text)
            path = str(self.photo_folder / photo.file)
            found.append(photo.model_copy(update={"id": int(photo_id), "path": path}))
        return tuple(found)

    def add_photos(
        self, home_id: int, version: int, photos: Iterable[TakenPhoto]
    ) -> tuple[int, ...]:
        """Keep photos whose files are in the folder; returns the ids of those that are new.

        The same photo of the same thing is kept once; a note that it brings is added to the old.
        """
        with self._change(home_id, version):
            return self._add_photos(home_id, photos)

    def _add_photos(self, home_id: int, photos: Iterable[TakenPhoto]) -> tuple[int, ...]:
        """As :meth:`add_photos`, inside a change."""
        there = {_key(photo): photo for photo in self.taken_photos(home_id)}
        added = []
        for photo in photos:
            old = there.get(_key(photo))
            if old is not None:
                joined = _joined(old, photo)
                if joined != old:
                    there[_key(photo)] = joined
                    self._write_photo(joined)
                continue
            if len(there) >= MOST_PHOTOS:
                raise InputError(
                    f"This home has {MOST_PHOTOS:,} photos already; take some off first."
                )
            done = self._connection.execute(
                "insert into taken_photo (home_id, file, taken) values (?, ?, ?)",
                (home_id, photo.file, _text(photo)),
            )
            new = photo.model_copy(update={"id": int(done.lastrowid or 0)})
            there[_key(photo)] = new
            added.append(new.id)
        return tuple(added)

    def _write_photo(self, photo: TakenPhoto) -> None:
        self._connection.execute(
            "update taken_photo set taken = ? where id = ?", (_text(photo), photo.id)
        )

    def remove_photos(self, home_id: int, version: int, ids: Iterable[int]) -> None:
        """Take photos off; their files stay, so that :meth:`restore_photos` can undo it."""
        with self._change(home_id, version):
            self._remove_photos(home_id, ids)

    def _remove_photos(self, home_id: int, ids: Iterable[int]) -> None:
        """As :meth:`remove_photos`, inside a change."""
        self._connection.executemany(
            "update taken_photo set removed_at = ? where home_id = ? and id = ?",
            [(now(), home_id, photo_id) for photo_id in ids],
        )

    def restore_photos(self, home_id: int, version: int, ids: Iterable[int]) -> None:
        """Undo :meth:`remove_photos`."""
        with self._change(home_id, version) as connection:
            connection.executemany(
                "update taken_photo set removed_at = null where home_id = ? and id = ?",
                [(home_id, photo_id) for photo_id in ids],
            )

    def change_photo(
        self,
        home_id: int,
        version: int,
        photo_id: int,
        *,
        note: str | None = None,
        read: bool | None = None,
        before: str | None = None,
    ) -> None:
        """Change what was said of a photo; None leaves a field as it is.

        Raises
        ------
        InputError
            If the photo is not there any more.
        """
        with self._change(home_id, version):
            photo = next((p for p in self.taken_photos(home_id) if p.id == photo_id), None)
            if photo is None:
                raise InputError("This photo was taken off in another tab; nothing was changed.")
            said = {"note": note, "read": read, "before": before}
            update = {name: value for name, value in said.items() if value is not None}
            self._write_photo(TakenPhoto.model_validate(photo.model_dump() | update))

    # Files ------------------------------------------------------------------------------------

    def photo_files_in_use(self) -> frozenset[str]:
        """Files that some photo speaks of which was not taken off, of removed homes too."""
        rows = self._connection.execute(
            "select distinct file from taken_photo where removed_at is null"
        )
        return frozenset(str(file) for (file,) in rows)

    def removed_photo_files(self, *, forget: bool = False) -> tuple[str, ...]:
        """Files that only photos speak of that were taken off; ``forget`` ends the way back."""
        with self._transaction() as connection:
            rows = connection.execute(
                "select distinct file from taken_photo where removed_at is not null and file not "
                "in (select file from taken_photo where removed_at is null) order by file"
            ).fetchall()
            if forget:
                connection.execute("delete from taken_photo where removed_at is not null")
        return tuple(str(file) for (file,) in rows)

    # Lettings ---------------------------------------------------------------------------------

    def add_letting(self, home_id: int, version: int, letting: Letting) -> int:
        """Keep what a home was let for; returns the row's id."""
        with self._change(home_id, version) as connection:
            done = connection.execute(
                "insert into letting (home_id, letting) values (?, ?)",
                (home_id, letting.model_dump_json()),
            )
            return int(done.lastrowid or 0)

    def lettings(self, home_id: int) -> tuple[tuple[int, Letting], ...]:
        """(id, letting) of a home, oldest first; those taken out are left out."""
        rows = self._connection.execute(
            "select id, letting from letting where home_id = ? and undone_at is null order by id",
            (home_id,),
        )
        return tuple((int(i), Letting.model_validate_json(text)) for i, text in rows)

    def remove_letting(self, home_id: int, version: int, letting_id: int) -> None:
        """Take a letting out; :meth:`restore_letting` undoes it."""
        self._set_undone("letting", home_id, version, letting_id, now())

    def restore_letting(self, home_id: int, version: int, letting_id: int) -> None:
        """Undo :meth:`remove_letting`."""
        self._set_undone("letting", home_id, version, letting_id, None)

    def remove_job(self, home_id: int, version: int, job_id: int) -> None:
        """Take a finished job out; :meth:`restore_job` undoes it."""
        self._set_undone("job", home_id, version, job_id, now())

    def restore_job(self, home_id: int, version: int, job_id: int) -> None:
        """Undo :meth:`remove_job`."""
        self._set_undone("job", home_id, version, job_id, None)

    def _set_undone(
        self,
        table: Literal["job", "letting"],
        home_id: int,
        version: int,
        row: int,
        time: str | None,
    ) -> None:
        with self._change(home_id, version) as connection:
            connection.execute(
                f"update {table} set undone_at = ? where home_id = ? and id = ?",
                (time, home_id, row),
            )


def _key(photo: TakenPhoto) -> tuple[str, ...]:
    return photo.file, photo.stage, photo.room, photo.condition, photo.upgrade


def what_is_new(
    there: Iterable[TakenPhoto], photos: Iterable[TakenPhoto]
) -> tuple[TakenPhoto, ...]:
    """Photos that are not there yet, or bring words that are not."""
    known = {_key(photo): photo for photo in there}

    def is_new(photo: TakenPhoto) -> bool:
        old = known.get(_key(photo))
        return old is None or _joined(old, photo) != old

    return tuple(photo for photo in photos if is_new(photo))


def _joined(old: TakenPhoto, photo: TakenPhoto) -> TakenPhoto:
    """The old one with the words that the same photo brings again."""
    if photo.note in old.note:
        return old
    note = "\n".join(part for part in (old.note, photo.note) if part)
    return old.model_copy(update={"note": note[:LONGEST_NOTE]})


def _text(photo: TakenPhoto) -> str:
    return photo.model_dump_json(exclude={"id", "path"})
