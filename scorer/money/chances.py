"""How likely trouble is where nobody has looked: data, checked on load."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from scorer.conditions.checklist import load_holds
from scorer.conditions.data_file import checked, csv_rows
from scorer.errors import InputError
from scorer.records import Probability, Range, Record
from scorer.rooms import RoomKind

DATA = Path(__file__).parent / "data"


class UnseenKind(Record):
    """What a room without a photo may hide, and may earn [$]; a row of ``unseen_rooms.csv``."""

    room_kind: RoomKind
    chance_trouble: Probability
    trouble_usd: Range
    chance_work: Probability
    gain_usd: Range
    source: str


@cache
def load_unseen_kinds(path: Path = DATA / "unseen_rooms.csv") -> Mapping[RoomKind, UnseenKind]:
    """What unseen rooms may hide, by kind.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    three = ("low", "typical", "high")
    fields = (
        "room_kind",
        "chance_trouble",
        *(f"trouble_{n}_usd" for n in three),
        "chance_work",
        *(f"gain_{n}_usd" for n in three),
        "source",
    )
    kinds: dict[RoomKind, UnseenKind] = {}
    for row in csv_rows(path, fields):
        values = {
            "room_kind": row["room_kind"],
            "chance_trouble": row["chance_trouble"],
            "trouble_usd": {n: row[f"trouble_{n}_usd"] for n in three},
            "chance_work": row["chance_work"],
            "gain_usd": {n: row[f"gain_{n}_usd"] for n in three},
            "source": row["source"],
        }
        kind = checked(UnseenKind, values, f"{path.name}, row {row['room_kind']}")
        kinds[kind.room_kind] = kind
    if missing := set(RoomKind) - set(kinds):
        raise InputError(f"{path.name}: no row for {', '.join(sorted(missing))}; add it.")
    return MappingProxyType(kinds)


@cache
def load_hidden_chances(path: Path = DATA / "hidden_holds.csv") -> Mapping[str, float]:
    """Chance that a hold nobody has asked about is there in a room [0–1], by kind of hold.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    chances: dict[str, float] = {}
    for row in csv_rows(path, ("hold", "chance", "source")):
        where = f"{path.name}, row {row['hold']}"
        if row["hold"] not in load_holds():
            raise InputError(f"{where}, field hold: no hold of that name in holds.csv.")
        try:
            chance = float(row["chance"])
        except ValueError:
            chance = -1.0
        if not 0.0 <= chance <= 1.0:
            raise InputError(f"{where}, field chance: give a number from 0 to 1.")
        chances[row["hold"]] = chance
    return MappingProxyType(chances)
