"""Read the file that a viewing sheet exports, and merge it with the tags that are there."""

from __future__ import annotations

import json
import re
from base64 import b64decode
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import Field, ValidationError, field_validator

from scorer.conditions.finding import Severity, Tag
from scorer.errors import InputError, wrong_field
from scorer.records import Record
from scorer.rooms import Feet

FORMAT = "value-add viewing answers"
VERSION = 2
READABLE = frozenset({1, 2})
"""Version 1 had no photos."""
MOST_BYTES = 2_000_000
"""Of the file without its photos: what JSON of this size grows to in memory stays bounded."""
MOST_ANSWERS = 5_000
MOST_PHOTOS = 150
MOST_PHOTO_CHARACTERS = 1_200_000
"""Of one photo in base64: 900 kB, three times what a phone's photo scaled to 1280 px takes."""
MOST_FILE_BYTES = 90_000_000
PHOTO_PX = 1280
PHOTO_QUALITY = 0.7

_PHOTO_TEXT = re.compile(rb'("jpeg"\s*:\s*)"[A-Za-z0-9+/=]*"')


class Answer(Record):
    """One question answered at the viewing; ``present=False`` says that it is not so."""

    room: str = Field(min_length=1, max_length=80)
    condition: str = Field(pattern=r"^[a-z][a-z0-9_]{0,79}$")
    present: bool
    severity: Severity = 2
    note: str = Field(default="", max_length=2_000)
    answered_at: datetime

    @field_validator("answered_at")
    @classmethod
    def _with_zone(cls, time: datetime) -> datetime:
        return time if time.tzinfo else time.replace(tzinfo=UTC)

    def as_tag(self) -> Tag:
        """The same as a person's tag."""
        return Tag(
            room=self.room,
            condition=self.condition,
            present=self.present,
            severity=self.severity,
            note=self.note,
            tagged_at=self.answered_at.isoformat(),
        )


class SheetPhoto(Record):
    """A photo taken with the phone, scaled down there; ``condition`` is empty for the whole room.

    ``jpeg`` is base64. What is inside is not trusted: it is checked as any photo when it is kept.
    """

    room: str = Field(min_length=1, max_length=80)
    condition: str = Field(default="", pattern=r"^([a-z][a-z0-9_]{0,79})?$")
    note: str = Field(default="", max_length=2_000)
    taken_at: datetime
    jpeg: str = Field(min_length=1, max_length=MOST_PHOTO_CHARACTERS)

    @field_validator("taken_at")
    @classmethod
    def _with_zone(cls, time: datetime) -> datetime:
        return time if time.tzinfo else time.replace(tzinfo=UTC)

    def content(self) -> bytes:
        """The bytes of the photo.

        Raises
        ------
        InputError
            If they are not base64.
        """
        try:
            return b64decode(self.jpeg, validate=True)
        except ValueError as error:
            raise InputError(
                f"A photo of the {self.room} is damaged in the file; export it from the viewing "
                "sheet again."
            ) from error


class MeasuredRoom(Record):
    """Sizes taken at the viewing; what was not measured is None."""

    name: str = Field(min_length=1, max_length=80)
    length_ft: Feet | None = None
    width_ft: Feet | None = None
    height_ft: Annotated[float, Field(gt=4, le=30)] | None = None


class SheetAnswers(Record):
    """What one sheet brought back from one home."""

    format: str
    version: int
    home: str = Field(min_length=1, max_length=200)
    written_at: datetime
    answers: tuple[Answer, ...] = Field(default=(), max_length=MOST_ANSWERS)
    rooms: tuple[MeasuredRoom, ...] = Field(default=(), max_length=200)
    note: str = Field(default="", max_length=20_000)
    photos: tuple[SheetPhoto, ...] = Field(default=(), max_length=MOST_PHOTOS)


class Conflict(Record):
    """Two answers to one question that say different things; the newer one holds.

    ``kept`` is the tag that holds, ``other`` the one that gave way; neither is lost.
    """

    room: str
    condition: str
    kept: Tag
    other: Tag


class Merged(Record):
    """Tags to add to those that are there, and the answers that disagree with them."""

    tags: tuple[Tag, ...]
    conflicts: tuple[Conflict, ...]


def read_answers(content: bytes, name: str = "answers file") -> SheetAnswers:
    """Check and read an exported file.

    Raises
    ------
    InputError
        If it is too large, not JSON, not from a viewing sheet, of a later version, or has a wrong
        field; the sentence names the file and the field.
    """
    if len(content) > MOST_FILE_BYTES:
        raise InputError(
            f"{name} is larger than {MOST_FILE_BYTES // 10**6} MB; take some photos off the "
            "viewing sheet and export it again."
        )
    if len(content) > MOST_BYTES and len(_PHOTO_TEXT.sub(rb'\1""', content)) > MOST_BYTES:
        raise InputError(
            f"{name} is larger than 2 MB without its photos; export it from the viewing sheet "
            "again."
        )
    try:
        data: Any = json.loads(content.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise InputError(
            f"{name} can't be read as JSON; export it from the viewing sheet again."
        ) from error
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError(f"{name} was not exported by a viewing sheet; choose the file it saved.")
    version = data.get("version")
    if type(version) is not int or version not in READABLE:
        raise InputError(
            f"{name} has version {repr(version)[:40]}, this program reads {VERSION}; "
            "update the program."
        )
    try:
        return SheetAnswers.model_validate(data)
    except ValidationError as error:
        raise InputError(f"{name}, {wrong_field(error)}.") from error


def merge_answers(stored: Sequence[Tag], answers: SheetAnswers) -> Merged:
    """Merge by rule: the newer answer to a question holds, and disagreement is shown.

    Answers that are already there to the letter are not added again, so importing a file twice
    changes nothing.

    Parameters
    ----------
    stored
        All tags of the home, older ones included.
    answers
        What the sheet brought back.
    """
    there = set(stored)
    newest: dict[tuple[str, str], Tag] = {}
    for tag in sorted(stored, key=_time):
        newest[tag.room, tag.condition] = tag
    tags, conflicts = [], []
    for answer in sorted(answers.answers, key=lambda a: a.answered_at):
        tag = answer.as_tag()
        if tag in there:
            continue
        there.add(tag)
        tags.append(tag)
        key = (tag.room, tag.condition)
        before = newest.get(key)
        kept = tag if before is None or _time(tag) >= _time(before) else before
        if before is not None and not _same(before, tag):
            other = before if kept is tag else tag
            conflicts.append(
                Conflict(room=tag.room, condition=tag.condition, kept=kept, other=other)
            )
        newest[key] = kept
    return Merged(tags=tuple(tags), conflicts=tuple(conflicts))


def _same(one: Tag, two: Tag) -> bool:
    if one.present != two.present:
        return False
    return not one.present or one.severity == two.severity


def _time(tag: Tag) -> datetime:
    try:
        time = datetime.fromisoformat(tag.tagged_at)
    except ValueError:
        return datetime.min.replace(tzinfo=UTC)
    return time if time.tzinfo else time.replace(tzinfo=UTC)
