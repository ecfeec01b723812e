"""A home's ``tags.csv``: what a person found at the viewing, one row for each condition."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from scorer.conditions.checklist import Condition, load_conditions
from scorer.conditions.data_file import unguarded_text
from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.fields import Cells
from scorer.listing.room_words import first_words, from_name, is_bare
from scorer.listing.tables import read_rows
from scorer.listing.values import WrongValue, as_count, plain
from scorer.rooms import Room

FILE = "tags.csv"
FIELDS = ("room", "condition", "severity", "note", "present", "tagged_at")
LONGEST_NOTE = 2_000
MOST_TAGS = 5_000
NEAR_ROOM = 0.7
"""Likeness of a mistyped room to the one that was meant [0–1]: “dinning room” and “dining room”
have 0.96, “sun room” and “living room” 0.63."""
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
    ids = {plain(c.label): c.id for c in known.values()} | {plain(i): i for i in known}
    near = dict.fromkeys(ids[word] for word in nearest(wanted[:80], tuple(ids)))
    hint = f"did you mean {' or '.join(near)}?" if near else "`value-add conditions` lists all."
    raise InputError(f"“{words[:60]}” is no condition of the checklist; {hint}")


@lru_cache(maxsize=1_000)
def nearest(words: str, known: tuple[str, ...], at: float = 0.6) -> tuple[str, ...]:
    """Up to three of the known words that a mistyped one comes near to, the nearest first."""
    from difflib import get_close_matches

    return tuple(get_close_matches(words, known, 3, at))


def room_name(words: str) -> str:
    """A room's name as the program writes it: lower case, blanks between words.

    Examples
    --------
    >>> room_name("Living_Room"), room_name("Bed2"), room_name("upstairs bath")
    ('living room', 'bedroom 2', 'upstairs bath')
    """
    name = " ".join(words.replace("_", " ").replace("-", " ").lower().split())[:80]
    numbered = re.fullmatch(r"([a-z ]*[a-z]) ?([0-9]{1,2})", name)
    if numbered and is_bare(numbered[1]) and (word := from_name(numbered[1])):
        return f"{word.name} {int(numbered[2])}"
    return name


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
        firsts.setdefault(room.kind.words, room.name)
    matched, problems = [], []
    for tag in tags:
        wanted = room_name(tag.room)
        name = names.get(wanted) or firsts.get(wanted)
        if name is None:
            word = from_name(wanted)
            name = firsts.get(word.name) if word is not None and is_bare(wanted) else None
        if name is None:
            near = nearest(wanted, tuple(names), NEAR_ROOM)[:1]
            meant = f"did you mean {near[0]}? Its rooms are" if near else "use one of"
            problems.append(
                f"{FILE}: “{tag.room}” is no room that is known, so {tag.condition} was left out; "
                f"{meant} {', '.join(names)}."
            )
        else:
            matched.append(tag.model_copy(update={"room": name}))
    return tuple(matched), tuple(problems)
