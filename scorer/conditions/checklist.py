"""What to look at in each kind of room, and what stops the work: data, checked on load.

Examples
--------
>>> load_conditions()["missing_window_screens"].label
'Window screens missing or torn'
>>> load_holds()["mold_area"].who
'mould remediation professional, after the water is stopped'
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from scorer.conditions.data_file import Identifier, checked, csv_rows, split
from scorer.conditions.finding import Severity
from scorer.errors import InputError
from scorer.records import Range, Record
from scorer.rooms import RoomKind

DATA_FOLDER = Path(__file__).parent / "data"
Sentence = Annotated[str, Field(min_length=3, max_length=500)]
Polarity = Literal["fault", "sound", "note"]
EVERYTHING = "all"
"""Stands for every ladder in ``HoldKind.stops_ladders``."""


class Condition(Record):
    """One row of the checklist.

    Attributes
    ----------
    label, question
        Plain words, and what to ask or do at the viewing.
    polarity
        ``fault``; ``sound`` (worth keeping); ``note`` (neither: something could not be judged).
    default_severity
        Severity of a fault before a person graded it [1–3]; 0 for what is sound or a note.
    severities
        What a person sees at severity 1, 2 and 3; empty for what is sound or a note.
    seen_in_photo
        What in a photo can suggest it; empty where only a person can tell.
    hold, hold_from_severity
        The kind of hold that a finding of at least that severity starts.
    contradicts
        Conditions that cannot be true with this one; holds both ways.
    source
        Published limit or practice behind the row.
    """

    id: Identifier
    label: Sentence
    question: Sentence
    room_kinds: Annotated[tuple[RoomKind, ...], Field(min_length=1)]
    polarity: Polarity
    default_severity: Severity
    severities: tuple[Sentence, Sentence, Sentence] | tuple[()] = ()
    seen_in_photo: str = ""
    hold: Identifier | None = None
    hold_from_severity: Annotated[int, Field(ge=1, le=3)] | None = None
    contradicts: tuple[Identifier, ...] = ()
    source: Sentence

    @property
    def person_only(self) -> bool:
        """Whether no photo can suggest it."""
        return not self.seen_in_photo

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        fault = self.polarity == "fault"
        if fault != (self.default_severity > 0):
            raise ValueError("default_severity must be 1 to 3 for a fault and 0 for anything else")
        if fault != bool(self.severities):
            raise ValueError("severity_1 to severity_3 belong to a fault, and to nothing else")
        if (self.hold is None) != (self.hold_from_severity is None):
            raise ValueError("hold and hold_from_severity must both be given or both be empty")
        if self.hold and not fault:
            raise ValueError("hold: only a fault can stop the work")
        return self

    def holds_at(self, severity: int) -> bool:
        """Whether a finding of this severity stops work."""
        return self.hold_from_severity is not None and severity >= self.hold_from_severity


class HoldKind(Record):
    """Something that must be looked at before the work that would cover it.

    Attributes
    ----------
    label, who
        What is wrong, and who must look.
    stops
        What waits for it, in plain words.
    stops_ladders, stops_rungs
        Upgrades on one of these ladders and one of these rungs wait (``"all"``: every ladder).
        Catalogue rows may name the hold in ``held_by`` as well.
    reach
        ``room``: work in the room of the finding waits; ``home``: work in every room.
    cleared_by
        Upgrades that put it right; where one of them is in the scope the allowance is not needed.
    allowance_usd
        What putting it right may cost [$].
    caution, source
        The usual caution, and the published limit or code behind it.
    """

    id: Identifier
    label: Sentence
    who: Sentence
    stops: Sentence
    stops_ladders: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    stops_rungs: Annotated[
        tuple[Literal["clean", "repair", "paint", "replace", "add"], ...], Field(min_length=1)
    ]
    reach: Literal["room", "home"]
    cleared_by: tuple[Identifier, ...] = ()
    allowance_usd: Range
    caution: Sentence
    source: Sentence

    @model_validator(mode="after")
    def _not_negative(self) -> Self:
        if self.allowance_usd.low < 0:
            raise ValueError(f"allowance_low_usd must not be negative: {self.allowance_usd.low:g}")
        return self

    def stops_work(self, ladder: str, rung: str) -> bool:
        """Whether an upgrade on this ladder and rung waits for it."""
        on_ladder = EVERYTHING in self.stops_ladders or ladder in self.stops_ladders
        return on_ladder and rung in self.stops_rungs


_CONDITION_FIELDS = (
    "id", "label", "question", "room_kinds", "polarity", "default_severity", "severity_1",
    "severity_2", "severity_3", "seen_in_photo", "person_only", "hold", "hold_from_severity",
    "contradicts", "source",
)  # fmt: skip
_HOLD_FIELDS = (
    "id", "label", "who", "stops", "stops_ladders", "stops_rungs", "reach", "cleared_by",
    "allowance_low_usd", "allowance_typical_usd", "allowance_high_usd", "caution", "source",
)  # fmt: skip


@cache
def load_holds(path: Path = DATA_FOLDER / "holds.csv") -> Mapping[str, HoldKind]:
    """Hold kinds by id, in the order of the file.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    holds: dict[str, HoldKind] = {}
    for row in csv_rows(path, _HOLD_FIELDS):
        where = f"{path.name}, row {row['id']}"
        values: dict[str, object] = {k: v for k, v in row.items() if not k.startswith("allowance")}
        for name in ("stops_ladders", "stops_rungs", "cleared_by"):
            values[name] = split(row[name])
        values["allowance_usd"] = {
            name: row[f"allowance_{name}_usd"] for name in ("low", "typical", "high")
        }
        hold = checked(HoldKind, values, where)
        _once(hold.id, holds, where)
        holds[hold.id] = hold
    return MappingProxyType(holds)


