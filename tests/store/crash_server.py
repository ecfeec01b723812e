"""Forks children that write to a store until they are killed.

``python -m tests.store.crash_server`` imports everything once and says ``ready``; a child then
starts in a few milliseconds. Each line of standard input
is a JSON object: ``work`` (one of ``WORKS``), ``path`` and what that work needs. The answers are
lines: ``child PID`` when the child runs, ``began N KIND`` and ``kept N`` around each operation of
:func:`save_and_import` (the second only after the store has said that it is kept), ``done`` when a
work has come to its end, and ``ended`` when the child is gone. A child never ends by itself, so
that its process id can't belong to another when it is killed.
"""

from __future__ import annotations

import io
import json
import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from scorer.conditions.finding import Tag
from scorer.listing.listing import Listing
from scorer.rooms import Room, RoomKind
from scorer.sheet import merge_answers, read_answers
from scorer.sheet.answers import FORMAT, VERSION
from scorer.store import Brought, Store, TakenPhoto
from scorer.store.care import back_up, restore
from scorer.store.photo_files import keep_photo_file
from scorer.upgrades.learning import FinishedJob
from tests.homes import room_picture

ROOMS = ("kitchen", "bathroom 1", "bedroom 1")
OPTIONS = ("kitchen: faucet", "kitchen: wall_paint", "hall: floor_clean", "bathroom 1: caulk")
SHEET_TAGS = 6
SHEET_PHOTOS = 2
IMPORTED_HOMES = 3
IMPORTED_TAGS = 2
KINDS = ("tag", "mark", "note", "room", "choices", "job", "prices", "settings", "sheet", "folder")


def say(text: str) -> None:
    """One line to the test; short enough to arrive whole (POSIX ``PIPE_BUF``)."""
    os.write(1, f"{text}\n".encode())


def tag(number: int, at: int = 0) -> Tag:
    return Tag(room="kitchen", condition="dirty_trim", note=f"{number} {at}", severity=2)


def sheet(home: str, number: int) -> bytes:
    """What a viewing sheet of a home would bring back."""
    time = "2026-05-30T12:10:00Z"
    answers = [
        {
            "room": "kitchen",
            "condition": "dirty_trim",
            "present": True,
            "note": f"{number} {at}",
            "answered_at": time,
        }
        for at in range(SHEET_TAGS)
    ]
    rooms = [{"name": name, "length_ft": length_ft(number)} for name in ROOMS]
    head = {"format": FORMAT, "version": VERSION, "home": home, "written_at": time}
    return json.dumps({**head, "answers": answers, "rooms": rooms, "note": str(number)}).encode()


def length_ft(number: int) -> float:
    """A room's length that tells which operation wrote it."""
    return 5 + number / 10_000


def rooms(number: int) -> list[Room]:
    return [Room(name=name, kind=RoomKind.HALL, length_ft=length_ft(number)) for name in ROOMS]


@cache
def jpeg() -> bytes:
    out = io.BytesIO()
    room_picture((200, 190, 180)).resize((96, 64)).save(out, "JPEG")
    return out.getvalue()


def photos(store: Store, number: int) -> list[TakenPhoto]:
    """Photos that a sheet brought, their files written; no two operations bring the same."""
    return [
        TakenPhoto(
            file=keep_photo_file(store.photo_folder, jpeg() + f"{number} {at}".encode(), "a.jpg"),
            room="kitchen",
            note=f"{number} {at}",
        )
        for at in range(SHEET_PHOTOS)
    ]


