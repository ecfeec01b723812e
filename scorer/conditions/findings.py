"""From photo readings, listing facts and a person's tags to findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime

from scorer.conditions.checklist import Condition, conditions_of, load_conditions
from scorer.conditions.finding import Evidence, Finding, Tag
from scorer.conditions.suggesting import suggest
from scorer.errors import InputError
from scorer.records import Record
from scorer.rooms import WHOLE_HOME, RoomKind

__all__ = ["OpenQuestion", "apply_tags", "open_questions", "suggest"]

UNSURE_BELOW = 0.95
"""A photo's suggestion less certain than this is worth a look [0–1]; common practice, no source."""


class OpenQuestion(Record):
    """Something to look at or ask in one room.

    Attributes
    ----------
    known
        A person has answered it already.
    why
        ``stops work`` (the answer may hold up other work), ``unsure photo`` (a photo suggests it),
        ``not visible`` (no photo can show it), ``answered``.
    """

    room: str
    condition: str
    label: str
    question: str
    known: bool
    why: str


def apply_tags(
    findings: Iterable[Finding], tags: Iterable[Tag], room_kinds: Mapping[str, RoomKind]
) -> tuple[Finding, ...]:
    """Findings as a person left them: a tag outranks a reading, the newer tag outranks the older.

    What a tag says is not so stays in the result as a rejected finding, with its evidence. A tag
    that says a condition is there also rejects what cannot be true with it (a wall tagged as light
    and neutral is not dark).

    Parameters
    ----------
    room_kinds
        Kind of every room of the home by its name; :data:`scorer.rooms.WHOLE_HOME` is known.

    Raises
    ------
    InputError
        If a tag names an unknown room or condition, a condition that the kind of room does not
        have, or a time that is not ISO 8601.
    """
    kept: dict[tuple[str, str], Finding] = {(f.room, f.condition): f for f in findings}
    rooms = {WHOLE_HOME: RoomKind.WHOLE_HOME, **room_kinds}
    for tag in sorted(tags, key=_time):  # stable: of two tags of one time, the later given holds
        condition = _known(tag, rooms)
        key = (tag.room, tag.condition)
        kept[key] = _tagged(kept.get(key), tag, condition)
        if not tag.present or (condition.polarity == "fault" and tag.severity == 0):
            continue
        for other in condition.contradicts:
            if (found := kept.get((tag.room, other))) and not found.rejected:
                said = Evidence(source="person", figure=f"tagged instead: {condition.label}")
                kept[(tag.room, other)] = found.model_copy(
                    update={
                        "rejected": True,
                        "certainty": 0.0,
                        "evidence": (*found.evidence, said),
                    }
                )
    return tuple(kept.values())


def _tagged(found: Finding | None, tag: Tag, condition: Condition) -> Finding:
    said = Evidence(source="person", figure=tag.note)
    evidence = (*found.evidence, said) if found else (said,)
    if not tag.present:
        severity = found.severity if found else 0
        certainty = 0.0
    else:
        severity = tag.severity if condition.polarity == "fault" else 0
        certainty = 1.0
    return Finding(
        room=tag.room,
        condition=tag.condition,
        severity=severity,
        certainty=certainty,
        evidence=evidence,
        rejected=not tag.present,
    )


def _known(tag: Tag, rooms: Mapping[str, RoomKind]) -> Condition:
    if tag.room not in rooms:
        names = ", ".join(rooms)
        raise InputError(f"Tag {tag.condition!r}: no room {tag.room!r}; the rooms are {names}.")
    condition = load_conditions().get(tag.condition)
    if condition is None:
        raise InputError(
            f"Tag in {tag.room}: no condition {tag.condition!r} in the checklist; "
            "choose one of the checklist's ids."
        )
    kind = rooms[tag.room]
    if kind not in condition.room_kinds:
        raise InputError(f"{belongs_elsewhere(condition, tag.room)}; tag it there.")
    return condition


def belongs_elsewhere(condition: Condition, room: str) -> str:
    """The beginning of a sentence: which kinds of room have the condition, as this one has not."""
    *most, last = (kind.words for kind in condition.room_kinds)
    kinds = f"{', '.join(most)} or {last}" if most else last
    return f"“{condition.label}” ({condition.id}) belongs to {kinds}, not to {room}"


def _time(tag: Tag) -> datetime:
    if not tag.tagged_at:
        return datetime.min.replace(tzinfo=UTC)
    try:
        time = datetime.fromisoformat(tag.tagged_at)
    except ValueError as error:
        raise InputError(
            f"Tag {tag.condition!r} in {tag.room}, field tagged_at: {tag.tagged_at!r} is not a "
            "time; write it like 2026-05-30T18:05:00."
        ) from error
    return time if time.tzinfo else time.replace(tzinfo=UTC)


def open_questions(
    findings: Sequence[Finding], room_kinds: Mapping[str, RoomKind]
) -> tuple[OpenQuestion, ...]:
    """What to look at in every room, unknowns first.

    First what may stop other work, then what a photo suggests without being sure, then the rest
    that no photo can show; at the end what a person has answered already.

    Parameters
    ----------
    room_kinds
        Kind of every room of the home by its name; :data:`~scorer.rooms.WHOLE_HOME` is added.
    """
    found = {(f.room, f.condition): f for f in findings}
    rooms = {**room_kinds, WHOLE_HOME: RoomKind.WHOLE_HOME}
    questions = [
        _question(room, condition, found.get((room, condition.id)))
        for room, kind in rooms.items()
        for condition in conditions_of(kind)
        if condition.person_only or (room, condition.id) in found
    ]
    order = ("stops work", "unsure photo", "not visible", "answered")
    return tuple(sorted((q for q in questions if q is not None), key=lambda q: order.index(q.why)))


def _question(room: str, condition: Condition, found: Finding | None) -> OpenQuestion | None:
    answered = found is not None and found.by_person
    if answered:
        why = "answered"
    elif condition.hold:
        why = "stops work"
    elif found is not None:
        if found.certainty >= UNSURE_BELOW and condition.polarity != "note":
            return None
        why = "unsure photo"
    else:
        why = "not visible"
    return OpenQuestion(
        room=room,
        condition=condition.id,
        label=condition.label,
        question=condition.question,
        known=answered,
        why=why,
    )