@cache
def load_conditions(
    path: Path = DATA_FOLDER / "conditions.csv", holds_path: Path = DATA_FOLDER / "holds.csv"
) -> Mapping[str, Condition]:
    """Conditions by id, in the order of the file.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    holds = load_holds(holds_path)
    conditions: dict[str, Condition] = {}
    for row in csv_rows(path, _CONDITION_FIELDS):
        where = f"{path.name}, row {row['id']}"
        condition = checked(Condition, _condition_values(row), where)
        _once(condition.id, conditions, where)
        if row["person_only"] not in {"yes", "no"}:
            raise InputError(
                f"{where}, field person_only: say yes or no (given: {row['person_only']!r})."
            )
        if condition.person_only != (row["person_only"] == "yes"):
            raise InputError(
                f"{where}, field person_only: must be yes where seen_in_photo is empty, else no."
            )
        if condition.hold is not None and condition.hold not in holds:
            raise InputError(
                f"{where}, field hold: no hold {condition.hold!r} in {holds_path.name}."
            )
        conditions[condition.id] = condition
    return MappingProxyType(_both_ways(conditions, path.name))


def _condition_values(row: dict[str, str]) -> dict[str, object]:
    wordings = tuple(row[f"severity_{severity}"] for severity in (1, 2, 3))
    return {
        "id": row["id"],
        "label": row["label"],
        "question": row["question"],
        "room_kinds": split(row["room_kinds"]),
        "polarity": row["polarity"],
        "default_severity": row["default_severity"],
        "severities": wordings if any(wordings) else (),
        "seen_in_photo": row["seen_in_photo"],
        "hold": row["hold"] or None,
        "hold_from_severity": row["hold_from_severity"] or None,
        "contradicts": split(row["contradicts"]),
        "source": row["source"],
    }


def _once(identifier: str, known: Mapping[str, object], where: str) -> None:
    if identifier in known:
        raise InputError(f"{where}, field id: the id stands there twice; give one another name.")


def _both_ways(conditions: dict[str, Condition], file: str) -> dict[str, Condition]:
    pairs: dict[str, list[str]] = {identifier: [] for identifier in conditions}
    for condition in conditions.values():
        for other in condition.contradicts:
            if other not in conditions:
                raise InputError(
                    f"{file}, row {condition.id}, field contradicts: no condition {other!r}."
                )
            pairs[condition.id].append(other)
            pairs[other].append(condition.id)
    return {
        identifier: condition.model_copy(
            update={"contradicts": tuple(dict.fromkeys(pairs[identifier]))}
        )
        for identifier, condition in conditions.items()
    }


def conditions_of(kind: RoomKind) -> tuple[Condition, ...]:
    """The conditions to look for in a kind of room, in the order of the checklist."""
    return tuple(c for c in load_conditions().values() if kind in c.room_kinds)
