"""A home's ``tags.csv``: what a person found at the viewing, one row for each condition."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

from scorer.conditions.checklist import Condition, load_conditions
from scorer.conditions.data_file import guarded_text, unguarded_text
from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.fields import Cells
from scorer.listing.room_words import first_words, from_name, is_bare
from scorer.listing.tables import read_rows
from scorer.listing.values import WrongValue, as_count, plain
from scorer.rooms import Room, RoomKind

FILE = "tags.csv"
FIELDS = ("room", "condition", "severity", "note", "present", "tagged_at")
LONGEST_NOTE = 2_000
MOST_TAGS = 5_000
_YES = {"", "yes", "y", "true", "1", "x"}
_NO = {"no", "n", "false", "0"}


def read_tags(folder: Path, shown: str | None = None) -> tuple[tuple[Tag, ...], tuple[str, ...]]:
    """Tags of one home's folder, and sentences about rows that could not be used.

    Columns: room, condition (id or label of the checklist), severity 0–3, note, present (yes or
    no), tagged_at (ISO 8601). Only the first two must be there.
    """
    path = folder / FILE
    if not path.is_file():
        return (), ()
    try:
        rows, found = read_rows(path, f"{shown or folder.name}/{FILE}")
    except InputError as error:
        return (), (str(error),)
    tags, problems = [], list(found)
    if len(rows) > MOST_TAGS:
        problems.append(
            f"{shown or folder.name}/{FILE}: {len(rows):,} rows are more than the {MOST_TAGS:,} "
            "that a home may have; those at the end were left out."
        )
    for row in rows[:MOST_TAGS]:
        cells = Cells(row)
        tag = _tag(cells)
        if tag is not None:
            tags.append(tag)
        problems += cells.problems
    return tuple(tags), tuple(problems)


def _tag(cells: Cells) -> Tag | None:
    for key in ("room", "condition"):
        if not cells.text(key):
            cells.problems.append(f"{cells.place}: {key} is missing; the row was left out.")
            return None
    try:
        condition = find_condition(cells.text("condition"))
    except InputError as error:
        cells.problems.append(f"{cells.place}: {error}")
        return None
    severity = cells.read("severity", lambda v: as_count(v, low=0, high=3))
    if severity is None:
        severity = condition.default_severity
    present = cells.read("present", _yes_or_no)
    return Tag(
        room=room_name(cells.text("room")),
        condition=condition.id,
        severity=severity,
        note=unguarded_text(cells.text("note"))[:LONGEST_NOTE],
        present=True if present is None else present,
        tagged_at=cells.text("taggedat"),
    )


def _yes_or_no(value: object) -> bool:
    word = str(value).strip().lower()
    if word in _YES or word in _NO:
        return word in _YES
    raise WrongValue("is neither yes nor no")


def find_condition(words: str, conditions: Mapping[str, Condition] | None = None) -> Condition:
    """A condition by its id or its label, however it is spelled.

    Raises
    ------
    InputError
        If there is none; the sentence names those that come near.
    """
    known = load_conditions() if conditions is None else conditions
    wanted = plain(words)
    for condition in known.values():
        if wanted in {plain(condition.id), plain(condition.label)}:
            return condition
    near = _near(words[:80].strip().lower().replace(" ", "_"), tuple(known))
    hint = f"did you mean {' or '.join(near)}?" if near else "`value-add conditions` lists all."
    raise InputError(f"“{words[:60]}” is no condition of the checklist; {hint}")


@lru_cache(maxsize=1_000)
def _near(words: str, known: tuple[str, ...]) -> list[str]:
    from difflib import get_close_matches

    return get_close_matches(words, known, 3, 0.5)


def room_name(words: str) -> str:
    """A room's name as the program writes it: lower case, blanks between words."""
    return " ".join(words.replace("_", " ").replace("-", " ").lower().split())[:80]


def match_rooms(
    tags: Sequence[Tag], rooms: Sequence[Room]
) -> tuple[tuple[Tag, ...], tuple[str, ...]]:
    """Tags with their room's full name; "bathroom" means the first bathroom.

    Returns
    -------
    tags, problems
        Sentences about tags whose room is not among the rooms, which are left out.
    """
    names = {room.name: room.name for room in rooms}
    firsts: dict[str, str] = {}
    for room in rooms:
        firsts.setdefault(first_words(room.name), room.name)
        firsts.setdefault(room.kind.value.replace("_", " "), room.name)
    matched, problems = [], []
    for tag in tags:
        wanted = room_name(tag.room)
        name = names.get(wanted) or firsts.get(wanted)
        if name is None:
            word = from_name(wanted)
            name = firsts.get(word.name) if word is not None and is_bare(wanted) else None
        if name is None:
            problems.append(
                f"{FILE}: “{tag.room}” is no room that is known, so {tag.condition} was left out; "
                f"use one of {', '.join(room.name for room in rooms)}."
            )
        else:
            matched.append(tag.model_copy(update={"room": name}))
    return tuple(matched), tuple(problems)


def append_tag(folder: Path, tag: Tag) -> Tag:
    """Add one row to a home's ``tags.csv``; what stands there is left as it is.

    Raises
    ------
    InputError
        If the room or the condition is not known, or the file cannot be written.
    """
    if not folder.is_dir():
        raise InputError(f"{folder}: there is no such folder; give the folder of one home.")
    condition = find_condition(tag.condition)
    room = room_name(tag.room)
    if from_name(room) is None and room != RoomKind.WHOLE_HOME.value.replace("_", " "):
        kinds = ", ".join(k.value.replace("_", " ") for k in RoomKind)
        raise InputError(f"“{tag.room}” is no kind of room that is known; use one of {kinds}.")
    tag = tag.model_copy(
        update={
            "room": room,
            "condition": condition.id,
            "tagged_at": tag.tagged_at or datetime.now(UTC).isoformat(timespec="seconds"),
        }
    )
    path = folder / FILE
    values = {
        "room": tag.room,
        "condition": tag.condition,
        "severity": str(tag.severity),
        "note": guarded_text(tag.note),
        "present": "yes" if tag.present else "no",
        "tagged_at": tag.tagged_at,
    }
    try:
        header, delimiter, needs_break = _header(path)
        text = io.StringIO(newline="")
        writer = csv.writer(text, delimiter=delimiter, lineterminator="\n")
        if not header:
            header = list(FIELDS)
            writer.writerow(header)
        elif needs_break:
            text.write("\n")
        known = {plain(name): name for name in FIELDS}
        writer.writerow([values.get(known.get(plain(name), ""), "") for name in header])
        with path.open("a", encoding="utf-8", newline="") as file:
            file.write(text.getvalue())
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror or error}).") from None
    return tag


def _header(path: Path) -> tuple[list[str], str, bool]:
    """Field names of the file, its delimiter, and whether its last line lacks an end."""
    if not path.is_file() or path.stat().st_size == 0:
        return [], ",", False
    raw = path.read_bytes()
    first = raw.decode("utf-8-sig", errors="replace").splitlines()[0]
    delimiter = max((",", ";", "\t"), key=first.count)
    header = next(csv.reader([first], delimiter=delimiter), [])
    if not {"room", "condition"} <= {plain(name) for name in header}:
        raise InputError(f"{path}: the first row must name the fields {', '.join(FIELDS)}.")
    return header, delimiter, not raw.endswith((b"\n", b"\r"))
