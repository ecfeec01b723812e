"""What a store should hold after the operations of the fork server, and what it does hold."""

from __future__ import annotations

import sqlite3
from typing import NamedTuple, cast

from tests.store.crash_server import (
    IMPORTED_HOMES,
    IMPORTED_TAGS,
    OPTIONS,
    ROOMS,
    SHEET_PHOTOS,
    SHEET_TAGS,
    length_ft,
)


class Home(NamedTuple):
    """What is kept of one home; lists and dicts so that an operation can write in them."""

    name: str
    told: dict[str, object]
    tags: list[str]
    jobs: list[str]
    log: list[str]
    lengths_ft: dict[str, float]
    choices: dict[str, str]
    photos: list[str]


class Books:
    """What a store should hold: a plain model of the operations of the fork server."""

    def __init__(self) -> None:
        self.homes = {
            1: Home("first", {"version": 1, "note": "", "mark": ""}, [], [], [], {}, {}, [])
        }
        self.prices: dict[str, str] = {}
        self.budget_usd: float | None = None

    def write(self, number: int, kind: str, home_id: int) -> None:
        """Do what an operation does, all of it."""
        home = self.homes[home_id]
        choice, mark = ("must", "keep") if number % 2 else ("must_not", "aside")
        if kind == "prices":
            self.prices = dict.fromkeys(OPTIONS, str(number))
        elif kind == "settings":
            self.budget_usd = float(number)
        elif kind == "folder":
            for at in range(IMPORTED_HOMES):
                tags = [f"{number} {10 * at + n}" for n in range(IMPORTED_TAGS)]
                told: dict[str, object] = {"version": 1, "note": "", "mark": ""}
                new = Home(f"{number} {at}", told, tags, [], [], {}, {}, [])
                self.homes[len(self.homes) + 1] = new
        elif kind not in {"backup", "note"}:  # a note that is typed stops no other change
            home.told["version"] = cast("int", home.told["version"]) + 1
        if kind == "note":
            home.told["note"] = str(number)
        if kind == "sheet" and str(number) not in str(home.told["note"]):
            home.told["note"] = f"{home.told['note']}\n{number}".strip()
        if kind == "mark":
            home.told["mark"] = mark
            home.log.append("Kept" if mark == "keep" else "Set aside")
        if kind in {"tag", "sheet"}:
            home.tags.extend(f"{number} {at}" for at in range(SHEET_TAGS if kind == "sheet" else 1))
        if kind == "sheet":
            home.photos.extend(f"{number} {at}" for at in range(SHEET_PHOTOS))
        if kind in {"room", "sheet"}:
            written = ROOMS if kind == "sheet" else ROOMS[:1]
            home.lengths_ft.update(dict.fromkeys(written, length_ft(number)))
        if kind == "choices":
            home.choices.update(dict.fromkeys(OPTIONS, choice))
        if kind == "job":
            home.jobs.append(f"job_{number}")

    @classmethod
    def of(cls, file: sqlite3.Connection) -> Books:
        """What a store does hold."""
        books, ask = cls(), file.execute
        books.homes = {
            home: Home(
                name, {"version": version, "note": note, "mark": mark}, [], [], [], {}, {}, []
            )
            for home, name, version, note, mark in ask(
                "select id, name, version, note, mark from home"
            )
        }
        for home, note in ask("select home_id, tag ->> 'note' from tag order by id"):
            books.homes[home].tags.append(note)
        for home, upgrade in ask("select home_id, job ->> 'upgrade' from job order by id"):
            books.homes[home].jobs.append(upgrade)
        for home, sentence in ask("select home_id, sentence from decision order by id"):
            books.homes[home].log.append(sentence)
        for home, name, feet in ask("select home_id, name, room ->> 'length_ft' from room"):
            books.homes[home].lengths_ft[name] = feet
        for home, option, choice in ask("select home_id, option_id, choice from choice"):
            books.homes[home].choices[option] = choice
        for home, note in ask("select home_id, taken ->> 'note' from taken_photo order by id"):
            books.homes[home].photos.append(note)
        books.prices = dict(ask("select id, price_row from price_row"))
        row = ask("select value ->> 'budget_usd' from setting where name = 'settings'").fetchone()
        books.budget_usd = None if row is None else row[0]
        return books

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Books) and vars(self) == vars(other)

    __hash__ = None  # type: ignore[assignment]