def operate(store: Store, kind: str, number: int, home_id: int) -> None:
    """One change, as the page or an import makes it; all that it writes carries its number."""
    home = store.home(home_id)
    version = home.version
    if kind == "tag":
        store.add_tags(home_id, version, [tag(number)])
    elif kind == "mark":  # two rows: the home's mark, and a line of the log
        store.save_mark(home_id, version, "keep" if number % 2 else "aside")
    elif kind == "note":
        store.type_note(home_id, {home.note}, str(number))
    elif kind == "room":
        store.save_room(home_id, version, rooms(number)[0])
    elif kind == "choices":
        choice = "must" if number % 2 else "must_not"
        store.save_choices(home_id, version, dict.fromkeys(OPTIONS, choice))
    elif kind == "job":
        done = FinishedJob(upgrade=f"job_{number}", planned_hours=2, actual_hours=3)
        store.add_job(home_id, version, done)
    elif kind == "prices":
        store.save_price_rows({option: json.dumps(number) for option in OPTIONS})
    elif kind == "settings":
        store.change_settings({"budget_usd": float(number)})
    elif kind == "sheet":
        merged = merge_answers(home.tags, read_answers(sheet(home.listing.home, number)))
        brought_photos = photos(store, number)
        store.save_answers(
            home_id, version, merged.tags, rooms(number), str(number), brought_photos
        )
    elif kind == "folder":
        brought = [
            Brought(
                Listing(home=f"{number} {at}", bedrooms=at),
                tuple(tag(number, 10 * at + n) for n in range(IMPORTED_TAGS)),
                folder=f"/homes/{number}/{at}",
            )
            for at in range(IMPORTED_HOMES)
        ]
        store.add_homes(brought)


def save_and_import(asked: dict[str, Any]) -> None:
    """Change the store without an end, as told by a seed; a copy away now and then."""
    draw = random.Random(asked["seed"])
    store = Store(Path(asked["path"]))
    number = asked["first"]
    while True:
        homes = [home_id for home_id, _ in store.home_ids()]
        kind = draw.choice(KINDS)
        home_id = draw.choice(homes)
        if draw.random() < 0.1:
            kind = "backup"
        say(f"began {number} {kind} {home_id}")
        if kind == "backup":
            back_up(store.path, Path(asked["backups"]) / f"{number}.sqlite")
        else:
            operate(store, kind, number, home_id)
        say(f"kept {number}")
        number += 1


def open_it(asked: dict[str, Any]) -> None:
    """Open a store, which brings it up to date; dies at one instruction of SQLite's, if told."""
    left = asked.get("instructions")
    if left is not None:
        real = sqlite3.connect
        counted = 0

        def count() -> int:
            nonlocal counted
            counted += 1
            if counted == left:
                os.kill(os.getpid(), signal.SIGKILL)
            return 0

        def connect(*given: Any, **named: Any) -> sqlite3.Connection:
            connection = real(*given, **named)
            connection.set_progress_handler(count, 1)
            return connection

        sqlite3.connect = connect  # type: ignore[assignment]
    Store(Path(asked["path"])).close()
    if left is not None:
        say(f"counted {counted}")


def put_back(asked: dict[str, Any]) -> None:
    """Restore a backup."""
    restore(Path(asked["backup"]), Path(asked["path"]))


def race(asked: dict[str, Any]) -> None:
    """Change home 1 so many times, whoever else does: append to its note, or import it anew."""
    store = Store(Path(asked["path"]))
    time.sleep(max(0.0, asked["begin"] - time.time()))
    for number in range(asked["times"]):
        if asked["by"] == "import":
            store.add_home(Listing(home="first", bedrooms=number % 20), [tag(number)])
            say(f"kept {number}")
            continue
        kept = False
        while not kept:
            kept = append(store, f"{asked['by']}{number}")


def append(store: Store, word: str) -> bool:
    """Write a word into the log of home 1; False if another writer was quicker."""
    from scorer.store import StaleError

    home = store.home(1)
    time.sleep(0.002)  # a person thinks between reading and writing
    try:
        store.add_decision(1, home.version, word)
    except StaleError:
        say(f"stale {word}")
        return False
    say(f"kept {word}")
    return True


WORKS: dict[str, Callable[[dict[str, Any]], None]] = {
    "save and import": save_and_import,
    "open": open_it,
    "restore": put_back,
    "race": race,
}


def serve() -> None:
    """Fork a child for every line until there is no more."""
    with tempfile.TemporaryDirectory() as folder:  # what is imported late is imported now
        keep_photo_file(Path(folder), jpeg(), "a.jpg")
    say("ready")
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            try:
                asked = json.loads(line)
                say(f"child {os.getpid()}")
                WORKS[asked["work"]](asked)
                say("done")
            except BaseException:
                say("failed " + traceback.format_exc().replace("\n", " | ")[-3_000:])
            signal.pause()
            os._exit(0)
        os.waitpid(child, 0)
        say("ended")


if __name__ == "__main__":
    serve()
