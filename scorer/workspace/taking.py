"""Photos that the user brings: checked and written, ready to be kept with one change of a home."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import NamedTuple

from scorer.conditions.checklist import load_conditions
from scorer.errors import InputError
from scorer.report.viewing import ViewingPicture
from scorer.sheet import SheetAnswers
from scorer.store import Store, StoredHome, TakenPhoto
from scorer.store.photo_files import is_jpeg, keep_photo_file, keep_photo_files
from scorer.store.taken import Stage


class Taken(NamedTuple):
    """Photos to keep, and sentences about files that are none."""

    photos: tuple[TakenPhoto, ...]
    problems: tuple[str, ...]


class Shown(NamedTuple):
    """What photos show, in the words of :class:`~scorer.store.TakenPhoto`.

    ``read`` is without effect on photos of finished work.
    """

    room: str
    stage: Stage = "viewing"
    condition: str = ""
    upgrade: str = ""
    note: str = ""
    read: bool = False


def take_photos(store: Store, files: Iterable[tuple[str, bytes]], shown: Shown) -> Taken:
    """Check files (name, content) as any photo and write them; nothing is kept of a home yet."""
    written, problems = keep_photo_files(store.photo_folder, files)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    photos = tuple(
        TakenPhoto(
            file=file,
            stage=shown.stage,
            room=shown.room,
            condition=shown.condition,
            upgrade=shown.upgrade,
            note=shown.note.strip(),
            taken_at=now,
            read=shown.read and shown.stage == "viewing",
        )
        for file in dict.fromkeys(written)
    )
    return Taken(photos, problems)


def viewing_pictures(home: StoredHome, width: int = 600) -> tuple[ViewingPicture, ...]:
    """Photos from the viewing as the report shows them; those that can't be read are left out."""
    from scorer.photos import thumbnail_jpeg

    found = []
    for photo in home.taken:
        if photo.stage != "viewing":
            continue
        condition = load_conditions().get(photo.condition)
        words = (photo.name, condition.label if condition else photo.condition, photo.note)
        try:
            jpeg = thumbnail_jpeg(photo.path, width)
        except (InputError, OSError):
            continue
        found.append(ViewingPicture(photo.room, ": ".join(w for w in words if w), jpeg))
    return tuple(found)


def photos_of_sheet(store: Store, answers: SheetAnswers) -> Taken:
    """Photos that a viewing sheet brought back, checked and written as any others.

    A photo of a whole room is read like one of the listing; one of a condition is evidence only.
    """
    photos, problems = [], []
    for number, brought in enumerate(answers.photos, start=1):
        try:
            content = brought.content()
            name = f"Photo {number} of the sheet ({brought.room})"
            if not is_jpeg(content):
                raise InputError(f"{name} is no JPEG, which a sheet always writes; it is left out.")
            file = keep_photo_file(store.photo_folder, content, name)
        except InputError as error:
            problems.append(str(error))
            continue
        photos.append(
            TakenPhoto(
                file=file,
                room=brought.room,
                condition=brought.condition,
                note=brought.note.strip(),
                taken_at=brought.taken_at.isoformat(),
                read=not brought.condition,
            )
        )
    return Taken(tuple(photos), tuple(problems))


def viewing_photos(
    home: StoredHome, room: str, condition: str | None = None
) -> Sequence[TakenPhoto]:
    """Photos from the viewing of one room, or of one condition in it, oldest first."""
    return [
        photo
        for photo in home.taken
        if photo.stage == "viewing"
        and photo.room == room
        and (condition is None or photo.condition == condition)
    ]
