"""Photos inside the answers of a viewing sheet: each is checked as any photo, and costs itself."""

from __future__ import annotations

import base64
import json
from pathlib import Path

import pytest

from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.sheet import read_answers
from scorer.sheet.answers import FORMAT, MOST_PHOTOS, VERSION
from scorer.store import Store
from scorer.store.photo_files import keep_photo_file
from scorer.workspace import Workspace
from scorer.workspace.taking import photos_of_sheet
from tests.fuzz.targets import one_sentence
from tests.hostile.telling import ROOM, encoded
from tests.hostile.test_photos import BOMBS, JPEG, zipped

TIME = "2026-05-30T12:10:00Z"
BAD = {
    "empty": b"\0",
    "a page": b"<html><script>alert(1)</script></html>",
    "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "a program": b"MZ" + b"\0" * 500,
    "a zip": zipped(),
    "cut short": JPEG[:3_000],
    **{f"bomb, {name}": data for name, data in BOMBS.items() if len(data) < 500_000},
}


def sheet(*photos: bytes | str, **more: object) -> bytes:
    shots = [
        {
            "room": "kitchen",
            "taken_at": TIME,
            "jpeg": photo if isinstance(photo, str) else base64.b64encode(photo).decode(),
            **more,
        }
        for photo in photos
    ]
    head = {"format": FORMAT, "version": VERSION, "home": "a", "written_at": TIME}
    tag = {"room": "kitchen", "condition": "odor", "present": True, "answered_at": TIME}
    return json.dumps({**head, "answers": [tag], "photos": shots}).encode()


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "data" / "homes.sqlite")
    store.add_home(Listing(home="a"))
    return store


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize("name", BAD)
def test_what_is_no_photo_costs_itself_only(name: str, store: Store) -> None:
    taken = photos_of_sheet(store, read_answers(sheet(JPEG, BAD[name], JPEG + b"2")))
    assert len(taken.photos) == 2
    (sentence,) = taken.problems
    one_sentence(sentence)
    assert sentence.startswith("Photo 2 of the sheet (kitchen)")
    kept = sorted(path.name for path in store.photo_folder.iterdir())
    assert kept == sorted(photo.file for photo in taken.photos)


def test_text_that_is_no_photo_is_told_apart(store: Store) -> None:
    taken = photos_of_sheet(store, read_answers(sheet("\u00e9<script>", JPEG)))
    assert len(taken.photos) == 1
    assert "damaged" in taken.problems[0]


def test_a_polyglot_is_named_and_served_as_what_it_shows(store: Store) -> None:
    (photo,) = photos_of_sheet(store, read_answers(sheet(JPEG + zipped()))).photos
    assert photo.file.endswith(".jpg")
    png = encoded(ROOM, "PNG") + b"<script>"
    refused = photos_of_sheet(store, read_answers(sheet(png)))
    assert refused.photos == ()  # a sheet writes nothing but JPEG
    assert "no JPEG" in refused.problems[0]
    assert keep_photo_file(store.photo_folder, png, "a.jpg").endswith(".png")


def test_too_many_photos_and_long_words_are_refused() -> None:
    for content in (
        sheet(*["AAAA"] * (MOST_PHOTOS + 1)),
        sheet("AAAA", note="x" * 2_001),
        sheet("AAAA", room="x" * 81),
        sheet("AAAA", condition="../../x"),
        sheet("AAAA", taken_at=1e300),
        sheet("AAAA", taken_at=[]),
        sheet(""),
    ):
        with pytest.raises(InputError) as caught:
            read_answers(content, "answers.json")
        one_sentence(str(caught.value))


def test_the_other_answers_are_kept_where_every_photo_is_bad(store: Store) -> None:
    space = Workspace(store)
    space.import_answers(store.home(1), read_answers(sheet(*BAD.values())))
    got = store.home(1)
    assert [tag.condition for tag in got.tags] == ["odor"]
    assert got.taken == ()
